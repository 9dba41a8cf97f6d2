/* SPDX-License-Identifier: MIT */
/* The commissioning sheet: its top level and its plain sections. */
#include "files/load.h"
#include "files/sheet_reader.h"
#include "types/memory.h"

#include <string.h>

#define AT(member)    offsetof(struct sheet, member)
#define COUNT(fields) (sizeof(fields) / sizeof *(fields))

/* A section whose fields all lie in the sheet itself. */
static bool load_plain(const struct section *section, const char *what, const struct node *value,
                       const struct field *fields, size_t count)
{
    const struct section inner = {.faults = section->faults,
                                  .node = value,
                                  .what = what,
                                  .fields = fields,
                                  .count = count,
                                  .target = section->target,
                                  .context = section->context};
    return section_load(&inner);
}

static bool read_phases(const struct section *section, const struct field *field, const struct node *value)
{
    unsigned *phases = field_target(section, field);
    if (!field_count(section, field, value))
        return false;
    if (*phases != 2)
        return true;
    faults_error(section->faults, value->place, "%s: 2 is no supply of a drive; expected 1 or 3", field->key);
    return false;
}

static const struct field supply_fields[] = {
    {.key = "voltage", .read = field_quantity, .offset = AT(supply.voltage), .dimension = DIMENSION_VOLTAGE},
    {.key = "phases", .read = read_phases, .offset = AT(supply.phases), .low = 1, .high = 3, .expects = "1 or 3"},
    {.key = "frequency", .read = field_quantity, .offset = AT(supply.frequency), .dimension = DIMENSION_FREQUENCY},
};

static bool read_supply(const struct section *section, const struct field *field, const struct node *value)
{
    struct sheet *sheet = section->target;
    sheet->supply.given = load_plain(section, field->key, value, supply_fields, COUNT(supply_fields));
    return sheet->supply.given;
}

static const struct field motors_fields[] = {
    {.key = "count", .read = field_count, .offset = AT(motors.count), .low = 1, .high = 100},
    {.key = "own_overloads", .read = field_answer, .offset = AT(motors.own_overloads)},
};

static bool read_motors(const struct section *section, const struct field *field, const struct node *value)
{
    struct sheet *sheet = section->target;
    sheet->motors.given = load_plain(section, field->key, value, motors_fields, COUNT(motors_fields));
    return sheet->motors.given;
}

static const struct word torque_words[] = {
    {"square", LOAD_SQUARE}, {"constant", LOAD_CONSTANT}, {"constant-power", LOAD_CONSTANT_POWER}, {NULL, 0}};

static const struct field load_fields[] = {
    {.key = "torque", .read = field_word, .offset = AT(load.torque), .words = torque_words},
    {.key = "torque_at_rated_speed",
     .read = field_quantity,
     .offset = AT(load.torque_at_rated_speed),
     .dimension = DIMENSION_TORQUE,
     .may_be_zero = true},
    {.key = "inertia",
     .read = field_quantity,
     .offset = AT(load.inertia),
     .dimension = DIMENSION_INERTIA,
     .may_be_zero = true},
    {.key = "highest_speed", .read = field_quantity, .offset = AT(load.highest_speed), .dimension = DIMENSION_SPEED},
    {.key = "static_share",
     .read = field_quantity,
     .offset = AT(load.static_share),
     .dimension = DIMENSION_RATIO,
     .may_be_zero = true},
    {.key = "overhauling", .read = field_answer, .offset = AT(load.overhauling)},
    {.key = "reverse_harmful", .read = field_answer, .offset = AT(load.reverse_harmful)},
};

static bool read_load(const struct section *section, const struct field *field, const struct node *value)
{
    struct sheet *sheet = section->target;
    sheet->load.given = load_plain(section, field->key, value, load_fields, COUNT(load_fields));
    return sheet->load.given;
}

static const struct field site_fields[] = {
    {.key = "altitude",
     .read = field_quantity,
     .offset = AT(site.altitude),
     .dimension = DIMENSION_LENGTH,
     .may_be_zero = true,
     .may_be_negative = true},
    {.key = "ambient",
     .read = field_quantity,
     .offset = AT(site.ambient),
     .dimension = DIMENSION_TEMPERATURE,
     .may_be_zero = true,
     .may_be_negative = true},
};

static bool read_site(const struct section *section, const struct field *field, const struct node *value)
{
    return load_plain(section, field->key, value, site_fields, COUNT(site_fields));
}

static const struct word filter_words[] = {
    {"none", FILTER_NONE}, {"reactor", FILTER_REACTOR}, {"sine", FILTER_SINE}, {NULL, 0}};

