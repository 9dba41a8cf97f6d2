/* SPDX-License-Identifier: MIT */
/* Where in a document the event under way is: the keys of the groups that are open, and whether they lie in a row. */
#include "report/path.h"

#include "types/memory.h"

#include <stdlib.h>

void path_open(struct path *path, const char *key, bool rows)
{
    path->keys[path->depth++] = text_copy(key == NULL ? "" : key);
    if (rows)
        path->rows_depth = path->depth;
}

void path_close(struct path *path)
{
    if (path->depth == path->rows_depth)
        path->rows_depth = 0;
    free(path->keys[--path->depth]);
}

bool path_in_rows(const struct path *path)
{
    return path->rows_depth > 0;
}

bool path_at_row(const struct path *path)
{
    return path_in_rows(path) && path->depth == path->rows_depth + 1;
}

char *path_of(const struct path *path, const char *key)
{
    char *whole = text_copy(key);
    size_t outermost = path_in_rows(path) ? path->rows_depth + 1 : 0;
    for (size_t i = path->depth; i > outermost; i--) {
        char *longer = text_format("%s.%s", path->keys[i - 1], whole);
        free(whole);
        whole = longer;
    }
    return whole;
}

void path_free(struct path *path)
{
    while (path->depth > 0)
        path_close(path);
}
