/* SPDX-License-Identifier: MIT */
/* Writes one parameter as its map says: which function, which address, which half of 32 bits first. */
#include "bus/writer.h"

#include "bus/link_internal.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

enum { MOST_REQUESTS = 2, MOST_UNIT = 255, SPACE = 65536 };

/* ---- how the map wants it ---- */

static struct address target_of(const struct parameter *parameter)
{
    return parameter->write_at_given ? parameter->write_at : parameter->at;
}

static bool in_halves(const struct parameter *parameter)
{
    return parameter->type != TYPE_TEXT && parameter->words == 2 && parameter->write_words != WRITE_TOGETHER;
}

/* How many registers one request may write. */
static unsigned longest_of(const struct modbus_habits *habits)
{
    if (habits->writes_with == WRITES_SINGLE || habits->longest_write < 1)
        return 1;
    return habits->longest_write < WRITE_REGISTERS ? habits->longest_write : WRITE_REGISTERS;
}

static const char *why_not_there(const struct parameter *parameter)
{
    struct address target = target_of(parameter);
    switch (target.table) {
    case TABLE_DISCRETE:
        return "a discrete input cannot be written, and the map has no write_at";
    case TABLE_INPUT:
        return "an input register cannot be written, and the map has no write_at";
    case TABLE_COIL:
        if (parameter->words != 1)
            return "a coil holds one bit, and this value has more";
        break;
    case TABLE_HOLDING:
        break;
    }
    return parameter->words == 0 || target.at + parameter->words > SPACE ? "its registers end behind the last address"
                                                                         : NULL;
}

static const char *why_not_so(const struct map *map, const struct parameter *parameter)
{
    if (in_halves(parameter))
        return map->modbus.word_order == ORDER_UNKNOWN
                   ? "it is written in halves, and the map has no word_order that says which is which"
                   : NULL;
    if (parameter->words <= longest_of(&map->modbus))
        return NULL;
    return parameter->type != TYPE_TEXT && parameter->words == 2
               ? "its two registers need one request each, and the map has no write_words that says which goes first"
               : "it has more registers than the drive takes in one request (longest_write, writes_with)";
}

static const char *why_not(const struct map *map, const struct parameter *parameter)
{
    if (parameter->kind == KIND_COMMAND)
        return "it is a command";
    if (parameter->cuts_line)
        return "writing it would cut the line";
    if (parameter->settable == SETTABLE_NEVER)
        return "the map does not call it settable";
    const char *reason = why_not_there(parameter);
    return reason != NULL ? reason : why_not_so(map, parameter);
}

bool writer_can(const struct map *map, size_t parameter, const char **reason)
{
    *reason = parameter < map->count ? why_not(map, &map->parameters[parameter]) : "the map has no such parameter";
    return *reason == NULL;
}

/* ---- the requests ---- */

static int64_t microseconds(double seconds)
{
    return (int64_t)(seconds * 1e6 + 0.5);
}

/* Function 15 or 16, also for one bit or register? A drive whose map says no more than how many it takes at once is
 * written with 06 where that is one, else with 16; it need not know the other. */
static bool is_multiple(const struct modbus_habits *habits, unsigned count)
{
    switch (habits->writes_with) {
    case WRITES_SINGLE:
    case WRITES_EITHER:
        return count > 1;
    case WRITES_MULTIPLE:
        return true;
    case WRITES_UNSAID:
        break;
    }
    return count > 1 || habits->longest_write > 1;
}

static struct write_request request_for(const struct map *map, unsigned unit, struct address at, const uint16_t *words,
                                        unsigned count)
{
    bool multiple = is_multiple(&map->modbus, count);
    struct write_request request = {
        .unit = (uint8_t)unit,
        .address = at.at,
        .count = (uint16_t)count,
        .answers_within_us = microseconds(map->modbus.write_answers_within_s > 0 ? map->modbus.write_answers_within_s
                                                                                 : map->modbus.answers_within_s),
        .rest_between_us = microseconds(map->modbus.rest_between_s),
    };
    if (at.table == TABLE_COIL)
        request.function = multiple ? FUNCTION_WRITE_COILS : FUNCTION_WRITE_COIL;
    else
        request.function = multiple ? FUNCTION_WRITE_REGISTERS : FUNCTION_WRITE_REGISTER;
    memcpy(request.words, words, count * sizeof *words);
    return request;
}

size_t writer_requests(const struct map *map, size_t parameter, unsigned unit, const uint16_t *words,
                       struct write_request requests[2])
{
    const char *reason;
    if (unit == 0 || unit > MOST_UNIT || !writer_can(map, parameter, &reason))
        return 0;
    const struct parameter *row = &map->parameters[parameter];
    struct address at = target_of(row);
    if (!in_halves(row)) {
        requests[0] = request_for(map, unit, at, words, row->words);
        return 1;
    }
    bool first_is_low = map->modbus.word_order == ORDER_LOW_FIRST;
    size_t first = first_is_low == (row->write_words == WRITE_LOW_FIRST) ? 0 : 1;
    for (size_t i = 0; i < MOST_REQUESTS; i++) {
        size_t half = i == 0 ? first : 1 - first;
        const struct address there = {at.table, (uint16_t)(at.at + half)};
        requests[i] = request_for(map, unit, there, words + half, 1);
    }
    return MOST_REQUESTS;
}

/* ---- sending them ---- */

struct writer {
    struct link *link;
    struct write_request requests[MOST_REQUESTS];
    size_t count, at;
    struct written written;
    writer_done done;
    void *user;
};

static void send_next(struct writer *writer);

static void take(void *user, const struct write_request *request, const struct write_reply *reply)
{
    (void)request;
    struct writer *writer = user;
    bool good = reply->symptom.kind == SYMPTOM_NONE;
    writer->written.symptom = reply->symptom;
    writer->written.requests += reply->sent ? 1 : 0;
    writer->written.acknowledged += good ? 1 : 0;
    writer->at++;
    if (good && writer->at < writer->count) {
        send_next(writer);
        return;
    }
    writer->done(writer->user, &writer->written);
    free(writer);
}

static void send_next(struct writer *writer)
{
    link_write_owned(writer->link, &writer->requests[writer->at], take, writer);
}

/* A writer without requests sends an empty one, which the link answers without sending it: so `done` is called from the
 * loop all the same. */
static struct writer *writer_new(struct link *link, writer_done done, void *user)
{
    struct writer *writer = memory_new(1, sizeof *writer);
    writer->link = link;
    writer->done = done;
    writer->user = user;
    return writer;
}

void writer_write(struct link *link, const struct map *map, size_t parameter, unsigned unit, const uint16_t *words,
                  writer_done done, void *user)
{
    struct writer *writer = writer_new(link, done, user);
    writer->count = writer_requests(map, parameter, unit, words, writer->requests);
    send_next(writer);
}

void writer_save(struct link *link, const struct map *map, unsigned unit, writer_done done, void *user)
{
    struct writer *writer = writer_new(link, done, user);
    const struct save_command *save = &map->save;
    bool writable = save->at.table == TABLE_COIL || save->at.table == TABLE_HOLDING;
    if (save->given && writable && unit > 0 && unit <= MOST_UNIT) {
        writer->requests[0] = request_for(map, unit, save->at, &save->write, 1);
        /* some drives acknowledge when they have saved, others at once */
        if (writer->requests[0].answers_within_us < microseconds(save->within_s))
            writer->requests[0].answers_within_us = microseconds(save->within_s);
        writer->count = 1;
    }
    send_next(writer);
}
