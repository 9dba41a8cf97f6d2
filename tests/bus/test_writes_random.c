/* SPDX-License-Identifier: MIT */
/* Writes and reads at random, with a fault on every third request: no write goes out twice, none is called acknowledged
 * that the drive did not carry out to the letter, none is called unsent of which the drive heard, and no read returns
 * what was there before a write. Values and addresses are few, so that many writes have the same acknowledgement. */
#include "bus/faulty_drive.h"
#include "bus/writing_bench.h"

#include <stdio.h>

#ifndef ASLEFT_TRIALS
#define ASLEFT_TRIALS 15000
#endif

enum { OPERATIONS = 60, PER_MILLE = 340, ADDRESSES = 24, LONGEST = 10 };

struct model {
    const char *name;
    uint64_t seed;
    enum faulty_line line;
    enum drive_habit habit;
    enum gateway_habit gateway;
    bool echoes;
};

static const struct model models[] = {
    {"RTU, queues", 811, LINE_RTU, HABIT_QUEUES, GATEWAY_DROPS, false},
    {"RTU, ignores", 812, LINE_RTU, HABIT_IGNORES, GATEWAY_DROPS, false},
    {"RTU, echoing adapter", 813, LINE_RTU, HABIT_QUEUES, GATEWAY_DROPS, true},
    {"TCP, queues", 814, LINE_TCP, HABIT_QUEUES, GATEWAY_DROPS, false},
    {"TCP, ignores", 815, LINE_TCP, HABIT_IGNORES, GATEWAY_DROPS, false},
    {"gateway that drops", 816, LINE_GATEWAY, HABIT_QUEUES, GATEWAY_DROPS, false},
    {"gateway that keeps", 817, LINE_GATEWAY, HABIT_QUEUES, GATEWAY_KEEPS_ONE, false},
};

struct session {
    struct line_fake *line;
    struct faulty_drive drive;
    struct memory_drive memory;
    struct dice dice;
    unsigned units;        /* one on TCP: a stream in which two drives cut and double each other's frames has none */
    unsigned write_frames; /* that reached the other end of the wire, faulted or not */
    int refused_with;      /* the exception that the last write was answered with; -1: none */
};

struct tally {
    unsigned operations, acknowledged, refused, unknown, unsent, right, unread;
};

/* ---- the drive ---- */

static void say(void *user, int64_t at_us, const uint8_t *bytes, size_t length, bool close)
{
    fake_deliver(user, at_us, bytes, length, close);
}

static void hear(struct line_fake *line, const uint8_t *frame, size_t length)
{
    struct session *session = line->user;
    session->write_frames += fake_pdu(line, frame)[0] > 4 ? 1 : 0;
    faulty_hear(&session->drive, line->now_us, frame, length);
}

/* One write in eight is answered with an exception; with some of them it is carried out nevertheless, as 05 says and as
 * others do not rule out. */
static struct pdu obey(void *keeper, uint8_t unit, const uint8_t *asked, size_t length)
{
    static const uint8_t codes[] = {0x02, 0x03, 0x04, 0x05, 0x06, 0x70};
    struct session *session = keeper;
    (void)length;
    if (asked[0] <= 4 || roll(&session->dice, 8) > 0)
        return memory_answer(&session->memory, unit, asked);
    uint8_t code = codes[roll(&session->dice, sizeof codes)];
    if (code == 0x05 || roll(&session->dice, 4) == 0)
        (void)memory_answer(&session->memory, unit, asked);
    session->refused_with = code;
    return (struct pdu){.bytes = {(uint8_t)(asked[0] | EXCEPTION_BIT), code}, .length = 2};
}

static void session_start(struct session *session, const struct model *model, uint64_t number)
{
    static const unsigned bauds[] = {9600, 19200, 115200};
    *session = (struct session){.dice = dice_for(model->seed, number)};
    struct timing timing =
        model->line == LINE_RTU ? timing_serial(bauds[roll(&session->dice, 3)], PARITY_EVEN, 1) : timing_tcp();
    session->line = fake_new_timed(&timing);
    session->units = model->line == LINE_TCP ? 1 : FAULTY_UNITS;
    session->line->drive = hear;
    session->line->user = session;
    session->drive = (struct faulty_drive){
        .seed = dice_next(&session->dice),
        .faulted_per_mille = PER_MILLE,
        .line = model->line,
        .habit = model->habit,
        .gateway = model->gateway,
        .mute = roll(&session->dice, 2) == 0,
        .turnaround_us = 500 + (int64_t)roll(&session->dice, 10000),
        .character_ns = timing.character_ns,
        .deadline_us = model->line == LINE_GATEWAY ? 100000 : 50000,
        .latest_us = 1000000,
        .say = say,
        .user = session->line,
        .obey = obey,
        .keeper = session,
        .echoes = model->echoes,
    };
}

/* ---- the client ---- */

