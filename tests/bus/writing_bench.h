/* SPDX-License-Identifier: MIT */
/* Writes through a link: waiting for what comes of one, and a drive's memory that notes each write it carries out. */
#ifndef ASLEFT_TESTS_BUS_WRITING_BENCH_H
#define ASLEFT_TESTS_BUS_WRITING_BENCH_H

#include "bus/line_fake.h"
#include "bus/link_write.h"

/* ---- the client ---- */

struct write_outcome {
    bool done;
    struct symptom symptom;
    bool sent;
};

static inline void write_outcome_take(void *user, const struct write_request *request, const struct write_reply *reply)
{
    (void)request;
    struct write_outcome *outcome = user;
    assert_false(outcome->done);
    *outcome = (struct write_outcome){.done = true, .symptom = reply->symptom, .sent = reply->sent};
}

static inline bool write_outcome_is_done(void *user)
{
    return ((struct write_outcome *)user)->done;
}

static inline struct write_outcome link_order(struct loop *loop, struct link *link, const struct write_request *request)
{
    struct write_outcome outcome = {0};
    link_write(link, request, write_outcome_take, &outcome);
    assert_true(loop_run(loop, write_outcome_is_done, &outcome, loop_now_us(loop) + 60000000));
    return outcome;
}

/* Function 06, of unit 1. */
static inline struct write_request write_of(uint16_t address, uint16_t value)
{
    return (struct write_request){
        .unit = 1, .function = 6, .address = address, .count = 1, .words = {value}, .answers_within_us = 300000};
}

static inline struct write_outcome fake_order(struct line_fake *line, uint16_t address, uint16_t value)
{
    const struct write_request request = write_of(address, value);
    return link_order(line->loop, line->link, &request);
}

static inline void assert_written(const struct write_outcome *outcome, const char *word, bool sent)
{
    char text[32];
    assert_string_equal(symptom_word(outcome->symptom, text, sizeof text), word);
    assert_int_equal(outcome->sent, sent);
}

/* ---- the drive ---- */

enum { MEMORY_UNITS = 3, MEMORY_WORDS = 256 };

struct memory_drive {
    uint16_t registers[MEMORY_UNITS][MEMORY_WORDS], coils[MEMORY_UNITS][MEMORY_WORDS]; /* by unit */
    unsigned carried_out;                                                              /* writes */
    struct write_request last;                                                         /* of those */
};

static inline unsigned memory_word(const uint8_t *bytes)
{
    return (unsigned)bytes[0] << 8 | bytes[1];
}

/* What a write asks for. Section numbers of the MODBUS Application Protocol Specification V1.1b3: 6.5, 6.6, 6.11, 6.12.
 * Taken apart here and not by what the client is built of. */
static inline struct write_request memory_parse(uint8_t unit, const uint8_t *pdu)
{
    struct write_request request = {
        .unit = unit, .function = pdu[0], .address = (uint16_t)memory_word(pdu + 1), .count = 1};
    switch (pdu[0]) {
    case 0x05:
        assert_true(memory_word(pdu + 3) == 0xff00 || memory_word(pdu + 3) == 0);
        request.words[0] = memory_word(pdu + 3) == 0xff00;
        break;
    case 0x06:
        request.words[0] = (uint16_t)memory_word(pdu + 3);
        break;
    case 0x0f:
    case 0x10:
        request.count = (uint16_t)memory_word(pdu + 3);
        for (unsigned i = 0; i < request.count; i++)
            request.words[i] = (uint16_t)(pdu[0] == 0x0f ? ((unsigned)pdu[6 + i / 8] >> (i % 8)) & 1U
                                                         : memory_word(pdu + 6 + (size_t)2 * i));
        break;
    default:
        fail();
    }
    return request;
}

static inline bool same_write(const struct write_request *a, const struct write_request *b)
{
    return a->unit == b->unit && a->function == b->function && a->address == b->address && a->count == b->count &&
           memcmp(a->words, b->words, a->count * sizeof a->words[0]) == 0;
}

static inline uint16_t *memory_of(struct memory_drive *memory, uint8_t unit, uint8_t function)
{
    return function == 1 || function == 5 || function == 0x0f ? memory->coils[unit] : memory->registers[unit];
}

static inline void memory_carry_out(struct memory_drive *memory, const struct write_request *request)
{
    assert_true(request->address + request->count <= MEMORY_WORDS);
    memcpy(memory_of(memory, request->unit, request->function) + request->address, request->words,
           request->count * sizeof request->words[0]);
    memory->carried_out++;
    memory->last = *request;
}

/* Does as it is asked, and says so. */
static inline struct pdu memory_answer(struct memory_drive *memory, uint8_t unit, const uint8_t *asked)
{
    struct pdu answer = {.length = 5};
    memcpy(answer.bytes, asked, 5);
    if (asked[0] > 4) {
        const struct write_request request = memory_parse(unit, asked);
        memory_carry_out(memory, &request);
        return answer;
    }
    unsigned address = memory_word(asked + 1), count = memory_word(asked + 3);
    const uint16_t *words = memory_of(memory, unit, asked[0]) + address;
    assert_true(address + count <= MEMORY_WORDS && (asked[0] == 1 || asked[0] == 3));
    answer = (struct pdu){.bytes = {asked[0]}, .length = 2};
    answer.bytes[1] = (uint8_t)(asked[0] == 1 ? (count + 7) / 8 : 2 * count);
    answer.length += answer.bytes[1];
    for (unsigned i = 0; i < count; i++) {
        if (asked[0] == 1) {
            answer.bytes[2 + i / 8] |= (uint8_t)((unsigned)words[i] << (i % 8));
        } else {
            answer.bytes[2 + (size_t)2 * i] = (uint8_t)(words[i] >> 8);
            answer.bytes[3 + (size_t)2 * i] = (uint8_t)words[i];
        }
    }
    return answer;
}

#endif
