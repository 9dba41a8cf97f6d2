/* SPDX-License-Identifier: MIT */
/* A line to be searched: drives at formats of their own on the line in memory, the link of the program, a virtual
 * clock, and somebody who watches that nothing but questions is sent. */
#ifndef ASLEFT_TESTS_BUS_SEARCH_BENCH_H
#define ASLEFT_TESTS_BUS_SEARCH_BENCH_H

#include "bus/line_fake.h"
#include "bus/search.h"

enum { BENCH_DRIVES = 8 };

struct bench_drive {
    uint8_t unit; /* 0: every one */
    struct serial_format format;
    int64_t turnaround_us;
    uint8_t exception;        /* to function 03; 0: values */
    unsigned answers_at_most; /* 0: always */
    unsigned answered;
    bool heeds_no_parity; /* understands every parity, and is not understood in another than its own */
    /* Function 43/14: replies' PDUs, by the object that is asked for; NULL: exception 01. */
    size_t (*identify)(const uint8_t *asked, uint8_t *pdu);
    const char *server_id; /* function 17; NULL: exception 01 */
};

struct bench {
    struct line_fake *line;
    struct search *search;
    struct serial_format format; /* of the port */
    struct bench_drive drives[BENCH_DRIVES];
    size_t drive_count;
    uint8_t absent_exception; /* TCP: what the gateway says of units that are not there; 0: nothing */
    int64_t absent_us;
    bool echo;        /* the adapter hears itself */
    bool glitches;    /* and makes a byte of its own when it is set */
    unsigned refuses; /* a speed that the port does not take */
    /* another master at this format: asks half a second after the port is set, and is answered */
    bool has_master;
    struct serial_format master;
    struct line_errors errors;
    unsigned long framing_a_question; /* counted for each, without a byte */

    unsigned asked[256]; /* function 03, by unit */
    unsigned formats_set;
    bool done;
};

static inline bool bench_reaches(const struct serial_format *sent, const struct serial_format *heard)
{
    return sent->baud == heard->baud && sent->parity == heard->parity; /* receivers look at the first stop bit only */
}

static inline int64_t bench_wire_us(const struct bench *bench, size_t characters)
{
    if (bench->line->tcp)
        return 0;
    struct timing timing = timing_serial(bench->format.baud, bench->format.parity, bench->format.stop_bits);
    return timing_wire_us(&timing, characters);
}

static inline size_t bench_pdu(const struct bench *bench, const struct bench_drive *drive, const uint8_t *frame,
                               uint8_t *reply)
{
    const uint8_t *asked = fake_pdu(bench->line, frame);
    uint8_t pdu[PDU_BYTES];
    if (asked[0] == FUNCTION_READ_HOLDING_REGISTERS)
        return drive->exception == 0 ? fake_reply(bench->line, frame, reply)
                                     : fake_exception(bench->line, frame, reply, drive->exception);
    if (asked[0] == FUNCTION_DEVICE_IDENTIFICATION && drive->identify != NULL)
        return fake_frame(bench->line, frame, reply, pdu, drive->identify(asked, pdu));
    if (asked[0] == FUNCTION_REPORT_SERVER_ID && drive->server_id != NULL) {
        size_t length = strlen(drive->server_id);
        pdu[0] = asked[0];
        pdu[1] = (uint8_t)length;
        memcpy(pdu + 2, drive->server_id, length);
        return fake_frame(bench->line, frame, reply, pdu, 2 + length);
    }
    return fake_exception(bench->line, frame, reply, 1);
}

static inline void bench_answer(struct bench *bench, struct bench_drive *drive, const uint8_t *frame, size_t length)
{
    struct line_fake *line = bench->line;
    bool exact = line->tcp || bench_reaches(&bench->format, &drive->format);
    bool rough = drive->heeds_no_parity && bench->format.baud == drive->format.baud;
    if (!exact && !rough)
        return;
    if (drive->answers_at_most > 0 && drive->answered >= drive->answers_at_most)
        return;
    drive->answered++;
    uint8_t reply[TCP_BYTES];
    size_t reply_length = bench_pdu(bench, drive, frame, reply);
    for (size_t i = 0; !exact && i < reply_length; i += 2)
        reply[i] = 0; /* what a receiver makes of a wrong parity */
    fake_say(line, bench_wire_us(bench, length) + drive->turnaround_us + bench_wire_us(bench, reply_length), reply,
             reply_length);
}

