/* SPDX-License-Identifier: MIT */
/* Which rows of the table of symptoms apply to a drive's readings. */
#include "verdict/advice.h"

#include "bus/reader.h"
#include "verdict/advice_rows.h"

const struct advice_row *advice_row_at(size_t index)
{
    for (const struct advice_row *row = advice_line_rows; row->observation != NULL; row++)
        if (index-- == 0)
            return row;
    for (const struct advice_row *row = advice_drive_rows; row->observation != NULL; row++)
        if (index-- == 0)
            return row;
    return NULL;
}

static bool fits(const struct advice_row *row, struct symptom symptom, enum advice_line line, enum advice_extent extent)
{
    if (row->symptom != symptom.kind || (row->lines & line) == 0 || (row->extents & extent) == 0)
        return false;
    return symptom.kind != SYMPTOM_EXCEPTION ||
           (symptom.exception >= row->exception_first && symptom.exception <= row->exception_last);
}

const struct advice_row *advice_for(struct symptom symptom, enum advice_line line, enum advice_extent extent)
{
    const struct advice_row *row = NULL;
    if (symptom.kind == SYMPTOM_NONE)
        return NULL;
    for (size_t i = 0; (row = advice_row_at(i)) != NULL; i++)
        if (fits(row, symptom, line, extent))
            return row;
    return NULL;
}

const struct advice_row *advice_for_trouble(enum line_trouble trouble)
{
    const struct advice_row *row = NULL;
    if (trouble == LINE_TROUBLE_NONE)
        return NULL;
    for (size_t i = 0; (row = advice_row_at(i)) != NULL; i++)
        if (row->trouble == trouble)
            return row;
    return NULL;
}

enum advice_extent advice_extent_of(const struct map *map, const struct readings *readings, size_t parameter)
{
    enum advice_extent extent = ADVICE_ALL;
    if (readings->items[parameter].symptom.kind == SYMPTOM_CLOSED && !reader_may_ask(map, &map->parameters[parameter]))
        return ADVICE_UNASKED;
    for (size_t i = 0; i < readings->count; i++) {
        if (readings->items[i].raw_count == 0)
            continue;
        if (map->parameters[i].at.table == map->parameters[parameter].at.table)
            return ADVICE_SOME;
        extent = ADVICE_TABLE;
    }
    return extent;
}

/* Nothing but an exception has a code. */
static bool same_symptom(struct symptom a, struct symptom b)
{
    return a.kind == b.kind && (a.kind != SYMPTOM_EXCEPTION || a.exception == b.exception);
}

static void advice_add(struct advice *advice, const struct advice_row *row, struct symptom symptom)
{
    for (size_t i = 0; i < advice->count; i++)
        if (advice->items[i].row == row && same_symptom(advice->items[i].symptom, symptom))
            return;
    if (row != NULL && advice->count < ADVICE_MOST)
        advice->items[advice->count++] = (struct advised){.row = row, .symptom = symptom};
}

void advise(const struct map *map, const struct readings *readings, enum advice_line line, enum line_trouble trouble,
            struct advice *advice)
{
    *advice = (struct advice){0};
    const struct advice_row *unopened = advice_for_trouble(trouble);
    for (size_t i = 0; i < readings->count; i++) {
        struct symptom symptom = readings->items[i].symptom;
        if (symptom.kind == SYMPTOM_NONE)
            continue;
        advice_add(advice, unopened != NULL ? unopened : advice_for(symptom, line, advice_extent_of(map, readings, i)),
                   symptom);
    }
}
