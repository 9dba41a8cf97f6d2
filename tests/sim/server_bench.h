/* SPDX-License-Identifier: MIT */
/* A frame loop on a clock of the test's, with a line that only writes down what it is given. */
#ifndef ASLEFT_TESTS_SIM_SERVER_BENCH_H
#define ASLEFT_TESTS_SIM_SERVER_BENCH_H

#include "sim/fixture.h"
#include "sim/server.h"

enum { MOST_SENT = 64, FIRST_UNIT = 9, DRIVES = 3, CLIENT = 1 };

/* What left, and when. A hang-up has no bytes. */
struct sent {
    int64_t at_us;
    uint64_t client;
    uint8_t bytes[300];
    size_t length;
};

struct server_bench {
    struct bench benches[DRIVES];
    struct drive drives[DRIVES];
    struct line_faults faults;
    struct server *server;
    enum wire wire;
    int64_t now_us;
    uint16_t transaction;
    struct sent sent[MOST_SENT];
    size_t count;
};

static const char server_map[] =
    "map: bench-server\n"
    "about: Invented for the tests.\n"
    "modbus: {count_from: 0, word_order: high-first, writes_with: either, longest_write: 8}\n"
    "identity:\n"
    "  - {parameter: model, equals: 'BS-1'}\n"
    "parameters:\n"
    "  code: {at: holding 0, type: u16, settable: always, default: 5}\n"
    "  speed: {at: holding 1, type: u16, unit: rpm, settable: always, default: 1440 rpm}\n"
    "  model: {at: holding 2, type: text(2 registers)}\n"
    "  level: {at: holding 4, type: u16, settable: always, accepts: 10 to 20, default: 12}\n"
    "  serial: {at: holding 5, type: text(3 registers), means: drive.serial_number}\n"
    "  fan: {at: coil 4, settable: always, default: 1}\n"
    "  door: {at: discrete 0, default: 1}\n"
    "  state: {at: input 0, type: bits, bits: {0: running}, means: live.state}\n";

static int64_t server_bench_clock(void *user)
{
    return ((const struct server_bench *)user)->now_us;
}

static void server_bench_send(void *line, uint64_t client, const uint8_t *bytes, size_t length)
{
    struct server_bench *bench = line;
    assert_true(bench->count < MOST_SENT && length <= sizeof bench->sent->bytes);
    struct sent *sent = &bench->sent[bench->count++];
    *sent = (struct sent){.at_us = bench->now_us, .client = client, .length = length};
    memcpy(sent->bytes, bytes, length);
}

static void server_bench_hang_up(void *line, uint64_t client)
{
    server_bench_send(line, client, (const uint8_t *)"", 0);
}

/* Three drives on units 9 to 11, with the `--fault` of `fault` where that is not NULL. What `setup` says of pace, log
 * and habit counts. */
static inline void server_bench_open(struct server_bench *bench, enum wire wire, const char *fault,
                                     const struct server_setup *setup)
{
    *bench = (struct server_bench){.wire = wire};
    for (size_t i = 0; i < DRIVES; i++) {
        bench_open(&bench->benches[i], server_map, NULL, NULL);
        bench->drives[i] = bench->benches[i].drive;
    }
    struct error error = {0};
    if (fault != NULL && !line_faults_add(&bench->faults, fault, &error))
        fail_msg("%s", error.text);
    line_faults_seed(&bench->faults, 1);
    struct server_setup whole = *setup;
    whole.wire = wire;
    whole.drives = bench->drives;
    whole.count = DRIVES;
    whole.first_unit = FIRST_UNIT;
    whole.faults = &bench->faults;
    whole.clock_us = server_bench_clock;
    whole.user = bench;
    bench->server = server_new(&whole);
    server_attach(bench->server,
                  &(struct server_line){.line = bench, .send = server_bench_send, .hang_up = server_bench_hang_up});
}

static inline void server_bench_close(struct server_bench *bench)
{
    server_free(bench->server);
    line_faults_free(&bench->faults);
    for (size_t i = 0; i < DRIVES; i++) {
        bench->benches[i].drive = bench->drives[i];
        bench_close(&bench->benches[i]);
    }
}

/* A request comes in now; nothing is sent yet. */
static inline void server_bench_ask(struct server_bench *bench, unsigned unit, const char *pdu, size_t length)
{
    uint8_t frame[FRAME_LONGEST];
    const uint16_t transaction = ++bench->transaction;
    const size_t frame_length = wire_wrap(bench->wire, transaction, (uint8_t)unit, (const uint8_t *)pdu, length, frame);
    server_take(bench->server, &(struct arrival){.client = CLIENT,
                                                 .frame = frame,
                                                 .frame_length = frame_length,
                                                 .transaction = transaction,
                                                 .unit = (uint8_t)unit,
                                                 .pdu = (const uint8_t *)pdu,
                                                 .pdu_length = length});
}

/* Lets time go on until nothing is due any more. */
static inline void server_bench_run(struct server_bench *bench)
{
    for (;;) {
        const int64_t due_us = server_due_us(bench->server);
        if (due_us == SERVER_NOTHING_DUE)
            return;
        bench->now_us = due_us > bench->now_us ? due_us : bench->now_us;
        server_release(bench->server);
    }
}

/* Asks, and lets time go on. Forgets what was sent before. */
static inline void server_bench_talk(struct server_bench *bench, unsigned unit, const char *pdu, size_t length)
{
    bench->count = 0;
    server_bench_ask(bench, unit, pdu, length);
    server_bench_run(bench);
}

/* The n-th thing sent is this PDU of that unit, in a whole frame; on TCP under the newest transaction. */
static inline void server_bench_sent(const struct server_bench *bench, size_t n, unsigned unit, const char *pdu,
                                     size_t length)
{
    uint8_t frame[FRAME_LONGEST];
    const size_t frame_length =
        wire_wrap(bench->wire, bench->transaction, (uint8_t)unit, (const uint8_t *)pdu, length, frame);
    assert_true(n < bench->count);
    assert_int_equal(bench->sent[n].client, CLIENT);
    assert_int_equal(bench->sent[n].length, frame_length);
    assert_memory_equal(bench->sent[n].bytes, frame, frame_length);
}

#endif
