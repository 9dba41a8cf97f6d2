/* SPDX-License-Identifier: MIT */
/* The register map: its top level, and the order in which its parts are read. */
#include "files/load.h"
#include "files/map_reader.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

static const struct word plate_words[] = {{"nameplate", PLATE_NAMEPLATE}, {"extended", PLATE_EXTENDED}, {NULL, 0}};
static const struct word keeps_words[] = {
    {"at-once", KEEPS_AT_ONCE}, {"after-save", KEEPS_AFTER_SAVE}, {"never", KEEPS_NEVER}, {NULL, 0}};

static bool read_modbus(const struct section *section, const struct field *field, const struct node *value)
{
    (void)field;
    return map_read_modbus(section->context, value);
}

static bool read_parameters(const struct section *section, const struct field *field, const struct node *value)
{
    (void)field;
    map_read_parameters(section->context, value);
    return true;
}

/* A reference to a parameter, by name, into a size_t. */
static bool read_reference(const struct section *section, const struct field *field, const struct node *value)
{
    const char *name = scalar_text(section->faults, value, field->key, "the name of a parameter");
    return name != NULL && map_refer(section->context, value->place, field->key, name, field_target(section, field));
}

/* The raw value that a parameter of `index` has to hold. */
static bool read_raw_of(const struct section *section, const char *key, const struct node *value, size_t index,
                        uint32_t *raw)
{
    const struct map_reader *reader = section->context;
    int64_t low = 0;
    int64_t high = 0;
    int64_t number = 0;
    map_raw_limits(reader, index, &low, &high);
    if (!scalar_raw(reader->faults, value, key, low, high, &number))
        return false;
    *raw = map_raw_masked(&reader->map->parameters[index], number);
    return true;
}

static bool read_equals(const struct section *section, const struct field *field, const struct node *value)
{
    const struct map_reader *reader = section->context;
    struct identity *identity = section->target;
    const struct node *named = node_get(section->node, "parameter");
    if (named == NULL || named->text == NULL || map_find(reader->map, named->text) == PARAMETER_NOT_FOUND)
        return false; /* which parameter it is was complained of already */
    identity->is_text = reader->map->parameters[identity->parameter].type == TYPE_TEXT;
    return identity->is_text ? field_text(section, field, value)
                             : read_raw_of(section, field->key, value, identity->parameter, &identity->raw);
}

static const struct field identity_fields[] = {
    {.key = "parameter",
     .read = read_reference,
     .offset = offsetof(struct identity, parameter),
     .required = true,
     .expects = "the name of a parameter"},
    {.key = "equals",
     .read = read_equals,
     .offset = offsetof(struct identity, text),
     .required = true,
     .expects = "the raw value or text that the drive of this model holds"},
};

static bool read_identity(const struct section *section, const struct field *field, const struct node *value)
{
    struct map_reader *reader = section->context;
    struct map *map = reader->map;
    if (!field_holds(section, field, value, NODE_LIST))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        map->identity = memory_grow(map->identity, map->identity_count, sizeof *map->identity);
        const struct section row = {.faults = section->faults,
                                    .node = item,
                                    .what = "identity",
                                    .fields = identity_fields,
                                    .count = sizeof identity_fields / sizeof *identity_fields,
                                    .target = &map->identity[map->identity_count++],
                                    .context = reader};
        fine = section_load(&row) && fine;
    }
    return fine;
}

static bool read_off(const struct section *section, const struct field *field, const struct node *value)
{
    const struct map_reader *reader = section->context;
    struct network_watchdog *watchdog = section->target;
    const struct node *named = node_get(section->node, "parameter");
    if (named == NULL || named->text == NULL || map_find(reader->map, named->text) == PARAMETER_NOT_FOUND)
        return false;
    return read_raw_of(section, field->key, value, watchdog->parameter, &watchdog->off);
}

static bool read_watched(const struct section *section, const struct field *field, const struct node *value)
{
    const char *name = scalar_text(section->faults, value, field->key, "the name of a parameter");
    return name != NULL &&
           map_refer_raw(section->context, value->place, field->key, name, field_target(section, field));
}

static const struct field watchdog_fields[] = {
    {.key = "parameter",
     .read = read_watched,
     .offset = offsetof(struct network_watchdog, parameter),
     .required = true,
     .expects = "the name of a parameter"},
    {.key = "off", .read = read_off, .required = true, .expects = "the raw value at which the watchdog is off"},
};

