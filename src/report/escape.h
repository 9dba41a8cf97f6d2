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

/* Owned copy of `text` to stand in HTML or XML, as an attribute too: made harmless as for a terminal, then & < > " '
 * become entities and code points that are no characters (U+FFFE and their like), which XML forbids, U+FFFD. */
char *escape_markup(const char *text);

/* Owned copy of the first `columns` columns of `text`, which is UTF-8; where something is left off, the last is an
 * ellipsis. */
char *text_shortened(const char *text, size_t columns);

/* How many columns `text`, which is UTF-8, takes on a page: one a character. */
size_t text_columns(const char *text);

/* Owned copy of `text` as a POSIX shell takes it for one word, which is no option; quoted only where that is needed. */
char *escape_shell(const char *text);

#endif
