/* SPDX-License-Identifier: MIT */
/* The `parameters` of a map: each parameter's keys. */
#include "files/map_reader.h"

#include "files/suggest.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

static const struct word settable_words[] = {
    {"never", SETTABLE_NEVER}, {"stopped", SETTABLE_STOPPED}, {"always", SETTABLE_ALWAYS}, {NULL, 0}};
static const struct word base_words[] = {{"register", BASE_REGISTER}, {"sheet", BASE_SHEET}, {NULL, 0}};
static const struct word overload_words[] = {
    {"reference", OVERLOAD_REFERENCE}, {"trip-current", OVERLOAD_TRIP_CURRENT}, {NULL, 0}};
static const struct word obtained_words[] = {
    {"measured", OBTAINED_MEASURED}, {"computed", OBTAINED_COMPUTED}, {"commanded", OBTAINED_COMMANDED}, {NULL, 0}};
static const struct word effect_words[] = {
    {"at-once", EFFECT_AT_ONCE}, {"at-stop", EFFECT_AT_STOP}, {"power-cycle", EFFECT_POWER_CYCLE}, {NULL, 0}};
static const struct word kind_words[] = {{"value", KIND_VALUE}, {"command", KIND_COMMAND}, {NULL, 0}};
static const struct word type_words[] = {{"u16", TYPE_U16}, {"s16", TYPE_S16},   {"u32", TYPE_U32},   {"s32", TYPE_S32},
                                         {"f32", TYPE_F32}, {"bits", TYPE_BITS}, {"bool", TYPE_BOOL}, {NULL, 0}};

static const char *const types = "u16, s16, u32, s32, f32, bits, bool or text(N registers)";

/* text(N) or text(N registers): N, or 0 where it is neither. */
static unsigned text_registers(const char *text)
{
    unsigned count = 0;
    size_t digits = strspn(text + 5, "0123456789");
    const char *rest = text + 5 + digits;
    if (digits == 0 || digits > 3 || text[5] == '0')
        return 0;
    if (strcmp(rest, ")") != 0 && strcmp(rest, " registers)") != 0 && strcmp(rest, " register)") != 0)
        return 0;
    for (size_t i = 0; i < digits; i++)
        count = 10 * count + (unsigned)(text[5 + i] - '0');
    return count <= 125 ? count : 0;
}

static bool read_type(const struct section *section, const struct field *field, const struct node *value)
{
    struct parameter *parameter = section->target;
    const char *text = scalar_text(section->faults, value, field->key, types);
    unsigned found = 0;
    if (text == NULL)
        return false;
    if (strncmp(text, "text(", 5) == 0) {
        parameter->type = TYPE_TEXT;
        parameter->words = text_registers(text);
        if (parameter->words > 0)
            return true;
        faults_error(section->faults, value->place,
                     "%s: \"%s\" is no length of text; expected text(N registers), N from "
                     "1 to 125",
                     field->key, excerpt(text).text);
        parameter->words = 1;
        return false;
    }
    if (!word_find(type_words, text, &found)) {
        faults_error(section->faults, value->place, "%s: unknown type \"%s\"; expected %s", field->key,
                     excerpt(text).text, types);
        return false;
    }
    parameter->type = (enum value_type)found;
    bool is_double = found == TYPE_U32 || found == TYPE_S32 || found == TYPE_F32;
    parameter->words = is_double ? 2 : 1;
    return true;
}

bool map_unit(struct faults *faults, const struct node *value, const char *what, enum unit *unit)
{
    const char *text = scalar_text(faults, value, what, "a unit such as A, Hz or %");
    if (text == NULL)
        return false;
    if (unit_find(text, unit) && *unit != UNIT_NONE)
        return true;
    const char *near = unit_suggest(text);
    if (near != NULL && *near != '\0')
        faults_error(faults, value->place, "%s: unknown unit \"%s\"; did you mean \"%s\"", what, excerpt(text).text,
                     near);
    else
        faults_error(faults, value->place, "%s: unknown unit \"%s\"; expected one such as A, Hz, kW, rpm, s or %%",
                     what, excerpt(text).text);
    return false;
}

