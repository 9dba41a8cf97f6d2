/* SPDX-License-Identifier: MIT */
/* Reads a set of a drive's parameters: plans blocks, asks the link, splits what the drive refuses, fills readings. */
#include "bus/reader.h"

#include "bus/plan.h"
#include "types/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A register takes as long on the wire as 16 bits, so costs are counted in bits. */
enum { REGISTER_COST = 16, USUAL_REQUEST_COST = 10, MOST_REQUEST_COST = 10000, REQUEST_RETRIES = 2, SILENT_LIMIT = 2 };

enum { ILLEGAL_ADDRESS = 0x02, ILLEGAL_VALUE = 0x03, DEVICE_FAILURE = 0x04, NO_PATH = 0x0a, NO_TARGET = 0x0b };

#define NO_SPLIT ((size_t)-1)

/* Items begin to end - 1, still to be asked in whatever requests the plan makes of them. */
struct job {
    size_t begin, end;
    size_t split; /* which split it is one half of, or NO_SPLIT */
};

/* A block without gaps that the drive refused, and that was halved. */
struct split {
    unsigned refused;      /* its length */
    unsigned longest_half; /* of those that were read */
    unsigned halves_read;
};

struct reader {
    struct link *link;
    const struct map *map;
    struct readings *readings;
    uint8_t unit;
    struct traffic traffic, traffic_before;

    /* Known from the map, and learned: what no block may bridge, and how long one may be. */
    struct plan_limits limits;
    struct address_range *barriers;
    bool *barrier_is_gap; /* in step with barriers: a refused block had bridged it, whatever is in there */
    size_t barrier_count;
    unsigned longest_read[PLAN_TABLES]; /* what has worked */

    /* The call that runs; all empty between calls. */
    size_t *wanted; /* indexes into the map, without doubles */
    size_t wanted_count;
    struct plan_item *items; /* distinct places of what is wanted, sorted */
    size_t item_count;
    struct job *jobs; /* a stack, the next on top */
    size_t job_count;
    struct split *splits;
    size_t split_count;
    struct job asked;
    struct plan_block block; /* what `asked` was asked as */
    unsigned silent;         /* requests in a row without any reply */
    reader_done done;
    void *user;
};

static const uint8_t read_function[PLAN_TABLES] = {
    [TABLE_COIL] = 0x01, [TABLE_DISCRETE] = 0x02, [TABLE_HOLDING] = 0x03, [TABLE_INPUT] = 0x04};

static bool is_bits(enum table table)
{
    return table == TABLE_COIL || table == TABLE_DISCRETE;
}

static unsigned map_longest(const struct map *map, enum table table)
{
    unsigned registers = map->modbus.longest_read;
    if (registers == 0 || registers > PLAN_MOST_REGISTERS)
        registers = PLAN_MOST_REGISTERS;
    return is_bits(table) ? registers * 16 : registers; /* 125 * 16 is PLAN_MOST_BITS */
}

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
}

