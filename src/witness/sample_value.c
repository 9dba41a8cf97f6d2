/* SPDX-License-Identifier: MIT */
/* A decoded reading as the number that a series keeps. */
#include "witness/sample_value.h"

#include "bus/decode.h"
#include "motor/quantity.h"
#include "types/samples.h"

#include <math.h>
#include <string.h>

static unsigned bit_of(const char *word)
{
    for (size_t i = 0; i < RUN_STATES; i++)
        if (strcmp(run_state_words[i], word) == 0)
            return 1U << i;
    return 0;
}

static bool state_value(const struct value *value, double *number)
{
    unsigned bits = 0;
    switch (value->kind) {
    case VALUE_BITS:
        for (size_t i = 0; i < value->words.count; i++)
            bits |= bit_of(value->words.items[i]);
        break;
    case VALUE_WORD:
        bits = bit_of(value->text);
        break;
    case VALUE_BOOL:
        bits = value->truth ? RUN_RUNNING : 0;
        break;
    case VALUE_NUMBER: /* a raw value that the map does not name says nothing */
        break;
    case VALUE_NOTHING:
    case VALUE_TEXT:
        return false;
    }
    *number = bits;
    return true;
}

bool sample_value(const struct map *map, const struct readings *readings, size_t parameter, double *value)
{
    const struct reading *reading = &readings->items[parameter];
    uint32_t raw;
    if (reading->raw_count == 0 || reading->symptom.kind != SYMPTOM_NONE || !reading->in_force)
        return false;
    if (map->parameters[parameter].means == MEANS_LIVE_STATE)
        return state_value(&reading->value, value);
    if (map->parameters[parameter].means == MEANS_LIVE_TRIP_CODE) {
        if (!reading_raw(map, readings, parameter, &raw))
            return false;
        *value = raw;
        return true;
    }
    if (reading->value.kind != VALUE_NUMBER)
        return false;
    *value = unit_to_base(reading->value.number, reading->unit);
    return isfinite(*value);
}

double sample_step(const struct map *map, const struct readings *readings, size_t parameter)
{
    const struct reading *reading = &readings->items[parameter];
    if (map->parameters[parameter].means == MEANS_LIVE_STATE ||
        map->parameters[parameter].means == MEANS_LIVE_TRIP_CODE)
        return 0;
    if (reading->value.kind != VALUE_NUMBER || unit_dimension(reading->unit) == DIMENSION_TEMPERATURE)
        return reading->step;
    return fabs(unit_to_base(reading->step, reading->unit));
}
