/* SPDX-License-Identifier: MIT */
/* The link engine: one line (a serial port, or a TCP connection), one request in flight, one total deadline each.
 * More of a link: link_line.h (listening, settings, counters), link_exchange.h (identification), link_trace.h. */
#ifndef ASLEFT_BUS_LINK_H
#define ASLEFT_BUS_LINK_H

#include "bus/loop.h"
#include "bus/timing.h"
#include "bus/transport.h"
#include "types/error.h"
#include "types/sheet.h"
#include "types/symptom.h"
#include "types/traffic.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct link;

/* A read. Functions 01, 02 (bits) and 03, 04 (registers). */
struct request {
    uint8_t unit;
    uint8_t function;
    uint16_t address;
    uint16_t count;            /* 1 to 125 registers, 1 to 2000 bits; address + count <= 65536 */
    int64_t answers_within_us; /* the maker's promise; the deadline adds wire time and 20 ms */
    int64_t rest_between_us;   /* silence before it, beyond 3.5 characters */
    unsigned retries;          /* how often it may be sent again after no reply or a bad one */
};

/* One total deadline each: the wire time of request and longest reply, the longer of the promise and of what this unit
 * was seen to need, and 20 ms. What comes late is told from what was asked later: see bus/unanswered.h. A drive that is
 * busy (exceptions 05 and 06) is asked again after 50, 100 and 200 ms, beyond `retries`. */

/* What came of it. `words` holds `count` registers, or `count` bits as words of 0 or 1, where symptom is SYMPTOM_NONE.
 */
struct reply {
    struct symptom symptom;
    const uint16_t *words; /* the link's; valid during the callback */
    size_t count;
    int64_t sent_us, came_us; /* on the loop's clock: the attempt that was answered went out, its reply was whole */
};

typedef void (*link_done)(void *user, const struct request *request, const struct reply *reply);

/* Opens the line: a serial port at once (ERROR_CONTACT with what to do; ERROR_BUSY where another holds it), a TCP host
 * by resolving its name (bounded in time) and connecting when the first request is submitted. A connection that fails
 * answers requests with SYMPTOM_REFUSED or SYMPTOM_UNREACHABLE. link_free closes it cleanly. */
bool link_open(struct loop *loop, const struct line *line, struct link **link, struct error *error);

/* The same state machine on any transport, which the link then owns and closes. */
struct link *link_new(struct loop *loop, const struct transport *transport, const struct timing *timing);
void link_free(struct link *link); /* NULL is fine; requests not yet done are dropped without callback */

/* Queues a read; never blocks. `done` is called from loop_run, exactly once. More requests may be submitted from it. */
void link_submit(struct link *link, const struct request *request, link_done done, void *user);

/* What has happened on this link since it was opened. */
const struct traffic *link_traffic(const struct link *link);

/* True where a TCP connection or serial port was ever open: "contacted" in the sense of exit status 69. */
bool link_opened(const struct link *link);

#endif
