/* SPDX-License-Identifier: MIT */
/* Units, scales, ramp spans and sets that another parameter's raw value selects. */
#include "files/map_reader.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

/* One raw key and its row, unless the raw value had a row already. */
static bool read_row(const struct map_reader *reader, const struct node *value, const char *what, size_t parameter,
                     struct raw_list *seen, map_row_reader *row, void *user)
{
    int64_t low = 0;
    int64_t high = 0;
    int64_t raw = 0;
    struct node key = {.kind = NODE_SCALAR, .text = value->key, .plain = true, .place = value->key_place};
    map_raw_limits(reader, parameter, &low, &high);
    if (value->kind == NODE_BROKEN || !scalar_raw(reader->faults, &key, what, low, high, &raw))
        return false;
    uint32_t masked = map_raw_masked(&reader->map->parameters[parameter], raw);
    for (size_t i = 0; i < seen->count; i++) {
        if (seen->items[i] != masked)
            continue;
        faults_error(reader->faults, value->key_place, "%s: %s stands there twice; expected it once", what,
                     excerpt(value->key).text);
        return false;
    }
    seen->items = memory_grow(seen->items, seen->count, sizeof *seen->items);
    seen->items[seen->count++] = masked;
    return row(reader, what, value, masked, user);
}

bool map_read_rows(const struct map_reader *reader, const struct node *value, const char *what, const char *by,
                   size_t *parameter, map_row_reader *row, void *user)
{
    const struct node *selector = value->kind == NODE_MAPPING ? node_get(value, by) : NULL;
    if (value->kind != NODE_MAPPING || selector == NULL) {
        faults_error(reader->faults, value->place, "%s names no parameter; expected {%s: NAME, 0: ..., 1: ...}", what,
                     by);
        return false;
    }
    const char *name = scalar_text(reader->faults, selector, what, "the name of a parameter");
    if (name == NULL || !map_refer_raw(reader, selector->place, what, name, parameter))
        return false;
    bool fine = true;
    struct raw_list seen = {0};
    for (const struct node *item = value->first; item != NULL; item = item->next)
        if (item != selector)
            fine = read_row(reader, item, what, *parameter, &seen, row, user) && fine;
    free(seen.items);
    return fine;
}

static struct choice_row *add_row(struct selector *selector, uint32_t raw)
{
    selector->rows = memory_grow(selector->rows, selector->count, sizeof *selector->rows);
    struct choice_row *row = &selector->rows[selector->count++];
    row->raw = raw;
    return row;
}

static bool read_selector(const struct section *section, const struct field *field, const struct node *value,
                          const char *by, struct selector *selector, map_row_reader *row)
{
    const struct map_reader *reader = section->context;
    if (!map_read_rows(reader, value, field->key, by, &selector->parameter, row, selector))
        return false;
    if (selector->count == 0) {
        faults_error(reader->faults, value->place, "%s has no rows; expected %s", field->key, field->expects);
        return false;
    }
    selector->given = true;
    return true;
}

static bool unit_row(const struct map_reader *reader, const char *what, const struct node *value, uint32_t raw,
                     void *user)
{
    enum unit unit = UNIT_NONE;
    if (!map_unit(reader->faults, value, what, &unit))
        return false;
    add_row(user, raw)->unit = unit;
    return true;
}

static bool scale_row(const struct map_reader *reader, const char *what, const struct node *value, uint32_t raw,
                      void *user)
{
    double scale = 0;
    if (!scalar_number(reader->faults, value, what, &scale))
        return false;
    if (scale == 0) {
        faults_error(reader->faults, value->place, "%s: a scale of 0 makes every value 0; expected another number",
                     what);
        return false;
    }
    add_row(user, raw)->scale = scale;
    return true;
}

/* What a ramp runs over: a means that is a frequency or a speed, or a value in Hz or rpm. */
static bool read_span(const struct map_reader *reader, const char *what, const struct node *value,
                      struct quantity *span, enum means *means)
{
    const char *text = scalar_text(reader->faults, value, what, "a means, or a value in Hz or rpm");
    if (text == NULL)
        return false;
    if (*text < 'a' || *text > 'z') {
        size_t length = strlen(text);
        bool is_speed = length > 3 && strcmp(text + length - 3, "rpm") == 0;
        if (!scalar_quantity(reader->faults, value, what, is_speed ? DIMENSION_SPEED : DIMENSION_FREQUENCY, span))
            return false;
        if (span->value > 0)
            return true;
        faults_error(reader->faults, value->place, "%s: \"%s\" spans nothing; expected more than 0", what,
                     excerpt(text).text);
        return false;
    }
    if (!map_means(reader->faults, value->place, what, text, means))
        return false;
    enum dimension dimension = means_table[*means].dimension;
    if (dimension == DIMENSION_FREQUENCY || dimension == DIMENSION_SPEED)
        return true;
    faults_error(reader->faults, value->place, "%s: %s is no frequency; expected one such as limit.maximum_frequency",
                 what, text);
    return false;
}

static bool span_row(const struct map_reader *reader, const char *what, const struct node *value, uint32_t raw,
                     void *user)
{
    struct quantity span = {0};
    enum means means = MEANS_NONE;
    if (!read_span(reader, what, value, &span, &means))
        return false;
    struct choice_row *row = add_row(user, raw);
    row->span = span;
    row->span_means = means;
    return true;
}

static bool set_row(const struct map_reader *reader, const char *what, const struct node *value, uint32_t raw,
                    void *user)
{
    struct set_in_force *force = user;
    struct set_row row = {.raw = raw};
    int64_t set = 0;
    if (value->kind == NODE_SCALAR && strcmp(value->text, "terminal") == 0)
        row.terminal = true;
    else if (!scalar_raw(reader->faults, value, what, 1, 255, &set))
        return false;
    row.set = (unsigned)set;
    force->rows = memory_grow(force->rows, force->count, sizeof *force->rows);
    force->rows[force->count++] = row;
    return true;
}

bool map_field_unit_by(const struct section *section, const struct field *field, const struct node *value)
{
    return read_selector(section, field, value, "parameter", field_target(section, field), unit_row);
}

bool map_field_scale_by(const struct section *section, const struct field *field, const struct node *value)
{
    return read_selector(section, field, value, "parameter", field_target(section, field), scale_row);
}

bool map_field_ramp_span(const struct section *section, const struct field *field, const struct node *value)
{
    struct ramp_span *span = field_target(section, field);
    bool fine = value->kind == NODE_MAPPING
                    ? read_selector(section, field, value, "by", &span->by, span_row)
                    : read_span(section->context, field->key, value, &span->value, &span->means);
    span->given = fine;
    return fine;
}

bool map_field_set_in_force(const struct section *section, const struct field *field, const struct node *value)
{
    struct set_in_force *force = field_target(section, field);
    force->given = map_read_rows(section->context, value, field->key, "parameter", &force->parameter, set_row, force);
    return force->given;
}
