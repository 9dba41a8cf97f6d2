/* SPDX-License-Identifier: MIT */
/* A record as a YAML file that a person can read and compare: writing and reading it. */
#ifndef ASLEFT_FILES_RECORD_FILE_H
#define ASLEFT_FILES_RECORD_FILE_H

#include "files/files.h"
#include "types/record.h"

#include <stdio.h>

/* Writes a record. Errors of `file` stay in ferror(). Equal values give equal lines, whatever the time. */
void record_write(FILE *file, const struct record *record);

/* Reads what record_write wrote, as strictly as any other file. The caller frees the record (record_free). */
bool record_load(const char *path, struct record *record, struct problems *problems);

#endif
