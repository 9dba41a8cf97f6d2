/* SPDX-License-Identifier: MIT */
/* The samples of a ramp as points to fit: from its start value up, in the order of time. */
#ifndef ASLEFT_WITNESS_RAMP_POINTS_H
#define ASLEFT_WITNESS_RAMP_POINTS_H

#include "types/samples.h"
#include "types/witnessed.h"
#include "witness/statistics.h"

#include <stdbool.h>

struct ramp_points {
    struct point *items; /* owned. y is what the frequency has changed by, towards the end value, in Hz */
    size_t count;
    double rise_hz;    /* from start value to end value, > 0 */
    double interval_s; /* usual time between samples */
    double half_s;     /* usual half_us */
    double delay_s;    /* the drive may show a value that is so old, by holding it; 0: not known to */
    double filter_s;   /* and so filtered */
    double step;       /* of the register */
    double resolution; /* what each y is off by at least, as a standard deviation at `rate` */
    bool by_change;    /* each point is a change of the shown value, at the middle between two samples */
    bool by_step;      /* and that by a step of a coarse register, not by a held value's */
    size_t samples;    /* of the series, within the phase */
};

/* Samples of the phase and flat ones next to it. Where the shown value often repeats (held by the drive, or a coarse
 * register), only its changes tell the time, and they become the points. */
void ramp_points_gather(const struct series *frequency, const struct phase *phase, struct ramp_points *points);

/* The index of the first sample at or after `at_us`; count where there is none. */
size_t series_at(const struct series *series, int64_t at_us);

/* The usual time between samples in s; NAN of fewer than 2. */
double series_interval_s(const struct series *series);

void ramp_points_free(struct ramp_points *points);

#endif
