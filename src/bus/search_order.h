/* SPDX-License-Identifier: MIT */
/* In which order a search of a serial line tries formats and units, and how long it takes: pure functions.
 *
 * A drive that hears another speed or parity stays silent, so every format has to be tried. The order is the one that
 * finds a drive soonest on average, given how likely each format and unit is: most likelihood a second first. The
 * likelihoods are guesses; a wrong one costs time and hides nothing, since all of it is tried in the end. */
#ifndef ASLEFT_BUS_SEARCH_ORDER_H
#define ASLEFT_BUS_SEARCH_ORDER_H

#include "types/search_result.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    SEARCH_FORMATS = 24, /* 8 speeds; no, even and odd parity */
    SEARCH_LAST_UNIT = 247,
    SEARCH_LISTEN_US = 2000000, /* at each speed before anything is sent there */
    SEARCH_FAST_US = 100000,    /* what a unit is given to answer in the first pass */
    SEARCH_SLOW_US = 400000,    /* and in the second */
    SEARCH_MARGIN_US = 20000,   /* that the link adds to it */
    SEARCH_SLOW_FORMATS = 4,    /* that the second pass tries */
    SEARCH_SLOW_LAST_UNIT = 31,
};

/* What the command line leaves to search. Zero: everything. */
struct search_bounds {
    unsigned baud; /* 0: all */
    bool parity_given;
    enum parity parity;
    unsigned stop_bits; /* 0: those that go with the parity; 2 without parity, which reaches 8N1 as well */
    bool unit_given;
    unsigned unit;
};

struct search_step {
    uint8_t format; /* index into `formats` */
    uint8_t unit;
};

struct search_order {
    struct serial_format formats[SEARCH_FORMATS];
    double likely[SEARCH_FORMATS];
    size_t format_count;
    uint8_t favoured_unit; /* 0: none */
    int64_t answers_within_us;
    struct search_step *steps; /* owned */
    size_t count;
};

/* Where a search stands, for what remains to be done. */
struct search_ground {
    bool listened[SEARCH_FORMATS]; /* at this format */
    bool refused[SEARCH_FORMATS];  /* by the port: nothing is done there */
    bool noisy;                    /* something was heard unasked: each format is listened to before anything is sent */
    size_t format;                 /* that the port has now; SEARCH_FORMATS: none of them */
};

/* All that lies within the bounds, likeliest for its time first. */
void search_order_first(const struct search_bounds *bounds, struct search_order *order);

/* The second pass after `first`, whose formats it shares: units that are slow to answer, on the likeliest formats. */
void search_order_second(const struct search_bounds *bounds, const struct search_order *first,
                         struct search_order *order);

void search_order_free(struct search_order *order);

/* Something came back at this speed while that unit was asked: puts what remains from step `from` on into a new
 * order, in which this speed and this unit come before nearly everything else. */
void search_order_favour(struct search_order *order, size_t from, const struct search_ground *ground, unsigned baud,
                         uint8_t unit);

/* The format that has to be listened to before `format` is asked at; SEARCH_FORMATS: none. */
size_t search_to_listen(const struct search_order *order, const struct search_ground *ground, size_t format);

/* How long a question takes that nobody answers, and a change of format. */
int64_t search_probe_us(const struct serial_format *format, int64_t answers_within_us);
int64_t search_change_us(const struct serial_format *format);

/* How long the steps from `from` on take if nobody answers, listening included. `ground` is moved on to their end. */
int64_t search_left_us(const struct search_order *order, size_t from, struct search_ground *ground);

#endif
