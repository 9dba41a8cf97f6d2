/* SPDX-License-Identifier: MIT */
/* What state, current, bus voltage and frequency command say of phases that were cut by the frequency. */
#ifndef ASLEFT_WITNESS_PHASE_MARKS_H
#define ASLEFT_WITNESS_PHASE_MARKS_H

#include "types/samples.h"
#include "types/witnessed.h"

/* Puts one phase of that kind over a time, cutting those that it covers in part. Both ends lie within the phases. */
void phases_paint(struct witnessed *witnessed, enum phase_kind kind, int64_t from_us, int64_t to_us);

/* Tripped, coasting and braking, by state where it was read, and by current. */
void phases_mark_output_off(const struct samples *samples, struct witnessed *witnessed);

/* Joins ramps that a limit interrupted although the command lay further on, and tells which a limit held back. */
void phases_mark_stretched(const struct samples *samples, struct witnessed *witnessed);

/* Tells of each ramp whether the frequency command had its end value before. */
void phases_mark_settled(const struct samples *samples, struct witnessed *witnessed);

/* The mean of a series' values over a time; NAN where there are none. */
double series_mean(const struct series *series, int64_t from_us, int64_t to_us);

/* The highest size of a series' values; 0 of none. */
double series_highest(const struct series *series);

#endif
