/* SPDX-License-Identifier: MIT */
/* CSV as RFC 4180 has it: a header once, a line a row, fields of the document repeated in each. */
#include "report/escape.h"
#include "report/formats.h"
#include "report/path.h"
#include "report/sampled.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct csv_state {
    const char *const *columns; /* dotted paths */
    char **cells;               /* one a column, owned, NULL where empty */
    bool *of_row;               /* the cell belongs to the row under way, not to the document */
    size_t count;
    struct path path; /* of the groups under way; rows are those of GROUP_ROWS */
    bool header_written;
};

/* A cell that a spreadsheet would take for a formula gets an apostrophe in front. */
static bool starts_formula(const char *text)
{
    return text[0] != '\0' && strchr("=+-@\t\r\n", text[0]) != NULL;
}

static char *text_cell(const char *text)
{
    char *valid = escape_invalid(text);
    char *cell = starts_formula(valid) ? text_format("'%s", valid) : text_copy(valid);
    free(valid);
    return cell;
}

static char *joined(const struct cell *cell)
{
    char *all = text_copy("");
    size_t count = cell->kind == CELL_WORDS ? cell->words->count : cell->raw_count;
    for (size_t i = 0; i < count; i++) {
        const char *space = i > 0 ? " " : "";
        char *more = cell->kind == CELL_WORDS ? text_format("%s%s%s", all, space, cell->words->items[i])
                                              : text_format("%s%s%u", all, space, cell->raw[i]);
        free(all);
        all = more;
    }
    char *safe = text_cell(all);
    free(all);
    return safe;
}

static char *csv_cell(const struct cell *cell)
{
    switch (cell->kind) {
    case CELL_NULL:
        return NULL;
    case CELL_BOOL:
        return text_copy(cell->truth ? "true" : "false");
    case CELL_INTEGER:
        return text_format("%lld", (long long)cell->integer);
    case CELL_NUMBER:
        return isfinite(cell->number) ? text_format("%.12g", cell->number) : NULL;
    case CELL_TEXT:
        return text_cell(cell->text);
    case CELL_WORDS:
    case CELL_RAW:
        return joined(cell);
    }
    return NULL;
}

static void write_cell(FILE *file, const char *text)
{
    if (strpbrk(text, ",\"\r\n") == NULL) {
        (void)fputs(text, file);
        return;
    }
    (void)fputc('"', file);
    for (; *text != '\0'; text++) {
        if (*text == '"')
            (void)fputc('"', file);
        (void)fputc(*text, file);
    }
    (void)fputc('"', file);
}

static void write_header(struct sink *sink)
{
    struct csv_state *state = sink->state;
    for (size_t i = 0; i < state->count; i++)
        (void)fprintf(sink->file, "%s%s", i > 0 ? "," : "", state->columns[i]);
    (void)fputs("\r\n", sink->file);
    state->header_written = true;
}

static void begin(struct sink *sink, const char *schema, const char *const *columns)
{
    (void)schema;
    struct csv_state *state = sink->state;
    if (state == NULL) {
        state = memory_new(1, sizeof *state);
        sink->state = state;
        state->columns = columns;
        while (columns[state->count] != NULL)
            state->count++;
        state->cells = memory_new(state->count, sizeof *state->cells);
        state->of_row = memory_new(state->count, sizeof *state->of_row);
    }
    if (!state->header_written)
        write_header(sink);
}

static void open_group(struct sink *sink, const char *key, enum group_kind kind)
{
    struct csv_state *state = sink->state;
    path_open(&state->path, key, kind == GROUP_ROWS);
}

static void field(struct sink *sink, const char *key, enum role role, const char *label, const struct cell *cell)
{
    (void)role;
    (void)label;
    struct csv_state *state = sink->state;
    if (key == NULL)
        return;
    char *path = path_of(&state->path, key);
    for (size_t i = 0; i < state->count; i++) {
        if (strcmp(state->columns[i], path) != 0)
            continue;
        free(state->cells[i]);
        state->cells[i] = csv_cell(cell);
        state->of_row[i] = path_in_rows(&state->path);
    }
    free(path);
}

static void forget(struct csv_state *state, bool document_too)
{
    for (size_t i = 0; i < state->count; i++)
        if (state->of_row[i] || document_too) {
            free(state->cells[i]);
            state->cells[i] = NULL;
        }
}

static void write_row(struct sink *sink)
{
    struct csv_state *state = sink->state;
    for (size_t i = 0; i < state->count; i++) {
        if (i > 0)
            (void)fputc(',', sink->file);
        write_cell(sink->file, state->cells[i] == NULL ? "" : state->cells[i]);
    }
    (void)fputs("\r\n", sink->file);
    forget(state, false);
}

/* The earliest moment that no series has given yet; false where all have given all. */
static bool next_moment(const struct samples *samples, const size_t *given, int64_t *at_us)
{
    bool found = false;
    for (size_t i = 0; i < samples->count; i++) {
        const struct series *series = &samples->items[i];
        if (given[i] == series->count || (found && series->items[given[i]].at_us >= *at_us))
            continue;
        *at_us = series->items[given[i]].at_us;
        found = true;
    }
    return found;
}

/* A sample into its column. */
static void place_sample(struct csv_state *state, size_t column, const struct series *series, size_t index)
{
    struct texts words = {0};
    const struct cell cell = cell_sample(series, &series->items[index], &words);
    state->cells[column] = csv_cell(&cell);
    state->of_row[column] = true;
    texts_free(&words);
}

/* What one request brought has one moment, and stands in one line. */
static void samples(struct sink *sink, const char *key, const struct samples *samples)
{
    (void)key;
    struct csv_state *state = sink->state;
    size_t *given = memory_new(samples->count, sizeof *given);
    size_t first = state->count - samples->count;
    int64_t at_us = 0;
    while (next_moment(samples, given, &at_us)) {
        const struct cell moment = cell_number((double)at_us * 1e-6);
        field(sink, "at_s", ROLE_DATA, NULL, &moment);
        for (size_t i = 0; i < samples->count; i++)
            if (given[i] < samples->items[i].count && samples->items[i].items[given[i]].at_us == at_us)
                place_sample(state, first + i, &samples->items[i], given[i]++);
        write_row(sink);
    }
    free(given);
}

static void close_group(struct sink *sink)
{
    struct csv_state *state = sink->state;
    if (path_at_row(&state->path))
        write_row(sink);
    path_close(&state->path);
}

static void end(struct sink *sink)
{
    forget(sink->state, true);
}

static void free_state(struct sink *sink)
{
    struct csv_state *state = sink->state;
    if (state == NULL)
        return;
    forget(state, true);
    free(state->cells);
    free(state->of_row);
    free(state);
}

const struct sink_format sink_csv = {.name = "csv",
                                     .rows_only = true,
                                     .begin = begin,
                                     .open = open_group,
                                     .field = field,
                                     .samples = samples,
                                     .close = close_group,
                                     .end = end,
                                     .free = free_state};
