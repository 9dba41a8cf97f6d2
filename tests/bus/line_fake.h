/* SPDX-License-Identifier: MIT */
/* A line in memory on a virtual clock, with a drive at its other end whose registers are a hash of their address, so
 * that a value which belongs to another address is seen. No real time passes. */
#ifndef ASLEFT_TESTS_BUS_LINE_FAKE_H
#define ASLEFT_TESTS_BUS_LINE_FAKE_H

#include "bus/frame.h"
#include "bus/link.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum { FAKE_DELIVERIES = 256, FAKE_BYTES = 2048 };

struct fake_delivery {
    int64_t at_us;
    uint8_t bytes[700];
    size_t length;
    bool close; /* instead of bytes: the other end hangs up */
};

struct line_fake {
    bool tcp;
    int64_t now_us;
    struct fake_delivery deliveries[FAKE_DELIVERIES]; /* by time */
    size_t delivery_count;
    uint8_t input[FAKE_BYTES]; /* delivered and not yet read */
    size_t input_length;
    bool closed;

    /* The drive: called with each whole frame that the link sends. */
    void (*drive)(struct line_fake *line, const uint8_t *frame, size_t length);
    void *user;
    uint8_t written[TCP_BYTES];
    size_t written_length;
    int64_t first_write_us, previous_end_us; /* of the last frame; when the byte before it was heard or sent */
    int64_t last_heard_us;
    size_t write_at_most; /* bytes a write takes; 0: all */
    unsigned frames;      /* sent by the link */

    enum contact contact;
    unsigned pending_connects; /* how often connect says CONTACT_PENDING first */
    unsigned connects, disconnects;

    struct loop *loop;
    struct link *link;
};

static inline uint16_t fake_value(uint16_t address)
{
    return (uint16_t)((address * 40503U + 12345U) ^ (address >> 3));
}

/* ---- what the drive says ---- */

static inline void fake_deliver(struct line_fake *line, int64_t at_us, const uint8_t *bytes, size_t length, bool close)
{
    assert_true(line->delivery_count < FAKE_DELIVERIES && length <= sizeof line->deliveries[0].bytes);
    size_t at = line->delivery_count++;
    for (; at > 0 && line->deliveries[at - 1].at_us > at_us; at--)
        line->deliveries[at] = line->deliveries[at - 1];
    line->deliveries[at] = (struct fake_delivery){.at_us = at_us, .length = length, .close = close};
    if (length > 0)
        memcpy(line->deliveries[at].bytes, bytes, length);
}

static inline void fake_say(struct line_fake *line, int64_t after_us, const uint8_t *bytes, size_t length)
{
    fake_deliver(line, line->now_us + after_us, bytes, length, false);
}

static inline void fake_hang_up(struct line_fake *line, int64_t after_us)
{
    fake_deliver(line, line->now_us + after_us, NULL, 0, true);
}

static inline size_t fake_frame(const struct line_fake *line, const uint8_t *request, uint8_t *reply,
                                const uint8_t *pdu, size_t length)
{
    struct pdu answer = {.length = length};
    memcpy(answer.bytes, pdu, length);
    if (line->tcp)
        return tcp_build(reply, (uint16_t)(request[0] << 8 | request[1]), request[6], &answer);
    return rtu_build(reply, request[0], &answer);
}

static inline const uint8_t *fake_pdu(const struct line_fake *line, const uint8_t *request)
{
    return request + (line->tcp ? 7 : 1);
}

/* The right reply to a read. `reply` holds TCP_BYTES. */
static inline size_t fake_reply(const struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    const uint8_t *asked = fake_pdu(line, request);
    uint16_t address = (uint16_t)(asked[1] << 8 | asked[2]);
    uint16_t count = (uint16_t)(asked[3] << 8 | asked[4]);
    uint8_t pdu[PDU_BYTES] = {asked[0], (uint8_t)read_reply_bytes(asked[0], count)};
    for (uint16_t i = 0; i < count; i++) {
        uint16_t value = fake_value((uint16_t)(address + i));
        if (asked[0] <= 2) {
            pdu[2 + i / 8] |= (uint8_t)((value & 1U) << (i % 8));
        } else {
            pdu[2 + 2 * i] = (uint8_t)(value >> 8);
            pdu[3 + 2 * i] = (uint8_t)value;
        }
    }
    return fake_frame(line, request, reply, pdu, 2U + pdu[1]);
}

