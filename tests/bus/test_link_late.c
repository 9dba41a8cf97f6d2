/* SPDX-License-Identifier: MIT */
/* Late replies on an RTU line: none is ever taken for the answer to another question, however late, and whatever else
 * goes wrong with it. */
#include "bus/line_fake.h"

#include <stdio.h>

/* ---- single cases ---- */

/* Answers request number n (from 1) after delays_us[n - 1]; 0: never; those beyond the list after 5 ms. One after the
 * other, as one serial port does. */
struct delays {
    const int64_t *delays_us;
    size_t count;
    struct {
        uint16_t address, count;
    } asked[32];
    int64_t last_us; /* when the latest reply goes out */
};

static void delaying_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)length;
    struct delays *delays = line->user;
    size_t number = line->frames - 1;
    assert_true(number < 32);
    delays->asked[number].address = (uint16_t)(frame[2] << 8 | frame[3]);
    delays->asked[number].count = (uint16_t)(frame[4] << 8 | frame[5]);
    int64_t delay_us = number < delays->count ? delays->delays_us[number] : 5000;
    uint8_t reply[TCP_BYTES];
    size_t reply_length = fake_reply(line, frame, reply);
    if (delay_us == 0)
        return;
    if (delays->last_us < line->now_us + delay_us)
        delays->last_us = line->now_us + delay_us;
    fake_deliver(line, delays->last_us, reply, reply_length, false);
}

static struct line_fake *delayed_line(struct delays *delays)
{
    struct line_fake *line = fake_new(false);
    line->drive = delaying_drive;
    line->user = delays;
    return line;
}

static void a_late_reply_is_not_taken_for_another_address(void **state)
{
    (void)state;
    /* the deadline is 332 ms; the second reply arrives 2 ms after the third request was sent */
    for (int64_t late_us = 333000; late_us < 420000; late_us += 1000) {
        const int64_t delays_us[] = {5000, late_us};
        struct delays delays = {.delays_us = delays_us, .count = 2};
        struct line_fake *line = delayed_line(&delays);
        struct outcome outcome = fake_ask(line, 10, 8, 0);
        assert_right(&outcome, 10, 8);
        outcome = fake_ask(line, 100, 4, 0);
        assert_symptom(&outcome, "no-reply");
        outcome = fake_ask(line, 200, 4, 0);
        assert_right(&outcome, 200, 4);
        outcome = fake_ask(line, 300, 4, 0);
        assert_right(&outcome, 300, 4);
        fake_free(line);
    }
}

static void a_barrier_reads_less_of_what_is_known_to_be_readable(void **state)
{
    (void)state;
    const int64_t delays_us[] = {5000, 0};
    struct delays delays = {.delays_us = delays_us, .count = 2};
    struct line_fake *line = delayed_line(&delays);
    (void)fake_ask(line, 10, 8, 0);
    (void)fake_ask(line, 100, 4, 0);
    struct outcome outcome = fake_ask(line, 200, 4, 0);
    assert_right(&outcome, 200, 4);
    assert_int_equal(line->frames, 6); /* with two more reads of what the barrier read, in case a reply was doubled */
    assert_int_equal(delays.asked[2].address, 10);
    assert_in_range(delays.asked[2].count, 1, 8);
    assert_int_not_equal(delays.asked[2].count, 4);
    assert_traffic(line->link, TRAFFIC(6, 0, 0, 1, 0, 0));
    fake_free(line);
}

static void a_failing_barrier_is_tried_with_other_lengths(void **state)
{
    (void)state;
    const int64_t delays_us[] = {5000, 0, 0, 0};
    struct delays delays = {.delays_us = delays_us, .count = 4};
    struct line_fake *line = delayed_line(&delays);
    (void)fake_ask(line, 10, 8, 0);
    (void)fake_ask(line, 100, 4, 0);
    struct outcome outcome = fake_ask(line, 200, 4, 2);
    assert_right(&outcome, 200, 4);
    assert_int_equal(line->frames, 8); /* with two more reads, in case a reply was doubled */
    assert_int_not_equal(delays.asked[2].count, delays.asked[3].count);
    assert_int_not_equal(delays.asked[3].count, delays.asked[4].count);
    fake_free(line);
}

