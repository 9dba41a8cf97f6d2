/* SPDX-License-Identifier: MIT */
/* How the sets of a chart look: a colour, a dash and a shape each, so that no two differ in colour alone. */
#ifndef ASLEFT_REPORT_CHART_LOOK_H
#define ASLEFT_REPORT_CHART_LOOK_H

#include "report/chart.h"

#include <stdbool.h>
#include <stdio.h>

#define LOOK_TEXT      "#111"
#define LOOK_AXIS      "#444"
#define LOOK_GRID      "#ddd"
#define LOOK_MARK_DASH "1 3"

enum { LOOK_COLORS = 5, LOOK_SHAPES = 6, LOOK_DASHES = 4 };

/* "#0072b2": the set's colour. */
const char *look_color(size_t index);

/* A path for a line or band of the set with that index: begin, its path data, end. */
void look_line_begin(FILE *file, size_t index, enum chart_style style);
void look_line_end(FILE *file);

/* The set's shapes: begin, each of them, end. `hollow`: filled with paper, as points are. */
void look_signs_begin(FILE *file, size_t index, bool hollow);
void look_sign(FILE *file, size_t index, double x, double y);
void look_signs_end(FILE *file);

/* A sample of the set for the key, 36 by 12 units. */
void look_sample(FILE *file, size_t index, enum chart_style style);

#endif