static const struct field cable_fields[] = {
    {.key = "length", .read = field_quantity, .offset = AT(site.cable_length), .dimension = DIMENSION_LENGTH},
    {.key = "filter", .read = field_word, .offset = AT(site.cable_filter), .words = filter_words},
};

static bool read_cable(const struct section *section, const struct field *field, const struct node *value)
{
    return load_plain(section, field->key, value, cable_fields, COUNT(cable_fields));
}

static bool read_watchdog(const struct section *section, const struct field *field, const struct node *value)
{
    static const struct word words[] = {{"known", 1}, {NULL, 0}};
    unsigned known = 0;
    bool fine = scalar_word(section->faults, value, field->key, words, &known);
    *(bool *)field_target(section, field) = fine;
    return fine;
}

static const struct field by_hand_fields[] = {
    {.key = "check",
     .read = field_text,
     .offset = offsetof(struct by_hand, check),
     .required = true,
     .expects = "what was checked"},
    {.key = "found", .read = field_text, .offset = offsetof(struct by_hand, found)},
    {.key = "by", .read = field_text, .offset = offsetof(struct by_hand, by)},
    {.key = "at", .read = field_text, .offset = offsetof(struct by_hand, at)},
};

static bool read_by_hand(const struct section *section, const struct field *field, const struct node *value)
{
    struct sheet *sheet = section->target;
    if (!field_holds(section, field, value, NODE_LIST))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        sheet->by_hand = memory_grow(sheet->by_hand, sheet->by_hand_count, sizeof *sheet->by_hand);
        const struct section row = {.faults = section->faults,
                                    .node = item,
                                    .what = field->key,
                                    .fields = by_hand_fields,
                                    .count = COUNT(by_hand_fields),
                                    .target = &sheet->by_hand[sheet->by_hand_count++]};
        fine = section_load(&row) && fine;
    }
    return fine;
}

/* drive before settings and allow, which are checked against its map. */
static const struct field sheet_fields[] = {
    {.key = "tag",
     .read = field_text,
     .offset = AT(tag),
     .required = true,
     .expects = "the drive's tag, such as P-204"},
    {.key = "service", .read = field_lines, .offset = AT(service)},
    {.key = "drive",
     .read = sheet_field_drive,
     .offset = AT(drive),
     .required = true,
     .expects = "a mapping with at least map"},
    {.key = "line",
     .read = sheet_field_line,
     .offset = AT(line),
     .required = true,
     .expects = "a mapping with serial or host, and unit"},
    {.key = "supply", .read = read_supply, .expects = "{voltage: 480 V, phases: 3, frequency: 60 Hz}"},
    {.key = "motor", .read = sheet_field_motor, .offset = AT(motor), .expects = "the nameplate"},
    {.key = "motors", .read = read_motors, .expects = "{count: 3, own_overloads: yes}"},
    {.key = "load", .read = read_load, .expects = "a mapping such as {torque: square}"},
    {.key = "site", .read = read_site, .expects = "{altitude: 300 m, ambient: 35 degC}"},
    {.key = "cable", .read = read_cable, .expects = "{length: 40 m, filter: none}"},
    {.key = "settings", .read = sheet_field_settings, .expects = "values by means or by parameter name"},
    {.key = "allow",
     .read = sheet_field_allow,
     .expects = "a list such as [{means: NAME, within: 10 rpm, because: "
                "REASON}]"},
    {.key = "by_hand", .read = read_by_hand, .expects = "a list such as [{check: rotation, found: TEXT}]"},
    {.key = "watchdog", .read = read_watchdog, .offset = AT(watchdog_known), .expects = "known"},
};

bool sheet_load(const char *path, struct sheet *sheet, struct map *map, struct problems *problems)
{
    struct faults faults = {.path = path};
    struct loaded loaded = {0};
    struct sheet_reader reader = {.faults = &faults, .sheet = sheet, .map = map};
    *sheet = (struct sheet){.path = text_copy(path), .motors.count = 1};
    *map = (struct map){0};
    if (loaded_open(path, &loaded, &faults)) {
        memcpy(sheet->sha256, loaded.file.sha256, sizeof sheet->sha256);
        const struct section section = {.faults = &faults,
                                        .node = loaded.root,
                                        .what = "the sheet",
                                        .fields = sheet_fields,
                                        .count = COUNT(sheet_fields),
                                        .target = sheet,
                                        .context = &reader};
        (void)section_load(&section);
    }
    loaded_free(&loaded);
    bool fine = faults_hand_out(&faults, problems);
    fine = faults_hand_out(&reader.map_faults, problems) && fine;
    if (fine)
        return true;
    sheet_free(sheet);
    map_free(map);
    return false;
}