static void a_barrier_that_gets_no_answer_fails_the_request(void **state)
{
    (void)state;
    const int64_t delays_us[] = {5000, 0, 0, 0, 0};
    struct delays delays = {.delays_us = delays_us, .count = 5};
    struct line_fake *line = delayed_line(&delays);
    (void)fake_ask(line, 10, 8, 0);
    (void)fake_ask(line, 100, 4, 0);
    struct outcome outcome = fake_ask(line, 200, 4, 1);
    assert_symptom(&outcome, "no-reply");
    assert_int_equal(line->frames, 4);
    fake_free(line);
}

static void a_retry_may_take_the_late_reply_to_the_same_question(void **state)
{
    (void)state;
    /* both are answered late, in order; the second one must not answer the next question */
    const int64_t delays_us[] = {350000, 350000};
    struct delays delays = {.delays_us = delays_us, .count = 2};
    struct line_fake *line = delayed_line(&delays);
    struct outcome outcome = fake_ask(line, 100, 4, 1);
    assert_right(&outcome, 100, 4);
    assert_true(line->now_us < 1000000 + 352000 + 5000);
    outcome = fake_ask(line, 200, 4, 1);
    assert_right(&outcome, 200, 4);
    outcome = fake_ask(line, 300, 4, 0);
    assert_right(&outcome, 300, 4);
    fake_free(line);
}

static void a_late_reply_lengthens_the_deadline(void **state)
{
    (void)state;
    const int64_t delays_us[] = {350000, 350000, 5000, 355000};
    struct delays delays = {.delays_us = delays_us, .count = 4};
    struct line_fake *line = delayed_line(&delays);
    struct outcome outcome = fake_ask(line, 100, 4, 1);
    assert_right(&outcome, 100, 4);
    assert_false(loop_run(line->loop, NULL, NULL, line->now_us + 500000)); /* the second reply comes: it was late */
    outcome = fake_ask(line, 200, 8, 0); /* a barrier, and then a reply as late as before */
    assert_right(&outcome, 200, 8);
    assert_int_equal(line->frames, 4);
    assert_int_equal(link_traffic(line->link)->timeouts, 1);
    fake_free(line);
}

static void a_slow_drive_lengthens_the_deadline_before_it_is_late(void **state)
{
    (void)state;
    const int64_t delays_us[] = {250000, 450000};
    struct delays delays = {.delays_us = delays_us, .count = 2};
    struct line_fake *line = delayed_line(&delays);
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    assert_right(&outcome, 100, 4);
    outcome = fake_ask(line, 200, 4, 0);
    assert_right(&outcome, 200, 4);
    fake_free(line);
}

static void without_a_barrier_the_lateness_is_waited_out(void **state)
{
    (void)state;
    /* single registers of a drive that has never answered: no other length can be asked for */
    const int64_t delays_us[] = {900000};
    struct delays delays = {.delays_us = delays_us, .count = 1};
    struct line_fake *line = delayed_line(&delays);
    struct outcome outcome = fake_ask(line, 100, 1, 0);
    assert_symptom(&outcome, "no-reply");
    int64_t start_us = line->now_us;
    outcome = fake_ask(line, 200, 1, 0);
    assert_right(&outcome, 200, 1);
    assert_int_equal(line->frames, 2);
    assert_true(line->first_write_us - start_us >= 1000000);
    fake_free(line);
}

static void another_unit_is_asked_without_a_barrier(void **state)
{
    (void)state;
    const int64_t delays_us[] = {5000, 0};
    struct delays delays = {.delays_us = delays_us, .count = 2};
    struct line_fake *line = delayed_line(&delays);
    (void)fake_ask(line, 10, 8, 0);
    (void)fake_ask(line, 100, 4, 0);
    struct request request = read_of(200, 4, 0);
    request.unit = 2;
    struct outcome outcome = link_ask(line->loop, line->link, &request);
    assert_right(&outcome, 200, 4);
    assert_int_equal(line->frames, 3);
    fake_free(line);
}

