/* SPDX-License-Identifier: MIT */
/* A reader's plan: in which requests, and in which order, its items are asked. */
#include "bus/link_line.h"
#include "bus/link_tags.h"
#include "bus/reader_internal.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

static const uint8_t read_functions[PLAN_TABLES] = {
    [TABLE_COIL] = 0x01, [TABLE_DISCRETE] = 0x02, [TABLE_HOLDING] = 0x03, [TABLE_INPUT] = 0x04};

uint8_t reader_function(enum table table)
{
    return read_functions[table];
}

static enum table table_of(uint8_t function)
{
    for (unsigned table = 0; table < PLAN_TABLES; table++)
        if (read_functions[table] == function)
            return (enum table)table;
    return TABLE_HOLDING;
}

/* What the unit was asked lately, the latest last. `blocks` holds LINK_RECENT. */
static size_t recent_blocks(const struct reader *reader, struct plan_block *blocks)
{
    struct read_tag tags[LINK_RECENT];
    size_t count = link_recent(reader->link, reader->unit, tags);
    for (size_t i = 0; i < count; i++)
        blocks[i] =
            (struct plan_block){.table = table_of(tags[i].function), .first = tags[i].address, .count = tags[i].count};
    return count;
}

/* The requests whose quantities a new one should not share: those of late, and those still to come. Owned. */
static struct plan_block *taken_blocks(const struct reader *reader, size_t *count)
{
    struct plan_block *taken = memory_new(LINK_RECENT + reader->job_count, sizeof *taken);
    *count = recent_blocks(reader, taken);
    for (size_t i = 0; i < reader->job_count; i++)
        if (reader->jobs[i].planned != 0)
            taken[(*count)++] = reader->jobs[i].block;
    return taken;
}

static struct job remove_job(struct reader *reader, size_t at)
{
    struct job job = reader->jobs[at];
    reader->job_count--;
    memmove(&reader->jobs[at], &reader->jobs[at + 1], (reader->job_count - at) * sizeof job);
    return job;
}

/* Puts what the plan makes of a job in its place. */
static void plan_job(struct reader *reader, size_t at)
{
    struct job job = remove_job(reader, at);
    struct plan plan;
    plan_make(&reader->items[job.begin], job.end - job.begin, &reader->limits, &plan);
    if (!job.plain) {
        struct tag_rules rules = {.limits = &reader->limits,
                                  .known = reader->known,
                                  .known_count = reader->known_count,
                                  .into_unknown = reader->unknown_refused < READER_UNKNOWN_REFUSALS};
        struct plan_block *taken = taken_blocks(reader, &rules.taken_count);
        rules.taken = taken;
        plan_tag(&plan, &rules);
        free(taken);
    }
    for (size_t i = plan.count; i > 0; i--) {
        const struct plan_block *block = &plan.blocks[i - 1];
        const struct job part = {.begin = job.begin + block->begin,
                                 .end = job.begin + block->end,
                                 .split = plan.count == 1 ? job.split : NO_SPLIT,
                                 .plain = job.plain,
                                 .doubted = job.doubted,
                                 .second_chance = job.second_chance,
                                 .planned = reader->knowledge,
                                 .block = *block};
        reader_insert_job(reader, at, &part);
    }
    plan_free(&plan);
}

static void reserve(const struct reader *reader)
{
    struct read_tag *tags = memory_new(reader->job_count, sizeof *tags);
    for (size_t i = 0; i < reader->job_count; i++) {
        const struct plan_block *block = &reader->jobs[i].block;
        tags[i] = (struct read_tag){read_functions[block->table], block->first, block->count};
    }
    link_reserve(reader->link, reader->unit, tags, reader->job_count);
    free(tags);
}

void reader_plan(struct reader *reader)
{
    bool any = false;
    for (size_t i = 0; i < reader->job_count; i++)
        while (reader->jobs[i].planned != reader->knowledge) {
            plan_job(reader, i);
            any = true;
        }
    if (any)
        reserve(reader);
}

struct job reader_take_next(struct reader *reader)
{
    struct plan_block recent[LINK_RECENT];
    size_t recent_count = recent_blocks(reader, recent);
    struct plan_block *waiting = memory_new(reader->job_count, sizeof *waiting);
    size_t count = 0;
    while (count < reader->job_count && !reader->jobs[count].second_chance) {
        waiting[count] = reader->jobs[count].block;
        count++;
    }
    size_t next = count == 0 ? 0 : plan_next(waiting, count, recent, recent_count);
    free(waiting);
    return remove_job(reader, next);
}
