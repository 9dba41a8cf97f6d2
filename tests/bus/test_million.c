/* SPDX-License-Identifier: MIT */
/* A million faulted requests on a virtual clock and a line in memory: whole scattered maps are read through bad lines,
 * and not one value may be that of another address, unit or table. What a plain client makes of the same line is
 * printed beside it. */
#include "bus/line_fake.h"
#include "bus/plain_model.h"
#include "bus/scattered_visit.h"

#include <stdio.h>

/* How many faulted requests in all; the build says a million where it can afford them. */
#ifndef ASLEFT_TRIALS
#define ASLEFT_TRIALS 20000
#endif

enum { MANY_PER_MILLE = 340, FEW_PER_MILLE = 50 };

/* A kind of line, and its share of the faulted requests. */
struct model {
    const char *name;
    uint64_t seed;
    enum faulty_line line;
    enum drive_habit habit;
    unsigned units;   /* drives on it, read at the same time */
    unsigned longest; /* registers a request; 0: differs from drive to drive */
    enum gateway_habit gateway;
    unsigned percent;
};

static const struct model models[] = {
    {"rtu, queues", 301, LINE_RTU, HABIT_QUEUES, 1, 0, GATEWAY_DROPS, 25},
    {"rtu, ignores", 302, LINE_RTU, HABIT_IGNORES, 1, 0, GATEWAY_DROPS, 25},
    {"rtu, two drives", 303, LINE_RTU, HABIT_QUEUES, 2, 0, GATEWAY_DROPS, 10},
    {"rtu, one register each", 304, LINE_RTU, HABIT_QUEUES, 1, 1, GATEWAY_DROPS, 5},
    {"tcp, queues", 305, LINE_TCP, HABIT_QUEUES, 1, 0, GATEWAY_DROPS, 10},
    {"tcp, ignores", 306, LINE_TCP, HABIT_IGNORES, 1, 0, GATEWAY_DROPS, 5},
    {"gateway, drops", 307, LINE_GATEWAY, HABIT_QUEUES, 1, 0, GATEWAY_DROPS, 10},
    {"gateway, keeps one", 308, LINE_GATEWAY, HABIT_QUEUES, 1, 0, GATEWAY_KEEPS_ONE, 5},
    {"gateway, two drives", 309, LINE_GATEWAY, HABIT_IGNORES, 2, 0, GATEWAY_KEEPS_ONE, 5},
};

enum { MODELS = sizeof models / sizeof models[0] };

/* Drives of a line that one client visits, once. */
struct session {
    struct line_fake *line;
    struct faulty_drive drive;
    struct map maps[FAULTY_UNITS];
    double answers_within_s;
    int64_t silence_us;
};

static void say(void *user, int64_t at_us, const uint8_t *bytes, size_t length, bool close)
{
    fake_deliver(user, at_us, bytes, length, close);
}

static void hear(struct line_fake *line, const uint8_t *frame, size_t length)
{
    faulty_hear(line->user, line->now_us, frame, length);
}

/* The same seed and number make the same drives and the same faults. */
static void session_start(struct session *session, const struct model *model, uint64_t number, unsigned per_mille)
{
    static const unsigned bauds[] = {9600, 19200, 115200};
    static const unsigned longest[] = {125, 125, 60, 32, 16, 10, 8, 4, 2};
    struct dice dice = dice_for(model->seed, number);
    bool rtu = model->line == LINE_RTU;
    struct timing timing = rtu ? timing_serial(bauds[roll(&dice, 3)], PARITY_EVEN, 1) : timing_tcp();
    session->line = fake_new_timed(&timing);
    session->line->drive = hear;
    session->line->user = &session->drive;
    session->silence_us = timing.silence_us;
    session->answers_within_s = model->line == LINE_GATEWAY ? 0.150 : 0.030;
    session->drive = (struct faulty_drive){
        .seed = dice_next(&dice),
        .faulted_per_mille = per_mille,
        .line = model->line,
        .habit = model->habit,
        .gateway = model->gateway,
        .mute = roll(&dice, 2) == 0,
        .turnaround_us = 500 + (int64_t)roll(&dice, 10000),
        .character_ns = timing.character_ns,
        .deadline_us = model->line == LINE_GATEWAY ? 100000 : 50000,
        .latest_us = per_mille == FEW_PER_MILLE ? 120000 : 1000000,
        .say = say,
        .user = session->line,
    };
    unsigned registers = model->longest > 0 ? model->longest : longest[roll(&dice, sizeof longest / sizeof longest[0])];
    for (unsigned i = 0; i < model->units; i++) {
        session->maps[i] = scattered_map(&dice, registers, session->answers_within_s);
        scattered_holes(&dice, &session->maps[i], (uint8_t)(i + 1), &session->drive);
    }
}

