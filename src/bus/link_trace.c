/* SPDX-License-Identifier: MIT */
/* Watching a link: every frame and every run of junk, as it is sent or taken in. */
#include "bus/link_trace.h"

#include "bus/link_internal.h"

void link_trace(struct link *link, link_tracer tracer, void *user)
{
    const struct clock *clock = loop_clock(link->loop);
    link->tracer = tracer;
    link->tracer_user = user;
    link->wall_offset_us = clock->wall_ms(clock->user) * 1000 - loop_now_us(link->loop);
}

link_tracer link_traced(const struct link *link, void **user)
{
    *user = link->tracer_user;
    return link->tracer;
}

static void show(void *user, enum piece piece, const uint8_t *bytes, size_t length)
{
    static const enum trace_kind kinds[] = {[PIECE_ANSWER] = TRACE_REPLY,
                                            [PIECE_FOREIGN] = TRACE_FOREIGN,
                                            [PIECE_ECHO] = TRACE_FOREIGN,
                                            [PIECE_JUNK] = TRACE_JUNK};
    const struct link *link = user;
    link->tracer(link->tracer_user, kinds[piece], link->last_byte_us + link->wall_offset_us, bytes, length);
}

void link_show_received(struct link *link, const uint8_t *bytes, size_t length, const struct asked *asked)
{
    if (link->tracer == NULL || length == 0)
        return;
    if (link->timing.serial)
        rtu_pieces(bytes, length, asked, show, link);
    else
        tcp_pieces(bytes, length, asked, show, link);
}

void link_show_sent(const struct link *link)
{
    if (link->tracer != NULL)
        link->tracer(link->tracer_user, TRACE_SENT, loop_now_us(link->loop) + link->wall_offset_us, link->out,
                     link->out_length);
}
