/* SPDX-License-Identifier: MIT */
/* Telling replies apart by their length. */
#include "bus/plan_tags.h"

#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

enum {
    MOST_TAG = 250,   /* bytes of values in the longest reply: V1.1b3 s 6.1 to 6.4 */
    MOST_GROWTH = 40, /* tags tried beyond a block's own */
};

static bool is_bits(enum table table)
{
    return table == TABLE_COIL || table == TABLE_DISCRETE;
}

unsigned plan_tag_of(const struct plan_block *block)
{
    return is_bits(block->table) ? (block->count + 7U) / 8U : block->count;
}

/* The fewest places of a reply with that tag. */
static unsigned places_of(enum table table, unsigned tag)
{
    return is_bits(table) ? 8U * (tag - 1) + 1 : tag;
}

/* ---- growing ---- */

static bool is_known(const struct tag_rules *rules, enum table table, uint32_t place)
{
    for (size_t i = 0; i < rules->known_count; i++) {
        const struct plan_item *item = &rules->known[i];
        if (item->table == table && item->first <= place && item->last >= place)
            return true;
    }
    return false;
}

/* Would a block cut a value in two that begins before `place` and goes on there? */
static bool cuts(const struct tag_rules *rules, enum table table, uint32_t place)
{
    for (size_t i = 0; i < rules->known_count; i++) {
        const struct plan_item *item = &rules->known[i];
        if (item->table == table && item->first < place && item->last >= place)
            return true;
    }
    return false;
}

static bool is_open(const struct tag_rules *rules, enum table table, uint32_t first, uint32_t last)
{
    for (size_t i = 0; i < rules->limits->closed_count; i++) {
        const struct address_range *closed = &rules->limits->closed[i];
        if (closed->table == table && closed->first <= last && closed->last >= first)
            return false;
    }
    return true;
}

/* Between the first and the last value of the table, where the map has any: drives end somewhere behind it. */
static bool is_inside(const struct tag_rules *rules, enum table table, uint32_t first, uint32_t last)
{
    bool any = false, begins = false, ends = false;
    for (size_t i = 0; i < rules->known_count; i++) {
        const struct plan_item *item = &rules->known[i];
        if (item->table != table)
            continue;
        any = true;
        begins |= item->first <= first;
        ends |= item->last >= last;
    }
    return !any || (begins && ends);
}

/* May a block be read from `first` on, so many places, instead of as it is? */
static bool may_be(const struct tag_rules *rules, const struct plan_block *block, int64_t first, unsigned places,
                   bool into_unknown)
{
    int64_t last = first + places - 1;
    uint32_t old_last = block->first + block->count - 1U;
    if (first < 0 || last > UINT16_MAX || places > rules->limits->longest[block->table] ||
        !is_open(rules, block->table, (uint32_t)first, (uint32_t)last) ||
        !is_inside(rules, block->table, (uint32_t)first, (uint32_t)last))
        return false;
    if ((first < block->first && cuts(rules, block->table, (uint32_t)first)) ||
        (last > old_last && cuts(rules, block->table, (uint32_t)last + 1)))
        return false;
    for (int64_t place = first; !into_unknown && place <= last; place++) {
        if (place == block->first)
            place = old_last; /* the loop goes on behind it */
        else if (!is_known(rules, block->table, (uint32_t)place))
            return false;
    }
    return true;
}

/* The block with that tag: over known places if possible, and behind rather than before it. */
static bool grow(const struct tag_rules *rules, const struct plan_block *block, unsigned tag, struct plan_block *grown)
{
    unsigned places = places_of(block->table, tag);
    int64_t before = (int64_t)block->first + block->count - places;
    for (int unknown = 0; unknown <= (rules->into_unknown ? 1 : 0); unknown++) {
        const int64_t starts[] = {block->first, before};
        for (size_t i = 0; i < 2; i++) {
            if (!may_be(rules, block, starts[i], places, unknown != 0))
                continue;
            *grown = *block;
            grown->first = (uint16_t)starts[i];
            grown->count = (uint16_t)places;
            return true;
        }
    }
    return false;
}