static inline size_t fake_exception(const struct line_fake *line, const uint8_t *request, uint8_t *reply, uint8_t code)
{
    const uint8_t pdu[2] = {(uint8_t)(fake_pdu(line, request)[0] | 0x80U), code};
    return fake_frame(line, request, reply, pdu, sizeof pdu);
}

/* A healthy drive. */
static inline void fake_drive_right(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)length;
    uint8_t reply[TCP_BYTES];
    size_t reply_length = fake_reply(line, frame, reply);
    fake_say(line, 5000, reply, reply_length);
}

/* ---- clock, waiter, transport ---- */

static inline int64_t fake_now_us(void *user)
{
    return ((struct line_fake *)user)->now_us;
}

static inline int64_t fake_wall_ms(void *user)
{
    return ((struct line_fake *)user)->now_us / 1000;
}

static inline void fake_take_due(struct line_fake *line)
{
    while (line->delivery_count > 0 && line->deliveries[0].at_us <= line->now_us) {
        const struct fake_delivery *due = &line->deliveries[0];
        assert_true(line->input_length + due->length <= FAKE_BYTES);
        memcpy(line->input + line->input_length, due->bytes, due->length);
        line->input_length += due->length;
        line->closed |= due->close;
        line->delivery_count--;
        memmove(&line->deliveries[0], &line->deliveries[1], line->delivery_count * sizeof line->deliveries[0]);
    }
}

static inline bool fake_wait(void *user, int64_t until_us)
{
    struct line_fake *line = user;
    if (line->input_length > 0)
        return true;
    int64_t next_us = line->delivery_count > 0 ? line->deliveries[0].at_us : -1;
    if (next_us < 0 || (until_us >= 0 && until_us < next_us))
        next_us = until_us;
    if (next_us < 0)
        return false;
    if (next_us > line->now_us)
        line->now_us = next_us;
    fake_take_due(line);
    return true;
}

static inline enum contact fake_connect(void *user)
{
    struct line_fake *line = user;
    line->connects++;
    if (line->pending_connects > 0) {
        line->pending_connects--;
        return CONTACT_PENDING;
    }
    line->closed = false;
    return line->contact;
}

static inline void fake_disconnect(void *user)
{
    struct line_fake *line = user;
    line->disconnects++;
    if (line->tcp) {
        line->delivery_count = 0; /* what was under way on the old connection is lost with it */
        line->input_length = 0;
    }
}

static inline ssize_t fake_read(void *user, uint8_t *bytes, size_t size)
{
    struct line_fake *line = user;
    fake_take_due(line);
    if (line->input_length == 0)
        return line->closed ? -1 : 0;
    size_t take = line->input_length < size ? line->input_length : size;
    memcpy(bytes, line->input, take);
    line->input_length -= take;
    memmove(line->input, line->input + take, line->input_length);
    line->last_heard_us = line->now_us;
    return (ssize_t)take;
}

static inline ssize_t fake_write(void *user, const uint8_t *bytes, size_t size)
{
    struct line_fake *line = user;
    if (line->closed)
        return -1;
    size_t take = line->write_at_most > 0 && line->write_at_most < size ? line->write_at_most : size;
    if (line->written_length == 0) {
        line->first_write_us = line->now_us;
        line->previous_end_us = line->last_heard_us;
    }
    memcpy(line->written + line->written_length, bytes, take);
    line->written_length += take;
    if (take == size) {
        size_t length = line->written_length;
        line->written_length = 0;
        line->frames++;
        if (line->drive != NULL)
            line->drive(line, line->written, length);
    }
    return (ssize_t)take;
}

