/* SPDX-License-Identifier: MIT */
/* Collects what is wrong with one file while it is read, and hands it out in the order of the file. */
#ifndef ASLEFT_FILES_FAULTS_H
#define ASLEFT_FILES_FAULTS_H

#include "files/files.h"

#include <stdbool.h>
#include <stddef.h>

/* Where something stands in a file; both count from 1. Line 0: the file as a whole. */
struct place {
    int line, column;
};

struct fault {
    struct place place;
    bool is_warning;
    size_t order; /* in which it was found */
    char *text;   /* owned */
};

/* Zero it to start, with `path` set to the name that the user gave (not owned). */
struct faults {
    const char *path;
    struct fault *items;
    size_t count;
    size_t error_count;
};

/* "what is wrong; what was expected". Control characters in it are escaped, so any text of the file may be put in. */
void faults_error(struct faults *faults, struct place place, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void faults_warning(struct faults *faults, struct place place, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Appends them to `problems` as "path:line:column: text", ordered by position, at most 50 errors and 50 warnings with
 * "path: and N more ..." behind them; then empties `faults`. Returns whether there was no error. */
bool faults_hand_out(struct faults *faults, struct problems *problems);

/* False once there are so many errors that nobody will read them all: costly advice may then be left out. */
bool faults_are_few(const struct faults *faults);

void faults_free(struct faults *faults);

/* A piece of the user's text that is short enough for a message: cut between characters, with "..." behind it.
 * Used as excerpt(text).text within a call. */
struct excerpt {
    char text[72];
};
struct excerpt excerpt(const char *text);

#endif
