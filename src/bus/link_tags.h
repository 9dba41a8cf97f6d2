/* SPDX-License-Identifier: MIT */
/* Quantities as tags: which reads a unit was sent lately, and which it will be sent. See bus/plan_tags.h. */
#ifndef ASLEFT_BUS_LINK_TAGS_H
#define ASLEFT_BUS_LINK_TAGS_H

#include "bus/link.h"

struct read_tag {
    uint8_t function;
    uint16_t address, count;
};

enum { LINK_RECENT = 3 };

/* The reads sent last to this unit, barriers too, the latest last. `tags` holds LINK_RECENT; returns
 * how many there are. */
size_t link_recent(const struct link *link, uint8_t unit, struct read_tag *tags);

/* What will be asked of this unit from now on: barriers keep clear of the quantities, where they can. Replaces what was
 * said before. */
void link_reserve(struct link *link, uint8_t unit, const struct read_tag *tags, size_t count);

#endif
