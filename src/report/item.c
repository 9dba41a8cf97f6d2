/* SPDX-License-Identifier: MIT */
/* What the formats for persons gather of a row before they can lay it out: its columns and its notes. */
#include "report/item.h"

#include "report/escape.h"

#include <stdlib.h>

char *cell_shown(const struct cell *cell)
{
    char *text = NULL;
    switch (cell->kind) {
    case CELL_NULL:
        return text_copy("-");
    case CELL_BOOL:
        return text_copy(cell->truth ? "true" : "false");
    case CELL_INTEGER:
        return text_format("%lld", (long long)cell->integer);
    case CELL_NUMBER:
        return text_format("%.6g", cell->number);
    case CELL_TEXT:
        return escape_terminal(cell->text);
    case CELL_WORDS:
        text = text_copy("");
        for (size_t i = 0; i < cell->words->count; i++) {
            char *word = escape_terminal(cell->words->items[i]);
            char *more = text_format("%s%s%s", text, i > 0 ? " " : "", word);
            free(word);
            free(text);
            text = more;
        }
        return text;
    case CELL_RAW:
        text = text_copy("");
        for (size_t i = 0; i < cell->raw_count; i++) {
            char *more = text_format("%s%s%04X", text, i > 0 ? " " : "", cell->raw[i]);
            free(text);
            text = more;
        }
        return text;
    }
    return text_copy("");
}

static void take_column(struct item *item, enum column column, const char *label, const struct cell *cell)
{
    free(item->cells[column]);
    free(item->labels[column]);
    item->cells[column] = cell_shown(cell);
    item->labels[column] = text_copy(label);
    item->open = true;
}

static void take_note(struct item *item, const char *label, const struct cell *cell)
{
    char *text = cell_shown(cell);
    texts_add(&item->notes, label == NULL ? text_copy(text) : text_format("%s %s", label, text));
    free(text);
}

bool item_take(struct item *item, enum role role, const char *label, const struct cell *cell)
{
    switch (role) {
    case ROLE_NAME:
        take_column(item, COLUMN_NAME, label, cell);
        return true;
    case ROLE_FOUND:
        take_column(item, COLUMN_FOUND, label, cell);
        return true;
    case ROLE_EXPECTED:
        take_column(item, COLUMN_EXPECTED, label, cell);
        return true;
    case ROLE_STAKE:
        take_column(item, COLUMN_STAKE, label, cell);
        return true;
    case ROLE_NOTE:
        take_note(item, label, cell);
        return true;
    case ROLE_DATA:
    case ROLE_TITLE:
    case ROLE_FACT:
    case ROLE_COPY:
    case ROLE_GOOD:
    case ROLE_BAD:
    case ROLE_OPEN:
        break;
    }
    return false;
}

void item_group_opened(struct item *item, enum group_kind kind)
{
    item->depth++;
    if (kind == GROUP_ROWS || kind == GROUP_SIDE_ROWS)
        item->rows_depth = item->depth;
}

bool item_is_whole(const struct item *item)
{
    return item->rows_depth > 0 && item->depth == item->rows_depth + 1 && item->open;
}

void item_group_closed(struct item *item)
{
    if (item->depth == item->rows_depth)
        item->rows_depth = 0;
    item->depth--;
}

void item_clear(struct item *item)
{
    for (enum column column = COLUMN_NAME; column < COLUMNS; column++) {
        free(item->cells[column]);
        free(item->labels[column]);
        item->cells[column] = item->labels[column] = NULL;
    }
    texts_free(&item->notes);
    item->open = false;
}
