/* SPDX-License-Identifier: MIT */
/* Which requests read the same few parameters over and over. */
#include "bus/rounds.h"

#include "bus/reader_internal.h"
#include "bus/unanswered.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

enum {
    LONGEST_GROWTH = 4, /* registers; longer ones cost more than they are worth */
    REFUSALS = 2,       /* one exception is no proof: it may have been another's */
    REGISTER_COST = 16, /* what a reader counts costs in: bits */
};

/* How much is done to please a drive that refuses. */
enum strictness { STRICT_NOT, STRICT_NO_GAPS, STRICT_ONE_BY_ONE };

struct length {
    uint16_t first, count;
    bool worked;
    unsigned refused;
};

struct block {
    enum table table;
    struct length lengths[ROUNDS_APART]; /* the shortest first */
    size_t length_count;
};

struct rounds {
    const struct map *map;
    struct reader *facts; /* for what it takes from the map; it never reads */
    size_t *parameters;   /* owned */
    size_t count;
    unsigned request_cost;
    bool told_apart;
    enum strictness strictness;
    struct block *blocks; /* owned */
    size_t block_count, next;
    struct read_tag recent[ROUNDS_APART - 1]; /* the latest last */
    size_t recent_count;
    bool failed; /* the last request: a late reply may still come */
    unsigned version;
};

struct read_tag round_tag(const struct round *round)
{
    return (struct read_tag){reader_function(round->table), round->first, round->count};
}

/* ---- lengths ---- */

static bool is_closed(const struct reader *facts, enum table table, uint32_t first, uint32_t last)
{
    for (size_t i = 0; i < facts->limits.closed_count; i++) {
        const struct address_range *range = &facts->limits.closed[i];
        if (range->table == table && range->first <= last && range->last >= first)
            return true;
    }
    return false;
}

/* What is known of a stretch beside a block. */
struct stretch {
    bool cuts;       /* it begins or ends in the middle of a value */
    unsigned places; /* that the map knows */
    bool inside;     /* between the map's first and last value of that table */
};

static struct stretch look_at(const struct reader *facts, enum table table, uint32_t first, uint32_t last)
{
    struct stretch found = {0};
    bool before = false;
    bool behind = false;
    for (size_t i = 0; i < facts->known_count; i++) {
        const struct plan_item *item = &facts->known[i];
        if (item->table != table)
            continue;
        before |= item->first <= first;
        behind |= item->last >= last;
        if (item->first > last || item->last < first)
            continue;
        found.cuts |= item->first < first || item->last > last;
        uint32_t from = item->first > first ? item->first : first;
        uint32_t to = item->last < last ? item->last : last;
        found.places += to - from + 1;
    }
    found.inside = before && behind;
    return found;
}

/* May the block be read with so much before and behind it? */
static bool may_grow(const struct reader *facts, const struct block *block, uint32_t before, uint32_t behind,
                     unsigned *known)
{
    const struct length *base = &block->lengths[0];
    uint32_t last = base->first + base->count - 1U;
    *known = 0;
    if (base->first < before || last + behind > UINT16_MAX ||
        base->count + before + behind > facts->limits.longest[block->table])
        return false;
    const uint32_t ends[][2] = {{base->first - before, base->first - 1U}, {last + 1, last + behind}};
    for (size_t i = 0; i < 2; i++) {
        if ((i == 0 ? before : behind) == 0)
            continue;
        struct stretch stretch = look_at(facts, block->table, ends[i][0], ends[i][1]);
        if (stretch.cuts || !stretch.inside || is_closed(facts, block->table, ends[i][0], ends[i][1]))
            return false;
        *known += stretch.places;
    }
    return true;
}

/* Finds the best way to grow a block by that much: over what the map knows, if possible. */
static bool find_growth(const struct reader *facts, const struct block *block, uint32_t by, struct length *length)
{
    const struct length *base = &block->lengths[0];
    bool found = false;
    unsigned best = 0;
    for (uint32_t before = 0; before <= by; before++) {
        unsigned known;
        if (!may_grow(facts, block, before, by - before, &known) || (found && known <= best))
            continue;
        found = true;
        best = known;
        *length = (struct length){(uint16_t)(base->first - before), (uint16_t)(base->count + by), false, 0};
    }
    return found;
}

