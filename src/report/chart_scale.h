/* SPDX-License-Identifier: MIT */
/* The scale of a chart's axis: which stretch it shows, and where its ticks stand. Pure functions. */
#ifndef ASLEFT_REPORT_CHART_SCALE_H
#define ASLEFT_REPORT_CHART_SCALE_H

#include "report/chart.h"

#include <stdbool.h>
#include <stddef.h>

enum { SCALE_MOST_TICKS = 16, SCALE_TICK_TEXT = 32 };

struct scale {
    double low, high; /* finite, low < high */
    double step;      /* from tick to tick: 1, 2 or 5 times a power of ten; ticks are its multiples */
};

/* Can it be drawn? Not what is no number, nor what is so great that differences overflow: no register holds that. */
bool scale_can_show(double value);

/* Can the set's sample be drawn? Otherwise there is a gap. */
bool scale_can_show_sample(const struct chart_set *set, size_t index);

/* A scale from `low` to `high`, which can be shown, with about `ticks` ticks (2 to 10). `whole`: it begins and ends at
 * a tick, and at 0 where that is near. Ends that are equal, or too close for a double to tell ticks apart, are moved
 * apart. */
struct scale scale_for(double low, double high, unsigned ticks, bool whole);

/* The ticks within the scale, at most SCALE_MOST_TICKS, ascending. Returns how many. */
size_t scale_ticks(const struct scale *scale, double at[SCALE_MOST_TICKS]);

/* A tick's number, so that ticks next to each other read differently. Returns `text`. */
const char *scale_tick_text(const struct scale *scale, double at, char text[SCALE_TICK_TEXT]);

/* The column, from 0 to columns - 1, in which a value of the scale is drawn. */
size_t scale_column(const struct scale *scale, double value, size_t columns);

#endif
