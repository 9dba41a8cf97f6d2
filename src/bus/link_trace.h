/* SPDX-License-Identifier: MIT */
/* Watching a link: every frame and every run of junk, as it is sent or taken in. */
#ifndef ASLEFT_BUS_LINK_TRACE_H
#define ASLEFT_BUS_LINK_TRACE_H

#include "bus/link.h"

enum trace_kind {
    TRACE_SENT,
    TRACE_REPLY,   /* to what was sent last, an exception too */
    TRACE_FOREIGN, /* a whole frame that answers nothing asked: late, doubled, another unit's, an echo of ours */
    TRACE_JUNK,    /* bytes that belong to no frame */
};

/* `wall_us`: UTC since 1970, of sending the last byte, or of hearing the last one of a burst; differences are exact,
 * the whole to the millisecond. `bytes`: the frame with its CRC or header; valid during the call. */
typedef void (*link_tracer)(void *user, enum trace_kind kind, int64_t wall_us, const uint8_t *bytes, size_t length);

/* From now on; a NULL tracer ends it. One at a time. The tracer must not call the link. */
void link_trace(struct link *link, link_tracer tracer, void *user);

/* Who watches it now, for one who wants to watch it meanwhile and pass on what it sees; NULL: nobody. */
link_tracer link_traced(const struct link *link, void **user);

#endif
