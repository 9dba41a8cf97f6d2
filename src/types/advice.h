/* SPDX-License-Identifier: MIT */
/* What a technician should look at where something could not be read: rows of one table, and which of them apply. */
#ifndef ASLEFT_TYPES_ADVICE_H
#define ASLEFT_TYPES_ADVICE_H

#include "types/error.h"
#include "types/symptom.h"

#include <stddef.h>
#include <stdint.h>

enum { ADVICE_STEPS = 5, ADVICE_MOST = 12 };

/* Which lines a row is about, as bits. */
enum advice_line { ADVICE_SERIAL = 1, ADVICE_TCP = 2, ADVICE_BOTH = 3 };

/* How much of the drive is affected, as bits. */
enum advice_extent {
    ADVICE_ALL = 1,       /* no register of the drive was read */
    ADVICE_TABLE = 2,     /* none of this table, but some of another one */
    ADVICE_SOME = 4,      /* others of the same table were read */
    ADVICE_ANY = 7,       /* one of these */
    ADVICE_UNASKED = 8,   /* the map itself keeps it from being asked */
    ADVICE_SEARCHED = 16, /* a search of the whole line found no unit */
};

/* A likely cause, and the one thing that tells it from the others. */
struct advice_step {
    const char *cause, *check;
};

struct advice_row {
    enum symptom_kind symptom; /* SYMPTOM_NONE: only `trouble` leads here */
    uint8_t exception_first, exception_last;
    unsigned lines, extents;   /* bits of the enumerations above */
    enum line_trouble trouble; /* of a line that did not open; LINE_TROUBLE_NONE: only the symptom leads here */
    const char *observation;   /* what was seen, in words */
    struct advice_step steps[ADVICE_STEPS]; /* in the order to go; a NULL cause ends them before the fifth */
    const char *caution;                    /* what to mind before hands touch anything; NULL where none need to */
};

/* A row that applies, and the symptom for which it does. */
struct advised {
    const struct advice_row *row;
    struct symptom symptom;
};

/* Zero it to start. More kinds of symptoms than this at one drive are left out: nobody works through them. */
struct advice {
    struct advised items[ADVICE_MOST];
    size_t count;
};

#endif