static void late_exception_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    uint8_t reply[TCP_BYTES];
    if (line->frames == 2)
        fake_say(line, 345000, reply, fake_exception(line, frame, reply, 2));
    else
        fake_drive_right(line, frame, length);
}

static void a_late_exception_is_not_taken_for_another_address(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = late_exception_drive;
    struct outcome outcome = fake_ask(line, 10, 8, 0);
    assert_right(&outcome, 10, 8);
    outcome = fake_ask(line, 100, 4, 0);
    assert_symptom(&outcome, "no-reply");
    outcome = fake_ask(line, 200, 3, 0); /* another length: only an exception could be mistaken */
    assert_right(&outcome, 200, 3);
    fake_free(line);
}

static void even_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    uint8_t reply[TCP_BYTES];
    if (line->frames == 2)
        return;
    if (frame[5] % 2 == 0 && line->frames == 3) /* refuses the first barrier */
        fake_say(line, 5000, reply, fake_exception(line, frame, reply, 3));
    else
        fake_drive_right(line, frame, length);
}

static void a_refused_barrier_proves_nothing_and_is_no_answer(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = even_drive;
    (void)fake_ask(line, 10, 8, 0);
    (void)fake_ask(line, 100, 4, 0);
    struct outcome outcome = fake_ask(line, 200, 4, 1);
    assert_right(&outcome, 200, 4);
    assert_int_equal(line->frames, 7); /* a doubled reply is guarded against as well */
    fake_free(line);
}

static void refusing_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    uint8_t reply[TCP_BYTES];
    if (line->frames == 2)
        fake_say(line, 5000, reply, fake_exception(line, frame, reply, 2));
    else
        fake_drive_right(line, frame, length);
}

static void an_exception_in_time_needs_no_barrier(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = refusing_drive;
    (void)fake_ask(line, 10, 8, 0);
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    assert_symptom(&outcome, "exception-02");
    outcome = fake_ask(line, 200, 5, 0);
    assert_right(&outcome, 200, 5);
    assert_int_equal(line->frames, 3);
    fake_free(line);
}

/* ---- many, at random ---- */

enum drive_habit {
    HABIT_QUEUES,  /* answers all requests one after the other, however late */
    HABIT_IGNORES, /* loses what comes while it is busy */
};

struct chance {
    unsigned seed;
    enum drive_habit habit;
    bool doubles; /* replies may come twice */
    int64_t busy_until_us;
    unsigned faults;
};

static unsigned roll(struct chance *chance, unsigned sides)
{
    chance->seed = chance->seed * 1664525U + 1013904223U;
    return (unsigned)(((uint64_t)chance->seed * sides) >> 32);
}

/* Faults on about a third of the requests. */
static void chancy_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)length;
    struct chance *chance = line->user;
    bool busy = line->now_us < chance->busy_until_us;
    if (busy && chance->habit == HABIT_IGNORES)
        return;
    int64_t at_us = (busy ? chance->busy_until_us : line->now_us) + 5000;
    uint8_t reply[2 * TCP_BYTES];
    size_t reply_length = fake_reply(line, frame, reply);
    unsigned fault = roll(chance, 100);
    chance->faults += fault < 34 ? 1 : 0;
    if (fault < 10) /* later than the deadline of a link that has learned nothing */
        at_us += 50000 + (int64_t)roll(chance, 120000);
    chance->busy_until_us = at_us;
    if (fault >= 10 && fault < 14)
        return;
    if (fault >= 14 && fault < 18)
        reply[roll(chance, (unsigned)reply_length)] ^= (uint8_t)(1U << roll(chance, 8));
    if (fault >= 18 && fault < 22)
        reply_length -= 1 + roll(chance, (unsigned)reply_length - 1);
    if (fault >= 22 && fault < 25) {
        const uint8_t junk[3] = {(uint8_t)roll(chance, 256), (uint8_t)roll(chance, 256), 1};
        fake_deliver(line, at_us, junk, 1 + roll(chance, 3), false);
    }
    if (fault >= 25 && fault < 28) {
        uint8_t other[TCP_BYTES];
        uint8_t request[8];
        memcpy(request, frame, sizeof request);
        request[0] = 9;
        fake_deliver(line, at_us, other, fake_reply(line, request, other), false);
    }
    fake_deliver(line, at_us, reply, reply_length, false);
    if (chance->doubles && fault >= 28 && fault < 34)
        fake_deliver(line, at_us + (fault < 31 ? 0 : 3000), reply, reply_length, false);
}

