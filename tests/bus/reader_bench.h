/* SPDX-License-Identifier: MIT */
/* A reader on a link that is played here, with a drive that has holes and limits. For one source file a program. */
#ifndef ASLEFT_TESTS_BUS_READER_BENCH_H
#define ASLEFT_TESTS_BUS_READER_BENCH_H

#include "bus/link_line.h"
#include "bus/link_tags.h"
#include "bus/reader.h"

#include "bus/map_builder.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum { TABLES = 4, MOST_HOLES = 64, MOST_REQUESTS = 4000, MOST_RESERVED = 64 };

/* A drive at the end of a link, and what it was asked. Where nothing else is said a place holds place_word(). */
struct link {
    struct address_range holes[MOST_HOLES]; /* a request that touches one gets exception `hole_exception` */
    size_t hole_count;
    uint8_t hole_exception;
    unsigned longest;         /* more registers than this get exception 03; 0: no limit */
    bool mute;                /* instead of that exception: nothing */
    unsigned request_cost;    /* in registers; 0: 10 */
    bool recent_kept;         /* requests of the call before still count */
    struct symptom script[8]; /* what comes of the first requests, whatever they ask; then as above */
    size_t script_count;
    size_t script_at;
    bool script_for_ever; /* its last entry counts from then on */

    struct request requests[MOST_REQUESTS];
    size_t request_count;
    struct read_tag reserved[MOST_RESERVED];
    size_t reserved_count;
    struct traffic traffic;
    struct request pending;
    link_done done; /* NULL: nothing is in flight */
    void *user;
};

static inline uint16_t place_word(uint8_t function, unsigned address)
{
    if (function <= 2)
        return (uint16_t)((address * 2654435761U >> 16) & 1);
    return (uint16_t)(address * 40503U + function);
}

/* These stand in for the link engine's. */
void link_submit(struct link *link, const struct request *request, link_done done, void *user)
{
    assert_null(link->done);
    assert_true(link->request_count < MOST_REQUESTS);
    assert_true(request->count >= 1);
    assert_true(request->address + request->count <= 65536);
    link->requests[link->request_count++] = *request;
    link->pending = *request;
    link->done = done;
    link->user = user;
}

unsigned link_request_cost(const struct link *link, uint8_t unit)
{
    (void)unit;
    return link->request_cost == 0 ? 10 : link->request_cost;
}

size_t link_recent(const struct link *link, uint8_t unit, struct read_tag *tags)
{
    (void)unit;
    size_t count = link->request_count < LINK_RECENT ? link->request_count : LINK_RECENT;
    for (size_t i = 0; i < count; i++) {
        const struct request *request = &link->requests[link->request_count - count + i];
        tags[i] = (struct read_tag){request->function, request->address, request->count};
    }
    return count;
}

void link_reserve(struct link *link, uint8_t unit, const struct read_tag *tags, size_t count)
{
    (void)unit;
    link->reserved_count = count;
    for (size_t i = 0; i < count && i < MOST_RESERVED; i++)
        link->reserved[i] = tags[i];
}

const struct traffic *link_traffic(const struct link *link)
{
    return &link->traffic;
}

static inline enum table table_of(uint8_t function)
{
    static const enum table tables[] = {TABLE_COIL, TABLE_COIL, TABLE_DISCRETE, TABLE_HOLDING, TABLE_INPUT};
    assert_in_range(function, 1, 4);
    return tables[function];
}

static inline bool touches(const struct request *request, const struct address_range *range)
{
    return range->table == table_of(request->function) && range->first < request->address + request->count &&
           range->last >= request->address;
}

static inline struct symptom drive_says(const struct link *link)
{
    if (link->longest > 0 && link->pending.function >= 3 && link->pending.count > link->longest)
        return link->mute ? (struct symptom){SYMPTOM_NO_REPLY, 0} : (struct symptom){SYMPTOM_EXCEPTION, 0x03};
    for (size_t i = 0; i < link->hole_count; i++)
        if (touches(&link->pending, &link->holes[i]))
            return (struct symptom){SYMPTOM_EXCEPTION, link->hole_exception};
    return (struct symptom){0};
}