static int64_t promise_us(const struct session *session)
{
    return session->drive.line == LINE_GATEWAY ? 150000 : 30000;
}

static bool read_some(struct session *session, struct tally *tally)
{
    bool coils = roll(&session->dice, 4) == 0;
    struct request request = {.unit = (uint8_t)(1 + roll(&session->dice, session->units)),
                              .function = coils ? 1 : 3,
                              .address = (uint16_t)roll(&session->dice, ADDRESSES),
                              .count = (uint16_t)(1 + roll(&session->dice, LONGEST)),
                              .answers_within_us = promise_us(session),
                              .retries = 3};
    struct outcome outcome = link_ask(session->line->loop, session->line->link, &request);
    tally->operations++;
    if (outcome.symptom.kind != SYMPTOM_NONE) {
        tally->unread++;
        return false;
    }
    tally->right++;
    const uint16_t *there = memory_of(&session->memory, request.unit, request.function) + request.address;
    assert_memory_equal(outcome.words, there, request.count * sizeof *there);
    return true;
}

static struct write_request any_write(struct session *session)
{
    static const uint8_t functions[] = {0x05, 0x06, 0x06, 0x0f, 0x10, 0x10};
    struct write_request request = {.unit = (uint8_t)(1 + roll(&session->dice, session->units)),
                                    .function = functions[roll(&session->dice, sizeof functions)],
                                    .address = (uint16_t)roll(&session->dice, ADDRESSES),
                                    .count = 1,
                                    .answers_within_us = promise_us(session)};
    if (request.function >= 0x0f)
        request.count = (uint16_t)(1 + roll(&session->dice, 3));
    bool coils = request.function == 0x05 || request.function == 0x0f;
    for (uint16_t i = 0; i < request.count; i++)
        request.words[i] = (uint16_t)roll(&session->dice, coils ? 2 : 3);
    return request;
}

static void write_some(struct session *session, struct tally *tally)
{
    const struct write_request request = any_write(session);
    unsigned frames = session->write_frames, carried_out = session->memory.carried_out;
    session->refused_with = -1;
    struct write_outcome outcome = link_order(session->line->loop, session->line->link, &request);
    frames = session->write_frames - frames;
    carried_out = session->memory.carried_out - carried_out;
    tally->operations++;

    assert_true(frames <= 1);
    assert_int_equal(outcome.sent, frames == 1);

    if (outcome.symptom.kind == SYMPTOM_NONE) {
        tally->acknowledged++;
        assert_int_equal(carried_out, 1);
        assert_int_equal(session->refused_with, -1);
        assert_true(same_write(&session->memory.last, &request));
    } else if (!outcome.sent) {
        tally->unsent++;
        assert_int_equal(carried_out, 0);
    } else if (outcome.symptom.kind == SYMPTOM_EXCEPTION && outcome.symptom.exception != 0x0b) {
        tally->refused++;
        assert_int_equal(outcome.symptom.exception, session->refused_with);
    } else {
        tally->unknown++;
    }
}

/* The connection ends at any moment, or there is none to be had for a while. */
static void disturb(struct session *session)
{
    struct line_fake *line = session->line;
    line->contact = roll(&session->dice, 30) == 0 ? CONTACT_REFUSED : CONTACT_OPEN;
    if (roll(&session->dice, 25) == 0)
        fake_hang_up(line, (int64_t)roll(&session->dice, 20000));
}

static struct tally run(const struct model *model, unsigned operations)
{
    struct tally tally = {0};
    for (uint64_t number = 0; tally.operations < operations; number++) {
        struct session session;
        session_start(&session, model, number);
        /* As in a visit: what the drive is comes first. A reply shows, too, whether the adapter echoes. */
        for (unsigned i = 0; i < 20 && !read_some(&session, &tally); i++)
            ;
        for (unsigned i = 0; i < OPERATIONS; i++) {
            disturb(&session);
            if (roll(&session.dice, 2) == 0)
                (void)read_some(&session, &tally);
            else
                write_some(&session, &tally);
        }
        fake_free(session.line);
    }
    print_message(
        "%-20s seed %llu: writes: %u acknowledged, %u refused, %u unknown, %u unsent; reads: %u right, %u unread\n",
        model->name, (unsigned long long)model->seed, tally.acknowledged, tally.refused, tally.unknown, tally.unsent,
        tally.right, tally.unread);
    return tally;
}

static void no_write_is_doubled_or_wrongly_acknowledged(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof models / sizeof models[0]; i++) {
        struct tally tally = run(&models[i], ASLEFT_TRIALS);
        unsigned writes = tally.acknowledged + tally.refused + tally.unknown + tally.unsent;
        assert_true(3 * tally.acknowledged > writes);
        assert_true(4 * tally.right > 3 * (tally.right + tally.unread));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(no_write_is_doubled_or_wrongly_acknowledged)};
    return cmocka_run_group_tests_name("writes at random", tests, NULL, NULL);
}
