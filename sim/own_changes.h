/* SPDX-License-Identifier: MIT */
/* What a simulated drive changes by itself when a parameter is written: the map's `writing_changes`. */
#ifndef ASLEFT_SIM_OWN_CHANGES_H
#define ASLEFT_SIM_OWN_CHANGES_H

#include "sim/drive.h"

/* What the parameters were before the write. Zero it to start. */
struct own_changes {
    double number;  /* of the one that is written; NAN where it has none */
    double *values; /* of those that it changes, in the map's order; NAN where they have none; owned */
};

/* Before `parameter` is written. */
void own_changes_note(const struct drive *drive, size_t parameter, struct own_changes *before);

/* After it: each of the others gets something else than it held, kept as the write is. The same value where another
 * unit or step now makes it another raw one; else in proportion to the written value; else its default; else the next
 * value that it accepts. Only where the write `changed` the parameter. Frees what was noted. */
void own_changes_make(struct drive *drive, size_t parameter, struct own_changes *before, bool changed);

#endif
