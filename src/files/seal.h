/* SPDX-License-Identifier: MIT */
/* The digest that a document bears of itself: put in, and tried. */
#ifndef ASLEFT_FILES_SEAL_H
#define ASLEFT_FILES_SEAL_H

#include "types/error.h"
#include "types/seal_mark.h"

#include <stdbool.h>
#include <stddef.h>

enum { SEAL_DIGEST = 65 }; /* 64 lower-case hex digits and NUL */

/* Puts the SHA-256 of all bytes, with SEAL_OPEN as it is, in the place of its digits. False where the mark does not
 * stand in the document exactly once: a text of sheet or drive has it. */
bool seal_apply(char *text, size_t length, char digest[SEAL_DIGEST]);

enum seal {
    SEAL_NONE,    /* no document with a digest */
    SEAL_ALTERED, /* the bytes are not those that were sealed */
    SEAL_WHOLE,
};

/* Tries a document; `digest` is the one that it bears, "" for SEAL_NONE. */
enum seal seal_try(const char *text, size_t length, char digest[SEAL_DIGEST]);

/* The same for a file, of 64 MiB at most. False with ERROR_FILE where it cannot be read. */
bool seal_try_file(const char *path, enum seal *seal, char digest[SEAL_DIGEST], struct error *error);

#endif