static inline void bench_drives(struct line_fake *line, const uint8_t *frame, size_t length)
{
    struct bench *bench = line->user;
    uint8_t unit = line->tcp ? frame[6] : frame[0], function = fake_pdu(line, frame)[0];
    assert_true(function == FUNCTION_READ_HOLDING_REGISTERS || function == FUNCTION_REPORT_SERVER_ID ||
                function == FUNCTION_DEVICE_IDENTIFICATION);
    assert_int_not_equal(unit, 0);
    if (function == FUNCTION_READ_HOLDING_REGISTERS)
        bench->asked[unit]++;
    bench->errors.frame += bench->framing_a_question;
    if (bench->echo)
        fake_say(line, bench_wire_us(bench, length), frame, length);
    bool there = false;
    for (size_t i = 0; i < bench->drive_count; i++) {
        if (bench->drives[i].unit != 0 && bench->drives[i].unit != unit)
            continue;
        bench_answer(bench, &bench->drives[i], frame, length);
        there = true;
    }
    if (!there && bench->absent_exception != 0) {
        uint8_t reply[TCP_BYTES];
        size_t reply_length = fake_exception(line, frame, reply, bench->absent_exception);
        fake_say(line, bench->absent_us, reply, reply_length);
    }
}

static inline bool bench_set_format(void *user, unsigned baud, enum parity parity, unsigned stop_bits,
                                    struct error *error)
{
    struct line_fake *line = user;
    struct bench *bench = line->user;
    if (bench->refuses == baud)
        return error_set(error, ERROR_CONTACT, "the port does not take that");
    bench->format = (struct serial_format){.baud = baud, .parity = parity, .stop_bits = stop_bits};
    bench->formats_set++;
    line->input_length = 0;
    line->delivery_count = 0;
    static const uint8_t glitch[] = {0x00};
    if (bench->glitches)
        fake_say(line, 8000, glitch, sizeof glitch);
    if (!bench->has_master)
        return true;
    uint8_t frames[2 * RTU_BYTES];
    struct pdu pdu;
    (void)pdu_read(&pdu, FUNCTION_READ_INPUT_REGISTERS, 0x0107, 2);
    size_t length = rtu_build(frames, 9, &pdu);
    pdu = (struct pdu){.bytes = {FUNCTION_READ_INPUT_REGISTERS, 4, 1, 2, 3, 4}, .length = 6};
    length += rtu_build(frames + length, 9, &pdu);
    for (size_t i = 0; !bench_reaches(&bench->format, &bench->master) && i < length; i++)
        frames[i] = (uint8_t)(frames[i] * 7U + 0x55U); /* another speed makes other bytes of it */
    fake_say(line, 500000, frames, length);
    return true;
}

static inline struct line_errors bench_errors(void *user)
{
    const struct line_fake *line = user;
    return ((const struct bench *)line->user)->errors;
}

static inline void bench_done(void *user)
{
    ((struct bench *)user)->done = true;
}

static inline bool bench_is_done(void *user)
{
    return ((struct bench *)user)->done;
}

static inline void bench_start(struct bench *bench, bool tcp)
{
    *bench = (struct bench){.line = fake_new(tcp)};
    struct line_fake *line = bench->line;
    line->user = bench;
    line->drive = bench_drives;
    link_free(line->link);
    struct transport transport = {.connect = fake_connect,
                                  .disconnect = fake_disconnect,
                                  .read = fake_read,
                                  .write = fake_write,
                                  .descriptor = fake_descriptor,
                                  .close = fake_close,
                                  .user = line};
    if (!tcp) {
        transport.set_format = bench_set_format;
        transport.errors = bench_errors;
    }
    const struct timing timing = tcp ? timing_tcp() : timing_serial(1200, PARITY_NONE, 1);
    line->link = link_new(line->loop, &transport, &timing);
}

static inline struct bench_drive *bench_drive(struct bench *bench, uint8_t unit, unsigned baud, enum parity parity)
{
    struct bench_drive *drive = &bench->drives[bench->drive_count++];
    *drive =
        (struct bench_drive){.unit = unit,
                             .format = {.baud = baud, .parity = parity, .stop_bits = parity == PARITY_NONE ? 2 : 1},
                             .turnaround_us = 5000};
    return drive;
}

static inline void bench_begin(struct bench *bench, const struct search_bounds *bounds)
{
    char serial[] = "/dev/fake", host[] = "192.0.2.10";
    struct line at = {.serial = bench->line->tcp ? NULL : serial, .host = bench->line->tcp ? host : NULL, .port = 502};
    bench->search = search_start(bench->line->link, loop_clock(bench->line->loop), &at, bounds, bench_done, bench);
}

/* Searches to the end; returns how long it took on the wire. */
static inline double bench_search_s(struct bench *bench, const struct search_bounds *bounds)
{
    int64_t began_us = bench->line->now_us;
    bench_begin(bench, bounds);
    assert_true(loop_run(bench->line->loop, bench_is_done, bench, -1));
    return (double)(bench->line->now_us - began_us) / 1e6;
}

static inline const struct search_result *bench_result(struct bench *bench)
{
    return search_result(bench->search);
}

static inline void bench_stop(struct bench *bench)
{
    link_free(bench->line->link);
    bench->line->link = NULL;
    search_free(bench->search);
    fake_free(bench->line);
}

#endif
