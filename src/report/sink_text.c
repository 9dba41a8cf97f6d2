/* SPDX-License-Identifier: MIT */
/* Text for a person: facts, items in columns with wrapped notes, the verdict last. */
#include "report/escape.h"
#include "report/formats.h"
#include "report/item.h"

#include <stdlib.h>
#include <string.h>

enum { NAME_COLUMN = 2, NOTE_INDENT = 6, FACT_WIDTH = 10 };

struct text_state {
    unsigned documents;
    bool body;       /* something of the document under way has been written */
    bool labels_due; /* after a heading, the first item says what its columns are */
    struct item item;
    char *verdict; /* owned, shown at the end */
    enum role mood;
};

static struct text_state *state_of(struct sink *sink)
{
    if (sink->state == NULL)
        sink->state = memory_new(1, sizeof(struct text_state));
    return sink->state;
}

static const char *mood_on(const struct sink *sink, enum role mood)
{
    if (!sink->options.color)
        return "";
    return mood == ROLE_BAD ? "\033[1;31m" : mood == ROLE_GOOD ? "\033[1;32m" : "\033[1;33m";
}

static const char *mood_off(const struct sink *sink)
{
    return sink->options.color ? "\033[0m" : "";
}

/* Before the first line of a document comes an empty one, unless it is the first document of all. A document of nothing
 * but its verdict is a line without more. */
static void begin_body(struct sink *sink)
{
    struct text_state *state = sink->state;
    if (!state->body && state->documents > 1)
        (void)fputc('\n', sink->file);
    state->body = true;
}

static void spaces(FILE *file, size_t count)
{
    for (size_t i = 0; i < count; i++)
        (void)fputc(' ', file);
}

/* Writes `text` from column `indent` on, broken at spaces so that no line passes `width`. A longer word stays whole.
 * The cursor is at `at`. */
static void wrap(FILE *file, const char *text, size_t at, size_t indent, size_t width)
{
    bool first_word = true;
    while (*text != '\0') {
        size_t bytes = strcspn(text, " ");
        char *word = text_format("%.*s", (int)bytes, text);
        size_t columns = text_columns(word);
        if (!first_word && at + 1 + columns > width) {
            (void)fputc('\n', file);
            at = 0;
            first_word = true;
        }
        if (first_word && at < indent) {
            spaces(file, indent - at);
            at = indent;
        } else if (!first_word) {
            (void)fputc(' ', file);
            at++;
        }
        (void)fputs(word, file);
        at += columns;
        free(word);
        first_word = false;
        text += bytes;
        text += strspn(text, " ");
    }
    (void)fputc('\n', file);
}

static void begin(struct sink *sink, const char *schema, const char *const *columns)
{
    (void)schema;
    (void)columns;
    struct text_state *state = state_of(sink);
    state->documents++;
    state->body = false;
}

static void open_group(struct sink *sink, const char *key, enum group_kind kind)
{
    (void)key;
    item_group_opened(&state_of(sink)->item, kind);
}

static void keep(char **slot, char *text)
{
    free(*slot);
    *slot = text;
}

static void field(struct sink *sink, const char *key, enum role role, const char *label, const struct cell *cell)
{
    (void)key;
    struct text_state *state = state_of(sink);
    char *text = NULL;
    switch (role) {
    case ROLE_DATA:
        break;
    case ROLE_TITLE:
        begin_body(sink);
        text = cell_shown(cell);
        wrap(sink->file, text, 0, 0, sink->options.width);
        break;
    case ROLE_FACT:
        begin_body(sink);
        text = cell_shown(cell);
        (void)fprintf(sink->file, "%-*s", FACT_WIDTH, label);
        wrap(sink->file, text, strlen(label) > FACT_WIDTH ? strlen(label) : FACT_WIDTH, FACT_WIDTH,
             sink->options.width);
        break;
    case ROLE_NAME:
    case ROLE_FOUND:
    case ROLE_EXPECTED:
    case ROLE_STAKE:
    case ROLE_NOTE:
        (void)item_take(&state->item, role, label, cell);
        break;
    case ROLE_COPY:
        begin_body(sink);
        text = cell_shown(cell);
        (void)fprintf(sink->file, "%s\n", text);
        break;
    case ROLE_GOOD:
    case ROLE_BAD:
    case ROLE_OPEN:
        keep(&state->verdict, cell_shown(cell));
        state->mood = role;
        break;
    }
    free(text);
}

/* Where each column of an item begins and how wide it is, on a page of that width. */
struct layout {
    size_t start[COLUMNS], width[COLUMNS];
};

