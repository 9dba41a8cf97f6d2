/* SPDX-License-Identifier: MIT */
/* Thinning of a chart's numbers to what can be seen, so that no peak is lost. Pure functions. */
#ifndef ASLEFT_REPORT_CHART_THIN_H
#define ASLEFT_REPORT_CHART_THIN_H

#include "report/chart_scale.h"

#include <stdbool.h>
#include <stddef.h>

struct thin_point {
    double x, y;
    bool joined; /* with the one before */
};

/* Zero it to start. */
struct thin_points {
    struct thin_point *items; /* owned */
    size_t count;
};

enum thin_edge { EDGE_LINE, EDGE_HIGH }; /* the set's y, or a band's y_high */

/* Appends what is left of a line or an edge of a band: of the samples that follow one another in one of the `columns`
 * of the axis the first, the lowest, the highest and the last, in their order. A gap within a column cannot be seen and
 * is closed. Both edges of a band come in the same pieces. */
void thin_line(const struct chart_set *set, enum thin_edge edge, const struct scale *scale, size_t columns,
               struct thin_points *points);

/* Appends what is left of points: one a cell of a grid of `columns` by `rows`, and the lowest and highest of each
 * column. */
void thin_scattered(const struct chart_set *set, const struct scale *x, const struct scale *y, size_t columns,
                    size_t rows, struct thin_points *points);

void thin_points_free(struct thin_points *points);

#endif
