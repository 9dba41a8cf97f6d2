/* SPDX-License-Identifier: MIT */
/* A file's bytes in memory: read within a limit, and checked to be text that YAML can be. */
#ifndef ASLEFT_FILES_TEXT_FILE_H
#define ASLEFT_FILES_TEXT_FILE_H

#include "files/faults.h"
#include "types/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { TEXT_FILE_MOST = 4 * 1024 * 1024 };

struct text_file {
    char *text; /* owned; may hold NUL bytes until it is checked */
    size_t length;
    char sha256[65]; /* of the bytes as they are on disk, lower-case hex */
};

/* Reads at most 4 MiB. False with a reason ("cannot be opened: ...", "is a directory ...") that fits behind the file's
 * name. */
bool text_file_read(const char *path, struct text_file *file, struct error *error);
void text_file_free(struct text_file *file);

/* Tells `faults` each line with a NUL byte, another control character, a tab or bytes that are not UTF-8.
 * Returns whether there was none. */
bool text_file_check(const struct text_file *file, struct faults *faults);

/* How many bytes the character at `byte` has, of at most `left`, and its number; 0 where they are not UTF-8: wrong
 * start, cut short, longer than needed, a surrogate, or beyond U+10FFFF. Source: RFC 3629, section 4. */
size_t text_file_character(const unsigned char *byte, size_t left, uint32_t *character);

#endif