static bool read_watchdog(const struct section *section, const struct field *field, const struct node *value)
{
    struct network_watchdog *watchdog = field_target(section, field);
    const struct section inner = {.faults = section->faults,
                                  .node = value,
                                  .what = field->key,
                                  .fields = watchdog_fields,
                                  .count = sizeof watchdog_fields / sizeof *watchdog_fields,
                                  .target = watchdog,
                                  .context = section->context};
    watchdog->given = section_load(&inner);
    return watchdog->given;
}

static bool read_word16(const struct section *section, const struct field *field, const struct node *value)
{
    int64_t raw = 0;
    if (!scalar_raw(section->faults, value, field->key, 0, UINT16_MAX, &raw))
        return false;
    *(uint16_t *)field_target(section, field) = (uint16_t)raw;
    return true;
}

static const struct field save_fields[] = {
    {.key = "at",
     .read = map_field_address,
     .offset = offsetof(struct save_command, at),
     .required = true,
     .expects = "an address such as holding 0x0110"},
    {.key = "write",
     .read = read_word16,
     .offset = offsetof(struct save_command, write),
     .required = true,
     .expects = "the raw value that saves"},
    {.key = "done_when",
     .read = read_word16,
     .offset = offsetof(struct save_command, done_when),
     .expects = "the raw value that is read when it is done"},
    {.key = "within", .read = field_seconds, .offset = offsetof(struct save_command, within_s)},
};

static bool read_save(const struct section *section, const struct field *field, const struct node *value)
{
    struct save_command *save = field_target(section, field);
    save->within_s = 5;
    const struct section inner = {.faults = section->faults,
                                  .node = value,
                                  .what = field->key,
                                  .fields = save_fields,
                                  .count = sizeof save_fields / sizeof *save_fields,
                                  .target = save,
                                  .context = section->context};
    if (!section_load(&inner))
        return false;
    save->given = true;
    save->done_given = node_get(value, "done_when") != NULL;
    if (save->at.table == TABLE_HOLDING || save->at.table == TABLE_COIL)
        return true;
    faults_error(section->faults, section_place(value, "at"),
                 "at: nothing can be written there; expected holding or "
                 "coil");
    return false;
}

#define AT(member) offsetof(struct map, member)

/* modbus before parameters, which need its counting; parameters before all that names one. */
static const struct field map_fields[] = {
    {.key = "map", .read = field_text, .offset = AT(name), .required = true, .expects = "the name of the map"},
    {.key = "about", .read = field_lines, .offset = AT(about)},
    {.key = "modbus", .read = read_modbus, .required = true, .expects = "a mapping with count_from"},
    {.key = "parameters", .read = read_parameters, .required = true, .expects = "parameters by name"},
    {.key = "identity", .read = read_identity, .expects = "a list such as [{parameter: NAME, equals: 0x5143}]"},
    {.key = "set_in_force",
     .read = map_field_set_in_force,
     .offset = AT(set_in_force),
     .expects = "{parameter: NAME, 0: 1, 1: 2, 2: terminal}"},
    {.key = "network_watchdog",
     .read = read_watchdog,
     .offset = AT(network_watchdog),
     .expects = "{parameter: NAME, off: 0}"},
    {.key = "plate_at", .read = field_word, .offset = AT(plate_at), .words = plate_words},
    {.key = "keeps", .read = field_word, .offset = AT(keeps), .words = keeps_words},
    {.key = "save", .read = read_save, .offset = AT(save), .expects = "{at: holding 0x0200, write: 1}"},
};

void map_read(const struct loaded *loaded, struct map *map, struct faults *faults)
{
    struct map_reader reader = {.faults = faults, .map = map, .root = loaded->root};
    *map = (struct map){.path = text_copy(faults->path)};
    memcpy(map->sha256, loaded->file.sha256, sizeof map->sha256);
    map->modbus = (struct modbus_habits){.longest_read = 125, .longest_write = 1, .answers_within_s = 0.5};
    const struct section section = {.faults = faults,
                                    .node = loaded->root,
                                    .what = "the map",
                                    .fields = map_fields,
                                    .count = sizeof map_fields / sizeof *map_fields,
                                    .target = map,
                                    .context = &reader};
    (void)section_load(&section);
    if (map->count > 0)
        map_check(&reader);
    free(reader.sources);
}

bool map_load(const char *path, struct map *map, struct problems *problems)
{
    struct faults faults = {.path = path};
    struct loaded loaded = {0};
    *map = (struct map){0};
    if (loaded_open(path, &loaded, &faults))
        map_read(&loaded, map, &faults);
    loaded_free(&loaded);
    if (faults_hand_out(&faults, problems))
        return true;
    map_free(map);
    return false;
}
