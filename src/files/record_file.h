/* SPDX-License-Identifier: MIT */
/* A record as a YAML file that a person can read and compare: writing and reading it.
 *
 * What differs from visit to visit for its own sake (ids, times, who, traffic) stands at the top, then one line a
 * parameter. Texts are data of a drive: a control character, a mark that changes the direction of writing, and a byte
 * that is not UTF-8 stand as \xNN, and a backslash as \\. That is so in plain text and in quotes alike. */
#ifndef ASLEFT_FILES_RECORD_FILE_H
#define ASLEFT_FILES_RECORD_FILE_H

#include "files/files.h"
#include "types/record.h"

#include <stdio.h>

/* Writes a record. Errors of `file` stay in ferror(). Equal values give equal lines, whatever the time. */
void record_write(FILE *file, const struct record *record);

/* Reads what record_write wrote, as strictly as any other file (so no text may be longer than 4096 bytes there). The
 * caller frees the record (record_free), which is empty where false is returned. */
bool record_load(const char *path, struct record *record, struct problems *problems);

#endif