/* Answers the request in flight, as loop_run would. */
static inline void answer(struct link *link)
{
    struct reply reply = {.symptom = drive_says(link)};
    if (link->script_at < link->script_count)
        reply.symptom = link->script[link->script_at++];
    else if (link->script_for_ever)
        reply.symptom = link->script[link->script_count - 1];
    link->traffic.requests++;
    link->traffic.exceptions += reply.symptom.kind == SYMPTOM_EXCEPTION;
    link->traffic.timeouts += reply.symptom.kind == SYMPTOM_NO_REPLY;

    uint16_t words[2000];
    if (reply.symptom.kind == SYMPTOM_NONE) {
        for (unsigned i = 0; i < link->pending.count; i++)
            words[i] = place_word(link->pending.function, link->pending.address + i);
        reply.words = words;
        reply.count = link->pending.count;
    }
    link_done done = link->done;
    struct request request = link->pending;
    link->done = NULL;
    done(link->user, &request, &reply);
}

struct bench {
    struct link link;
    struct map map;
    struct readings readings;
    struct reader *reader;
    unsigned done;
};

static inline int set_up(void **state)
{
    struct bench *bench = memory_new(1, sizeof *bench);
    bench->map = map_start(ORDER_HIGH_FIRST);
    bench->link.hole_exception = 0x02;
    *state = bench;
    return 0;
}

static inline int tear_down(void **state)
{
    struct bench *bench = *state;
    reader_free(bench->reader);
    readings_free(&bench->readings);
    map_free(&bench->map);
    free(bench);
    return 0;
}

static inline void add(struct bench *bench, unsigned address)
{
    (void)map_add(&bench->map, "p", TABLE_HOLDING, address, TYPE_U16);
}

static inline void add_run(struct bench *bench, unsigned first, unsigned last)
{
    for (unsigned address = first; address <= last; address++)
        add(bench, address);
}

static inline void add_hole(struct bench *bench, enum table table, unsigned first, unsigned last)
{
    bench->link.holes[bench->link.hole_count++] = (struct address_range){table, (uint16_t)first, (uint16_t)last};
}

static inline void count_done(void *user)
{
    struct bench *bench = user;
    bench->done++;
}

static inline void read_these(struct bench *bench, const size_t *parameters, size_t count)
{
    if (bench->reader == NULL) {
        readings_init(&bench->readings, bench->map.count);
        bench->reader = reader_new(&bench->link, &bench->map, 17, &bench->readings);
    }
    unsigned before = bench->done;
    if (!bench->link.recent_kept)
        bench->link.request_count = 0;
    reader_read(bench->reader, parameters, count, count_done, bench);
    while (bench->link.done != NULL)
        answer(&bench->link);
    assert_int_equal(bench->done, before + 1);
}

static inline void read_all(struct bench *bench)
{
    size_t *parameters = memory_new(bench->map.count, sizeof *parameters);
    for (size_t i = 0; i < bench->map.count; i++)
        parameters[i] = i;
    read_these(bench, parameters, bench->map.count);
    free(parameters);
}

static inline void expect_request(const struct bench *bench, size_t index, uint8_t function, unsigned address,
                                  unsigned count)
{
    assert_true(index < bench->link.request_count);
    assert_int_equal(bench->link.requests[index].function, function);
    assert_int_equal(bench->link.requests[index].address, address);
    assert_int_equal(bench->link.requests[index].count, count);
}

static inline bool is_read_right(const struct bench *bench, size_t parameter)
{
    static const uint8_t functions[TABLES] = {1, 2, 4, 3};
    const struct parameter *row = &bench->map.parameters[parameter];
    const struct reading *reading = &bench->readings.items[parameter];
    if (!reading->asked || reading->symptom.kind != SYMPTOM_NONE || reading->raw_count != row->words)
        return false;
    for (unsigned i = 0; i < row->words; i++)
        if (reading->raw[i] != place_word(functions[row->at.table], row->at.at + i))
            return false;
    return true;
}

static inline void expect_read(const struct bench *bench, size_t first, size_t last)
{
    for (size_t i = first; i <= last; i++)
        if (!is_read_right(bench, i))
            fail_msg("parameter %zu is not read right", i);
}

static inline void expect_symptom(const struct bench *bench, size_t parameter, enum symptom_kind kind,
                                  uint8_t exception)
{
    const struct reading *reading = &bench->readings.items[parameter];
    assert_true(reading->asked);
    assert_int_equal(reading->symptom.kind, kind);
    assert_int_equal(reading->symptom.exception, exception);
    assert_int_equal(reading->raw_count, 0);
    assert_null(reading->raw);
}

#endif
