/* SPDX-License-Identifier: MIT */
/* The table of formats, the passing on of events, and the making of cells. */
#include "report/sink.h"

#include "report/formats.h"

#include <string.h>

static const struct sink_format *const formats[] = {&sink_text,  &sink_json,        &sink_csv, &sink_html,
                                                    &sink_junit, &sink_openmetrics, NULL};

const struct sink_format *sink_format_find(const char *name)
{
    for (size_t i = 0; formats[i] != NULL; i++)
        if (strcmp(formats[i]->name, name) == 0)
            return formats[i];
    return NULL;
}

char *sink_kind(const char *schema)
{
    const char *slash = strchr(schema, '/');
    const char *start = slash == NULL ? schema : slash + 1;
    return text_format("%.*s", (int)strcspn(start, "/"), start);
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

void sink_drop(struct sink *sink)
{
    sink->file = NULL;
    sink_free(sink);
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

void sink_chart(struct sink *sink, const char *key, const struct chart *chart)
{
    if (sink->format->chart != NULL)
        sink->format->chart(sink, key, chart);
}

void sink_link(struct sink *sink, const char *label, const char *text, size_t document)
{
    if (sink->format->link != NULL)
        sink->format->link(sink, label, text, document);
    else
        sink_field(sink, NULL, ROLE_FACT, label, cell_text(text));
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
