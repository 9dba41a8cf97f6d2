/* SPDX-License-Identifier: MIT */
/* Quantities as tags: which reads a unit was sent lately, and which it will be sent. */
#include "bus/link_tags.h"

#include "bus/link_internal.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

const struct unit_record *link_known_unit(const struct link *link, uint8_t unit)
{
    for (size_t i = 0; i < link->unit_count; i++)
        if (link->units[i].unit == unit)
            return &link->units[i];
    return NULL;
}

size_t link_recent(const struct link *link, uint8_t unit, struct read_tag *tags)
{
    const struct unit_record *known = link_known_unit(link, unit);
    if (known == NULL)
        return 0;
    size_t count = 0;
    for (size_t i = known->recent_count; i > 0 && count < LINK_RECENT; i--)
        if (!function_writes(known->recent[i - 1].function))
            tags[LINK_RECENT - ++count] = known->recent[i - 1];
    memmove(tags, tags + LINK_RECENT - count, count * sizeof *tags);
    return count;
}

void link_reserve(struct link *link, uint8_t unit, const struct read_tag *tags, size_t count)
{
    struct unit_record *record = link_unit(link, unit);
    free(record->reserved);
    record->reserved = memory_new(count, sizeof *record->reserved);
    record->reserved_count = count;
    if (count > 0)
        memcpy(record->reserved, tags, count * sizeof *tags);
}

static bool same_read(const struct read_tag *a, const struct read_tag *b)
{
    return a->function == b->function && a->address == b->address && a->count == b->count;
}

void link_remember_sent(struct link *link)
{
    struct unit_record *unit = link_unit(link, link->sent.unit);
    const struct read_tag read = {link->sent.function, link->sent.address, link->sent.count};
    size_t last = unit->recent_count - 1;
    if (unit->recent_count > 0 && !unit->answered[last] && same_read(&unit->recent[last], &read))
        return; /* a repetition */
    if (unit->recent_count == UNIT_HISTORY) {
        unit->recent_count--;
        memmove(unit->recent, unit->recent + 1, unit->recent_count * sizeof *unit->recent);
        memmove(unit->answered, unit->answered + 1, unit->recent_count * sizeof *unit->answered);
    }
    unit->answered[unit->recent_count] = false;
    unit->recent[unit->recent_count++] = read;
}

void link_remember_answered(struct link *link)
{
    struct unit_record *unit = link_unit(link, link->sent.unit);
    if (unit->recent_count > 0)
        unit->answered[unit->recent_count - 1] = true;
}

static size_t reply_bytes(const struct read_tag *read)
{
    return read_reply_bytes(read->function, read->count);
}

static bool same_tag(const struct read_tag *a, const struct read_tag *b)
{
    return a->function == b->function &&
           reply_mark(a->function, a->address, a->count) == reply_mark(b->function, b->address, b->count);
}

void link_remember_good(struct link *link)
{
    if (function_writes(link->sent.function))
        return;
    struct unit_record *unit = link_unit(link, link->sent.unit);
    const struct read_tag read = {link->sent.function, link->sent.address, link->sent.count};
    struct read_tag *good = &unit->good[read.function - 1];
    if (read.count >= good->count)
        *good = read;
    struct read_tag *shortest = &unit->fillers[0], *next = &unit->fillers[1];
    if (shortest->count == 0 || same_tag(shortest, &read)) {
        *shortest = read;
    } else if (reply_bytes(&read) < reply_bytes(shortest)) {
        *next = *shortest;
        *shortest = read;
    } else if (next->count == 0 || reply_bytes(&read) <= reply_bytes(next)) {
        *next = read;
    }
}

bool link_could_be_doubled(const struct link *link, const struct request *next, struct read_tag *filler)
{
    const struct unit_record *unit = link_known_unit(link, next->unit);
    const struct read_tag read = {next->function, next->address, next->count};
    if (unit == NULL)
        return false;
    bool could_be = false;
    /* The second answer to the same question does no harm, unless it is older than a write. */
    bool same_harms = function_writes(read.function);
    unsigned answered = 0; /* only what was answered shows that the line has gone on */
    for (size_t i = unit->recent_count; i > 0 && answered < LINK_RECENT; i--) {
        const struct read_tag *old = &unit->recent[i - 1];
        could_be |= same_tag(old, &read) && (same_harms || !same_read(old, &read));
        same_harms |= function_writes(old->function);
        answered += unit->answered[i - 1] ? 1 : 0;
    }
    *filler = same_tag(&unit->fillers[0], &read) ? unit->fillers[1] : unit->fillers[0];
    return could_be;
}

static bool takes(const struct read_tag *tags, size_t tag_count, const struct read_tag *read)
{
    for (size_t i = 0; i < tag_count; i++)
        if (tags[i].address != read->address && same_tag(&tags[i], read))
            return true;
    return false;
}

bool link_tag_was_used(const struct link *link, uint8_t unit, const struct read_tag *read)
{
    const struct unit_record *known = link_known_unit(link, unit);
    return known != NULL && takes(known->recent, known->recent_count, read);
}

bool link_tag_is_reserved(const struct link *link, uint8_t unit, const struct read_tag *read)
{
    const struct unit_record *known = link_known_unit(link, unit);
    return known != NULL && takes(known->reserved, known->reserved_count, read);
}