static bool read_unit(const struct section *section, const struct field *field, const struct node *value)
{
    return map_unit(section->faults, value, field->key, field_target(section, field));
}

static bool read_scale(const struct section *section, const struct field *field, const struct node *value)
{
    double *scale = field_target(section, field);
    if (!field_number(section, field, value))
        return false;
    if (*scale != 0)
        return true;
    faults_error(section->faults, value->place, "%s: a scale of 0 makes every value 0; expected another number",
                 field->key);
    return false;
}

static bool read_percent_of(const struct section *section, const struct field *field, const struct node *value)
{
    struct parameter *parameter = section->target;
    if (!map_field_means(section, field, value))
        return false;
    if (means_table[parameter->percent_of].dimension == DIMENSION_NONE) {
        faults_error(section->faults, value->place, "%s: %s is no quantity; expected one such as motor.rated_current",
                     field->key, means_table[parameter->percent_of].name);
        return false;
    }
    parameter->is_percent = true;
    if (parameter->unit == UNIT_NONE && !parameter->unit_by.given)
        parameter->unit = UNIT_PERCENT;
    return true;
}

static bool read_write_at(const struct section *section, const struct field *field, const struct node *value)
{
    struct parameter *parameter = section->target;
    if (!map_field_address(section, field, value))
        return false;
    parameter->write_at_given = true;
    if (parameter->write_at.table == TABLE_HOLDING || parameter->write_at.table == TABLE_COIL)
        return true;
    faults_error(section->faults, value->place, "%s: nothing can be written there; expected holding or coil",
                 field->key);
    return false;
}

static bool read_writing_changes(const struct section *section, const struct field *field, const struct node *value)
{
    const struct map_reader *reader = section->context;
    struct parameter *parameter = section->target;
    if (!field_holds(section, field, value, NODE_LIST))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        size_t index = 0;
        const char *name = scalar_text(section->faults, item, field->key, "the name of a parameter");
        if (name == NULL || !map_refer(reader, item->place, field->key, name, &index)) {
            fine = false;
            continue;
        }
        size_t count = parameter->writing_changes_count;
        parameter->writing_changes = memory_grow(parameter->writing_changes, count, sizeof(size_t));
        parameter->writing_changes[parameter->writing_changes_count++] = index;
    }
    return fine;
}

#define AT(member) offsetof(struct parameter, member)

/* Phase 0 before phase 1, and within a phase what others build on first: `default` needs accepts, which needs the unit.
 */
