/* SPDX-License-Identifier: MIT */
/* A date or time as somebody gives it on the command line. */
#ifndef ASLEFT_COMMAND_SINCE_H
#define ASLEFT_COMMAND_SINCE_H

#include <stdbool.h>
#include <stdint.h>

/* "2026-01-31", "2026-01-31T08:00Z", "2026-01-31T08:00:00Z" or with milliseconds, UTC, as milliseconds since 1970.
 * False for any other text, days that do not exist, and years before 1970. */
bool since_parse(const char *text, int64_t *ms);

#endif
