/* SPDX-License-Identifier: MIT */
/* What a value would mean in this drive: the readings decoded anew with other words in one register. */
#include "bus/decode.h"
#include "change/list_parts.h"
#include "motor/quantity.h"

#include <stdlib.h>
#include <string.h>

static void take_words(struct reading *reading, const uint16_t *words, size_t count)
{
    free(reading->raw);
    reading->raw = memory_new(count, sizeof *reading->raw);
    memcpy(reading->raw, words, count * sizeof *words);
    reading->raw_count = count;
    reading->symptom = (struct symptom){0};
}

static void take_reading(struct reading *copy, const struct reading *reading)
{
    take_words(copy, reading->raw, reading->raw_count);
    copy->asked = reading->asked;
    copy->symptom = reading->symptom;
}

void trial_start(struct trial *trial, const struct change_order *order)
{
    const struct map *map = order->map;
    *trial = (struct trial){.order = order, .plain = *map, .changed = PARAMETER_NOT_FOUND};
    trial->plain.parameters = memory_new(map->count, sizeof *map->parameters);
    for (size_t i = 0; i < map->count; i++) {
        trial->plain.parameters[i] = map->parameters[i];
        trial->plain.parameters[i].is_percent = false;
    }
    readings_init(&trial->readings, map->count);
    for (size_t i = 0; i < map->count; i++)
        if (order->readings->items[i].raw_count > 0)
            take_reading(&trial->readings.items[i], &order->readings->items[i]);
        else
            trial->readings.items[i].symptom = order->readings->items[i].symptom;
}

void trial_free(struct trial *trial)
{
    free(trial->plain.parameters); /* what they point at is the map's */
    readings_free(&trial->readings);
}

static struct reading *put(struct trial *trial, size_t parameter, const uint16_t *words, size_t count)
{
    if (trial->changed != PARAMETER_NOT_FOUND)
        take_reading(&trial->readings.items[trial->changed], &trial->order->readings->items[trial->changed]);
    trial->changed = parameter;
    take_words(&trial->readings.items[parameter], words, count);
    return &trial->readings.items[parameter];
}

const struct reading *trial_put(struct trial *trial, size_t parameter, const uint16_t *words, size_t count)
{
    struct reading *reading = put(trial, parameter, words, count);
    readings_decode(trial->order->map, trial->order->setpoints, &trial->readings);
    return reading;
}

struct measure trial_measure(struct trial *trial, size_t parameter, const uint16_t *words, size_t count)
{
    struct measure measure = {0};
    struct reading *reading = put(trial, parameter, words, count);
    readings_decode(&trial->plain, trial->order->setpoints, &trial->readings);
    measure.known = reading->value.kind == VALUE_NUMBER;
    measure.own = unit_to_base(reading->value.number, reading->unit);
    measure.own_dimension = unit_dimension(reading->unit);
    readings_decode(trial->order->map, trial->order->setpoints, &trial->readings);
    measure.known = measure.known && reading->value.kind == VALUE_NUMBER;
    measure.whole = unit_to_base(reading->value.number, reading->unit);
    measure.whole_dimension = unit_dimension(reading->unit);
    return measure;
}
