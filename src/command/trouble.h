/* SPDX-License-Identifier: MIT */
/* What a command says on standard error. */
#ifndef ASLEFT_COMMAND_TROUBLE_H
#define ASLEFT_COMMAND_TROUBLE_H

#include "command/command.h"
#include "files/files.h"
#include "types/advice.h"
#include "types/error.h"

/* "asleft: text", made harmless for a terminal; returns the exit status that belongs to the error's kind. */
enum status trouble(const struct error *error);

/* Lists what a row of the table of symptoms advises, a line a step; nothing for NULL. */
void trouble_steps(const struct advice_row *row);

/* "note: text": what makes no difference to the result. */
void trouble_note(const char *text);

/* "warning: text": what the result does not show, and somebody has to know. */
void trouble_warning(const char *text);

/* Lists errors and warnings of files, a line each, made harmless for a terminal. */
void trouble_files(const struct problems *problems);

#endif
