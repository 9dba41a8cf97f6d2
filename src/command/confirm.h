/* SPDX-License-Identifier: MIT */
/* How a list of writes is confirmed: by a command line with its code, or on a terminal by the drive's tag. */
#ifndef ASLEFT_COMMAND_CONFIRM_H
#define ASLEFT_COMMAND_CONFIRM_H

#include "command/options.h"
#include "command/run.h"

#include <stdbool.h>

/* The command line that writes the list: that command with the files, line and store of these options, quoted for a
 * shell where that is needed, the code at its end. Owned. */
char *confirm_command(const char *command, const struct options *options, const char *code);

/* That sheet, and what these options say of line and store, as command lines for the same drive name them. Owned. */
char *confirm_words(const struct options *options, const char *sheet);

/* Is somebody there who can be asked: are standard input, output and error terminals, and does the result go there as
 * text? */
bool confirm_can_ask(const struct options *options);

/* Asks on standard error for the drive's tag; false where anything else is typed, or a signal comes. What was typed
 * before it asks does not count. */
bool confirm_ask(const struct run *run, const char *tag, size_t changes);

#endif
