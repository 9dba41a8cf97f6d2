/* SPDX-License-Identifier: MIT */
/* What an interrupted write has left behind, in words. */
#ifndef ASLEFT_CHANGE_INTERRUPTED_H
#define ASLEFT_CHANGE_INTERRUPTED_H

#include "types/journal.h"
#include "types/memory.h"

#include <stdbool.h>

/* Sentences for persons, a line each: when and by whom, which parameters were written, which one's outcome is not
 * known, which were not begun, and how to put back what was there (`sheet`: how command lines name it).
 * `running`: the line is held by a run at this moment, so it may still be at work. Nothing where the journal ended. */
void interrupted_tell(const struct journal *journal, const char *sheet, bool running, struct texts *lines);

#endif