static struct layout layout_for(size_t page)
{
    enum { FOUND = 12, STAKE = 9 };
    size_t rest = page - NAME_COLUMN - FOUND - STAKE - 4; /* two spaces before expected, one elsewhere */
    struct layout layout = {.width = {rest / 2, FOUND, rest - rest / 2, STAKE}};
    layout.start[COLUMN_NAME] = NAME_COLUMN;
    layout.start[COLUMN_FOUND] = NAME_COLUMN + layout.width[COLUMN_NAME] + 1;
    layout.start[COLUMN_EXPECTED] = layout.start[COLUMN_FOUND] + FOUND + 2;
    layout.start[COLUMN_STAKE] = page - STAKE;
    return layout;
}

/* Where a cell of so many columns begins. What is found ends with its column, so that numbers end together; a long word
 * reaches into what the name leaves free. */
static size_t cell_start(const struct layout *layout, enum column column, size_t columns)
{
    size_t start = layout->start[column];
    size_t end = start + layout->width[column];
    if (column != COLUMN_FOUND)
        return start;
    return columns < end ? end - columns : 0;
}

static bool cell_fits(const struct layout *layout, enum column column, size_t columns)
{
    if (column == COLUMN_FOUND)
        return cell_start(layout, column, columns) > NAME_COLUMN;
    return column == COLUMN_NAME || columns <= layout->width[column];
}

/* Writes the cells in their columns; one that does not fit becomes a note with its label. */
static void write_columns(struct sink *sink, char *const cells[COLUMNS], struct texts *spilled)
{
    struct text_state *state = sink->state;
    struct layout layout = layout_for(sink->options.width);
    size_t at = 0;
    for (enum column column = COLUMN_NAME; column < COLUMNS; column++) {
        if (cells[column] == NULL || cells[column][0] == '\0')
            continue;
        size_t columns = text_columns(cells[column]);
        size_t start = cell_start(&layout, column, columns);
        if (!cell_fits(&layout, column, columns)) {
            texts_add(spilled, text_format("%s %s", state->item.labels[column], cells[column]));
            continue;
        }
        if (start <= at) { /* a long name has a line of its own */
            (void)fputc('\n', sink->file);
            at = 0;
        }
        spaces(sink->file, start - at);
        (void)fputs(cells[column], sink->file);
        at = start + columns;
    }
    (void)fputc('\n', sink->file);
}

static void write_item(struct sink *sink)
{
    struct text_state *state = sink->state;
    struct texts spilled = {0};
    if (state->labels_due) {
        write_columns(sink, state->item.labels, &spilled);
        texts_free(&spilled);
        state->labels_due = false;
    }
    write_columns(sink, state->item.cells, &spilled);
    for (size_t i = 0; i < spilled.count; i++)
        wrap(sink->file, spilled.items[i], 0, NOTE_INDENT, sink->options.width);
    for (size_t i = 0; i < state->item.notes.count; i++)
        wrap(sink->file, state->item.notes.items[i], 0, NOTE_INDENT, sink->options.width);
    texts_free(&spilled);
    item_clear(&state->item);
}

static void heading(struct sink *sink, enum role mood, const char *text)
{
    struct text_state *state = state_of(sink);
    if (state->body)
        (void)fputc('\n', sink->file);
    begin_body(sink);
    (void)fprintf(sink->file, "%s%s%s\n", mood_on(sink, mood), text, mood_off(sink));
    state->labels_due = true;
}

static void close_group(struct sink *sink)
{
    struct text_state *state = state_of(sink);
    if (item_is_whole(&state->item))
        write_item(sink);
    item_group_closed(&state->item);
}

/* The verdict is one line, so that `tail -n 1` has it whole. */
static void end(struct sink *sink)
{
    struct text_state *state = state_of(sink);
    if (state->verdict != NULL) {
        (void)fprintf(sink->file, "%s%s%s%s\n", state->body ? "\n" : "", mood_on(sink, state->mood), state->verdict,
                      mood_off(sink));
    }
    keep(&state->verdict, NULL);
}

static void free_state(struct sink *sink)
{
    struct text_state *state = sink->state;
    if (state == NULL)
        return;
    item_clear(&state->item);
    free(state->verdict);
    free(state);
}

const struct sink_format sink_text = {.name = "text",
                                      .begin = begin,
                                      .open = open_group,
                                      .field = field,
                                      .heading = heading,
                                      .close = close_group,
                                      .end = end,
                                      .free = free_state};
