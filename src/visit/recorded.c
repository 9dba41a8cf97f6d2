/* SPDX-License-Identifier: MIT */
/* A visit's readings as a record that can be kept. */
#include "visit/recorded.h"

#include "motor/quantity.h"
#include "motor/show.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool is_read(const struct reading *reading)
{
    return reading->symptom.kind == SYMPTOM_NONE && reading->raw_count > 0;
}

char *recorded_means(const struct map *map, const struct readings *readings, enum means means)
{
    size_t parameter = map_find_means(map, means, 0);
    if (parameter == PARAMETER_NOT_FOUND || !is_read(&readings->items[parameter]))
        return NULL;
    const struct reading *reading = &readings->items[parameter];
    return reading->value.kind == VALUE_NOTHING ? NULL : show_value(&reading->value, reading->unit, reading->step);
}

static void record_value(const struct parameter *parameter, const struct reading *reading, struct record_value *value)
{
    char symptom[32];
    *value = (struct record_value){.parameter = text_copy(parameter->name), .number = NAN};
    if (parameter->means != MEANS_NONE)
        value->means = text_copy(means_table[parameter->means].name);
    if (!is_read(reading)) {
        value->symptom = text_copy(symptom_word(reading->symptom, symptom, sizeof symptom));
        return;
    }
    value->raw = memory_new(reading->raw_count, sizeof *value->raw);
    memcpy(value->raw, reading->raw, reading->raw_count * sizeof *value->raw);
    value->raw_count = reading->raw_count;
    value->shown = show_value(&reading->value, reading->unit, reading->step);
    if (reading->value.kind != VALUE_NUMBER)
        return;
    value->number = reading->value.number;
    if (reading->unit != UNIT_NONE)
        value->unit = text_copy(unit_name(reading->unit));
}

static bool is_kept(const struct map *map, const struct readings *readings, size_t parameter)
{
    return readings->items[parameter].asked && map->parameters[parameter].kind != KIND_COMMAND;
}

static void record_values(const struct map *map, const struct readings *readings, struct record *record)
{
    for (size_t i = 0; i < map->count; i++)
        record->value_count += is_kept(map, readings, i);
    record->values = memory_new(record->value_count, sizeof *record->values);
    struct record_value *next = record->values;
    for (size_t i = 0; i < map->count; i++)
        if (is_kept(map, readings, i))
            record_value(&map->parameters[i], &readings->items[i], next++);
}

void record_readings(const struct map *map, const struct sheet *sheet, unsigned unit, const struct readings *readings,
                     const struct recorder *recorder, enum record_kind kind, struct record *record)
{
    *record = (struct record){.kind = kind,
                              .tag = text_copy(sheet->tag),
                              .service = text_copy(sheet->service),
                              .line = text_copy(recorder->line),
                              .unit = unit,
                              .serial_number = recorded_means(map, readings, MEANS_DRIVE_SERIAL_NUMBER),
                              .firmware = recorded_means(map, readings, MEANS_DRIVE_FIRMWARE),
                              .map_name = text_copy(map->name),
                              .who = text_copy(recorder->who),
                              .host = text_copy(recorder->host),
                              .tool = text_copy(recorder->tool),
                              .began_ms = readings->began_ms,
                              .ended_ms = readings->ended_ms,
                              .traffic = readings->traffic};
    memcpy(record->map_sha256, map->sha256, sizeof record->map_sha256);
    memcpy(record->sheet_sha256, sheet->sha256, sizeof record->sheet_sha256);
    record_values(map, readings, record);
}