struct tally {
    unsigned right, wrong, lost;
};

/* 100 sessions of 100 reads at random addresses; counts[i % 3] registers in turn. */
static struct tally visit_at_random(enum drive_habit habit, bool doubles, const uint16_t counts[3], unsigned seed)
{
    struct tally tally = {0};
    struct chance chance = {.seed = seed, .habit = habit, .doubles = doubles};
    for (unsigned session = 0; session < 100; session++) {
        struct line_fake *line = fake_new(false);
        line->drive = chancy_drive;
        line->user = &chance;
        chance.busy_until_us = 0;
        for (unsigned i = 0; i < 100; i++) {
            struct request request = read_of((uint16_t)roll(&chance, 60000), counts[i % 3], 3);
            request.answers_within_us = 20000;
            struct outcome outcome = link_ask(line->loop, line->link, &request);
            bool right = true;
            for (uint16_t word = 0; word < outcome.count; word++)
                right = right && outcome.words[word] == fake_value((uint16_t)(request.address + word));
            if (outcome.symptom.kind != SYMPTOM_NONE)
                tally.lost++;
            else if (right)
                tally.right++;
            else
                tally.wrong++;
        }
        fake_free(line);
    }
    print_message("seed %u, %s, doubled replies %s: %u right, %u wrong, %u lost, %u faults\n", seed,
                  habit == HABIT_QUEUES ? "queues" : "ignores", doubles ? "yes" : "no", tally.right, tally.wrong,
                  tally.lost, chance.faults);
    return tally;
}

static void assert_visits(bool doubles, const uint16_t counts[3], unsigned seed)
{
    for (enum drive_habit habit = HABIT_QUEUES; habit <= HABIT_IGNORES; habit++) {
        struct tally tally = visit_at_random(habit, doubles, counts, seed + habit);
        assert_int_equal(tally.wrong, 0);
        assert_true(tally.right > 9800);
    }
}

static void no_value_is_wrong_in_20000_reads_of_one_length(void **state)
{
    (void)state;
    const uint16_t counts[3] = {4, 4, 4};
    assert_visits(false, counts, 20261125);
}

static void no_value_is_wrong_in_20000_reads_with_doubled_replies(void **state)
{
    (void)state;
    /* a doubled reply comes without any error before it: only that lengths differ in turn tells it */
    const uint16_t counts[3] = {4, 5, 6};
    assert_visits(true, counts, 4711);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_late_reply_is_not_taken_for_another_address),
        cmocka_unit_test(a_barrier_reads_less_of_what_is_known_to_be_readable),
        cmocka_unit_test(a_failing_barrier_is_tried_with_other_lengths),
        cmocka_unit_test(a_barrier_that_gets_no_answer_fails_the_request),
        cmocka_unit_test(a_retry_may_take_the_late_reply_to_the_same_question),
        cmocka_unit_test(a_late_reply_lengthens_the_deadline),
        cmocka_unit_test(a_slow_drive_lengthens_the_deadline_before_it_is_late),
        cmocka_unit_test(without_a_barrier_the_lateness_is_waited_out),
        cmocka_unit_test(another_unit_is_asked_without_a_barrier),
        cmocka_unit_test(a_late_exception_is_not_taken_for_another_address),
        cmocka_unit_test(a_refused_barrier_proves_nothing_and_is_no_answer),
        cmocka_unit_test(an_exception_in_time_needs_no_barrier),
        cmocka_unit_test(no_value_is_wrong_in_20000_reads_of_one_length),
        cmocka_unit_test(no_value_is_wrong_in_20000_reads_with_doubled_replies),
    };
    return cmocka_run_group_tests_name("link_late", tests, NULL, NULL);
}