/* Bits are packed in bytes: there a few more change nothing. */
static void add_lengths(const struct rounds *rounds, struct block *block)
{
    bool bits = block->table == TABLE_COIL || block->table == TABLE_DISCRETE;
    block->length_count = 1;
    for (uint32_t by = 1; by <= LONGEST_GROWTH && block->length_count < ROUNDS_APART && !bits; by++)
        if (find_growth(rounds->facts, block, by, &block->lengths[block->length_count]))
            block->length_count++;
}

/* ---- the plan ---- */

static void add_block(struct rounds *rounds, enum table table, uint32_t first, uint32_t last)
{
    rounds->blocks = memory_grow(rounds->blocks, rounds->block_count, sizeof *rounds->blocks);
    struct block *block = &rounds->blocks[rounds->block_count++];
    block->table = table;
    block->lengths[0] = (struct length){(uint16_t)first, (uint16_t)(last - first + 1), false, 0};
    block->length_count = 1;
    if (!rounds->told_apart)
        add_lengths(rounds, block);
}

static void plan_blocks(struct rounds *rounds, const struct plan_item *items, size_t count)
{
    struct plan_limits limits = rounds->facts->limits;
    limits.request_cost = rounds->strictness == STRICT_NOT ? rounds->request_cost * (uint32_t)REGISTER_COST : 0;
    struct plan plan = {0};
    plan_make(items, count, &limits, &plan);
    for (size_t i = 0; i < plan.count; i++)
        add_block(rounds, plan.blocks[i].table, plan.blocks[i].first, plan.blocks[i].first + plan.blocks[i].count - 1U);
    plan_free(&plan);
}

static void plan(struct rounds *rounds)
{
    struct plan_item *items = memory_new(rounds->count, sizeof *items);
    for (size_t i = 0; i < rounds->count; i++)
        items[i] = reader_item(&rounds->map->parameters[rounds->parameters[i]]);
    size_t count = plan_sort(items, rounds->count);
    rounds->block_count = rounds->next = 0;
    if (rounds->strictness != STRICT_ONE_BY_ONE)
        plan_blocks(rounds, items, count);
    for (size_t i = 0; i < count && rounds->strictness == STRICT_ONE_BY_ONE; i++)
        add_block(rounds, items[i].table, items[i].first, items[i].last);
    free(items);
    rounds->version++;
}

struct rounds *rounds_new(const struct map *map, const size_t *parameters, size_t count, unsigned request_cost,
                          bool told_apart)
{
    struct rounds *rounds = memory_new(1, sizeof *rounds);
    rounds->map = map;
    rounds->facts = reader_new(NULL, map, 0, NULL);
    rounds->parameters = memory_new(count, sizeof *parameters);
    for (size_t i = 0; i < count; i++)
        if (reader_may_ask(map, &map->parameters[parameters[i]]))
            rounds->parameters[rounds->count++] = parameters[i];
    rounds->request_cost = request_cost;
    rounds->told_apart = told_apart;
    plan(rounds);
    return rounds;
}

void rounds_free(struct rounds *rounds)
{
    if (rounds == NULL)
        return;
    reader_free(rounds->facts);
    free(rounds->parameters);
    free(rounds->blocks);
    free(rounds);
}

/* ---- what to ask next ---- */

static bool same_length(const struct read_tag *a, const struct read_tag *b)
{
    return a->function == b->function &&
           reply_mark(a->function, a->address, a->count) == reply_mark(b->function, b->address, b->count);
}

static bool is_recent(const struct rounds *rounds, const struct round *round)
{
    const struct read_tag tag = round_tag(round);
    for (size_t i = 0; i < rounds->recent_count; i++)
        if (same_length(&rounds->recent[i], &tag))
            return true;
    return false;
}

static void remember(struct rounds *rounds, const struct round *round)
{
    enum { MOST = ROUNDS_APART - 1 };
    if (rounds->recent_count == MOST)
        memmove(rounds->recent, rounds->recent + 1, --rounds->recent_count * sizeof *rounds->recent);
    rounds->recent[rounds->recent_count++] = round_tag(round);
}

