/* SPDX-License-Identifier: MIT */
/* Where in a document the event under way is: the keys of the groups that are open, and whether they lie in a row. */
#ifndef ASLEFT_REPORT_PATH_H
#define ASLEFT_REPORT_PATH_H

#include <stdbool.h>
#include <stddef.h>

enum { PATH_DEEPEST = 8 };

/* Zero it to start. */
struct path {
    char *keys[PATH_DEEPEST]; /* owned; "" in lists */
    size_t depth;
    size_t rows_depth; /* depth of the list of rows, 0 outside */
};

/* A group is opened; key may be NULL. `rows`: its objects are rows. */
void path_open(struct path *path, const char *key, bool rows);
void path_close(struct path *path);

bool path_in_rows(const struct path *path);

/* Is the innermost group a row? */
bool path_at_row(const struct path *path);

/* The dotted path of a field: below its row, or below the document. Owned. */
char *path_of(const struct path *path, const char *key);

/* Closes what is open. */
void path_free(struct path *path);

#endif
