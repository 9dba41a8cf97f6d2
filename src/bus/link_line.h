/* SPDX-License-Identifier: MIT */
/* A link's line: listening to it before anything is sent, its settings, its counters, and what a request costs on it.
 */
#ifndef ASLEFT_BUS_LINK_LINE_H
#define ASLEFT_BUS_LINK_LINE_H

#include "bus/link.h"

/* What was heard on a line on which nothing of ours was sent. */
enum line_heard {
    HEARD_NOTHING,
    HEARD_MASTER, /* whole frames: somebody else asks, or is answered */
    HEARD_NOISE,  /* bytes without a whole frame: another speed or parity, or a disturbed line */
};

typedef void (*link_listened)(void *user, enum line_heard heard);

/* Listens for that long and sends nothing; queued like a request, and before those submitted later. Ends early where a
 * master is heard. On TCP, and on a port that is gone, HEARD_NOTHING at once. */
void link_listen(struct link *link, int64_t for_us, link_listened done, void *user);

/* Changes speed, parity and stop bits of an open serial port; only while nothing is queued. False: the line is no
 * serial port, or the port refuses and has kept its settings. */
bool link_set_format(struct link *link, unsigned baud, enum parity parity, unsigned stop_bits, struct error *error);

/* The serial port's own counters since the system started it; differences count. */
struct line_errors link_line_errors(const struct link *link);

/* One sentence that its user should know about the port, or NULL: that its adapter holds replies back. The link's. */
const char *link_remark(const struct link *link);

/* What a request costs beside its registers, in registers: bus/plan.h bridges gaps up to that. On a serial line from
 * the speed, the format, the silences, and the unit's turnaround as measured so far (5 ms before). On TCP from the
 * round trip, and always more than the longest request: there a gap never pays. */
unsigned link_request_cost(const struct link *link, uint8_t unit);

/* How long so many characters take on the wire; 0 on TCP. */
int64_t link_wire_us(const struct link *link, size_t characters);

#endif
