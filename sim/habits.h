/* SPDX-License-Identifier: MIT */
/* Faults that strike a write: what the drive makes of it, and what happens right after it. */
#ifndef ASLEFT_SIM_HABITS_H
#define ASLEFT_SIM_HABITS_H

#include "sim/drive.h"
#include "sim/line_faults.h"

/* Before the drive carries out a write that `fault` (NULL: none) has struck; faults of the line do nothing here. */
void habits_begin(struct drive *drive, struct line_faults *faults, const struct fault *fault);

/* When it has answered. */
void habits_end(struct drive *drive, const struct fault *fault);

#endif
