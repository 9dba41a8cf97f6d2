/* SPDX-License-Identifier: MIT */
/* A progress bar on standard error, where that is a terminal: drawn in place, gone at the end. */
#ifndef ASLEFT_COMMAND_PROGRESS_H
#define ASLEFT_COMMAND_PROGRESS_H

#include "bus/loop.h"

#include <stddef.h>
#include <stdint.h>

/* How far it is. `text` says what is being done, without control characters. */
struct progress_state {
    double share;    /* 0 to 1 */
    int64_t left_us; /* at most */
    char text[128];
};

typedef void (*progress_teller)(void *user, struct progress_state *state);

struct progress;

/* From here to progress_end the bar is drawn from the loop, at most ten times a second. NULL where standard error is no
 * terminal, or one that cannot erase a line. */
struct progress *progress_start(struct loop *loop, progress_teller tell, void *user);
void progress_end(struct progress *progress); /* NULL is fine; before the loop is freed */

/* "40 s left", "12 min left": as it stands in the bar. Returns `text`. */
char *progress_left(int64_t left_us, char *text, size_t size);

#endif
