/* SPDX-License-Identifier: MIT */
/* The keypad of a simulated drive: one command a line, one line of answer. */
#ifndef ASLEFT_SIM_KEYPAD_H
#define ASLEFT_SIM_KEYPAD_H

#include "sim/drive.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Carries out one line (without its newline). Returns the answer, owned by the caller, without newline; NULL for an
 * empty line. Sets `quit` where the command is to end. */
char *keypad_line(struct drive *drive, const char *line, int64_t now_us, bool *quit);

/* Bytes of standard input on their way to becoming lines; a longer line is cut. Zero it to start. */
struct keypad_input {
    char text[512];
    size_t count;
};

/* Adds `count` bytes, and calls `line` for each whole line that they complete. */
void keypad_feed(struct keypad_input *input, const char *bytes, size_t count,
                 void (*line)(void *user, const char *text), void *user);

#endif
