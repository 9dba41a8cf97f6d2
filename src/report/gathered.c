/* SPDX-License-Identifier: MIT */
/* What the formats of verdicts gather of a document and of its row under way, before they can write anything. */
#include "report/gathered.h"

#include "types/moment.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void gathered_open(struct gathered *gathered, const char *key, enum group_kind kind)
{
    path_open(&gathered->path, key, kind == GROUP_ROWS || kind == GROUP_SIDE_ROWS);
}

static double number_of(const struct cell *cell)
{
    if (cell->kind == CELL_INTEGER)
        return (double)cell->integer;
    return cell->kind == CELL_NUMBER && isfinite(cell->number) ? cell->number : NAN;
}

static void facts_add(struct facts *facts, const struct path *path, const char *key, const struct cell *cell)
{
    facts->items = memory_grow(facts->items, facts->count, sizeof *facts->items);
    facts->items[facts->count++] = (struct fact){path_of(path, key), cell_shown(cell), number_of(cell)};
}

void gathered_field(struct gathered *gathered, const char *key, enum role role, const char *label,
                    const struct cell *cell)
{
    if (path_in_rows(&gathered->path) && item_take(&gathered->item, role, label, cell))
        return;
    if (role == ROLE_GOOD || role == ROLE_BAD || role == ROLE_OPEN) {
        free(gathered->last_line);
        gathered->last_line = cell_shown(cell);
    }
    if (key == NULL || cell->kind == CELL_NULL)
        return;
    facts_add(path_in_rows(&gathered->path) ? &gathered->row : &gathered->document, &gathered->path, key, cell);
}

void gathered_close(struct gathered *gathered)
{
    path_close(&gathered->path);
}

const struct fact *facts_find(const struct facts *facts, const char *path)
{
    for (size_t i = 0; i < facts->count; i++)
        if (strcmp(facts->items[i].path, path) == 0)
            return &facts->items[i];
    return NULL;
}

const char *facts_text(const struct facts *facts, const char *path, const char *otherwise)
{
    const struct fact *fact = facts_find(facts, path);
    return fact == NULL ? otherwise : fact->text;
}

double facts_number(const struct facts *facts, const char *path)
{
    const struct fact *fact = facts_find(facts, path);
    return fact == NULL ? NAN : fact->number;
}

double facts_moment_s(const struct facts *facts, const char *path)
{
    int64_t ms = 0;
    return moment_parse(facts_text(facts, path, ""), &ms) ? (double)ms / 1000 : NAN;
}

double facts_took_s(const struct facts *facts)
{
    return round((facts_moment_s(facts, "ended") - facts_moment_s(facts, "began")) * 1000) / 1000;
}

const char *gathered_row_name(const struct gathered *gathered)
{
    static const char *const paths[] = {"parameter", "name", "means"};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        const struct fact *fact = facts_find(&gathered->row, paths[i]);
        if (fact != NULL)
            return fact->text;
    }
    return "";
}

static void facts_free(struct facts *facts)
{
    for (size_t i = 0; i < facts->count; i++) {
        free(facts->items[i].path);
        free(facts->items[i].text);
    }
    free(facts->items);
    *facts = (struct facts){0};
}

void gathered_forget_row(struct gathered *gathered)
{
    item_clear(&gathered->item);
    facts_free(&gathered->row);
}

void gathered_free(struct gathered *gathered)
{
    gathered_forget_row(gathered);
    facts_free(&gathered->document);
    free(gathered->last_line);
    path_free(&gathered->path);
    *gathered = (struct gathered){0};
}
