/* SPDX-License-Identifier: MIT */
/* Where a report goes: structural events with typed values, which each format renders in its way. */
#ifndef ASLEFT_REPORT_SINK_H
#define ASLEFT_REPORT_SINK_H

#include "report/chart.h"
#include "types/error.h"
#include "types/memory.h"
#include "types/value.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* What a field is for a person. Machine formats take every field that has a key; text and HTML show those that are not
 * DATA. */
enum role {
    ROLE_DATA,     /* for machines only */
    ROLE_TITLE,    /* the document's name, on the first line */
    ROLE_FACT,     /* "label  value" above the lists */
    ROLE_NAME,     /* an item's first column */
    ROLE_FOUND,    /* what is there */
    ROLE_EXPECTED, /* what should be there */
    ROLE_STAKE,    /* the last column */
    ROLE_NOTE,     /* below the item, wrapped */
    ROLE_COPY,     /* a line to be copied from the page: whole, from the left edge on */
    ROLE_GOOD,     /* the verdict, last line */
    ROLE_BAD,
    ROLE_OPEN, /* a verdict that is neither */
};

enum cell_kind { CELL_NULL, CELL_BOOL, CELL_INTEGER, CELL_NUMBER, CELL_TEXT, CELL_WORDS, CELL_RAW };

struct cell {
    enum cell_kind kind;
    bool truth;
    int64_t integer;
    double number; /* CELL_NUMBER; what is not finite is shown as null to machines */
    const char *text;
    const struct texts *words;
    const uint16_t *raw;
    size_t raw_count;
};

struct cell cell_null(void);
struct cell cell_bool(bool truth);
struct cell cell_integer(int64_t integer);
struct cell cell_number(double number);
struct cell cell_text(const char *text); /* NULL becomes cell_null; the text must live until the event returns */
struct cell cell_words(const struct texts *words);
struct cell cell_raw(const uint16_t *raw, size_t count);
struct cell cell_value(const struct value *value);

enum group_kind {
    GROUP_OBJECT,
    GROUP_LIST,
    GROUP_ROWS,      /* a list whose objects are the document's rows: items for text, lines for CSV */
    GROUP_SIDE_ROWS, /* a list whose objects are items for text, and are not in a CSV */
};

struct sink;
struct samples;

/* What a format does with each event. A format that has no use for one leaves it NULL. */
struct sink_format {
    const char *name;
    bool verdicts_only; /* it has no meaning for a document whose rows have no verdict */
    bool rows_only;     /* it has rows of one kind alone, so that a cover before the documents has no place in it */
    /* `columns`: dotted paths of the fields that a row shows, NULL at the end; for CSV. They live until the document
     * ends, and are the same for all documents of a sink */
    void (*begin)(struct sink *sink, const char *schema, const char *const *columns);
    void (*open)(struct sink *sink, const char *key, enum group_kind kind);
    void (*field)(struct sink *sink, const char *key, enum role role, const char *label, const struct cell *cell);
    void (*heading)(struct sink *sink, enum role mood, const char *text);
    void (*samples)(struct sink *sink, const char *key, const struct samples *samples);
    void (*chart)(struct sink *sink, const char *key, const struct chart *chart);
    void (*link)(struct sink *sink, const char *label, const char *text, size_t document);
    void (*close)(struct sink *sink);
    void (*end)(struct sink *sink);  /* of one document */
    void (*free)(struct sink *sink); /* where the result was dropped, `file` is NULL and nothing is written */
};

struct sink_options {
    bool color;
    unsigned width; /* columns of the page, 40 or more */
};

struct sink {
    const struct sink_format *format;
    FILE *file; /* the caller's */
    struct sink_options options;
    void *state; /* the format's */
};

/* The names of the formats, as an option's help shows them: of those for every document, and of all. */
#define SINK_FORMATS             "text|json|csv|html"
#define SINK_FORMATS_OF_VERDICTS SINK_FORMATS "|junit|openmetrics"

/* The format of that name, or NULL. */
const struct sink_format *sink_format_find(const char *name);

/* A sink that writes into `file`. sink_free after the last document writes what closes them all, so it comes before the
 * file is flushed or closed; errors of `file` stay in ferror(). */
void sink_init(struct sink *sink, const struct sink_format *format, FILE *file, struct sink_options options);
void sink_free(struct sink *sink);

/* sink_free for a result that nobody wants any more: writes nothing, so that what was cut off does not look whole. */
void sink_drop(struct sink *sink);

/* The events, in the order of the document: begin, then fields, groups and headings, then end. Inside a list of any
 * kind, groups have no key (NULL). A field with key NULL is for persons only; a heading always is, and its mood is
 * ROLE_GOOD, ROLE_BAD or ROLE_OPEN. */
void sink_begin(struct sink *sink, const char *schema, const char *const *columns);
void sink_open(struct sink *sink, const char *key, enum group_kind kind);
void sink_field(struct sink *sink, const char *key, enum role role, const char *label, struct cell cell);
void sink_heading(struct sink *sink, enum role mood, const char *text);
void sink_close(struct sink *sink);

void sink_end(struct sink *sink);

/* A chart, outside of rows. HTML draws it, and JSON has its numbers where `key` is not NULL. It is the caller's, and
 * only has to live until the event returns. */
void sink_chart(struct sink *sink, const char *key, const struct chart *chart);

/* All samples of a run, outside of rows. JSON has a list of series; the lines of a CSV are the samples of one moment,
 * and its last columns, one a series, are named by samples_column(). */
void sink_samples(struct sink *sink, const char *key, const struct samples *samples);

/* A fact whose text leads, where a format can lead, to a document of the same result: the first one is 1, and it may be
 * still to come. */
void sink_link(struct sink *sink, const char *label, const char *text, size_t document);

#endif
