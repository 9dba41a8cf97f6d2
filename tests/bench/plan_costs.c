/* SPDX-License-Identifier: MIT */
/* What read plans of 1,000 random maps cost, as multiples of the cheapest that there is: ours, and greedy bridging at
 * every gap limit. A line each: name, mean, worst, how many maps are dearer than need be. */
#include "bus/plan_trial.h"

#include <stdio.h>

enum { MAPS = 1000, GAP_LIMITS = 21 };

struct dearness {
    double sum, worst;
    unsigned dearer;
};

static void add(struct dearness *dearness, uint64_t cost, uint64_t cheapest)
{
    double ratio = cheapest == 0 ? 1 : (double)cost / (double)cheapest;
    dearness->sum += ratio;
    dearness->worst = ratio > dearness->worst ? ratio : dearness->worst;
    dearness->dearer += cost > cheapest ? 1 : 0;
}

static uint64_t block_cost(const struct plan_limits *limits, uint32_t first, uint32_t last)
{
    return limits->request_cost + (uint64_t)limits->place_cost[TABLE_HOLDING] * (last - first + 1);
}

/* From left to right: what is no further off than the limit is read along, as far as the drive allows. */
static uint64_t greedy_cost(const struct random_map *map, uint32_t gap_limit)
{
    const struct plan_limits *limits = &map->limits;
    uint32_t first = map->items[0].first, last = map->items[0].last;
    uint64_t cost = 0;
    for (size_t i = 1; i < map->count; i++) {
        const struct plan_item *next = &map->items[i];
        if (next->first - last - 1 > gap_limit || next->last - first + 1 > limits->longest[TABLE_HOLDING] ||
            touches_closed(limits, first, next->last)) {
            cost += block_cost(limits, first, last);
            first = next->first;
        }
        last = next->last;
    }
    return cost + block_cost(limits, first, last);
}

static void show(const char *name, const struct dearness *dearness)
{
    printf("%s,%.4f,%.4f,%u\n", name, dearness->sum / MAPS, dearness->worst, dearness->dearer);
}

int main(void)
{
    uint32_t seed = 20260131;
    struct dearness ours = {0}, own_limit = {0}, greedy[GAP_LIMITS] = {0};
    for (int round = 0; round < MAPS; round++) {
        struct random_map map;
        random_map(&seed, &map);
        uint64_t cheapest = try_all(map.items, map.count, &map.limits).cost;
        struct plan plan;
        plan_make(map.items, map.count, &map.limits, &plan);
        add(&ours, price_of(&plan, &map.limits).cost, cheapest);
        plan_free(&plan);
        add(&own_limit, greedy_cost(&map, map.limits.request_cost / map.limits.place_cost[TABLE_HOLDING]), cheapest);
        for (uint32_t gap = 0; gap < GAP_LIMITS; gap++)
            add(&greedy[gap], greedy_cost(&map, gap), cheapest);
    }
    show("ours", &ours);
    show("own", &own_limit);
    for (uint32_t gap = 0; gap < GAP_LIMITS; gap++) {
        char name[12];
        snprintf(name, sizeof name, "%u", gap);
        show(name, &greedy[gap]);
    }
    return 0;
}