static struct round round_of(const struct rounds *rounds, size_t block, unsigned growth)
{
    const struct block *from = &rounds->blocks[block];
    return (struct round){block, growth, from->table, from->lengths[growth].first, from->lengths[growth].count};
}

/* After a failure its late reply would pass for the next one's: something shorter, which is worth reading anyway, shows
 * that the line has gone on. */
static bool shorten(const struct rounds *rounds, struct round *round)
{
    for (size_t i = 0; i < rounds->count; i++) {
        struct plan_item item = reader_item(&rounds->map->parameters[rounds->parameters[i]]);
        if (item.table != round->table || item.first != round->first || item.last - item.first + 1 >= round->count)
            continue;
        round->count = (uint16_t)(item.last - item.first + 1);
        return true;
    }
    return false;
}

bool rounds_next(struct rounds *rounds, struct round *round)
{
    if (rounds->block_count == 0)
        return false;
    size_t block = rounds->next;
    rounds->next = (rounds->next + 1) % rounds->block_count;
    *round = round_of(rounds, block, 0);
    for (unsigned growth = 1; growth < rounds->blocks[block].length_count && is_recent(rounds, round); growth++)
        *round = round_of(rounds, block, growth);
    if (!rounds->told_apart && is_recent(rounds, round)) {
        *round = round_of(rounds, block, 0);
        if (rounds->failed)
            (void)shorten(rounds, round);
    }
    rounds->failed = false;
    remember(rounds, round);
    return true;
}

/* ---- learning ---- */

static bool is_refusal(struct symptom symptom)
{
    return symptom.kind == SYMPTOM_EXCEPTION && symptom.exception >= 0x01 && symptom.exception <= 0x04;
}

static void drop_length(struct block *block, unsigned growth)
{
    block->length_count--;
    memmove(&block->lengths[growth], &block->lengths[growth + 1],
            (block->length_count - growth) * sizeof *block->lengths);
}

/* Drops what stands at the block's very place. */
static void drop_parameters(struct rounds *rounds, const struct round *round)
{
    size_t kept = 0;
    for (size_t i = 0; i < rounds->count; i++) {
        size_t at;
        if (!rounds_has(rounds, round, rounds->parameters[i], &at))
            rounds->parameters[kept++] = rounds->parameters[i];
    }
    rounds->count = kept;
}

void rounds_learn(struct rounds *rounds, const struct round *round, struct symptom symptom)
{
    if (round->block >= rounds->block_count)
        return;
    struct block *block = &rounds->blocks[round->block];
    struct length *length = &block->lengths[round->growth];
    rounds->failed = symptom.kind != SYMPTOM_NONE;
    if (round->growth >= block->length_count || length->count != round->count)
        return; /* it was shortened */
    if (symptom.kind == SYMPTOM_NONE) {
        length->worked = true;
        length->refused = 0;
        return;
    }
    /* A drive may also be silent where too much is asked. */
    bool refused = is_refusal(symptom) || (round->growth > 0 && block->lengths[0].worked);
    if (length->worked || !refused || ++length->refused < REFUSALS)
        return;
    if (round->growth > 0) {
        drop_length(block, round->growth);
        rounds->version++;
        return;
    }
    if (rounds->strictness == STRICT_ONE_BY_ONE)
        drop_parameters(rounds, round);
    else
        rounds->strictness++;
    plan(rounds);
}

bool rounds_has(const struct rounds *rounds, const struct round *round, size_t parameter, size_t *at)
{
    struct plan_item item = reader_item(&rounds->map->parameters[parameter]);
    *at = item.first - round->first;
    return item.table == round->table && item.first >= round->first &&
           item.last < (uint32_t)round->first + round->count;
}

struct read_tag *rounds_tags(const struct rounds *rounds, size_t *count)
{
    struct read_tag *tags = memory_new(rounds->block_count * ROUNDS_APART, sizeof *tags);
    *count = 0;
    for (size_t i = 0; i < rounds->block_count; i++)
        for (unsigned k = 0; k < rounds->blocks[i].length_count; k++) {
            const struct round round = round_of(rounds, i, k);
            tags[(*count)++] = round_tag(&round);
        }
    return tags;
}

unsigned rounds_version(const struct rounds *rounds)
{
    return rounds->version;
}