/* Closed addresses; and command words, which are not read along either: some drives act on a read. */
static void add_map_barriers(struct reader *reader, const struct map *map)
{
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

struct reader *reader_new(struct link *link, const struct map *map, uint8_t unit, struct readings *readings)
{
    struct reader *reader = memory_new(1, sizeof *reader);
    reader->link = link;
    reader->map = map;
    reader->unit = unit;
    reader->readings = readings;
    for (unsigned i = 0; i < PLAN_TABLES; i++) {
        enum table table = (enum table)i;
        reader->limits.longest[table] = map_longest(map, table);
        reader->limits.place_cost[table] = is_bits(table) ? 1 : REGISTER_COST;
    }
    reader_set_request_cost(reader, USUAL_REQUEST_COST);
    add_map_barriers(reader, map);
    return reader;
}

static void forget_call(struct reader *reader)
{
    free(reader->wanted);
    free(reader->items);
    free(reader->jobs);
    free(reader->splits);
    reader->wanted = NULL;
    reader->items = NULL;
    reader->jobs = NULL;
    reader->splits = NULL;
    reader->wanted_count = reader->item_count = reader->job_count = reader->split_count = 0;
    reader->silent = 0;
}

void reader_free(struct reader *reader)
{
    if (reader == NULL)
        return;
    forget_call(reader);
    free(reader->barriers);
    free(reader->barrier_is_gap);
    free(reader);
}

void reader_set_request_cost(struct reader *reader, unsigned registers)
{
    reader->limits.request_cost =
        (registers < MOST_REQUEST_COST ? registers : MOST_REQUEST_COST) * (uint32_t)REGISTER_COST;
}

const struct traffic *reader_traffic(const struct reader *reader)
{
    return &reader->traffic;
}

/* One link serves one request at a time, so what happened on it since ours was submitted is ours. */
static void count_traffic(struct reader *reader)
{
    const struct traffic *now = link_traffic(reader->link);
    const struct traffic *before = &reader->traffic_before;
    reader->traffic.requests += now->requests - before->requests;
    reader->traffic.retries += now->retries - before->retries;
    reader->traffic.exceptions += now->exceptions - before->exceptions;
    reader->traffic.timeouts += now->timeouts - before->timeouts;
    reader->traffic.bad_frames += now->bad_frames - before->bad_frames;
    reader->traffic.discarded += now->discarded - before->discarded;
}

static struct plan_item parameter_item(const struct parameter *parameter)
{
    return (struct plan_item){parameter->at.table, parameter->at.at, parameter->at.at + parameter->words - 1};
}

bool reader_may_ask(const struct map *map, const struct parameter *parameter)
{
    struct plan_item item = parameter_item(parameter);
    if (parameter->words == 0 || parameter->words > map_longest(map, item.table) || item.last > UINT16_MAX)
        return false;
    for (size_t i = 0; i < map->modbus.closed_count; i++) {
        if (overlaps(&map->modbus.closed[i], &item))
            return false;
    }
    return true;
}

static void drop_words(struct reading *reading)
{
    free(reading->raw);
    reading->raw = NULL;
    reading->raw_count = 0;
}

/* Neither words nor a symptom yet. */
static bool is_open(const struct reading *reading)
{
    return reading->raw_count == 0 && reading->symptom.kind == SYMPTOM_NONE;
}

static void give_words(struct reader *reader, const uint16_t *words)
{
    const struct plan_block *block = &reader->block;
    for (size_t i = 0; i < reader->wanted_count; i++) {
        struct plan_item item = parameter_item(&reader->map->parameters[reader->wanted[i]]);
        struct reading *reading = &reader->readings->items[reader->wanted[i]];
        if (reading->raw_count > 0 || item.table != block->table || item.first < block->first ||
            item.last - block->first >= block->count)
            continue;
        reading->raw_count = item.last - item.first + 1;
        reading->raw = memory_new(reading->raw_count, sizeof *reading->raw);
        memcpy(reading->raw, words + (item.first - block->first), reading->raw_count * sizeof *reading->raw);
        reading->symptom = (struct symptom){0};
    }
}

/* Gives the symptom to what is wanted of these items and was not read some other way. */
static void give_symptom(struct reader *reader, const struct job *job, struct symptom symptom)
{
    for (size_t i = 0; i < reader->wanted_count; i++) {
        struct reading *reading = &reader->readings->items[reader->wanted[i]];
        struct plan_item wanted = parameter_item(&reader->map->parameters[reader->wanted[i]]);
        for (size_t k = job->begin; k < job->end && reading->raw_count == 0; k++) {
            const struct plan_item *item = &reader->items[k];
            if (item->table == wanted.table && item->first == wanted.first && item->last == wanted.last)
                reading->symptom = symptom;
        }
    }
}

/* Ends the call early: what is still open will not be asked. */
static void give_up(struct reader *reader, struct symptom symptom)
{
    for (size_t i = 0; i < reader->wanted_count; i++) {
        struct reading *reading = &reader->readings->items[reader->wanted[i]];
        if (is_open(reading))
            reading->symptom = symptom;
    }
    reader->job_count = 0;
}

static void push_job(struct reader *reader, size_t begin, size_t end, size_t split)
{
    reader->jobs = memory_grow(reader->jobs, reader->job_count, sizeof *reader->jobs);
    reader->jobs[reader->job_count++] = (struct job){begin, end, split};
}

/* A block was read. Where both halves of a refused one were, it was refused for its length, unless one as long has
 * already worked. */
static void learn_from_success(struct reader *reader)
{
    const struct plan_block *block = &reader->block;
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
        reader->limits.longest[block->table] = split->longest_half;
}

/* Marks the gaps of the refused block as not to be bridged again; false where it has none. */
static bool learn_gaps(struct reader *reader)
{
    bool found = false;
    uint32_t next = reader->block.first;
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

/* The drive refuses the block: the bridged gaps are the usual culprit; else one of the items, or the length. */
static void handle_refusal(struct reader *reader, struct symptom symptom)
{
    struct job job = reader->asked;
    if (job.end - job.begin == 1) {
        give_symptom(reader, &job, symptom);
        add_barrier(reader, reader->items[job.begin].table, reader->items[job.begin].first,
                    reader->items[job.begin].last, false);
        return;
    }
    if (learn_gaps(reader)) {
        push_job(reader, job.begin, job.end, NO_SPLIT);
        return;
    }
    size_t middle = job.begin + (job.end - job.begin) / 2;
    reader->splits = memory_grow(reader->splits, reader->split_count, sizeof *reader->splits);
    reader->splits[reader->split_count] = (struct split){.refused = reader->block.count};
    push_job(reader, middle, job.end, reader->split_count);
    push_job(reader, job.begin, middle, reader->split_count);
    reader->split_count++;
}

static bool is_refusal(struct symptom symptom)
{
    return symptom.kind == SYMPTOM_EXCEPTION &&
           (symptom.exception == ILLEGAL_ADDRESS || symptom.exception == ILLEGAL_VALUE ||
            symptom.exception == DEVICE_FAILURE);
}

/* Nobody answers: the drive itself is silent, or a gateway says that it is. */
static bool is_silence(struct symptom symptom)
{
    return symptom.kind == SYMPTOM_NO_REPLY ||
           (symptom.kind == SYMPTOM_EXCEPTION && (symptom.exception == NO_PATH || symptom.exception == NO_TARGET));
}

static bool is_dead_line(struct symptom symptom)
{
    return symptom.kind == SYMPTOM_REFUSED || symptom.kind == SYMPTOM_UNREACHABLE || symptom.kind == SYMPTOM_CLOSED;
}

static void ask_next(struct reader *reader);

static void reply_came(void *user, const struct request *request, const struct reply *reply)
{
    struct reader *reader = user;
    struct symptom symptom = reply->symptom;
    if (symptom.kind == SYMPTOM_NONE && reply->count != request->count)
        symptom.kind = SYMPTOM_CORRUPT;
    count_traffic(reader);
    reader->silent = is_silence(symptom) ? reader->silent + 1 : 0;
    if (symptom.kind == SYMPTOM_NONE) {
        give_words(reader, reply->words);
        learn_from_success(reader);
    } else if (is_refusal(symptom)) {
        handle_refusal(reader, symptom);
    } else {
        give_symptom(reader, &reader->asked, symptom);
    }
    if (is_dead_line(symptom) || reader->silent >= SILENT_LIMIT)
        give_up(reader, symptom);
    ask_next(reader);
}

static void ask(struct reader *reader, const struct job *job, const struct plan_block *block)
{
    const struct modbus_habits *habits = &reader->map->modbus;
    struct request request = {
        .unit = reader->unit,
        .function = read_function[block->table],
        .address = block->first,
        .count = block->count,
        .answers_within_us = llround(habits->answers_within_s * 1e6),
        .rest_between_us = llround(habits->rest_between_s * 1e6),
        .retries = REQUEST_RETRIES,
    };
    reader->asked = *job;
    reader->block = *block;
    reader->traffic_before = *link_traffic(reader->link);
    link_submit(reader->link, &request, reply_came, reader);
}

/* Plans the job on top anew, by what is known now; asks it where that makes one request of it, else stacks its blocks.
 */
static void ask_next(struct reader *reader)
{
    while (reader->job_count > 0) {
        struct job job = reader->jobs[--reader->job_count];
        struct plan plan;
        plan_make(&reader->items[job.begin], job.end - job.begin, &reader->limits, &plan);
        if (plan.count == 1)
            ask(reader, &job, &plan.blocks[0]);
        for (size_t i = plan.count; plan.count > 1 && i > 0; i--)
            push_job(reader, job.begin + plan.blocks[i - 1].begin, job.begin + plan.blocks[i - 1].end, NO_SPLIT);
        bool asked = plan.count == 1;
        plan_free(&plan);
        if (asked)
            return;
    }
    forget_call(reader);
    reader->done(reader->user);
}

/* A gap that now holds something wanted is one no more: what in there is refused will be learned item by item. */
static void forget_filled_gaps(struct reader *reader)
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

/* Takes the parameters in hand: those that may be asked become items, the others get their symptom at once. */
static void collect(struct reader *reader, const size_t *parameters, size_t count)
{
    bool *seen = memory_new(reader->map->count, sizeof *seen);
    reader->wanted = memory_new(count, sizeof *reader->wanted);
    reader->items = memory_new(count, sizeof *reader->items);
    for (size_t i = 0; i < count; i++) {
        const struct parameter *parameter = &reader->map->parameters[parameters[i]];
        if (seen[parameters[i]] || parameter->kind == KIND_COMMAND)
            continue;
        seen[parameters[i]] = true;
        struct reading *reading = &reader->readings->items[parameters[i]];
        drop_words(reading);
        reading->asked = true;
        reading->symptom = (struct symptom){0};
        if (!reader_may_ask(reader->map, parameter)) {
            reading->symptom.kind = SYMPTOM_CLOSED;
            continue;
        }
        reader->wanted[reader->wanted_count++] = parameters[i];
        reader->items[reader->item_count++] = parameter_item(parameter);
    }
    free(seen);
    reader->item_count = plan_sort(reader->items, reader->item_count);
    forget_filled_gaps(reader);
}

void reader_read(struct reader *reader, const size_t *parameters, size_t count, reader_done done, void *user)
{
    reader->done = done;
    reader->user = user;
    collect(reader, parameters, count);
    if (reader->item_count > 0)
        push_job(reader, 0, reader->item_count, NO_SPLIT);
    ask_next(reader);
}
