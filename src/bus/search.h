/* SPDX-License-Identifier: MIT */
/* Searching a line for units, read-only: function 03 for one register at address 0, for whatever comes of it. On a
 * serial line the formats too, each speed listened to before anything is sent there; behind a host the units. */
#ifndef ASLEFT_BUS_SEARCH_H
#define ASLEFT_BUS_SEARCH_H

#include "bus/clock.h"
#include "bus/link.h"
#include "bus/search_order.h"
#include "types/search_result.h"

#include <stdbool.h>
#include <stdint.h>

struct search;

/* The format that a serial port is to be opened with: the first that is tried. */
struct serial_format search_opening_format(const struct search_bounds *bounds);

/* Begins on an open link, of which the search is the only user; who watches it (link_trace.h) goes on doing so. `line`
 * is copied. `done` is called once, from loop_run, when all is tried or nothing more can be; the search may be freed
 * from it. */
struct search *search_start(struct link *link, const struct clock *clock, const struct line *line,
                            const struct search_bounds *bounds, void (*done)(void *user), void *user);

/* Free the link first: what it still does is no longer wanted. NULL is fine. */
void search_free(struct search *search);

/* What was found so far. Before `done` it is the result of an interrupted search. The search's. */
const struct search_result *search_result(struct search *search);

enum search_phase { SEARCH_FIRST_PASS, SEARCH_SECOND_PASS, SEARCH_ALL_UNITS };

struct search_progress {
    enum search_phase phase;
    bool listening;
    struct serial_format format; /* zero on TCP */
    uint8_t unit;                /* asked last */
    size_t found;                /* confirmed units */
    int64_t spent_us;
    int64_t left_us; /* until all is tried, if nobody answers; a find shortens it */
};

struct search_progress search_progress(const struct search *search);

#endif
