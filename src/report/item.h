/* SPDX-License-Identifier: MIT */
/* What the formats for persons gather of a row before they can lay it out: its columns and its notes. */
#ifndef ASLEFT_REPORT_ITEM_H
#define ASLEFT_REPORT_ITEM_H

#include "report/sink.h"

/* The columns of an item. */
enum column { COLUMN_NAME, COLUMN_FOUND, COLUMN_EXPECTED, COLUMN_STAKE, COLUMNS };

struct item {
    bool open;             /* it has something in a column */
    char *cells[COLUMNS];  /* harmless for a terminal, owned; NULL where the row has no such column */
    char *labels[COLUMNS]; /* owned */
    struct texts notes;
    size_t depth, rows_depth; /* groups under way, and at which depth the rows are; 0 outside of rows */
};

/* Owned text of a cell for a person, harmless for a terminal: "-" for nothing. */
char *cell_shown(const struct cell *cell);

/* Takes a field of ROLE_NAME, ROLE_FOUND, ROLE_EXPECTED, ROLE_STAKE or ROLE_NOTE; false for any other role. */
bool item_take(struct item *item, enum role role, const char *label, const struct cell *cell);

void item_group_opened(struct item *item, enum group_kind kind);

/* Is the group that is about to close a row with something to show? It is to be written then, and cleared. */
bool item_is_whole(const struct item *item);
void item_group_closed(struct item *item);

/* Frees what the item holds; the groups under way stay. */
void item_clear(struct item *item);

#endif
