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
    memcpy(tags, known->recent, known->recent_count * sizeof *tags);
    return known->recent_count;
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

void link_remember_sent(struct link *link)
{
    struct unit_record *unit = link_unit(link, link->sent.unit);
    if (unit->recent_count == LINK_RECENT)
        memmove(unit->recent, unit->recent + 1, --unit->recent_count * sizeof *unit->recent);
    unit->recent[unit->recent_count++] = (struct read_tag){link->sent.function, link->sent.address, link->sent.count};
}

static bool takes(const struct read_tag *tags, size_t tag_count, const struct read_tag *read)
{
    for (size_t i = 0; i < tag_count; i++)
        if (tags[i].function == read->function && tags[i].address != read->address &&
            read_reply_bytes(tags[i].function, tags[i].count) == read_reply_bytes(read->function, read->count))
            return true;
    return false;
}

bool link_tag_is_taken(const struct link *link, uint8_t unit, const struct read_tag *read)
{
    const struct unit_record *known = link_known_unit(link, unit);
    return known != NULL &&
           (takes(known->recent, known->recent_count, read) || takes(known->reserved, known->reserved_count, read));
}
