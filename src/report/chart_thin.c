/* SPDX-License-Identifier: MIT */
/* Thinning of a chart's numbers to what can be seen, so that no peak is lost. */
#include "report/chart_thin.h"

#include "types/memory.h"

#include <stdint.h>
#include <stdlib.h>

static void add_point(struct thin_points *points, double x, double y, bool joined)
{
    points->items = memory_grow(points->items, points->count, sizeof *points->items);
    points->items[points->count++] = (struct thin_point){x, y, joined};
}

/* The samples under way that lie in one column, as their indices. */
struct column {
    size_t at;
    size_t first, low, high, last;
    bool joined; /* the first, with the last of the column before */
};

static void write_column(const double *x, const double *y, const struct column *column, struct thin_points *points)
{
    bool low_first = column->low < column->high;
    const size_t order[] = {column->first, low_first ? column->low : column->high,
                            low_first ? column->high : column->low, column->last};
    for (size_t i = 0; i < sizeof order / sizeof *order; i++)
        if (i == 0 || order[i] != order[i - 1])
            add_point(points, x[order[i]], y[order[i]], i > 0 || column->joined);
}

void thin_line(const struct chart_set *set, enum thin_edge edge, const struct scale *scale, size_t columns,
               struct thin_points *points)
{
    const double *y = edge == EDGE_HIGH ? set->y_high : set->y;
    struct column column = {0};
    bool any = false, gap = true;
    for (size_t i = 0; i < set->count; i++) {
        if (!scale_can_show_sample(set, i)) {
            gap = true;
            continue;
        }
        size_t at = scale_column(scale, set->x[i], columns);
        if (!any || at != column.at) {
            if (any)
                write_column(set->x, y, &column, points);
            column = (struct column){at, i, i, i, i, any && !gap};
            any = true;
        }
        if (y[i] < y[column.low])
            column.low = i;
        if (y[i] > y[column.high])
            column.high = i;
        column.last = i;
        gap = false;
    }
    if (any)
        write_column(set->x, y, &column, points);
}

void thin_scattered(const struct chart_set *set, const struct scale *x, const struct scale *y, size_t columns,
                    size_t rows, struct thin_points *points)
{
    bool *taken = memory_new(columns * rows, sizeof *taken);
    size_t *low = memory_new(columns, sizeof *low), *high = memory_new(columns, sizeof *high);
    for (size_t i = 0; i < columns; i++)
        low[i] = high[i] = SIZE_MAX;
    for (size_t i = 0; i < set->count; i++) {
        if (!scale_can_show_sample(set, i))
            continue;
        size_t at = scale_column(x, set->x[i], columns);
        if (low[at] == SIZE_MAX || set->y[i] < set->y[low[at]])
            low[at] = i;
        if (high[at] == SIZE_MAX || set->y[i] > set->y[high[at]])
            high[at] = i;
    }
    for (size_t i = 0; i < set->count; i++) {
        if (!scale_can_show_sample(set, i))
            continue;
        size_t at = scale_column(x, set->x[i], columns);
        bool *cell = &taken[at * rows + scale_column(y, set->y[i], rows)];
        if (!*cell || i == low[at] || i == high[at])
            add_point(points, set->x[i], set->y[i], false);
        *cell = true;
    }
    free(high);
    free(low);
    free(taken);
}

void thin_points_free(struct thin_points *points)
{
    free(points->items);
    *points = (struct thin_points){0};
}
