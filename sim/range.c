/* SPDX-License-Identifier: MIT */
/* `accepts`, choices and special values against a raw value. */
#include "sim/range.h"

#include "sim/scaling.h"

#include <math.h>

/* One end of `accepts` as a number in the register's unit; NAN where it is open or not known. */
static double bound_number(const struct drive *drive, size_t parameter, const struct bound *bound)
{
    uint32_t raw = 0;
    bool known = false;
    switch (bound->kind) {
    case BOUND_NONE:
        break;
    case BOUND_VALUE:
        known = scaling_raw_of_quantity(drive, parameter, &bound->value, &raw);
        break;
    case BOUND_MEANS:
        known = scaling_raw_of_value(drive, parameter, scaling_means(drive, bound->means), &raw);
        break;
    }
    /* Through the register, so that a bound between two steps is the nearest step. */
    return known ? scaling_number_of_raw(drive, parameter, raw) : NAN;
}

static bool has_raw(const struct named_raws *list, uint32_t raw)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].raw == raw)
            return true;
    return false;
}

bool range_accepts(const struct drive *drive, size_t parameter, uint32_t raw)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    if (has_raw(&row->special, raw))
        return true;
    if (row->choices.count > 0)
        return has_raw(&row->choices, raw);
    const double number = scaling_number_of_raw(drive, parameter, raw);
    const double low = bound_number(drive, parameter, &row->accepts_low);
    const double high = bound_number(drive, parameter, &row->accepts_high);
    return !isnan(number) && (isnan(low) || number >= low) && (isnan(high) || number <= high);
}

bool range_nearest(const struct drive *drive, size_t parameter, double number, uint32_t *raw)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    if (row->type == TYPE_TEXT || row->type == TYPE_BITS || row->type == TYPE_BOOL || row->choices.count > 0 ||
        isnan(number))
        return false;
    /* fmax and fmin pass over a bound that is not there. */
    const double high = bound_number(drive, parameter, &row->accepts_high);
    const double low = bound_number(drive, parameter, &row->accepts_low);
    return scaling_raw_of_number(drive, parameter, fmax(fmin(number, high), low), raw);
}
