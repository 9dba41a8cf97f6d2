/* SPDX-License-Identifier: MIT */
/* The table of formats, the passing on of events, and the making of cells. */
#include "report/sink.h"

#include "motor/quantity.h"
#include "report/formats.h"

#include <string.h>

static const struct sink_format *const formats[] = {&sink_text, &sink_json, &sink_csv, &sink_html, NULL};

const struct sink_format *sink_format_find(const char *name)
{
    for (size_t i = 0; formats[i] != NULL; i++)
        if (strcmp(formats[i]->name, name) == 0)
            return formats[i];
    return NULL;
}

void sink_init(struct sink *sink, const struct sink_format *format, FILE *file, struct sink_options options)
{
    *sink = (struct sink){.format = format, .file = file, .options = options};
}

void sink_free(struct sink *sink)
{
    if (sink->format != NULL && sink->format->free != NULL)
        sink->format->free(sink);
    *sink = (struct sink){0};
}

void sink_begin(struct sink *sink, const char *schema, const char *const *columns)
{
    sink->format->begin(sink, schema, columns);
}

void sink_open(struct sink *sink, const char *key, enum group_kind kind)
{
    sink->format->open(sink, key, kind);
}

void sink_field(struct sink *sink, const char *key, enum role role, const char *label, struct cell cell)
{
    sink->format->field(sink, key, role, label, &cell);
}

void sink_heading(struct sink *sink, enum role mood, const char *text)
{
    if (sink->format->heading != NULL)
        sink->format->heading(sink, mood, text);
}

void sink_samples(struct sink *sink, const char *key, const struct samples *samples)
{
    if (sink->format->samples != NULL)
        sink->format->samples(sink, key, samples);
}

char *samples_column(const struct series *series)
{
    const char *unit = unit_name(dimension_unit(means_table[series->means].dimension));
    return unit[0] == '\0' ? text_copy(series->parameter) : text_format("%s (%s)", series->parameter, unit);
}

struct cell cell_sample(const struct series *series, const struct sample *sample, struct texts *words)
{
    if (series->means != MEANS_LIVE_STATE)
        return cell_number(sample->value);
    for (size_t i = 0; i < RUN_STATES; i++)
        if (((unsigned)sample->value & 1U << i) != 0)
            texts_add(words, text_copy(run_state_words[i]));
    return cell_words(words);
}

void sink_close(struct sink *sink)
{
    sink->format->close(sink);
}

void sink_end(struct sink *sink)
{
    sink->format->end(sink);
}

struct cell cell_null(void)
{
    return (struct cell){.kind = CELL_NULL};
}

struct cell cell_bool(bool truth)
{
    return (struct cell){.kind = CELL_BOOL, .truth = truth};
}

struct cell cell_integer(int64_t integer)
{
    return (struct cell){.kind = CELL_INTEGER, .integer = integer};
}

struct cell cell_number(double number)
{
    return (struct cell){.kind = CELL_NUMBER, .number = number};
}

struct cell cell_text(const char *text)
{
    return text == NULL ? cell_null() : (struct cell){.kind = CELL_TEXT, .text = text};
}

struct cell cell_words(const struct texts *words)
{
    return (struct cell){.kind = CELL_WORDS, .words = words};
}

struct cell cell_raw(const uint16_t *raw, size_t count)
{
    return (struct cell){.kind = CELL_RAW, .raw = raw, .raw_count = count};
}

struct cell cell_value(const struct value *value)
{
    switch (value->kind) {
    case VALUE_NOTHING:
        return cell_null();
    case VALUE_NUMBER:
        return cell_number(value->number);
    case VALUE_WORD:
    case VALUE_TEXT:
        return cell_text(value->text);
    case VALUE_BITS:
        return cell_words(&value->words);
    case VALUE_BOOL:
        return cell_bool(value->truth);
    }
    return cell_null();
}
