/* SPDX-License-Identifier: MIT */
/* The `drive` of a sheet: its map, its ratings, its braking resistor. */
#include "files/sheet_reader.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

static const struct word front_words[] = {{"rectifier", FRONT_RECTIFIER},
                                          {"doubler", FRONT_DOUBLER},
                                          {"active", FRONT_ACTIVE},
                                          {"common-bus", FRONT_COMMON_BUS},
                                          {NULL, 0}};
static const struct word duty_words[] = {{"normal", DUTY_NORMAL}, {"heavy", DUTY_HEAVY}, {NULL, 0}};

/* Reads the map beside the sheet. What is wrong within the map is told in the map's name, not the sheet's. */
static bool read_map(const struct section *section, const struct field *field, const struct node *value)
{
    struct sheet_reader *reader = section->context;
    struct sheet_drive *drive = section->target;
    struct loaded loaded = {0};
    struct error error;
    char *path = NULL;
    const struct field text = {.key = field->key};
    const struct section inner = {.faults = section->faults, .target = &path};
    if (!field_text(&inner, &text, value))
        return false;
    drive->map_path = path_beside(reader->sheet->path, path);
    free(path);
    if (!text_file_read(drive->map_path, &loaded.file, &error)) {
        faults_error(section->faults, value->place, "the map %s %s", drive->map_path, error.text);
        return false;
    }
    reader->map_faults.path = drive->map_path;
    if (loaded_parse(&loaded, &reader->map_faults))
        map_read(&loaded, reader->map, &reader->map_faults);
    loaded_free(&loaded);
    reader->map_read = reader->map_faults.error_count == 0;
    return true;
}

/* "150 % for 60 s" */
static bool read_overload(const struct section *section, const struct field *field, const struct node *value)
{
    struct sheet_drive *drive = section->target;
    const char *text = scalar_text(section->faults, value, field->key, field->expects);
    const char *between = text == NULL ? NULL : strstr(text, " for ");
    if (text == NULL)
        return false;
    if (between == NULL) {
        faults_error(section->faults, value->place, "%s: \"%s\" is no overload; expected %s", field->key,
                     excerpt(text).text, field->expects);
        return false;
    }
    struct node ratio = *value;
    struct node time = *value;
    ratio.text = text_format("%.*s", (int)(between - text), text);
    time.text = text_copy(between + strlen(" for "));
    bool fine = scalar_quantity(section->faults, &ratio, field->key, DIMENSION_RATIO, &drive->overload);
    fine = scalar_quantity(section->faults, &time, field->key, DIMENSION_TIME, &drive->overload_time) && fine;
    free(ratio.text);
    free(time.text);
    if (!fine || (drive->overload.value > 0 && drive->overload_time.value > 0))
        return fine;
    faults_error(section->faults, value->place, "%s: \"%s\" is nothing; expected more than 0", field->key,
                 excerpt(text).text);
    return false;
}

#define AT(member) offsetof(struct sheet_drive, member)

static const struct field resistor_fields[] = {
    {.key = "resistance", .read = field_quantity, .offset = AT(resistor_resistance), .dimension = DIMENSION_RESISTANCE},
    {.key = "continuous_power", .read = field_quantity, .offset = AT(resistor_power), .dimension = DIMENSION_POWER},
    {.key = "thermal_switch", .read = field_answer, .offset = AT(resistor_thermal_switch)},
};

static bool read_resistor(const struct section *section, const struct field *field, const struct node *value)
{
    struct sheet_drive *drive = section->target;
    if (value->kind == NODE_SCALAR && strcmp(value->text, "none") == 0) {
        drive->has_resistor = ANSWER_NO;
        return true;
    }
    if (value->kind == NODE_SCALAR) {
        faults_error(section->faults, value->place, "%s: \"%s\" does not tell enough; expected %s", field->key,
                     excerpt(value->text).text, field->expects);
        return false;
    }
    const struct section inner = {.faults = section->faults,
                                  .node = value,
                                  .what = field->key,
                                  .fields = resistor_fields,
                                  .count = sizeof resistor_fields / sizeof *resistor_fields,
                                  .target = drive};
    drive->has_resistor = ANSWER_YES;
    return section_load(&inner);
}

static const struct field chopper_fields[] = {
    {.key = "acts_at", .read = field_quantity, .offset = AT(chopper_acts_at), .dimension = DIMENSION_VOLTAGE},
    {.key = "lowest_resistance",
     .read = field_quantity,
     .offset = AT(chopper_lowest_resistance),
     .dimension = DIMENSION_RESISTANCE},
};

static bool read_chopper(const struct section *section, const struct field *field, const struct node *value)
{
    const struct section inner = {.faults = section->faults,
                                  .node = value,
                                  .what = field->key,
                                  .fields = chopper_fields,
                                  .count = sizeof chopper_fields / sizeof *chopper_fields,
                                  .target = section->target};
    return section_load(&inner);
}

static const struct field drive_fields[] = {
    {.key = "map", .read = read_map, .required = true, .expects = "the map's file, seen from this one"},
    {.key = "rated_current", .read = field_quantity, .offset = AT(rated_current), .dimension = DIMENSION_CURRENT},
    {.key = "overload", .read = read_overload, .expects = "a share and a time, such as 150 % for 60 s"},
    {.key = "braking_resistor",
     .read = read_resistor,
     .expects = "none, or {resistance: 100 ohm, continuous_power: 200 W}"},
    {.key = "front_end", .read = field_word, .offset = AT(front_end), .words = front_words},
    {.key = "bus_trip", .read = field_quantity, .offset = AT(bus_trip), .dimension = DIMENSION_VOLTAGE},
    {.key = "chopper", .read = read_chopper, .expects = "{acts_at: 760 V, lowest_resistance: 80 ohm}"},
    {.key = "duty", .read = field_word, .offset = AT(duty), .words = duty_words},
    {.key = "serial_number", .read = field_text, .offset = AT(serial_number)},
    {.key = "firmware", .read = field_text, .offset = AT(firmware)},
};

bool sheet_field_drive(const struct section *section, const struct field *field, const struct node *value)
{
    const struct section inner = {.faults = section->faults,
                                  .node = value,
                                  .what = field->key,
                                  .fields = drive_fields,
                                  .count = sizeof drive_fields / sizeof *drive_fields,
                                  .target = field_target(section, field),
                                  .context = section->context};
    return section_load(&inner);
}
