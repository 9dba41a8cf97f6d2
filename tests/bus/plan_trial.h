/* SPDX-License-Identifier: MIT */
/* Plans by trying every possible one, and random maps to try them on. */
#ifndef ASLEFT_TESTS_BUS_PLAN_TRIAL_H
#define ASLEFT_TESTS_BUS_PLAN_TRIAL_H

#include "bus/plan.h"

enum { TRIAL_ITEMS = 14, TRIAL_CLOSED = 3 };

static const struct plan_limits usual = {
    .longest = {2000, 2000, 125, 125}, .request_cost = 160, .place_cost = {1, 1, 16, 16}};

/* Holding registers `first` to `last`. */
static inline struct plan_item item(unsigned first, unsigned last)
{
    return (struct plan_item){TABLE_HOLDING, first, last};
}

static inline uint32_t next_random(uint32_t *seed)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 17;
    *seed ^= *seed << 5;
    return *seed;
}

static inline uint32_t random_below(uint32_t *seed, uint32_t end)
{
    return next_random(seed) % end;
}

struct price {
    uint64_t cost;
    size_t requests;
};

static inline bool is_cheaper(struct price a, struct price b)
{
    return a.cost < b.cost || (a.cost == b.cost && a.requests < b.requests);
}

static inline bool touches_closed(const struct plan_limits *limits, uint32_t first, uint32_t last)
{
    for (size_t i = 0; i < limits->closed_count; i++)
        if (limits->closed[i].first <= last && limits->closed[i].last >= first)
            return true;
    return false;
}

/* The cheapest of all ways to cut the sorted items into blocks, tried one by one. */
static inline struct price try_all(const struct plan_item *items, size_t count, const struct plan_limits *limits)
{
    struct price best = {UINT64_MAX, 0};
    for (uint32_t cuts = 0; cuts < 1U << (count - 1); cuts++) {
        struct price price = {0};
        bool possible = true;
        for (size_t begin = 0; begin < count && possible;) {
            size_t end = begin + 1;
            uint32_t last = items[begin].last;
            while (end < count && (cuts >> (end - 1) & 1) == 0) {
                last = items[end].last > last ? items[end].last : last;
                end++;
            }
            uint32_t length = last - items[begin].first + 1;
            possible = end - begin == 1 ||
                       (length <= limits->longest[TABLE_HOLDING] && !touches_closed(limits, items[begin].first, last));
            price.cost += limits->request_cost + (uint64_t)limits->place_cost[TABLE_HOLDING] * length;
            price.requests++;
            begin = end;
        }
        if (possible && is_cheaper(price, best))
            best = price;
    }
    return best;
}

static inline struct price price_of(const struct plan *plan, const struct plan_limits *limits)
{
    struct price price = {.requests = plan->count};
    for (size_t i = 0; i < plan->count; i++)
        price.cost += limits->request_cost + (uint64_t)limits->place_cost[TABLE_HOLDING] * plan->blocks[i].count;
    return price;
}

/* Random items without overlap, of 1 to 4 registers; none wider than the limit. */
static inline size_t random_items(uint32_t *seed, struct plan_item *items, size_t most, uint32_t longest)
{
    size_t count = 1 + random_below(seed, (uint32_t)most);
    uint32_t at = random_below(seed, 10);
    for (size_t i = 0; i < count; i++) {
        uint32_t width = 1 + random_below(seed, longest < 4 ? longest : 4);
        items[i] = item(at, at + width - 1);
        at += width + (random_below(seed, 2) == 0 ? 0 : random_below(seed, 20));
    }
    return count;
}

/* A random map, with limits of its own. */
struct random_map {
    struct plan_item items[TRIAL_ITEMS];
    size_t count;
    struct address_range closed[TRIAL_CLOSED];
    struct plan_limits limits;
};

static inline void random_map(uint32_t *seed, struct random_map *map)
{
    map->limits = usual;
    map->limits.longest[TABLE_HOLDING] = 1 + random_below(seed, 40);
    map->limits.request_cost = random_below(seed, 25);
    map->limits.place_cost[TABLE_HOLDING] = 1 + random_below(seed, 3);
    map->count = random_items(seed, map->items, TRIAL_ITEMS, map->limits.longest[TABLE_HOLDING]);
    for (size_t i = 0; i < TRIAL_CLOSED; i++) {
        uint16_t first = (uint16_t)random_below(seed, 120);
        map->closed[i] = (struct address_range){TABLE_HOLDING, first, (uint16_t)(first + random_below(seed, 4))};
    }
    map->limits.closed = map->closed;
    map->limits.closed_count = random_below(seed, TRIAL_CLOSED + 1);
}

#endif
