/* SPDX-License-Identifier: MIT */
/* Working out what a drive makes of the parameters that hang on one that was written. */
#include "sim/own_changes.h"

#include "sim/fill.h"
#include "sim/keeping.h"
#include "sim/range.h"
#include "sim/registers.h"
#include "sim/scaling.h"
#include "types/memory.h"

#include <math.h>
#include <stdlib.h>

static double value_of(const struct drive *drive, size_t parameter)
{
    double value = NAN;
    return scaling_value(drive, parameter, &value) ? value : NAN;
}

/* A choice is a word and no quantity, whatever its number. */
static double quantity_of(const struct drive *drive, size_t parameter)
{
    return drive->map->parameters[parameter].choices.count > 0 ? NAN : value_of(drive, parameter);
}

void own_changes_note(const struct drive *drive, size_t parameter, struct own_changes *before)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    before->number = quantity_of(drive, parameter);
    before->values = memory_new(row->writing_changes_count, sizeof *before->values);
    for (size_t i = 0; i < row->writing_changes_count; i++)
        before->values[i] = quantity_of(drive, row->writing_changes[i]);
}

/* The raw value of `value`, brought into the range. */
static bool raw_within(const struct drive *drive, size_t parameter, double value, uint32_t *raw)
{
    return isfinite(value) && scaling_raw_of_value(drive, parameter, value, raw) &&
           range_nearest(drive, parameter, scaling_number_of_raw(drive, parameter, *raw), raw);
}

/* The next choice, or the next step that it accepts. */
static uint32_t next_raw(const struct drive *drive, size_t parameter, uint32_t old)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const struct named_raws *choices = &row->choices;
    for (size_t i = 0; i < choices->count; i++)
        if (choices->items[i].raw == old)
            return choices->items[(i + 1) % choices->count].raw;
    if (row->type == TYPE_BOOL || row->type == TYPE_BITS)
        return old ^ 1U;
    const double number = scaling_number_of_raw(drive, parameter, old);
    const double step = scaling_step(drive, parameter);
    uint32_t raw = old;
    if (range_nearest(drive, parameter, number + step, &raw) && raw != old)
        return raw;
    return range_nearest(drive, parameter, number - step, &raw) ? raw : old;
}

static uint32_t changed_raw(const struct drive *drive, size_t parameter, double value, double ratio)
{
    const uint32_t old = drive_raw(drive, parameter);
    uint32_t raw = old;
    if (raw_within(drive, parameter, value, &raw) && raw != old)
        return raw;
    if (raw_within(drive, parameter, value * ratio, &raw) && raw != old)
        return raw;
    if (fill_default_raw(drive, parameter, &raw) && raw != old)
        return raw;
    return next_raw(drive, parameter, old);
}

void own_changes_make(struct drive *drive, size_t parameter, struct own_changes *before, bool changed)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const double ratio = before->number > 0 ? quantity_of(drive, parameter) / before->number : NAN;
    for (size_t i = 0; changed && i < row->writing_changes_count; i++) {
        const size_t other = row->writing_changes[i];
        const struct parameter *target = &drive->map->parameters[other];
        if (target->type == TYPE_TEXT)
            continue;
        uint16_t words[2];
        registers_from_raw(target, drive->map->modbus.word_order, changed_raw(drive, other, before->values[i], ratio),
                           words);
        keeping_store(drive, other, target->write_at_given ? target->write_at : target->at, words);
    }
    free(before->values);
    *before = (struct own_changes){0};
}
