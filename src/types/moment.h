/* SPDX-License-Identifier: MIT */
/* Moments as text: UTC with milliseconds, the same in reports and in files. */
#ifndef ASLEFT_TYPES_MOMENT_H
#define ASLEFT_TYPES_MOMENT_H

#include <stdbool.h>
#include <stdint.h>

/* "2026-01-31T08:00:00.000Z" of milliseconds since 1970, owned; years 1970 to 9999, "" outside. */
char *moment_text(int64_t ms);

/* The reverse; false where `text` is no such moment: every digit and letter has to be there, and the day to exist. */
bool moment_parse(const char *text, int64_t *ms);

#endif
