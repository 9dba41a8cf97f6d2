/* SPDX-License-Identifier: MIT */
/* How long a ramp takes, from samples of it, and how well that is known. Pure functions. */
#ifndef ASLEFT_WITNESS_RAMP_FIT_H
#define ASLEFT_WITNESS_RAMP_FIT_H

#include "types/samples.h"
#include "types/witnessed.h"

#include <stdbool.h>

struct ramp_fit {
    bool found;
    double rate_hz_per_s;                  /* of the straight part, > 0 */
    double rate_below, rate_above;         /* its uncertainty, 95 % */
    double from_hz, to_hz;                 /* what it ran over */
    double took_s, took_below, took_above; /* from its first to its last movement */
    bool s_shaped;
    double shape_s;                       /* of one rounded end; NAN where straight */
    double shape_below, shape_above;      /* 95 %; 0 where straight */
    bool one_rate;                        /* the straight part keeps its rate as well as the samples can show */
    double overshoot_hz, overshoot_above; /* beyond the end value; 0 where none is proved */
    size_t samples;                       /* in the ramp */
};

/* Fits the ramp of one phase (PHASE_RAMP_UP or _DOWN). Takes into account the register's step, the interval of
 * sampling, the time of each sample (half_us), how often the drive refreshes the register (sample and hold of unknown
 * phase) and filters it. Not found where fewer than 4 samples lie in it. */
void ramp_fit(const struct series *frequency, const struct phase *phase, struct ramp_fit *fit);

/* The time of a whole span at that rate, with its uncertainty; s-shaped ramps take `shape_s` longer from end to end and
 * the straight rate counts for the span. */
void ramp_time(const struct ramp_fit *fit, double span_hz, double *time_s, double *below_s, double *above_s);

#endif
