/* SPDX-License-Identifier: MIT */
/* What a reader learns of its drive: what must not be bridged, how long a request may be. */
#include "bus/reader_internal.h"
#include "types/memory.h"

#include <stdlib.h>

static bool overlaps(const struct address_range *range, const struct plan_item *item)
{
    return range->table == item->table && range->first <= item->last && range->last >= item->first;
}

static void add_barrier(struct reader *reader, enum table table, uint32_t first, uint32_t last, bool is_gap)
{
    struct address_range range = {table, (uint16_t)first, (uint16_t)(last > UINT16_MAX ? UINT16_MAX : last)};
    for (size_t i = 0; i < reader->barrier_count; i++) {
        const struct address_range *known = &reader->barriers[i];
        if (known->table == table && known->first <= range.first && known->last >= range.last)
            return;
    }
    reader->barriers = memory_grow(reader->barriers, reader->barrier_count, sizeof *reader->barriers);
    reader->barrier_is_gap = memory_grow(reader->barrier_is_gap, reader->barrier_count, sizeof *reader->barrier_is_gap);
    reader->barrier_is_gap[reader->barrier_count] = is_gap;
    reader->barriers[reader->barrier_count++] = range;
    reader->limits.closed = reader->barriers;
    reader->limits.closed_count = reader->barrier_count;
    reader->knowledge++;
}

/* Closed addresses; and command words, which are not read along either: some drives act on a read. */
static void add_map_barriers(struct reader *reader)
{
    const struct map *map = reader->map;
    for (size_t i = 0; i < map->modbus.closed_count; i++) {
        const struct address_range *closed = &map->modbus.closed[i];
        add_barrier(reader, closed->table, closed->first, closed->last, false);
    }
    for (size_t i = 0; i < map->count; i++) {
        const struct parameter *parameter = &map->parameters[i];
        if (parameter->kind == KIND_COMMAND && parameter->words > 0)
            add_barrier(reader, parameter->at.table, parameter->at.at, parameter->at.at + parameter->words - 1, false);
    }
    if (map->save.given)
        add_barrier(reader, map->save.at.table, map->save.at.at, map->save.at.at, false);
}

void reader_learn_from_map(struct reader *reader)
{
    const struct map *map = reader->map;
    add_map_barriers(reader);
    reader->known = memory_new(map->count, sizeof *reader->known);
    for (size_t i = 0; i < map->count; i++)
        if (map->parameters[i].words > 0)
            reader->known[reader->known_count++] = reader_item(&map->parameters[i]);
    reader->known_count = plan_sort(reader->known, reader->known_count);
}

void reader_forget_filled_gaps(struct reader *reader)
{
    size_t kept = 0;
    for (size_t i = 0; i < reader->barrier_count; i++) {
        bool filled = false;
        for (size_t k = 0; reader->barrier_is_gap[i] && !filled && k < reader->item_count; k++)
            filled = overlaps(&reader->barriers[i], &reader->items[k]);
        if (filled)
            continue;
        reader->barriers[kept] = reader->barriers[i];
        reader->barrier_is_gap[kept] = reader->barrier_is_gap[i];
        kept++;
    }
    reader->barrier_count = reader->limits.closed_count = kept;
}

static void limit_length(struct reader *reader, enum table table, unsigned longest)
{
    reader->limits.longest[table] = longest;
    reader->knowledge++;
}

/* Where both halves of a refused block were read, it was refused for its length, unless one as long has already
 * worked. */
void reader_learn_from_success(struct reader *reader)
{
    const struct plan_block *block = &reader->asked.block;
    if (block->count > reader->longest_read[block->table])
        reader->longest_read[block->table] = block->count;
    if (reader->asked.split == NO_SPLIT)
        return;
    struct split *split = &reader->splits[reader->asked.split];
    if (block->count > split->longest_half)
        split->longest_half = block->count;
    split->halves_read++;
    if (split->halves_read == 2 && reader->longest_read[block->table] < split->refused &&
        split->longest_half < reader->limits.longest[block->table])
        limit_length(reader, block->table, split->longest_half);
}

static bool is_known(const struct reader *reader, enum table table, uint32_t place)
{
    for (size_t i = 0; i < reader->known_count; i++)
        if (reader->known[i].table == table && reader->known[i].first <= place && reader->known[i].last >= place)
            return true;
    return false;
}

