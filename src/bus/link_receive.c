/* SPDX-License-Identifier: MIT */
/* What a link makes of the bytes that come in. */
#include "bus/link_internal.h"

#include <string.h>

void link_drop(struct link *link, size_t bytes)
{
    memmove(link->in, link->in + bytes, link->in_length - bytes);
    link->in_length -= bytes;
}

enum { LONGEST_LEARNED_US = 5000000 };

void link_learn(struct link *link, uint8_t unit, int64_t turnaround_us)
{
    struct unit_record *record = link_unit(link, unit);
    if (turnaround_us > record->learned_us)
        record->learned_us = turnaround_us < LONGEST_LEARNED_US ? turnaround_us : LONGEST_LEARNED_US;
}

/* The reply to something already given up shows how long this unit really takes, and that what is older is over. */
static void learn_from_late(struct link *link, const struct scan *scan)
{
    if (scan->foreign == 0 || function_writes(scan->last[1]))
        return; /* how long a write takes says nothing about reads */
    int64_t sent_us = unanswered_sent_us(&link->unanswered, scan->last[0], scan->last[1], scan->last[2]);
    if (sent_us >= 0 && link->timing.serial)
        link_learn(link, scan->last[0], loop_now_us(link->loop) - sent_us);
    if (!link->timing.serial)
        unanswered_settle(&link->unanswered, scan->last[0], scan->last[1], scan->last[2]);
}

/* The first scan->used bytes of the buffer were looked at for the last time. */
static void count(struct link *link, const struct scan *scan, const struct asked *asked)
{
    link_show_received(link, link->in, scan->used, asked);
    learn_from_late(link, scan);
    link->traffic.discarded += scan->foreign;
    link->traffic.bad_frames += scan->junk;
    link->heard.foreign += scan->foreign;
    link->heard.other_unit += scan->other_unit;
    link->heard.junk += scan->junk;
    if (scan->junk > 0 || (scan->foreign > 0 && link->timing.serial))
        link->disturbed = true;
}

/* Makes room where so much came that the buffer is full: a reply can only begin in the last RTU_BYTES. */
static void make_room(struct link *link)
{
    if (!link->timing.serial || link->in_length < RECEIVE_BYTES)
        return; /* a TCP stream is emptied of every whole frame as it comes */
    struct scan scan = rtu_scan(link->in, RECEIVE_BYTES - RTU_BYTES, NULL);
    count(link, &scan, NULL);
    link_drop(link, RECEIVE_BYTES - RTU_BYTES);
    link->listened = 0;
}

bool link_hear(struct link *link)
{
    if (!link->open)
        return true;
    for (;;) {
        make_room(link);
        if (link->in_length == RECEIVE_BYTES)
            return true;
        size_t room = RECEIVE_BYTES - link->in_length;
        ssize_t got = link->transport.read(link->transport.user, link->in + link->in_length, room);
        if (got <= 0)
            return got == 0;
        link->in_length += (size_t)got;
        link->last_byte_us = loop_now_us(link->loop);
        /* A babbler must not keep us here: what more there is comes with the next round of the loop. */
        if (link->in_length >= RECEIVE_BYTES / 2)
            return true;
    }
}

void link_discard(struct link *link)
{
    if (link->in_length == 0)
        return;
    struct scan scan =
        link->timing.serial ? rtu_scan(link->in, link->in_length, NULL) : tcp_scan(link->in, link->in_length, NULL);
    count(link, &scan, NULL);
    link_drop(link, scan.used);
    if (scan.found == FOUND_BROKEN)
        link_hang_up(link);
}

struct scan link_look(struct link *link)
{
    struct scan scan = {.found = FOUND_NOTHING};
    if (link->in_length == 0)
        return scan;
    if (link->timing.serial) {
        scan = rtu_scan(link->in, link->in_length, &link->asked);
        link->echoes |= scan.echo;
        if (scan.found != FOUND_NOTHING)
            count(link, &scan, &link->asked);
        else
            link->heard.spoiled = scan.spoiled;
    } else {
        scan = tcp_scan(link->in, link->in_length, &link->asked);
        count(link, &scan, &link->asked);
        if (scan.found == FOUND_NOTHING)
            link_drop(link, scan.used);
    }
    return scan;
}

void link_give_up_looking(struct link *link)
{
    if (link->in_length == 0)
        return;
    if (link->timing.serial) {
        struct scan scan = rtu_scan(link->in, link->in_length, &link->asked);
        count(link, &scan, &link->asked);
    } else {
        link_show_received(link, link->in, link->in_length, NULL);
        link->traffic.bad_frames++; /* a frame that was never completed */
        link->heard.junk++;
    }
    link->in_length = 0;
}
