/* SPDX-License-Identifier: MIT */
/* Units, scales, percentages and special values, by the simulator's own few lines. */
#include "sim/scaling.h"

#include "motor/quantity.h"
#include "sim/registers.h"

#include <math.h>

/* "the same as that means", which may say the same in turn: nobody chains further than this. */
enum { DEEPEST = 4 };

static const struct choice_row *selected_row(const struct drive *drive, const struct selector *selector)
{
    const uint32_t raw = drive_raw(drive, selector->parameter);
    for (size_t i = 0; i < selector->count; i++)
        if (selector->rows[i].raw == raw)
            return &selector->rows[i];
    return NULL;
}

enum unit scaling_unit(const struct drive *drive, size_t parameter)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    enum unit unit = row->unit;
    if (row->unit_by.given) {
        const struct choice_row *selected = selected_row(drive, &row->unit_by);
        if (selected != NULL)
            unit = selected->unit;
    }
    return row->is_percent && unit == UNIT_NONE ? UNIT_PERCENT : unit;
}

enum dimension scaling_dimension(const struct drive *drive, size_t parameter)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    if (row->is_percent)
        return means_table[row->percent_of].dimension;
    return unit_dimension(scaling_unit(drive, parameter));
}

static double scale_of(const struct drive *drive, size_t parameter)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    if (row->scale_by.given) {
        const struct choice_row *selected = selected_row(drive, &row->scale_by);
        if (selected != NULL)
            return selected->scale;
    }
    return row->scale;
}

double scaling_step(const struct drive *drive, size_t parameter)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    if (row->type != TYPE_F32)
        return fabs(scale_of(drive, parameter));
    const float single = (float)registers_number(row, drive_raw(drive, parameter));
    return fabs(scale_of(drive, parameter)) * (double)(nextafterf(fabsf(single), INFINITY) - fabsf(single));
}

double scaling_number_of_raw(const struct drive *drive, size_t parameter, uint32_t raw)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    return registers_number(row, raw) * scale_of(drive, parameter) + row->offset;
}

double scaling_number(const struct drive *drive, size_t parameter)
{
    return scaling_number_of_raw(drive, parameter, drive_raw(drive, parameter));
}

static bool value_within(const struct drive *drive, size_t parameter, int depth, double *value);

/* What a percentage is of, in the base unit of its dimension; NAN where nobody knows. */
static double percent_base(const struct drive *drive, size_t parameter, int depth)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const struct setpoint *setpoint = setpoints_find(&drive->setpoints, row->percent_of);
    const double asked = setpoint != NULL && setpoint->kind == SETPOINT_RANGE ? setpoint->nominal : NAN;
    if (row->base == BASE_SHEET && isfinite(asked))
        return asked;
    const size_t base = drive_find(drive, row->percent_of, row->set);
    double value = NAN;
    if (base != PARAMETER_NOT_FOUND && base != parameter && value_within(drive, base, depth + 1, &value))
        return value;
    if (base == PARAMETER_NOT_FOUND && row->percent_of == MEANS_DRIVE_RATED_CURRENT && drive->sheet != NULL)
        return quantity_base(&drive->sheet->drive.rated_current);
    return base == PARAMETER_NOT_FOUND ? asked : NAN;
}

static const struct named_raw *special_of(const struct parameter *parameter, uint32_t raw)
{
    for (size_t i = 0; i < parameter->special.count; i++)
        if (parameter->special.items[i].raw == raw)
            return &parameter->special.items[i];
    return NULL;
}

static bool value_within(const struct drive *drive, size_t parameter, int depth, double *value)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    if (row->type == TYPE_TEXT || row->type == TYPE_BITS || depth > DEEPEST)
        return false;
    const uint32_t raw = drive_raw(drive, parameter);
    const struct named_raw *special = special_of(row, raw);
    if (special != NULL) {
        const size_t other =
            special->word == NULL ? drive_find(drive, special->same_as, row->set) : PARAMETER_NOT_FOUND;
        return other != PARAMETER_NOT_FOUND && value_within(drive, other, depth + 1, value);
    }
    if (raw_listed(&row->no_value, raw))
        return false;
    const double number = unit_to_base(scaling_number(drive, parameter), scaling_unit(drive, parameter));
    *value = row->is_percent ? number * percent_base(drive, parameter, depth) : number;
    return isfinite(*value);
}

bool scaling_value(const struct drive *drive, size_t parameter, double *value)
{
    return value_within(drive, parameter, 0, value);
}

bool scaling_raw_of_number(const struct drive *drive, size_t parameter, double number, uint32_t *raw)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    return registers_nearest_raw(row, (number - row->offset) / scale_of(drive, parameter), raw);
}

bool scaling_raw_of_value(const struct drive *drive, size_t parameter, double value, uint32_t *raw)
{
    if (drive->map->parameters[parameter].is_percent)
        value /= percent_base(drive, parameter, 0);
    return scaling_raw_of_number(drive, parameter, unit_from_base(value, scaling_unit(drive, parameter)), raw);
}

bool scaling_raw_of_quantity(const struct drive *drive, size_t parameter, const struct quantity *quantity,
                             uint32_t *raw)
{
    if (quantity->unit == UNIT_NONE)
        return scaling_raw_of_number(drive, parameter, quantity->value, raw);
    const double base = unit_to_base(quantity->value, quantity->unit);
    const enum dimension dimension = unit_dimension(quantity->unit);
    const enum unit unit = scaling_unit(drive, parameter);
    if (dimension == unit_dimension(unit))
        return scaling_raw_of_number(drive, parameter, unit_from_base(base, unit), raw);
    return dimension == scaling_dimension(drive, parameter) && scaling_raw_of_value(drive, parameter, base, raw);
}

double scaling_means(const struct drive *drive, enum means means)
{
    double value = NAN;
    const size_t parameter = drive_find(drive, means, 0);
    if (parameter != PARAMETER_NOT_FOUND && !scaling_value(drive, parameter, &value))
        value = NAN;
    return value;
}
