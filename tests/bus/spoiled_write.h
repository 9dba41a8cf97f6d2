/* SPDX-License-Identifier: MIT */
/* A link to a drive with a memory, one of whose replies to a write befalls something. */
#ifndef ASLEFT_TESTS_BUS_SPOILED_WRITE_H
#define ASLEFT_TESTS_BUS_SPOILED_WRITE_H

#include "bus/writing_bench.h"

/* A drive with a memory. The write with the number `spoil_at` (from 1) befalls something. */
struct bench {
    struct line_fake *line;
    struct memory_drive memory;
    unsigned writes, reads; /* heard */
    size_t (*spoil)(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply);
    unsigned spoil_at;
    bool echoes;
    int64_t late_us;  /* of that write's reply */
    int64_t copy_us;  /* the reply to the next read comes a second time, so much later; 0: once */
    int64_t until_us; /* when its last reply goes out: it answers in order */
    bool deaf;        /* to reads */
};

static inline size_t wrap(const struct line_fake *line, const uint8_t *frame, const struct pdu *pdu, uint8_t *reply)
{
    return fake_frame(line, frame, reply, pdu->bytes, pdu->length);
}

static inline void reply_after(struct bench *bench, int64_t after_us, const uint8_t *reply, size_t length)
{
    int64_t at_us = bench->line->now_us + after_us;
    bench->until_us = at_us > bench->until_us ? at_us : bench->until_us;
    fake_deliver(bench->line, bench->until_us, reply, length, false);
}

static inline void drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    struct bench *bench = line->user;
    const uint8_t *asked = fake_pdu(line, frame);
    bool writes = asked[0] > 4;
    if (bench->echoes)
        fake_say(line, 4000, frame, length);
    bench->writes += writes ? 1 : 0;
    bench->reads += writes ? 0 : 1;
    if (!writes && bench->deaf)
        return;
    bool spoiled = writes && bench->writes == bench->spoil_at;
    struct pdu answer = memory_answer(&bench->memory, line->tcp ? frame[6] : frame[0], asked);
    if (spoiled && bench->spoil == NULL && bench->late_us == 0)
        return;
    uint8_t reply[TCP_BYTES];
    size_t reply_length = spoiled && bench->spoil != NULL ? bench->spoil(bench, frame, &answer, reply)
                                                          : wrap(line, frame, &answer, reply);
    reply_after(bench, spoiled && bench->late_us > 0 ? bench->late_us : 9000, reply, reply_length);
    if (!writes && bench->copy_us > 0)
        reply_after(bench, bench->copy_us, reply, reply_length);
    if (!writes)
        bench->copy_us = 0;
}

static inline struct bench *bench_new(bool tcp)
{
    struct bench *bench = test_calloc(1, sizeof *bench);
    bench->line = fake_new(tcp);
    bench->line->drive = drive;
    bench->line->user = bench;
    for (unsigned i = 0; i < MEMORY_WORDS; i++)
        bench->memory.registers[1][i] = fake_value((uint16_t)i);
    return bench;
}

static inline void bench_free(struct bench *bench)
{
    fake_free(bench->line);
    test_free(bench);
}

static inline struct write_outcome order(struct bench *bench, const struct write_request *request)
{
    return link_order(bench->line->loop, bench->line->link, request);
}

static const struct write_request each_function[] = {
    {.unit = 1, .function = 0x05, .address = 17, .count = 1, .words = {1}, .answers_within_us = 300000},
    {.unit = 1, .function = 0x05, .address = 17, .count = 1, .words = {0}, .answers_within_us = 300000},
    {.unit = 1, .function = 0x06, .address = 20, .count = 1, .words = {0xbeef}, .answers_within_us = 300000},
    {.unit = 1, .function = 0x06, .address = 21, .count = 1, .words = {0}, .answers_within_us = 300000},
    {.unit = 1,
     .function = 0x0f,
     .address = 30,
     .count = 9,
     .words = {1, 0, 1, 1, 0, 0, 0, 0, 1},
     .answers_within_us = 300000},
    {.unit = 1, .function = 0x10, .address = 40, .count = 1, .words = {0x1234}, .answers_within_us = 300000},
    {.unit = 2,
     .function = 0x10,
     .address = 40,
     .count = 123,
     .words = {1, 2, 3, [122] = 0xffff},
     .answers_within_us = 300000},
};
enum { EACH_FUNCTION = sizeof each_function / sizeof each_function[0] };

/* As a way to spoil a reply. */
static inline size_t exception(const struct bench *bench, const uint8_t *frame, uint8_t *reply, uint8_t code)
{
    return fake_exception(bench->line, frame, reply, code);
}

#endif