static const struct field parameter_fields[] = {
    {.key = "at",
     .read = map_field_address,
     .offset = AT(at),
     .required = true,
     .expects = "an address such as holding 0x0110"},
    {.key = "type", .read = read_type, .expects = "u16, s16, u32, s32, f32, bits, bool or text(N registers)"},
    {.key = "scale", .phase = 1, .read = read_scale, .offset = AT(scale), .expects = "a number"},
    {.key = "offset", .phase = 1, .read = field_number, .offset = AT(offset)},
    {.key = "unit", .phase = 1, .read = read_unit, .offset = AT(unit), .expects = "a unit such as A, Hz or %"},
    {.key = "unit_by",
     .phase = 1,
     .read = map_field_unit_by,
     .offset = AT(unit_by),
     .expects = "{parameter: NAME, 0: kW, 1: hp}"},
    {.key = "scale_by",
     .phase = 1,
     .read = map_field_scale_by,
     .offset = AT(scale_by),
     .expects = "{parameter: NAME, 0: 0.01, 1: 0.1}"},
    {.key = "means",
     .phase = 1,
     .read = map_field_means,
     .offset = AT(means),
     .expects = "a means such as motor.rated_current"},
    {.key = "percent_of",
     .phase = 1,
     .read = read_percent_of,
     .offset = AT(percent_of),
     .expects = "a means such as motor.rated_current"},
    {.key = "base", .phase = 1, .read = field_word, .offset = AT(base), .words = base_words},
    {.key = "settable", .phase = 1, .read = field_word, .offset = AT(settable), .words = settable_words},
    {.key = "choices",
     .phase = 1,
     .read = map_field_choices,
     .offset = AT(choices),
     .expects = "raw values and their words, such as {0: keypad, 1: network}"},
    {.key = "bits",
     .phase = 1,
     .read = map_field_bits,
     .offset = AT(bits),
     .expects = "bit numbers and their names, such as {0: running, 7: tripped}"},
    {.key = "special",
     .phase = 1,
     .read = map_field_special,
     .offset = AT(special),
     .expects = "raw values and their words, such as {0: off}"},
    {.key = "no_value",
     .phase = 1,
     .read = map_field_no_value,
     .offset = AT(no_value),
     .expects = "a list of raw values such as [0x7FFF]"},
    {.key = "accepts", .phase = 1, .read = map_field_accepts, .expects = "LOW to HIGH, such as 0.1 A to 9.9 A"},
    {.key = "default", .phase = 1, .read = map_field_default, .expects = "a value in the parameter's unit"},
    {.key = "applies_when",
     .phase = 1,
     .read = map_field_conditions,
     .offset = AT(applies_when),
     .expects = "parameters and their raw values, such as {motor_set: 1}"},
    {.key = "locked_by",
     .phase = 1,
     .read = map_field_conditions,
     .offset = AT(locked_by),
     .expects = "parameters and their raw values, such as {access_level: [0, 1]}"},
    {.key = "set", .phase = 1, .read = field_count, .offset = AT(set), .low = 1, .high = 255},
    {.key = "overload_is", .phase = 1, .read = field_word, .offset = AT(overload_is), .words = overload_words},
    {.key = "ramp_span",
     .phase = 1,
     .read = map_field_ramp_span,
     .offset = AT(ramp_span),
     .expects = "a means, a value in Hz or rpm, or {by: NAME, 0: ..., 1: ...}"},
    {.key = "tuned", .phase = 1, .read = field_flag, .offset = AT(tuned)},
    {.key = "obtained", .phase = 1, .read = field_word, .offset = AT(obtained), .words = obtained_words},
    {.key = "refreshed_every",
     .phase = 1,
     .read = field_quantity,
     .offset = AT(refreshed_every),
     .dimension = DIMENSION_TIME},
    {.key = "filtered_over",
     .phase = 1,
     .read = field_quantity,
     .offset = AT(filtered_over),
     .dimension = DIMENSION_TIME,
     .may_be_zero = true},
    {.key = "watch", .phase = 1, .read = field_flag, .offset = AT(watch)},
    {.key = "takes_effect", .phase = 1, .read = field_word, .offset = AT(takes_effect), .words = effect_words},
    {.key = "write_at",
     .phase = 1,
     .read = read_write_at,
     .offset = AT(write_at),
     .expects = "an address such as holding 0x0110"},
    {.key = "could_start", .phase = 1, .read = field_flag, .offset = AT(could_start)},
    {.key = "kind", .phase = 1, .read = field_word, .offset = AT(kind), .words = kind_words},
    {.key = "writing_changes", .phase = 1, .read = read_writing_changes, .expects = "a list of parameters' names"},
    {.key = "cuts_line", .phase = 1, .read = field_flag, .offset = AT(cuts_line)},
    {.key = "write_words", .phase = 1, .read = field_word, .offset = AT(write_words), .words = map_write_words},
};

struct place map_place(const struct map_reader *reader, size_t parameter, const char *key)
{
    return section_place(reader->sources[parameter].node, key);
}

bool map_unknown_parameter(struct faults *faults, const struct map *map, struct place place, const char *what,
                           const char *name, const char *expects)
{
    struct suggestion near = {0};
    for (size_t i = 0; i < map->count && faults_are_few(faults); i++)
        suggestion_offer(&near, map->parameters[i].name);
    const char *best = suggestion_take(&near, name);
    if (best != NULL)
        faults_error(faults, place, "%s: unknown parameter \"%s\"; did you mean \"%s\"", what, excerpt(name).text,
                     best);
    else
        faults_error(faults, place, "%s: unknown parameter \"%s\"; expected %s", what, excerpt(name).text, expects);
    return false;
}

