/* SPDX-License-Identifier: MIT */
/* The journal of one call that writes: what it meant to do, and how far it came, wherever it was interrupted. */
#ifndef ASLEFT_TYPES_JOURNAL_H
#define ASLEFT_TYPES_JOURNAL_H

#include "types/change.h"
#include "types/record.h"

/* One write of the list. */
struct journal_step {
    char *parameter;    /* owned; NULL: the save command */
    uint16_t *was, *to; /* raw words, owned; `words` each */
    size_t words;
    char *was_shown, *to_shown; /* owned */
    enum write_outcome outcome; /* WRITE_SENT where nothing is known beyond that */
    char *note;                 /* owned, or NULL */
    int64_t at_ms;              /* UTC, of the outcome; 0: planned */
};

struct journal {
    struct record_id id;
    char *tag; /* all texts are owned */
    char *line;
    unsigned unit;
    char *serial_number; /* may be NULL */
    char map_sha256[65];
    bool restores;
    char code[10];
    char *who, *host, *tool;
    int64_t process;         /* its number on `host`, for persons */
    struct record_id before; /* the record from before the first write */
    int64_t began_ms;
    int64_t ended_ms;           /* 0: under way, or interrupted */
    struct journal_step *steps; /* owned */
    size_t step_count;
};

void journal_free(struct journal *journal);

#endif
