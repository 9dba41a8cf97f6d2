/* SPDX-License-Identifier: MIT */
/* Reads a set of a drive's parameters: plans blocks, asks the link, splits what the drive refuses, fills readings. */
#include "bus/reader.h"

#include "bus/link_line.h"
#include "bus/reader_internal.h"
#include "types/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A register takes as long on the wire as 16 bits, so costs are counted in bits. */
enum { REGISTER_COST = 16, REQUEST_RETRIES = 2, SILENT_LIMIT = 2 };

enum { ILLEGAL_ADDRESS = 0x02, ILLEGAL_VALUE = 0x03, DEVICE_FAILURE = 0x04, NO_PATH = 0x0a, NO_TARGET = 0x0b };

static bool is_bits(enum table table)
{
    return table == TABLE_COIL || table == TABLE_DISCRETE;
}

unsigned reader_map_longest(const struct map *map, enum table table)
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

struct reader *reader_new(struct link *link, const struct map *map, uint8_t unit, struct readings *readings)
{
    struct reader *reader = memory_new(1, sizeof *reader);
    reader->link = link;
    reader->map = map;
    reader->unit = unit;
    reader->readings = readings;
    for (unsigned i = 0; i < PLAN_TABLES; i++) {
        enum table table = (enum table)i;
        reader->limits.longest[table] = reader_map_longest(map, table);
        reader->limits.place_cost[table] = is_bits(table) ? 1 : REGISTER_COST;
    }
    reader->knowledge = 1;
    reader_learn_from_map(reader);
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
    free(reader->known);
    free(reader);
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

struct plan_item reader_item(const struct parameter *parameter)
{
    return (struct plan_item){parameter->at.table, parameter->at.at, parameter->at.at + parameter->words - 1};
}

bool reader_may_ask(const struct map *map, const struct parameter *parameter)
{
    struct plan_item item = reader_item(parameter);
    if (parameter->words == 0 || parameter->words > reader_map_longest(map, item.table) || item.last > UINT16_MAX)
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
    const struct plan_block *block = &reader->asked.block;
    for (size_t i = 0; i < reader->wanted_count; i++) {
        struct plan_item item = reader_item(&reader->map->parameters[reader->wanted[i]]);
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
void reader_give_symptom(struct reader *reader, const struct job *job, struct symptom symptom)
{
    for (size_t i = 0; i < reader->wanted_count; i++) {
        struct reading *reading = &reader->readings->items[reader->wanted[i]];
        struct plan_item wanted = reader_item(&reader->map->parameters[reader->wanted[i]]);
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

void reader_insert_job(struct reader *reader, size_t at, const struct job *job)
{
    reader->jobs = memory_grow(reader->jobs, reader->job_count, sizeof *reader->jobs);
    memmove(&reader->jobs[at + 1], &reader->jobs[at], (reader->job_count - at) * sizeof *job);
    reader->jobs[at] = *job;
    reader->job_count++;
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

/* A drive that stays silent when too much is asked at once is not silent. */
static void count_silence(struct reader *reader, struct symptom symptom)
{
    if (!is_silence(symptom))
        reader->silent = 0;
    else if (symptom.kind != SYMPTOM_NO_REPLY || !reader->answered || !reader_may_be_too_long(reader))
        reader->silent++;
    reader->answered |= symptom.kind == SYMPTOM_NONE || (symptom.kind == SYMPTOM_EXCEPTION && !is_silence(symptom));
}

/* What failed on the line may do so once more; what a drive or gateway says is its answer. */
static bool ask_at_the_end(struct reader *reader, struct symptom symptom)
{
    struct job job = reader->asked;
    bool may_pass =
        symptom.kind == SYMPTOM_NO_REPLY || symptom.kind == SYMPTOM_CORRUPT || symptom.kind == SYMPTOM_OTHER_UNIT;
    if (!may_pass || job.second_chance || !reader->answered)
        return false;
    job.second_chance = true;
    reader_insert_job(reader, reader->job_count, &job);
    return true;
}

static void reply_came(void *user, const struct request *request, const struct reply *reply)
{
    struct reader *reader = user;
    struct symptom symptom = reply->symptom;
    if (symptom.kind == SYMPTOM_NONE && reply->count != request->count)
        symptom.kind = SYMPTOM_CORRUPT;
    count_traffic(reader);
    count_silence(reader, symptom);
    if (symptom.kind == SYMPTOM_NONE) {
        give_words(reader, reply->words);
        reader_learn_from_success(reader);
    } else if (is_refusal(symptom)) {
        reader_handle_refusal(reader, symptom);
    } else if ((symptom.kind != SYMPTOM_NO_REPLY || !reader_handle_too_long(reader)) &&
               !ask_at_the_end(reader, symptom)) {
        reader_give_symptom(reader, &reader->asked, symptom);
    }
    if (is_dead_line(symptom) || reader->silent >= SILENT_LIMIT)
        give_up(reader, symptom);
    ask_next(reader);
}

static void ask(struct reader *reader, const struct job *job)
{
    const struct modbus_habits *habits = &reader->map->modbus;
    struct request request = {
        .unit = reader->unit,
        .function = reader_function(job->block.table),
        .address = job->block.first,
        .count = job->block.count,
        .answers_within_us = llround(habits->answers_within_s * 1e6),
        .rest_between_us = llround(habits->rest_between_s * 1e6),
        .retries = REQUEST_RETRIES,
    };
    reader->asked = *job;
    reader->traffic_before = *link_traffic(reader->link);
    link_submit(reader->link, &request, reply_came, reader);
}

static void ask_next(struct reader *reader)
{
    if (reader->job_count > 0) {
        reader_plan(reader);
        struct job job = reader_take_next(reader);
        ask(reader, &job);
        return;
    }
    forget_call(reader);
    reader->done(reader->user);
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
        reader->items[reader->item_count++] = reader_item(parameter);
    }
    free(seen);
    reader->item_count = plan_sort(reader->items, reader->item_count);
    reader_forget_filled_gaps(reader);
}

void reader_read(struct reader *reader, const size_t *parameters, size_t count, reader_done done, void *user)
{
    reader->done = done;
    reader->user = user;
    collect(reader, parameters, count);
    reader->limits.request_cost = link_request_cost(reader->link, reader->unit) * (uint32_t)REGISTER_COST;
    reader->knowledge++;
    const struct job job = {.begin = 0, .end = reader->item_count, .split = NO_SPLIT};
    if (job.end > 0)
        reader_insert_job(reader, 0, &job);
    ask_next(reader);
}
