/* SPDX-License-Identifier: MIT */
/* The sampling of one run: when it has begun, what is seen meanwhile, and when it is over. */
#ifndef ASLEFT_COMMAND_WITNESSING_H
#define ASLEFT_COMMAND_WITNESSING_H

#include "command/run.h"
#include "types/samples.h"

/* Samples what `visit` has read, until the run is over: a little after the motor has stopped or the drive has tripped;
 * after `most_s` (0: no end); after fifteen seconds without any answer; or at a signal. Tells on standard error what is
 * to be done. The link is used up. False where the visit has no output frequency, without which nothing is seen; then
 * nothing was sampled. `samples` is the caller's (samples_free) either way; *seen: the motor ran. */
bool witnessing(struct run *run, const struct job *job, struct run_line *line, const struct visit *visit, double most_s,
                struct samples *samples, bool *seen);

#endif
