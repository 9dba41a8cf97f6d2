/* SPDX-License-Identifier: MIT */
/* One line on standard error that is painted anew in place, where that is a terminal. */
#ifndef ASLEFT_COMMAND_REPAINT_H
#define ASLEFT_COMMAND_REPAINT_H

#include "bus/loop.h"

#include <stddef.h>

enum { REPAINT_LONGEST = 256 };

/* Writes the line as it is now: without control characters, at most `size` with its NUL. */
typedef void (*repaint_teller)(void *user, char *line, size_t size);

struct repaint;

/* From here to repaint_end the line is painted from the loop, ten times a second, cut to the terminal's width. NULL
 * where standard error is no terminal, or one that cannot erase a line. */
struct repaint *repaint_start(struct loop *loop, repaint_teller tell, void *user);
void repaint_end(struct repaint *repaint); /* NULL is fine; before the loop is freed */

#endif
