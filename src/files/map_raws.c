/* SPDX-License-Identifier: MIT */
/* Raw values in a map: words for them, those that mean nothing, and conditions on them. */
#include "files/map_reader.h"
#include "files/suggest.h"
#include "types/memory.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

void map_raw_limits(const struct map_reader *reader, size_t index, int64_t *low, int64_t *high)
{
    const struct parameter *parameter = &reader->map->parameters[index];
    *low = 0;
    *high = parameter->words == 1 ? UINT16_MAX : UINT32_MAX;
    if (!reader->sources[index].placed) {
        *low = INT32_MIN; /* its type is wrong, which is told already: nothing is out of range */
        *high = UINT32_MAX;
    } else if (parameter->type == TYPE_S16) {
        *low = INT16_MIN;
    } else if (parameter->type == TYPE_S32) {
        *low = INT32_MIN;
    } else if (parameter->at.table == TABLE_COIL || parameter->at.table == TABLE_DISCRETE) {
        *high = 1;
    }
}

uint32_t map_raw_masked(const struct parameter *parameter, int64_t raw)
{
    return (uint32_t)((uint64_t)raw & (parameter->words == 1 ? UINT16_MAX : UINT32_MAX));
}

bool map_names(const struct named_raws *list, const char *text)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].word != NULL && strcmp(list->items[i].word, text) == 0)
            return true;
    return false;
}

bool map_has_word(const struct parameter *parameter, const char *text)
{
    return map_names(&parameter->choices, text) || map_names(&parameter->special, text);
}

const char *map_word_near(const struct parameter *parameter, const char *text)
{
    struct suggestion near = {0};
    for (size_t i = 0; i < parameter->choices.count; i++)
        suggestion_offer(&near, parameter->choices.items[i].word);
    for (size_t i = 0; i < parameter->special.count; i++)
        suggestion_offer(&near, parameter->special.items[i].word);
    return suggestion_take(&near, text);
}

static size_t index_of(const struct map_reader *reader, const struct parameter *parameter)
{
    return (size_t)(parameter - reader->map->parameters);
}

/* A key that is a raw value between low and high. */
static bool read_key(const struct map_reader *reader, const struct node *value, const char *what, int64_t low,
                     int64_t high, int64_t *raw)
{
    struct node key = {.kind = NODE_SCALAR, .text = value->key, .plain = true, .place = value->key_place};
    return scalar_raw(reader->faults, &key, what, low, high, raw);
}

static bool already_named(const struct map_reader *reader, const struct named_raws *list, const struct node *value,
                          const char *what, uint32_t raw)
{
    for (size_t i = 0; i < list->count; i++) {
        const struct named_raw *row = &list->items[i];
        bool same_word = row->word != NULL && value->text != NULL && strcmp(row->word, value->text) == 0;
        if (row->raw != raw && !same_word)
            continue;
        if (row->raw == raw)
            faults_error(reader->faults, value->key_place, "%s: %s stands there twice; expected it once", what,
                         excerpt(value->key).text);
        else
            faults_error(reader->faults, value->place, "%s: the word \"%s\" stands there twice; expected it once", what,
                         excerpt(value->text).text);
        return true;
    }
    return false;
}

/* {same_as: MEANS} */
static bool read_same_as(const struct map_reader *reader, const struct field *field, const struct node *value,
                         enum means *means)
{
    enum means found = MEANS_NONE;
    const struct field same_as[] = {
        {.key = "same_as", .read = map_field_means, .required = true, .expects = "a means"}};
    const struct section section = {
        .faults = reader->faults, .node = value, .what = field->key, .fields = same_as, .count = 1, .target = &found};
    bool fine = section_load(&section) && found != MEANS_NONE;
    *means = found;
    return fine;
}

static bool read_word(const struct map_reader *reader, const struct field *field, const struct node *value, char **word)
{
    int64_t number = 0;
    const char *text = scalar_text(reader->faults, value, field->key, "a word");
    if (text == NULL)
        return false;
    if (*text == '\0' || strchr(text, '\n') != NULL || raw_parse(text, &number)) {
        faults_error(reader->faults, value->place, "%s: \"%s\" is no word; expected a name for the value", field->key,
                     excerpt(text).text);
        return false;
    }
    *word = text_copy(text);
    return true;
}

