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

/* A read of the front part of something that is known or wanted to be readable, of a length that nothing unanswered
 * has. */
static bool shorter_read(struct link *link, const struct request *next, uint8_t function, uint16_t address,
                         uint16_t most)
{
    uint16_t but_not = function == next->function ? next->count : 0;
    uint16_t count = unanswered_free_count(&link->unanswered, next->unit, function, most, but_not);
    if (count == 0)
        return false;
    link->sent = *next;
    link->sent.function = function;
    link->sent.address = address;
    link->sent.count = count;
    link->barrier = true;
    return true;
}

void link_choose(struct link *link)
{
    const struct request *next = &link->head->request;
    const struct unanswered_read read = {
        .unit = next->unit, .function = next->function, .address = next->address, .count = next->count};
    link->sent = *next;
    link->barrier = false;
    link->wait_out = false;
    if (link->head->kind == JOB_LISTEN)
        return;
    link_unit(link, next->unit)->rest_us = next->rest_between_us;
    switch (unanswered_confusion(&link->unanswered, &read)) {
    case CONFUSION_NONE:
        return;
    case CONFUSION_EXCEPTION: {
        /* A unit that never answered with values has none to be confused about. */
        const struct unanswered_read good = link_unit(link, next->unit)->good;
        if (good.count > 0)
            (void)shorter_read(link, next, good.function, good.address, good.count);
        return;
    }
    case CONFUSION_VALUES: {
        const struct unanswered_read good = link_unit(link, next->unit)->good;
        if ((good.count > 0 && shorter_read(link, next, good.function, good.address, good.count)) ||
            shorter_read(link, next, next->function, next->address, next->count))
            return;
        link->wait_out = true;
        link->not_before_us = loop_now_us(link->loop) + OVER_AFTER_US;
        return;
    }
    }
}
