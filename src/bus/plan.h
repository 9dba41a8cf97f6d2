/* SPDX-License-Identifier: MIT */
/* The read plan: which requests fetch a set of values with the least time on the wire. Pure functions. */
#ifndef ASLEFT_BUS_PLAN_H
#define ASLEFT_BUS_PLAN_H

#include "types/map.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { PLAN_TABLES = 4 }; /* enum table counts from 0 */

/* The longest requests of functions 01 and 02, 03 and 04: V1.1b3 s 6.1 to 6.4. */
enum { PLAN_MOST_BITS = 2000, PLAN_MOST_REGISTERS = 125 };

/* Something wanted, never cut: the places (registers or bits) first to last of a table, first <= last <= 65535. */
struct plan_item {
    enum table table;
    uint32_t first, last;
};

/* Costs are whole numbers of any one unit of time, up to 1,000,000; only their proportion counts. */
struct plan_limits {
    unsigned longest[PLAN_TABLES];      /* places that one request may ask for; a wider item stands alone */
    uint32_t request_cost;              /* of one more request: its frames' fixed part, gaps, the drive's turnaround */
    uint32_t place_cost[PLAN_TABLES];   /* of one more register or bit */
    const struct address_range *closed; /* never bridged: a block touches these only where a single item does */
    size_t closed_count;
};

/* One request, and which of the items it fetches: begin to end - 1. */
struct plan_block {
    enum table table;
    uint16_t first;
    uint16_t count;
    size_t begin, end;
};

struct plan {
    struct plan_block *blocks; /* in the order of the items */
    size_t count;
};

/* Sorts items as plan_make wants them, and drops doubles; returns how many remain. */
size_t plan_sort(struct plan_item *items, size_t count);

/* The cheapest blocks for items that plan_sort has sorted; of equally cheap ones those with the fewest requests. Every
 * item lies wholly in the block that lists it. Exact, in time proportional to count * (1 + closed_count): best(i) =
 * min over j of best(j - 1) + request + place * (last_i - first_j + 1), the minimum kept in a monotone queue. */
void plan_make(const struct plan_item *items, size_t count, const struct plan_limits *limits, struct plan *plan);

void plan_free(struct plan *plan);

#endif