/* ---- choosing tags ---- */

/* How often a tag may be used, and how many tags that often; the others once less. */
struct allowance {
    size_t uses, tags;
};

struct tagging {
    const struct tag_rules *rules;
    const struct plan *plan;
    struct plan_block *blocks;                 /* as they become; owned */
    unsigned uses[PLAN_TABLES][MOST_TAG + 1];  /* of each tag */
    unsigned taken[PLAN_TABLES][MOST_TAG + 1]; /* those of rules->taken among them */
    size_t *order; /* in which the blocks choose: those that cannot grow first, then from short to long; owned */
};

static bool is_same_read(const struct plan_block *a, const struct plan_block *b)
{
    return a->table == b->table && a->first == b->first && a->count == b->count;
}

/* How often the tag is used by other reads than this one. */
static unsigned uses_by_others(const struct tagging *tagging, const struct plan_block *block)
{
    unsigned tag = plan_tag_of(block);
    unsigned uses = tagging->uses[block->table][tag];
    for (size_t i = 0; i < tagging->rules->taken_count && tagging->taken[block->table][tag] > 0; i++)
        uses -= is_same_read(&tagging->rules->taken[i], block) ? 1 : 0;
    return uses;
}

static bool can_grow(const struct tag_rules *rules, const struct plan_block *block)
{
    struct plan_block grown;
    for (unsigned more = 1; more <= 4; more++)
        if (grow(rules, block, plan_tag_of(block) + more, &grown))
            return true;
    return false;
}

static void put_in_order(struct tagging *tagging)
{
    const struct plan *plan = tagging->plan;
    unsigned *ranks = memory_new(plan->count, sizeof *ranks);
    tagging->order = memory_new(plan->count, sizeof *tagging->order);
    for (size_t i = 0; i < plan->count; i++) {
        const struct plan_block *block = &plan->blocks[i];
        ranks[i] = can_grow(tagging->rules, block) ? plan_tag_of(block) : 0;
        size_t at = i;
        for (; at > 0 && ranks[tagging->order[at - 1]] > ranks[i]; at--)
            tagging->order[at] = tagging->order[at - 1];
        tagging->order[at] = i;
    }
    free(ranks);
}

static void count_taken(struct tagging *tagging)
{
    memset(tagging->uses, 0, sizeof tagging->uses);
    for (size_t i = 0; i < tagging->rules->taken_count; i++) {
        const struct plan_block *taken = &tagging->rules->taken[i];
        if (plan_tag_of(taken) <= MOST_TAG)
            tagging->uses[taken->table][plan_tag_of(taken)]++;
    }
    memcpy(tagging->taken, tagging->uses, sizeof tagging->taken);
}

/* The block as it is read: with the first tag that the allowance leaves, else with the least used one. */
static struct plan_block choose(const struct tagging *tagging, const struct plan_block *block, struct allowance left)
{
    struct plan_block best = *block, grown;
    size_t most = left.tags > 0 ? left.uses : left.uses - 1;
    unsigned least = uses_by_others(tagging, block);
    unsigned tag = plan_tag_of(block);
    for (unsigned more = 1; least >= most && more <= MOST_GROWTH && tag + more <= MOST_TAG; more++) {
        if (!grow(tagging->rules, block, tag + more, &grown))
            continue;
        unsigned uses = uses_by_others(tagging, &grown);
        if (uses < least) {
            best = grown;
            least = uses;
        }
    }
    return best;
}

