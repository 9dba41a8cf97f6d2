/* SPDX-License-Identifier: MIT */
/* Text from a drive or a file is data: made harmless for a terminal, valid for a machine. */
#ifndef ASLEFT_REPORT_ESCAPE_H
#define ASLEFT_REPORT_ESCAPE_H

#include <stddef.h>

/* Owned copy of `text` for a terminal: control characters (C0, DEL, C1), marks that change the direction of writing,
 * and bytes that are not UTF-8 become \xNN. */
char *escape_terminal(const char *text);

/* Owned copy of `text` in valid UTF-8: every byte that is none becomes U+FFFD. */
char *escape_invalid(const char *text);

/* Owned copy of `text` as a POSIX shell takes it for one word, which is no option; quoted only where that is needed. */
char *escape_shell(const char *text);

/* How many columns `text`, which is UTF-8, takes on a page: one a character. */
size_t text_columns(const char *text);

#endif