static bool is_wanted(const struct reader *reader, enum table table, uint32_t first, uint32_t last)
{
    struct address_range range = {table, (uint16_t)first, (uint16_t)last};
    for (size_t i = 0; i < reader->item_count; i++)
        if (overlaps(&range, &reader->items[i]))
            return true;
    return false;
}

/* A refused block had been grown by these places. */
static void learn_growth(struct reader *reader, enum table table, uint32_t first, uint32_t last)
{
    bool unknown = false;
    for (uint32_t place = first; place <= last; place++)
        unknown |= !is_known(reader, table, place);
    if (unknown) {
        reader->unknown_refused++;
        reader->knowledge++;
    }
    if (!is_wanted(reader, table, first, last))
        add_barrier(reader, table, first, last, true);
}

/* The last place of the items asked. */
static uint32_t last_place(const struct reader *reader)
{
    uint32_t last = 0;
    for (size_t i = reader->asked.begin; i < reader->asked.end; i++)
        if (reader->items[i].last > last)
            last = reader->items[i].last;
    return last;
}

static bool is_grown(const struct reader *reader)
{
    const struct plan_block *block = &reader->asked.block;
    return block->first < reader->items[reader->asked.begin].first ||
           block->first + block->count - 1U > last_place(reader);
}

/* Marks the gaps of the refused block as not to be bridged again, nor what it was grown by; false where it has none. */
static bool learn_gaps(struct reader *reader)
{
    bool found = is_grown(reader);
    const struct plan_block *block = &reader->asked.block;
    uint32_t next = reader->items[reader->asked.begin].first;
    uint32_t last = last_place(reader), block_last = block->first + block->count - 1U;
    if (block->first < next)
        learn_growth(reader, block->table, block->first, next - 1);
    if (block_last > last)
        learn_growth(reader, block->table, last + 1, block_last);
    for (size_t i = reader->asked.begin; i < reader->asked.end; i++) {
        const struct plan_item *item = &reader->items[i];
        if (item->first > next) {
            add_barrier(reader, item->table, next, item->first - 1, true);
            found = true;
        }
        if (item->last >= next)
            next = item->last + 1;
    }
    return found;
}

static void insert_part(struct reader *reader, size_t begin, size_t end, size_t split)
{
    const struct job job = {.begin = begin, .end = end, .split = split};
    if (begin < end)
        reader_insert_job(reader, 0, &job);
}

/* Asks the items of the block in two halves; `probe`: its first item alone before them. */
static void halve(struct reader *reader, bool probe)
{
    struct job job = reader->asked;
    size_t begin = probe ? job.begin + 1 : job.begin;
    size_t middle = begin + (job.end - begin) / 2;
    reader->splits = memory_grow(reader->splits, reader->split_count, sizeof *reader->splits);
    reader->splits[reader->split_count] = (struct split){.refused = job.block.count};
    insert_part(reader, middle, job.end, reader->split_count);
    insert_part(reader, begin, middle, reader->split_count);
    if (probe)
        insert_part(reader, job.begin, begin, NO_SPLIT);
    reader->split_count++;
}

static void ask_again(struct reader *reader, bool plain, bool doubted)
{
    struct job job = reader->asked;
    job.planned = 0;
    job.plain |= plain;
    job.doubted |= doubted;
    reader_insert_job(reader, 0, &job);
}

/* The bridged gaps, or what it was grown by, are the usual culprit; else one of the items, or the length. */
void reader_handle_refusal(struct reader *reader, struct symptom symptom)
{
    const struct job *job = &reader->asked;
    bool grown = is_grown(reader);
    if (learn_gaps(reader)) {
        ask_again(reader, grown, false);
        reader->jobs[0].split = NO_SPLIT;
    } else if (job->end - job->begin > 1) {
        halve(reader, false);
    } else if (!job->doubted) {
        ask_again(reader, true, true);
    } else {
        const struct plan_item *item = &reader->items[job->begin];
        reader_give_symptom(reader, job, symptom);
        add_barrier(reader, item->table, item->first, item->last, false);
    }
}

bool reader_may_be_too_long(const struct reader *reader)
{
    const struct job *job = &reader->asked;
    return job->block.count > reader->longest_read[job->block.table] && (job->end - job->begin > 1 || is_grown(reader));
}

bool reader_handle_too_long(struct reader *reader)
{
    const struct job *job = &reader->asked;
    if (!reader_may_be_too_long(reader))
        return false;
    if (job->end - job->begin == 1)
        ask_again(reader, true, false);
    else
        halve(reader, !reader->answered && job->end - job->begin > 2);
    return true;
}
