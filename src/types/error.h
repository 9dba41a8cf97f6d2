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
    ERROR_STORE,   /* the store of records cannot be used */
};

/* What kept a line from opening, where the kind is ERROR_CONTACT or ERROR_BUSY. */
enum line_trouble {
    LINE_TROUBLE_NONE, /* it is open, or nothing is known of the reason */
    LINE_PORT_MISSING,
    LINE_PORT_NOT_PERMITTED,
    LINE_PORT_IN_USE,
    LINE_PORT_UNFIT, /* no serial port, or not at that speed */
    LINE_OTHER_MASTER,
    LINE_HOST_UNKNOWN,
};

struct error {
    enum error_kind kind;
    enum line_trouble trouble;
    char text[512]; /* lower case, no full stop, no newline; cut at the end if longer */
};

/* Fills `error` (which may be NULL) and returns false, so that a caller can write `return error_set(...)`.
 * `trouble` becomes LINE_TROUBLE_NONE. */
bool error_set(struct error *error, enum error_kind kind, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* The same, for a line that does not open. */
bool error_set_line(struct error *error, enum error_kind kind, enum line_trouble trouble, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* Puts "context: " before the text of a set error. Returns false. */
bool error_context(struct error *error, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
