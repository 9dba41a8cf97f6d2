/* SPDX-License-Identifier: MIT */
/* The read plan: which requests fetch a set of values with the least time on the wire. */
#include "bus/plan.h"

#include "types/memory.h"

#include <stdlib.h>

/* By table, then address; of those that begin together the widest first, so that it comes before what it contains. */
static int compare_items(const void *left, const void *right)
{
    const struct plan_item *a = left, *b = right;
    if (a->table != b->table)
        return a->table < b->table ? -1 : 1;
    if (a->first != b->first)
        return a->first < b->first ? -1 : 1;
    if (a->last != b->last)
        return a->last > b->last ? -1 : 1;
    return 0;
}

size_t plan_sort(struct plan_item *items, size_t count)
{
    if (count == 0)
        return 0;
    qsort(items, count, sizeof *items, compare_items);
    size_t kept = 1;
    for (size_t i = 1; i < count; i++)
        if (compare_items(&items[kept - 1], &items[i]) != 0)
            items[kept++] = items[i];
    return kept;
}

/* Costs are weighted so that the number of requests decides between equal costs: it counts 1, all else a multiple of
 * this, which is more than a table can have requests. */
static const int64_t tie_weight = 1 << 17;

/* The dynamic programme over one table. Only `outer` items take part, those that no earlier one contains: of these
 * both `first` and `last` rise, so that a block is as long as its last item says. */
struct programme {
    const struct plan_item *items;
    size_t *outer; /* indexes into items */
    size_t outer_count;
    int64_t *best;        /* best[i]: the first i outer items at their cheapest */
    size_t *block_starts; /* block_starts[i]: the outer item that the block ending with outer item i starts with */
    size_t *queue;        /* candidates for a start, their keys rising */
    size_t front, back;   /* the queue is front to back - 1 */
};

static void programme_init(struct programme *programme, const struct plan_item *items, size_t count)
{
    *programme = (struct programme){
        .items = items,
        .outer = memory_new(count, sizeof *programme->outer),
        .best = memory_new(count + 1, sizeof *programme->best),
        .block_starts = memory_new(count, sizeof *programme->block_starts),
        .queue = memory_new(count, sizeof *programme->queue),
    };
    for (size_t i = 0; i < count; i++)
        if (i == 0 || items[i].last > items[programme->outer[programme->outer_count - 1]].last)
            programme->outer[programme->outer_count++] = i;
}

static void programme_free(struct programme *programme)
{
    free(programme->outer);
    free(programme->best);
    free(programme->block_starts);
    free(programme->queue);
}

static const struct plan_item *outer_item(const struct programme *programme, size_t i)
{
    return &programme->items[programme->outer[i]];
}

/* The last closed place that a block ending at `last` could touch, or -1: it must start behind that. */
static int64_t barrier_before(const struct plan_limits *limits, enum table table, uint32_t last)
{
    int64_t barrier = -1;
    for (size_t i = 0; i < limits->closed_count; i++) {
        const struct address_range *range = &limits->closed[i];
        if (range->table == table && range->first <= last && range->last > barrier)
            barrier = range->last;
    }
    return barrier;
}

/* What a start at outer item j contributes to the cost, whatever the end. */
static int64_t start_key(const struct programme *programme, size_t j, int64_t place)
{
    return programme->best[j] - place * (int64_t)outer_item(programme, j)->first;
}

static void programme_run(struct programme *programme, const struct plan_limits *limits)
{
    enum table table = programme->items[0].table;
    int64_t request = (int64_t)limits->request_cost * tie_weight + 1;
    int64_t place = (int64_t)limits->place_cost[table] * tie_weight;
    for (size_t i = 0; i < programme->outer_count; i++) {
        int64_t key = start_key(programme, i, place);
        while (programme->back > programme->front &&
               start_key(programme, programme->queue[programme->back - 1], place) >= key)
            programme->back--;
        programme->queue[programme->back++] = i;

        /* A start too far left, or left of something closed, is so for every later end too. */
        uint32_t last = outer_item(programme, i)->last;
        int64_t barrier = barrier_before(limits, table, last);
        while (programme->front < programme->back) {
            uint32_t first = outer_item(programme, programme->queue[programme->front])->first;
            if (first > barrier && last - first + 1 <= limits->longest[table])
                break;
            programme->front++;
        }
        size_t start = programme->front < programme->back ? programme->queue[programme->front] : i;
        programme->block_starts[i] = start;
        programme->best[i + 1] =
            programme->best[start] + request + place * ((int64_t)last - outer_item(programme, start)->first + 1);
    }
}

/* Appends the blocks, whose item numbers are counted from `offset`; `count` items were given to programme_init. */
static void programme_blocks(const struct programme *programme, size_t offset, size_t count, struct plan *plan)
{
    size_t added = 0;
    for (size_t end = programme->outer_count; end > 0; end = programme->block_starts[end - 1])
        added++;
    size_t at = plan->count + added;
    plan->count = at;
    for (size_t end = programme->outer_count; end > 0; end = programme->block_starts[end - 1]) {
        size_t start = programme->block_starts[end - 1];
        const struct plan_item *first = outer_item(programme, start);
        const struct plan_item *last = outer_item(programme, end - 1);
        plan->blocks[--at] = (struct plan_block){
            .table = first->table,
            .first = (uint16_t)first->first,
            .count = (uint16_t)(last->last - first->first + 1),
            .begin = offset + programme->outer[start],
            .end = offset + (end < programme->outer_count ? programme->outer[end] : count),
        };
    }
}

void plan_make(const struct plan_item *items, size_t count, const struct plan_limits *limits, struct plan *plan)
{
    *plan = (struct plan){.blocks = memory_new(count, sizeof *plan->blocks)};
    for (size_t begin = 0; begin < count;) {
        size_t end = begin + 1;
        while (end < count && items[end].table == items[begin].table)
            end++;
        struct programme programme;
        programme_init(&programme, items + begin, end - begin);
        programme_run(&programme, limits);
        programme_blocks(&programme, begin, end - begin, plan);
        programme_free(&programme);
        begin = end;
    }
}

void plan_free(struct plan *plan)
{
    free(plan->blocks);
    *plan = (struct plan){0};
}
