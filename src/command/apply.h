/* SPDX-License-Identifier: MIT */
/* What write and restore share: the list is made, shown, confirmed and written. */
#ifndef ASLEFT_COMMAND_APPLY_H
#define ASLEFT_COMMAND_APPLY_H

#include "command/job.h"
#include "command/keep.h"
#include "command/output.h"

/* All are the caller's. */
struct apply_order {
    const char *command; /* "write", "restore" */
    const struct options *options;
    const struct job *job;
    struct keep *keep;           /* open, to keep */
    const struct record *record; /* to put back; NULL: the setpoints are written */
};

/* Reads the one sheet and opens the store for `command`, which takes `operands` of them. The status is 0, or told. */
int apply_begin(const struct options *options, size_t operands, struct jobs *jobs, struct keep *keep);

/* Visits the drive, shows what would be written, writes it where its code was given or its tag was typed, and shows
 * what came of it. Returns the exit status. */
int apply(const struct apply_order *order);

#endif
