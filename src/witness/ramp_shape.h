/* SPDX-License-Identifier: MIT */
/* The course of a whole ramp: straight, rounded at both ends, or lagging behind through a filter. Pure functions. */
#ifndef ASLEFT_WITNESS_RAMP_SHAPE_H
#define ASLEFT_WITNESS_RAMP_SHAPE_H

#include "witness/statistics.h"

#include <stdbool.h>

enum shape_kind {
    SHAPE_ROUNDED, /* the rate itself rises and falls evenly over `width_s`: what an S-shaped ramp does */
    SHAPE_LAGGING, /* a first-order filter of `width_s`, as a time constant, before the register */
};

struct ramp_shape {
    bool found;
    double middle_s; /* when the straight part has half of the rise; without the filter's lag */
    double took_s;   /* of the straight part, as if it went from start value to end value */
    double width_s;
    /* 95 %; that of `took_s` is the rate's, whose share is the same. */
    double took_within_s, width_within_s;
    double squares;       /* what is left of the points, squared and summed */
    double moved_squares; /* the same of those that moved */
    size_t count;         /* which are so many */
};

/* What it is fitted to. */
struct shape_task {
    const struct point *points; /* in the order of time; from start value 0 to end value `rise` > 0 */
    size_t count;
    double rise;
    double level_within; /* start and end value are known so well, 95 % */
    double resolution;   /* as in line_through */
};

/* `first` is where to begin from. Not found where it does not settle. */
void ramp_shape_fit(const struct shape_task *task, enum shape_kind kind, const struct ramp_shape *first,
                    struct ramp_shape *shape);

#endif
