/* SPDX-License-Identifier: MIT */
/* Cuts a run's samples into phases: rest, ramp, steady, stop, trip. Pure functions. */
#ifndef ASLEFT_WITNESS_PHASES_H
#define ASLEFT_WITNESS_PHASES_H

#include "types/samples.h"
#include "types/witnessed.h"

/* Appends the phases of all samples, in order and without holes, to `witnessed`. Uses output frequency, and where they
 * were read state, frequency command, current and bus voltage. */
void phases_find(const struct samples *samples, struct witnessed *witnessed);

/* The same question while the run goes on: has it begun, and has it ended (a stop or trip, and the output off)? */
struct run_progress {
    bool began, ended, tripped;
};
struct run_progress phases_progress(const struct samples *samples);

#endif
