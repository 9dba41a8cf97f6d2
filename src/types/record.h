/* SPDX-License-Identifier: MIT */
/* What one visit found in a drive, as it is kept: who, when, with which files, and every value. */
#ifndef ASLEFT_TYPES_RECORD_H
#define ASLEFT_TYPES_RECORD_H

#include "types/traffic.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* 128 bits, made by whoever makes the record. All zero: none. */
struct record_id {
    uint8_t bytes[16];
};

enum {
    RECORD_ID_TEXT = 33, /* 32 lower-case hex digits and NUL */
    RECORD_ID_SHORT = 8, /* digits that persons are shown, and the fewest that name a record */
};

/* What the visit was for. */
enum record_kind {
    RECORD_FOUND,        /* as found */
    RECORD_LEFT,         /* as left */
    RECORD_BEFORE_WRITE, /* all settable parameters, before the first write of a list */
    RECORD_AFTER_WRITE,  /* the same after the last one */
    RECORD_SWEPT,        /* seen by a sweep */
    RECORD_WITNESSED,    /* before a run that was witnessed */
};
enum { RECORD_KINDS = 6 };

/* One parameter. What was not read has no raw words and a symptom. */
struct record_value {
    char *parameter; /* owned */
    char *means;     /* owned; NULL where it has none */
    uint16_t *raw;   /* the words as travelled; owned */
    size_t raw_count;
    double number; /* in `unit`; NAN where the value is no number or was not read */
    char *unit;    /* owned; its usual spelling; NULL where there is none */
    char *shown;   /* owned; as a person reads it: "6.00 A", "terminals"; NULL where it was not read */
    char *symptom; /* owned; its word; NULL where it was read */
};

struct record {
    struct record_id id;
    enum record_kind kind;
    bool after_power_cycle; /* RECORD_LEFT: read again after the power was off */
    char *tag;              /* what names the drive in the store; all texts here are owned */
    char *service;          /* may be NULL */
    char *line;             /* in words: "/dev/ttyUSB0 19200 8E1", "192.0.2.10:502" */
    unsigned unit;
    char *serial_number, *firmware; /* as the drive says; NULL where it does not */
    char *map_name;
    char map_sha256[65], sheet_sha256[65];
    char *who;  /* the user's login name */
    char *host; /* the computer's name */
    char *tool; /* "asleft 0.1.0" */
    int64_t began_ms, ended_ms;
    struct traffic traffic;
    struct record_value *values; /* in the map's order; owned */
    size_t value_count;
};

/* The value of that parameter, or NULL. */
const struct record_value *record_value_find(const struct record *record, const char *parameter);

/* Does the drive hold the same words in both? Also where neither was read. */
bool record_value_same(const struct record_value *a, const struct record_value *b);

bool record_id_given(const struct record_id *id);
bool record_id_equal(const struct record_id *a, const struct record_id *b);

/* 32 hex digits into `text`, which has room for RECORD_ID_TEXT. Returns `text`. */
const char *record_id_text(const struct record_id *id, char *text);

/* "found", "left", "before-write", "after-write", "swept", "witnessed" */
const char *record_kind_word(enum record_kind kind);

/* The kind of that word; false where there is none. */
bool record_kind_find(const char *word, enum record_kind *kind);

void record_value_free(struct record_value *value);
void record_free(struct record *record);

#endif
