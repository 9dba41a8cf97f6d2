/* SPDX-License-Identifier: MIT */
/* What a link sends next: the request asked for, or a barrier that makes sure no late reply is taken for its answer. */
#include "bus/link_internal.h"

#include "types/memory.h"

enum {
    OVER_AFTER_US = 1000000, /* where no barrier is possible: silence after which no late reply is expected any more */
};

struct unit_record *link_unit(struct link *link, uint8_t unit)
{
    for (size_t i = 0; i < link->unit_count; i++)
        if (link->units[i].unit == unit)
            return &link->units[i];
    link->units = memory_grow(link->units, link->unit_count, sizeof *link->units);
    link->units[link->unit_count].unit = unit;
    return &link->units[link->unit_count++];
}

/* Is the reply to a barrier told from that to the read before which it is sent, and from all that may still come, also
 * once more? */
static bool is_told_apart(const struct link *link, const struct request *next, const struct read_tag *barrier)
{
    if (barrier->function == next->function &&
        read_reply_bytes(barrier->function, barrier->count) == read_reply_bytes(next->function, next->count))
        return false;
    return !unanswered_expects(&link->unanswered, next->unit, barrier->function, barrier->count) &&
           !link_tag_was_used(link, next->unit, barrier);
}

/* The length of a barrier, 1 to `most`; 0: none will do. Best is one that no read to come has either. */
static uint16_t barrier_count(const struct link *link, const struct request *next, uint8_t function, uint16_t address,
                              uint16_t most)
{
    for (int kind = 0; kind < 4; kind++) {
        /* Even counts first: some drives refuse to cut a 32-bit value. */
        for (unsigned count = kind % 2 == 0 ? 2 : 1; count <= most; count += 2) {
            const struct read_tag barrier = {function, address, (uint16_t)count};
            if (is_told_apart(link, next, &barrier) && (kind >= 2 || !link_tag_is_reserved(link, next->unit, &barrier)))
                return barrier.count;
        }
    }
    return 0;
}

/* A read of the front part of something that is known or wanted to be readable. */
static bool shorter_read(struct link *link, const struct request *next, uint8_t function, uint16_t address,
                         uint16_t most)
{
    uint16_t count = barrier_count(link, next, function, address, most);
    if (count == 0)
        return false;
    link->sent = *next;
    link->sent.function = function;
    link->sent.address = address;
    link->sent.count = count;
    link->barrier = true;
    return true;
}

/* A doubled reply comes without any error before it: something of another length goes between. On TCP its transaction
 * is an old one. */
static void keep_apart(struct link *link, const struct request *next)
{
    struct read_tag filler;
    if (!link->timing.serial || !link_could_be_doubled(link, next, &filler) || filler.count == 0)
        return;
    link->sent.function = filler.function;
    link->sent.address = filler.address;
    link->sent.count = filler.count;
    link->barrier = link->filler = true;
}

void link_choose(struct link *link)
{
    const struct request *next = &link->head->request;
    const struct unanswered_read read = {
        .unit = next->unit, .function = next->function, .address = next->address, .count = next->count};
    link->sent = *next;
    link->barrier = false;
    link->filler = false;
    link->wait_out = false;
    if (link->head->kind == JOB_LISTEN)
        return;
    link_unit(link, next->unit)->rest_us = next->rest_between_us;
    switch (unanswered_confusion(&link->unanswered, &read)) {
    case CONFUSION_NONE:
        keep_apart(link, next);
        return;
    case CONFUSION_EXCEPTION: {
        /* A unit that never answered with values has none to be confused about. */
        const struct unanswered_read good = link_unit(link, next->unit)->good;
        if (good.count == 0 || !shorter_read(link, next, good.function, good.address, good.count))
            keep_apart(link, next);
        return;
    }
    case CONFUSION_VALUES: {
        const struct unanswered_read good = link_unit(link, next->unit)->good;
        if ((good.count > 0 && shorter_read(link, next, good.function, good.address, good.count)) ||
            shorter_read(link, next, next->function, next->address, next->count))
            return;
        link->wait_out = true;
        link->not_before_us = loop_now_us(link->loop) + OVER_AFTER_US;
        keep_apart(link, next);
        return;
    }
    }
}