bool map_refer(const struct map_reader *reader, struct place place, const char *what, const char *name,
               size_t *parameter)
{
    *parameter = map_find(reader->map, name);
    return *parameter != PARAMETER_NOT_FOUND ||
           map_unknown_parameter(reader->faults, reader->map, place, what, name, "the name of a parameter of this map");
}

bool map_refer_raw(const struct map_reader *reader, struct place place, const char *what, const char *name,
                   size_t *parameter)
{
    if (!map_refer(reader, place, what, name, parameter))
        return false;
    if (reader->map->parameters[*parameter].type != TYPE_TEXT)
        return true;
    faults_error(reader->faults, place, "%s: %s is a text, which has no raw value; expected a parameter with a number",
                 what, excerpt(name).text);
    return false;
}

static bool is_name(const char *text)
{
    const char *letters = "abcdefghijklmnopqrstuvwxyz0123456789_";
    return *text >= 'a' && *text <= 'z' && strspn(text, letters) == strlen(text);
}

/* What a map need not say. */
static void set_defaults(struct parameter *parameter, const struct map_reader *reader)
{
    parameter->words = 1;
    parameter->scale = 1;
    parameter->write_words = reader->write_words;
}

static struct section parameter_section(const struct map_reader *reader, size_t index, const char *what)
{
    return (struct section){.faults = reader->faults,
                            .node = reader->sources[index].node,
                            .what = what,
                            .fields = parameter_fields,
                            .count = sizeof parameter_fields / sizeof *parameter_fields,
                            .target = &reader->map->parameters[index],
                            .context = (void *)reader};
}

/* Table and type: all that other parameters need to know of this one. */
static void read_place(struct map_reader *reader, size_t index)
{
    struct parameter *parameter = &reader->map->parameters[index];
    struct parameter_source *source = &reader->sources[index];
    char *what = text_format("parameter %s", parameter->name);
    struct section section = parameter_section(reader, index, what);
    bool fine = section_check(&section) && section_read(&section, 0) && node_get(source->node, "at") != NULL;
    bool is_bit = parameter->at.table == TABLE_COIL || parameter->at.table == TABLE_DISCRETE;
    if (fine && node_get(source->node, "type") == NULL) {
        fine = is_bit;
        if (is_bit)
            parameter->type = TYPE_BOOL;
        else
            faults_error(reader->faults, source->node->key_place, "%s lacks type; expected %s", what, types);
    } else if (fine && is_bit && parameter->type != TYPE_BOOL) {
        faults_error(reader->faults, map_place(reader, index, "type"),
                     "type: a coil or discrete input holds one bit; expected bool, or no type");
        fine = false;
    }
    source->placed = fine;
    free(what);
}

static void read_rest(struct map_reader *reader, size_t index)
{
    struct parameter_source *source = &reader->sources[index];
    if (source->node->kind != NODE_MAPPING)
        return;
    char *what = text_format("parameter %s", reader->map->parameters[index].name);
    struct section section = parameter_section(reader, index, what);
    bool fine = section_read(&section, 1);
    source->sound = source->placed && fine;
    free(what);
}

void map_read_parameters(struct map_reader *reader, const struct node *value)
{
    struct map *map = reader->map;
    if (value->kind != NODE_MAPPING || value->count == 0) {
        faults_error(reader->faults, value->place, "parameters is %s; expected parameters by name",
                     node_describe(value));
        return;
    }
    map->parameters = memory_new(value->count, sizeof *map->parameters);
    reader->sources = memory_new(value->count, sizeof *reader->sources);
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        if (!is_name(item->key))
            faults_error(
                reader->faults, item->key_place,
                "\"%s\" cannot be a parameter's name; expected a lower-case letter, then letters, digits and _",
                excerpt(item->key).text);
        if (item->kind == NODE_BROKEN)
            continue;
        struct parameter *parameter = &map->parameters[map->count];
        parameter->name = text_copy(item->key);
        parameter->line = item->key_place.line;
        set_defaults(parameter, reader);
        reader->sources[map->count++].node = item;
    }
    for (size_t i = 0; i < map->count; i++)
        read_place(reader, i);
    for (size_t i = 0; i < map->count; i++)
        read_rest(reader, i);
}