static inline int fake_descriptor(void *user)
{
    (void)user;
    return -1;
}

static inline void fake_close(void *user)
{
    (void)user;
}

/* ---- using it ---- */

static inline struct line_fake *fake_new_timed(const struct timing *timing)
{
    struct line_fake *line = test_calloc(1, sizeof *line);
    line->tcp = !timing->serial;
    line->now_us = 1000000;
    line->drive = fake_drive_right;
    const struct clock clock = {.now_us = fake_now_us, .wall_ms = fake_wall_ms, .user = line};
    const struct waiter waiter = {.wait = fake_wait, .user = line};
    line->loop = loop_new_waiting(&clock, &waiter);
    const struct transport transport = {.connect = fake_connect,
                                        .disconnect = fake_disconnect,
                                        .read = fake_read,
                                        .write = fake_write,
                                        .descriptor = fake_descriptor,
                                        .close = fake_close,
                                        .user = line};
    line->link = link_new(line->loop, &transport, timing);
    return line;
}

/* RTU at 19200 baud, 8E1, or TCP. */
static inline struct line_fake *fake_new(bool tcp)
{
    const struct timing timing = tcp ? timing_tcp() : timing_serial(19200, PARITY_EVEN, 1);
    return fake_new_timed(&timing);
}

static inline void fake_free(struct line_fake *line)
{
    link_free(line->link);
    loop_free(line->loop);
    test_free(line);
}

/* What came of a read; waited for on the given loop. */
struct outcome {
    bool done;
    struct symptom symptom;
    uint16_t words[READ_BITS];
    size_t count;
};

static inline void outcome_take(void *user, const struct request *request, const struct reply *reply)
{
    (void)request;
    struct outcome *outcome = user;
    assert_false(outcome->done);
    outcome->done = true;
    outcome->symptom = reply->symptom;
    outcome->count = reply->count;
    if (reply->count > 0)
        memcpy(outcome->words, reply->words, reply->count * sizeof reply->words[0]);
}

static inline bool outcome_is_done(void *user)
{
    return ((struct outcome *)user)->done;
}

static inline struct outcome link_ask(struct loop *loop, struct link *link, const struct request *request)
{
    struct outcome outcome = {0};
    link_submit(link, request, outcome_take, &outcome);
    assert_true(loop_run(loop, outcome_is_done, &outcome, loop_now_us(loop) + 60000000));
    return outcome;
}

static inline struct request read_of(uint16_t address, uint16_t count, unsigned retries)
{
    return (struct request){
        .unit = 1, .function = 3, .address = address, .count = count, .answers_within_us = 300000, .retries = retries};
}

static inline struct outcome fake_ask(struct line_fake *line, uint16_t address, uint16_t count, unsigned retries)
{
    const struct request request = read_of(address, count, retries);
    return link_ask(line->loop, line->link, &request);
}

static inline void assert_symptom(const struct outcome *outcome, const char *word)
{
    char text[32];
    assert_string_equal(symptom_word(outcome->symptom, text, sizeof text), word);
}

/* Read, and every word that of its own address. */
static inline void assert_right(const struct outcome *outcome, uint16_t address, uint16_t count)
{
    assert_symptom(outcome, "");
    assert_int_equal(outcome->count, count);
    for (uint16_t i = 0; i < count; i++)
        assert_int_equal(outcome->words[i], fake_value((uint16_t)(address + i)));
}

/* requests, retries, exceptions, timeouts, bad_frames, discarded */
static inline void assert_traffic(const struct link *link, const uint64_t expected[6])
{
    const struct traffic *traffic = link_traffic(link);
    const uint64_t had[6] = {traffic->requests, traffic->retries,    traffic->exceptions,
                             traffic->timeouts, traffic->bad_frames, traffic->discarded};
    for (size_t i = 0; i < 6; i++)
        assert_int_equal(had[i], expected[i]);
}
#define TRAFFIC(...) ((const uint64_t[6]){__VA_ARGS__})

#endif
