/* SPDX-License-Identifier: MIT */
/* What a link sends next: the request asked for, or a barrier that makes sure no late reply is taken for its answer. */
#include "bus/link_internal.h"

#include "types/memory.h"

/* Where no barrier is possible. */
enum {
    OVER_AFTER_US = 2000000,     /* silence after which no late reply is expected any more */
    COPY_OVER_AFTER_US = 100000, /* the same of a second copy */
    THROW_AWAY_MOST = 8,
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

/* Is the reply to a barrier told from that to the read before which it is sent, and from what is to be over with it? */
static bool is_told_apart(const struct link *link, const struct request *next, const struct doubt *doubt,
                          const struct read_tag *barrier, bool from_past, bool from_future)
{
    if (barrier->function == next->function &&
        read_reply_bytes(barrier->function, barrier->count) == read_reply_bytes(next->function, next->count))
        return false;
    return !unanswered_expects(&link->unanswered, doubt->among, next->unit, barrier->function, barrier->count) &&
           !(from_past && link_tag_was_used(link, next->unit, barrier)) &&
           !(from_future && link_tag_is_reserved(link, next->unit, barrier));
}

/* A read of the front part of something that is known or wanted to be readable, of a length that tells it apart.
 * Replies may be doubled, too: a length that no other read of this unit has is better. `skip` counts down over those
 * that would do and are not taken, since they were tried. */
static bool shorter_read(struct link *link, const struct doubt *doubt, const struct read_tag *known, unsigned *skip)
{
    const struct request *next = &link->head->request;
    bool found = false;
    /* Clear of lengths of late and to come, then of those of late, then of neither; in each case even counts first, for
     * some drives refuse to cut a 32-bit value. */
    for (int kind = 0; kind < 6; kind++) {
        for (unsigned count = kind % 2 == 0 ? 2 : 1; count <= known->count; count += 2) {
            const struct read_tag barrier = {known->function, known->address, (uint16_t)count};
            if (!is_told_apart(link, next, doubt, &barrier, kind < 4, kind < 2))
                continue;
            found = true;
            link->sent = *next;
            link->sent.function = barrier.function;
            link->sent.address = barrier.address;
            link->sent.count = barrier.count;
            link->barrier = true;
            if ((*skip)-- == 0)
                return true;
        }
        if (found && kind == 3)
            return false;
    }
    return false;
}

/* The longest read first; true where a barrier was found that was not tried yet. */
static bool known_read(struct link *link, const struct doubt *doubt, unsigned *skip)
{
    const struct read_tag *good = link_unit(link, link->head->request.unit)->good;
    bool done[READ_FUNCTIONS] = {false};
    for (unsigned round = 0; round < READ_FUNCTIONS; round++) {
        unsigned longest = 0;
        for (unsigned i = 1; i < READ_FUNCTIONS; i++)
            if (done[longest] || (!done[i] && good[i].count > good[longest].count))
                longest = i;
        done[longest] = true;
        if (shorter_read(link, doubt, &good[longest], skip))
            return true;
    }
    return false;
}

static struct doubt doubt_about(const struct link *link)
{
    const struct request *next = &link->head->request;
    const struct unanswered_read read = {
        .unit = next->unit, .function = next->function, .address = next->address, .count = next->count};
    return unanswered_doubt(&link->unanswered, &read);
}

bool link_is_clean(const struct link *link)
{
    return doubt_about(link).confusion == CONFUSION_NONE;
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

/* No length is left that would prove the line clean before a write. Silence will do, and where anything is known to be
 * readable a read after it: a drive that answered and no longer does is not written to. What is done for a read on TCP,
 * asking again and throwing the answers away, must not be done with a write. */
static bool wait_out_before_write(struct link *link, const struct doubt *doubt)
{
    const struct read_tag *known = &link_unit(link, link->head->request.unit)->fillers[0];
    if (!link->timing.serial)
        return false;
    link->wait_out_us = doubt->copies_only ? COPY_OVER_AFTER_US : OVER_AFTER_US;
    link->wait_out_copies = doubt->copies_only;
    if (known->count == 0)
        return true;
    link->sent.function = known->function;
    link->sent.address = known->address;
    link->sent.count = known->count;
    link->barrier = true;
    return true;
}

bool link_choose(struct link *link)
{
    const struct request *next = &link->head->request;
    link->sent = *next;
    link->barrier = link->filler = false;
    link->wait_out_us = 0;
    if (link->head->kind == JOB_LISTEN)
        return true;
    link_unit(link, next->unit)->rest_us = next->rest_between_us;
    const struct doubt doubt = doubt_about(link);
    if (doubt.confusion == CONFUSION_NONE) {
        keep_apart(link, next);
        return true;
    }
    unsigned skip = link->barrier_tries;
    const struct read_tag itself = {next->function, next->address, next->count};
    /* A unit that never answered with values has none to be confused about. */
    if (known_read(link, &doubt, &skip) || link->barrier)
        return true;
    if (link->head->kind == JOB_WRITE)
        return wait_out_before_write(link, &doubt);
    if (doubt.confusion == CONFUSION_EXCEPTION) {
        keep_apart(link, next);
        return true;
    }
    if (shorter_read(link, &doubt, &itself, &skip) || link->barrier)
        return true;
    link->wait_out_us = doubt.copies_only ? COPY_OVER_AFTER_US : OVER_AFTER_US;
    link->wait_out_copies = doubt.copies_only;
    /* Silence proves nothing about a gateway, which may keep what came and give it to the next who asks. */
    if (!link->timing.serial)
        link->throw_away = doubt.among < THROW_AWAY_MOST ? doubt.among : THROW_AWAY_MOST;
    keep_apart(link, next);
    return true;
}