static void session_end(struct session *session, const struct model *model)
{
    for (unsigned i = 0; i < model->units; i++)
        map_free(&session->maps[i]);
    fake_free(session->line);
}

/* ---- the clients ---- */

static bool all_over(void *user)
{
    const struct visit *visits = user;
    for (unsigned i = 0; i < FAULTY_UNITS; i++)
        if (visits[i].reader != NULL && !visit_over(&visits[i]))
            return false;
    return true;
}

static void visit_drives(struct session *session, const struct model *model, struct tally *tally)
{
    struct visit visits[FAULTY_UNITS] = {0};
    struct line_fake *line = session->line;
    for (unsigned i = 0; i < model->units; i++)
        visit_start(&visits[i], line->link, &session->maps[i], (uint8_t)(i + 1), &session->drive, tally);
    assert_true(loop_run(line->loop, all_over, visits, line->now_us + INT64_C(36000000000)));
    for (unsigned i = 0; i < model->units; i++)
        visit_free(&visits[i]);
}

static void visit_plainly(struct session *session, const struct model *model, struct tally *tally)
{
    struct plain plain = {.line = session->line,
                          .patience_us = (int64_t)(session->answers_within_s * 1e6) + 20000,
                          .silence_us = session->silence_us};
    plain.patience_us += faulty_wire_us(&session->drive, 8 + 255);
    plain_visit(&session->drive, session->maps, model->units, plain_model_read, &plain, tally);
}

/* ---- both ---- */

struct outcome_of_model {
    struct tally ours, plain;
    uint64_t requests, faulted;
};

static struct outcome_of_model run(const struct model *model, uint64_t faulted, unsigned per_mille)
{
    struct outcome_of_model outcome = {0};
    for (uint64_t number = per_mille; outcome.faulted < faulted; number += 1000) {
        struct session session;
        session_start(&session, model, number, per_mille);
        visit_drives(&session, model, &outcome.ours);
        outcome.requests += session.drive.heard;
        outcome.faulted += session.drive.faulted;
        session_end(&session, model);
        /* One plain visit in eight: it needs far longer, and shows what it has to show soon. */
        if (number / 1000 % 8 == 0) {
            session_start(&session, model, number, per_mille);
            visit_plainly(&session, model, &outcome.plain);
            session_end(&session, model);
        }
    }
    const struct tally *ours = &outcome.ours, *plain = &outcome.plain;
    print_message(
        "%-23s seed %llu, %2u %%: %llu of %llu requests faulted: %llu values right, %llu WRONG, %.4f %% unread; "
        "plain client, an eighth: %llu right, %llu WRONG\n",
        model->name, (unsigned long long)model->seed, per_mille / 10, (unsigned long long)outcome.faulted,
        (unsigned long long)outcome.requests, (unsigned long long)ours->right, (unsigned long long)ours->wrong,
        100.0 * (double)ours->unread / (double)(ours->right + ours->unread), (unsigned long long)plain->right,
        (unsigned long long)plain->wrong);
    return outcome;
}

static void no_value_is_wrong_however_bad_the_line(void **state)
{
    (void)state;
    uint64_t faulted = 0, wrong = 0;
    for (size_t i = 0; i < MODELS; i++) {
        const struct outcome_of_model outcome =
            run(&models[i], (uint64_t)ASLEFT_TRIALS * models[i].percent / 100, MANY_PER_MILLE);
        faulted += outcome.faulted;
        wrong += outcome.ours.wrong;
    }
    assert_true(faulted >= ASLEFT_TRIALS);
    assert_int_equal(wrong, 0);
}

static void hardly_a_parameter_stays_unread_where_one_reply_in_twenty_fails(void **state)
{
    (void)state;
    for (size_t i = 0; i < MODELS; i++) {
        const struct outcome_of_model outcome = run(&models[i], ASLEFT_TRIALS / 100, FEW_PER_MILLE);

        assert_int_equal(outcome.ours.wrong, 0);

        assert_true(1000 * outcome.ours.unread <= outcome.ours.right + outcome.ours.unread);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_value_is_wrong_however_bad_the_line),
        cmocka_unit_test(hardly_a_parameter_stays_unread_where_one_reply_in_twenty_fails),
    };
    return cmocka_run_group_tests_name("million", tests, NULL, NULL);
}
