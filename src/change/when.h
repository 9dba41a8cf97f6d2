/* SPDX-License-Identifier: MIT */
/* Moments for persons. */
#ifndef ASLEFT_CHANGE_WHEN_H
#define ASLEFT_CHANGE_WHEN_H

#include <stdint.h>

/* "2026-01-31 02:10:05 UTC" of milliseconds since 1970, owned; "at an unknown time" where it is none. */
char *when_text(int64_t ms);

#endif