static bool read_named(const struct section *section, const struct field *field, const struct node *value, int64_t low,
                       int64_t high, bool may_be_same_as)
{
    const struct map_reader *reader = section->context;
    const struct parameter *parameter = section->target;
    struct named_raws *list = field_target(section, field);
    if (!field_holds_some(section, field, value, NODE_MAPPING))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        struct named_raw row = {0};
        int64_t raw = 0;
        bool read = item->kind != NODE_BROKEN && read_key(reader, item, field->key, low, high, &raw);
        row.raw = map_raw_masked(parameter, raw);
        read = read && !already_named(reader, list, item, field->key, row.raw);
        if (read && may_be_same_as && item->kind == NODE_MAPPING)
            read = read_same_as(reader, field, item, &row.same_as);
        else if (read)
            read = read_word(reader, field, item, &row.word);
        fine = fine && read;
        if (!read)
            continue;
        list->items = memory_grow(list->items, list->count, sizeof *list->items);
        list->items[list->count++] = row;
    }
    return fine;
}

bool map_field_choices(const struct section *section, const struct field *field, const struct node *value)
{
    int64_t low = 0;
    int64_t high = 0;
    map_raw_limits(section->context, index_of(section->context, section->target), &low, &high);
    return read_named(section, field, value, low, high, false);
}

bool map_field_special(const struct section *section, const struct field *field, const struct node *value)
{
    int64_t low = 0;
    int64_t high = 0;
    map_raw_limits(section->context, index_of(section->context, section->target), &low, &high);
    return read_named(section, field, value, low, high, true);
}

bool map_field_bits(const struct section *section, const struct field *field, const struct node *value)
{
    return read_named(section, field, value, 0, 15, false);
}

/* Appends a raw value of that parameter to a list. */
static bool append_raw(const struct map_reader *reader, const struct node *value, const char *what, size_t parameter,
                       struct raw_list *list)
{
    int64_t low = 0;
    int64_t high = 0;
    int64_t raw = 0;
    map_raw_limits(reader, parameter, &low, &high);
    if (!scalar_raw(reader->faults, value, what, low, high, &raw))
        return false;
    list->items = memory_grow(list->items, list->count, sizeof *list->items);
    list->items[list->count++] = map_raw_masked(&reader->map->parameters[parameter], raw);
    return true;
}

/* One raw value, or a list of them. */
static bool read_raws(const struct map_reader *reader, const struct node *value, const char *what, size_t parameter,
                      struct raw_list *list)
{
    if (value->kind != NODE_LIST)
        return append_raw(reader, value, what, parameter, list);
    if (value->count == 0)
        faults_error(reader->faults, value->place, "%s: the list is empty; expected at least one raw value", what);
    bool fine = value->count > 0;
    for (const struct node *item = value->first; item != NULL; item = item->next)
        fine = append_raw(reader, item, what, parameter, list) && fine;
    return fine;
}

bool map_field_no_value(const struct section *section, const struct field *field, const struct node *value)
{
    const struct map_reader *reader = section->context;
    return read_raws(reader, value, field->key, index_of(reader, section->target), field_target(section, field));
}

bool map_field_conditions(const struct section *section, const struct field *field, const struct node *value)
{
    const struct map_reader *reader = section->context;
    struct conditions *list = field_target(section, field);
    if (!field_holds_some(section, field, value, NODE_MAPPING))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        struct condition condition = {0};
        bool read = item->kind != NODE_BROKEN &&
                    map_refer_raw(reader, item->key_place, field->key, item->key, &condition.parameter) &&
                    read_raws(reader, item, field->key, condition.parameter, &condition.raws);
        fine = fine && read;
        if (!read) {
            free(condition.raws.items);
            continue;
        }
        list->items = memory_grow(list->items, list->count, sizeof *list->items);
        list->items[list->count++] = condition;
    }
    return fine;
}
