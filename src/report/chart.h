/* SPDX-License-Identifier: MIT */
/* A chart as plain numbers. How it looks is up to the format. */
#ifndef ASLEFT_REPORT_CHART_H
#define ASLEFT_REPORT_CHART_H

#include <stddef.h>

enum chart_style {
    CHART_MEASURED, /* a line */
    CHART_EXPECTED, /* a dashed line */
    CHART_POINTS,   /* not joined */
    CHART_BAND,     /* what lies between y and y_high */
};

/* Numbers that belong together, in the units of the axes. Where one is not finite there is a gap. What is joined runs
 * from left to right; a line that runs to and fro is better given as points. */
struct chart_set {
    const char *label;
    enum chart_style style;
    const double *x, *y;  /* `count` of each */
    const double *y_high; /* of a band, else NULL */
    size_t count;
};

struct chart_axis {
    const char *label;
    const char *unit; /* NULL: none */
};

/* A moment worth a vertical line: "start", "stop", "trip". */
struct chart_mark {
    double x;
    const char *label;
};

struct chart {
    const char *title;
    struct chart_axis x, y;
    const struct chart_set *sets;
    size_t set_count;
    const struct chart_mark *marks;
    size_t mark_count;
};

/* "measured", "expected", "points", "band" */
const char *chart_style_word(enum chart_style style);

#endif
