/* SPDX-License-Identifier: MIT */
/* A plain client on a line in memory: what a careful user of a general library does. A reply counts where unit,
 * function, byte count and CRC (or transaction) fit; three attempts; what has come is flushed before each, and on TCP
 * an error makes a new connection. */
#ifndef ASLEFT_TESTS_BUS_PLAIN_MODEL_H
#define ASLEFT_TESTS_BUS_PLAIN_MODEL_H

#include "bus/line_fake.h"

enum { PLAIN_ATTEMPTS = 3 };

struct plain {
    struct line_fake *line;
    int64_t patience_us;
    int64_t silence_us; /* kept before each request */
    uint16_t transaction;
    uint64_t requests;
};

/* The frame at the front of the input, 0 while it is not whole, as far as its header says. */
static inline size_t plain_frame_length(const struct line_fake *line)
{
    const uint8_t *in = line->input;
    size_t length = 0;
    if (line->tcp && line->input_length >= 9)
        length = (in[7] & EXCEPTION_BIT) != 0 ? 9 : 9U + in[8];
    if (!line->tcp && line->input_length >= 3)
        length = (in[1] & EXCEPTION_BIT) != 0 ? 5 : 5U + in[2];
    return length <= line->input_length ? length : 0;
}

static inline bool plain_accepts(const struct plain *plain, const struct asked *asked, size_t length)
{
    const uint8_t *in = plain->line->input;
    const uint8_t *pdu = in + (plain->line->tcp ? 7 : 1);
    unsigned count = (unsigned)asked->pdu.bytes[3] << 8 | asked->pdu.bytes[4];
    if (plain->line->tcp && ((unsigned)in[0] << 8 | in[1]) != asked->transaction)
        return false;
    if (!plain->line->tcp &&
        (in[0] != asked->unit || crc16(in, length - 2) != (in[length - 2] | (unsigned)in[length - 1] << 8)))
        return false;
    return pdu[0] == asked->pdu.bytes[0] && pdu[1] == 2 * count;
}

static inline void plain_flush(struct plain *plain)
{
    fake_take_due(plain->line);
    plain->line->input_length = 0;
}

/* One attempt at a read; `words` holds `count`. */
static inline bool plain_try(struct plain *plain, uint8_t unit, uint8_t function, uint16_t address, uint16_t count,
                             uint16_t *words)
{
    struct line_fake *line = plain->line;
    struct asked asked = {.unit = unit, .transaction = ++plain->transaction};
    if (!pdu_read(&asked.pdu, function, address, count))
        abort();
    uint8_t frame[TCP_BYTES];
    size_t sent =
        line->tcp ? tcp_build(frame, asked.transaction, unit, &asked.pdu) : rtu_build(frame, unit, &asked.pdu);
    int64_t rest_until_us = line->now_us + plain->silence_us;
    while (line->now_us < rest_until_us && fake_wait(line, rest_until_us))
        plain_flush(plain);
    plain_flush(plain);
    plain->requests++;
    if (fake_write(line, frame, sent) < 0)
        return false;
    int64_t deadline_us = line->now_us + plain->patience_us;
    size_t length = 0;
    for (;;) {
        fake_take_due(line);
        length = plain_frame_length(line);
        if (length > 0 || line->closed || line->now_us >= deadline_us)
            break;
        int64_t next_us = line->delivery_count > 0 ? line->deliveries[0].at_us : deadline_us;
        line->now_us = next_us < deadline_us ? next_us : deadline_us;
    }
    bool accepted = length > 0 && plain_accepts(plain, &asked, length);
    if (accepted)
        reply_words(line->input + (line->tcp ? 7 : 1), function, count, words);
    plain_flush(plain);
    return accepted;
}

static inline bool plain_model_read(void *user, uint8_t unit, uint8_t function, uint16_t address, uint16_t count,
                                    uint16_t *words)
{
    struct plain *plain = user;
    for (unsigned attempt = 0; attempt < PLAIN_ATTEMPTS; attempt++) {
        if (plain_try(plain, unit, function, address, count, words))
            return true;
        if (plain->line->tcp) {
            fake_disconnect(plain->line);
            (void)fake_connect(plain->line);
        }
    }
    return false;
}

#endif
