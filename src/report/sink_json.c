/* SPDX-License-Identifier: MIT */
/* JSON: one object a document, one line an object. */
#include "motor/quantity.h"
#include "report/escape.h"
#include "report/formats.h"
#include "report/sampled.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>

enum { DEEPEST = 8 };

struct json_state {
    json_t *open[DEEPEST]; /* the document and the groups under way; each is owned by the one before */
    size_t depth;          /* how many are open */
};

static void place(struct json_state *state, const char *key, json_t *value)
{
    json_t *parent = state->open[state->depth - 1];
    if (json_is_array(parent))
        (void)json_array_append_new(parent, value);
    else
        (void)json_object_set_new(parent, key, value);
}

static void begin(struct sink *sink, const char *schema, const char *const *columns)
{
    (void)columns;
    struct json_state *state = memory_new(1, sizeof *state);
    sink->state = state;
    state->open[state->depth++] = json_object();
    place(state, "schema", json_string(schema));
}

static void open_group(struct sink *sink, const char *key, enum group_kind kind)
{
    struct json_state *state = sink->state;
    json_t *group = kind == GROUP_OBJECT ? json_object() : json_array();
    place(state, key, group);
    state->open[state->depth++] = group;
}

static json_t *json_text(const char *text)
{
    char *valid = escape_invalid(text);
    json_t *value = json_string(valid);
    free(valid);
    return value;
}

static json_t *json_number(double number)
{
    return isfinite(number) ? json_real(number) : json_null();
}

static json_t *json_cell(const struct cell *cell)
{
    json_t *list = NULL;
    switch (cell->kind) {
    case CELL_NULL:
        return json_null();
    case CELL_BOOL:
        return json_boolean(cell->truth);
    case CELL_INTEGER:
        return json_integer(cell->integer);
    case CELL_NUMBER:
        return json_number(cell->number);
    case CELL_TEXT:
        return json_text(cell->text);
    case CELL_WORDS:
        list = json_array();
        for (size_t i = 0; i < cell->words->count; i++)
            (void)json_array_append_new(list, json_text(cell->words->items[i]));
        return list;
    case CELL_RAW:
        list = json_array();
        for (size_t i = 0; i < cell->raw_count; i++)
            (void)json_array_append_new(list, json_integer(cell->raw[i]));
        return list;
    }
    return json_null();
}

static void field(struct sink *sink, const char *key, enum role role, const char *label, const struct cell *cell)
{
    (void)role;
    (void)label;
    struct json_state *state = sink->state;
    if (key != NULL)
        place(state, key, json_cell(cell));
}

static json_t *json_numbers(const double *numbers, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++)
        (void)json_array_append_new(list, json_number(numbers[i]));
    return list;
}

static void set_new(json_t *object, const char *key, json_t *value)
{
    (void)json_object_set_new(object, key, value);
}

static json_t *json_axis(const struct chart_axis *axis)
{
    json_t *object = json_object();
    set_new(object, "label", json_text(axis->label));
    set_new(object, "unit", axis->unit == NULL ? json_null() : json_text(axis->unit));
    return object;
}

static json_t *json_set(const struct chart_set *set)
{
    json_t *object = json_object();
    set_new(object, "label", json_text(set->label));
    set_new(object, "style", json_string(chart_style_word(set->style)));
    set_new(object, "x", json_numbers(set->x, set->count));
    set_new(object, "y", json_numbers(set->y, set->count));
    if (set->y_high != NULL)
        set_new(object, "y_high", json_numbers(set->y_high, set->count));
    return object;
}

static void chart_numbers(struct sink *sink, const char *key, const struct chart *chart)
{
    if (key == NULL)
        return;
    json_t *object = json_object(), *sets = json_array(), *marks = json_array();
    set_new(object, "title", json_text(chart->title));
    set_new(object, "x", json_axis(&chart->x));
    set_new(object, "y", json_axis(&chart->y));
    for (size_t i = 0; i < chart->set_count; i++)
        (void)json_array_append_new(sets, json_set(&chart->sets[i]));
    for (size_t i = 0; i < chart->mark_count; i++) {
        json_t *mark = json_object();
        set_new(mark, "x", json_number(chart->marks[i].x));
        set_new(mark, "label", json_text(chart->marks[i].label));
        (void)json_array_append_new(marks, mark);
    }
    set_new(object, "sets", sets);
    set_new(object, "marks", marks);
    place(sink->state, key, object);
}

/* Moments in ms, since the run began. */
static json_t *json_ms(const struct series *series, bool half)
{
    json_t *list = json_array();
    for (size_t i = 0; i < series->count; i++) {
        const struct sample *sample = &series->items[i];
        (void)json_array_append_new(list, json_real((double)(half ? sample->half_us : sample->at_us) / 1000));
    }
    return list;
}

static json_t *json_values(const struct series *series)
{
    json_t *list = json_array();
    for (size_t i = 0; i < series->count; i++) {
        struct texts words = {0};
        const struct cell cell = cell_sample(series, &series->items[i], &words);
        (void)json_array_append_new(list, json_cell(&cell));
        texts_free(&words);
    }
    return list;
}

static void samples(struct sink *sink, const char *key, const struct samples *samples)
{
    json_t *list = json_array();
    for (size_t i = 0; i < samples->count; i++) {
        const struct series *series = &samples->items[i];
        const char *unit = unit_name(dimension_unit(means_table[series->means].dimension));
        json_t *object = json_object();
        set_new(object, "parameter", json_text(series->parameter));
        set_new(object, "means", json_string(means_table[series->means].name));
        set_new(object, "unit", unit[0] == '\0' ? json_null() : json_string(unit));
        set_new(object, "at_ms", json_ms(series, false));
        set_new(object, "within_ms", json_ms(series, true));
        set_new(object, "value", json_values(series));
        (void)json_array_append_new(list, object);
    }
    place(sink->state, key, list);
}

static void close_group(struct sink *sink)
{
    struct json_state *state = sink->state;
    state->depth--;
}

static void end(struct sink *sink)
{
    struct json_state *state = sink->state;
    /* Twelve digits are more than any register holds, and hide the binary dust of 2.9450000000000003. */
    (void)json_dumpf(state->open[0], sink->file, JSON_COMPACT | JSON_REAL_PRECISION(12));
    (void)fputc('\n', sink->file);
    json_decref(state->open[0]);
    free(state);
    sink->state = NULL;
}

const struct sink_format sink_json = {.name = "json",
                                      .begin = begin,
                                      .open = open_group,
                                      .field = field,
                                      .chart = chart_numbers,
                                      .samples = samples,
                                      .close = close_group,
                                      .end = end};
