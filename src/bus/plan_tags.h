/* SPDX-License-Identifier: MIT */
/* Telling replies apart by their length. An RTU reply says neither address nor time: a doubled one that comes while
 * another block is awaited passes for that block's, unless its length differs. So requests that follow each other
 * differ in quantity, by growing blocks and by the order in which they are asked. Pure functions. */
#ifndef ASLEFT_BUS_PLAN_TAGS_H
#define ASLEFT_BUS_PLAN_TAGS_H

#include "bus/plan.h"

/* A quantity belongs to one address within a plan, where that costs no more than a twentieth of the plan's time; else
 * at least so many requests lie between two uses of it, where the map permits. What that is worth: docs/decisions/0005.
 */
enum { TAG_REQUESTS_BETWEEN = 3, TAG_COST_SHARE = 20 };

struct tag_rules {
    const struct plan_limits *limits;
    const struct plan_item *known; /* the map's values: readable where they are not closed; never cut by growing */
    size_t known_count;
    bool into_unknown; /* blocks may grow over places between the map's values that it does not know, too */
    const struct plan_block *taken; /* asked lately or still to be asked: begin and end do not matter */
    size_t taken_count;
};

/* What tells the replies to two requests of one unit and function apart: how many bytes of values they have. */
unsigned plan_tag_of(const struct plan_block *block);

/* Grows blocks to tell them apart, each by places before or behind it that may be read; never over closed ones. */
void plan_tag(struct plan *plan, const struct tag_rules *rules);

/* Which of the waiting blocks to ask next, so that a quantity comes again as late as possible: in their order where
 * that does no harm. `recent`: what was asked before, the latest last. count > 0. */
size_t plan_next(const struct plan_block *waiting, size_t count, const struct plan_block *recent, size_t recent_count);

#endif