/* Gives every block its tag, within the allowance where possible; returns what that adds to the plan's cost. */
static int64_t tag_all(struct tagging *tagging, struct allowance left)
{
    int64_t cost = 0;
    count_taken(tagging);
    for (size_t i = 0; i < tagging->plan->count; i++) {
        const struct plan_block *block = &tagging->plan->blocks[tagging->order[i]];
        struct plan_block *chosen = &tagging->blocks[tagging->order[i]];
        *chosen = *block;
        if (plan_tag_of(block) > MOST_TAG)
            continue;
        *chosen = choose(tagging, block, left);
        if (++tagging->uses[chosen->table][plan_tag_of(chosen)] == left.uses && left.tags > 0)
            left.tags--;
        cost += (int64_t)(chosen->count - block->count) * tagging->rules->limits->place_cost[block->table];
    }
    return cost;
}

static int64_t cost_of(const struct plan *plan, const struct plan_limits *limits)
{
    int64_t cost = 0;
    for (size_t i = 0; i < plan->count; i++)
        cost += limits->request_cost + (int64_t)plan->blocks[i].count * limits->place_cost[plan->blocks[i].table];
    return cost;
}

void plan_tag(struct plan *plan, const struct tag_rules *rules)
{
    if (plan->count == 0)
        return;
    struct tagging *tagging = memory_new(1, sizeof *tagging);
    tagging->rules = rules;
    tagging->plan = plan;
    tagging->blocks = memory_new(plan->count, sizeof *tagging->blocks);
    put_in_order(tagging);
    int64_t affordable = cost_of(plan, rules->limits) / TAG_COST_SHARE;
    /* Used more often than this, or so often by more tags, two uses would come too close in any order. */
    size_t all = plan->count + rules->taken_count, apart = TAG_REQUESTS_BETWEEN + 1;
    const struct allowance last = {.uses = (all + apart - 1) / apart, .tags = (all - 1) % apart + 1};
    struct allowance allowance = {.uses = 1, .tags = all};
    while (allowance.uses < last.uses && tag_all(tagging, allowance) > affordable)
        allowance.uses++;
    if (allowance.uses == last.uses)
        (void)tag_all(tagging, last);
    memcpy(plan->blocks, tagging->blocks, plan->count * sizeof *plan->blocks);
    free(tagging->order);
    free(tagging->blocks);
    free(tagging);
}

/* ---- the order of asking ---- */

/* How many requests ago another read had this one's tag; one more than there are, where none had. */
static size_t last_use(const struct plan_block *block, const struct plan_block *recent, size_t recent_count)
{
    for (size_t ago = 1; ago <= recent_count; ago++) {
        const struct plan_block *other = &recent[recent_count - ago];
        if (other->table == block->table && plan_tag_of(other) == plan_tag_of(block) && !is_same_read(other, block))
            return ago;
    }
    return recent_count + 1;
}

size_t plan_next(const struct plan_block *waiting, size_t count, const struct plan_block *recent, size_t recent_count)
{
    size_t uses[PLAN_TABLES][MOST_TAG + 1] = {{0}};
    for (size_t i = 0; i < count; i++)
        if (plan_tag_of(&waiting[i]) <= MOST_TAG)
            uses[waiting[i].table][plan_tag_of(&waiting[i])]++;

    size_t chosen = 0, chosen_uses = 0, longest_ago = 0;
    bool found = false;
    for (size_t i = 0; i < count; i++) {
        unsigned tag = plan_tag_of(&waiting[i]);
        size_t ago = last_use(&waiting[i], recent, recent_count);
        bool apart = ago > TAG_REQUESTS_BETWEEN || ago > recent_count;
        /* a tag that fills the rest of the plan, used as often as it may be, cannot wait */
        size_t same = tag <= MOST_TAG ? uses[waiting[i].table][tag] : 1;
        bool urgent = same > 1 && same * (TAG_REQUESTS_BETWEEN + 1) >= count;
        size_t weight = urgent ? same : 1;
        bool better = found ? apart && weight > chosen_uses : apart || ago > longest_ago;
        if (!better)
            continue;
        chosen = i;
        chosen_uses = weight;
        longest_ago = ago;
        found |= apart;
    }
    return chosen;
}
