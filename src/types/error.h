/* SPDX-License-Identifier: MIT */
/* What went wrong, for whom, and what to do next: filled by the function that fails, prefixed on its way up. */
#ifndef ASLEFT_TYPES_ERROR_H
#define ASLEFT_TYPES_ERROR_H

#include <stdbool.h>

enum error_kind {
    ERROR_NONE,
    ERROR_USE,     /* wrong use of the program */
    ERROR_FILE,    /* a file that cannot be used */
    ERROR_CONTACT, /* a port or socket did not open */
    ERROR_OUTPUT,  /* the result could not be written */
    ERROR_BUSY,    /* another run or another master holds the line */
};

struct error {
    enum error_kind kind;
    char text[512]; /* lower case, no full stop, no newline; cut at the end if longer */
};

/* Fills `error` (which may be NULL) and returns false, so that a caller can write `return error_set(...)`. */
bool error_set(struct error *error, enum error_kind kind, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Puts "context: " before the text of a set error. Returns false. */
bool error_context(struct error *error, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
