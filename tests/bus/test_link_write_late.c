/* SPDX-License-Identifier: MIT */
/* Writes on a link, and what comes late, twice or as an echo: what may be taken for an acknowledgement or for the value
 * after a write, and is not. */
#include "bus/spoiled_write.h"

/* ---- old replies ---- */

/* Two that are acknowledged alike: the first one late, at any moment while the second one is under way; the drive loses
 * the second one. */
static void assert_late_is_not_taken(bool tcp, const struct write_request *first, const struct write_request *second)
{
    for (int64_t late_us = 330000; late_us < 480000; late_us += 1000) {
        struct bench *bench = bench_new(tcp);
        struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
        assert_right(&outcome, 10, 4);
        bench->spoil_at = 1;
        bench->late_us = late_us;
        struct write_outcome written = order(bench, first);
        if (written.symptom.kind == SYMPTOM_NONE) { /* in time */
            bench_free(bench);
            continue;
        }
        assert_written(&written, "no-reply", true);
        bench->spoil_at = 2;
        bench->late_us = 0;
        unsigned reads = bench->reads;
        written = order(bench, second);
        assert_written(&written, "no-reply", true);
        assert_true(bench->reads > reads); /* it was proved clean by one */
        assert_int_equal(bench->writes, 2);
        bench_free(bench);
    }
}

static void a_late_acknowledgement_is_not_taken_for_a_later_writes(void **state)
{
    (void)state;
    const struct write_request same = write_of(30, 5);
    assert_late_is_not_taken(false, &same, &same);
    assert_late_is_not_taken(true, &same, &same);
    struct write_request first = {
        .unit = 1, .function = 0x10, .address = 30, .count = 2, .words = {1, 2}, .answers_within_us = 300000};
    struct write_request second = first;
    second.words[1] = 3; /* the acknowledgement does not say it */
    assert_late_is_not_taken(false, &first, &second);
    assert_late_is_not_taken(true, &first, &second);
}

static size_t twice(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    size_t length = wrap(bench->line, frame, answer, reply);
    fake_say(bench->line, 40000, reply, length); /* once more, later */
    return length;
}

static void a_doubled_acknowledgement_is_not_taken_for_a_later_writes(void **state)
{
    (void)state;
    struct bench *bench = bench_new(false);
    struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
    assert_right(&outcome, 10, 4);
    outcome = fake_ask(bench->line, 30, 2, 0);
    assert_right(&outcome, 30, 2);
    bench->spoil = twice;
    bench->spoil_at = 1;
    struct write_outcome written = fake_order(bench->line, 1, 2);
    assert_written(&written, "", true);
    bench->spoil = NULL;
    bench->spoil_at = 2; /* lost */
    written = fake_order(bench->line, 1, 2);
    assert_written(&written, "no-reply", true);
    bench_free(bench);
}

static size_t refused_twice(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    (void)answer;
    size_t length = exception(bench, frame, reply, 2);
    fake_say(bench->line, 14000, reply, length);
    return length;
}

static void a_doubled_exception_is_not_taken_for_a_later_writes(void **state)
{
    (void)state;
    struct bench *bench = bench_new(false);
    struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
    assert_right(&outcome, 10, 4);
    bench->spoil = refused_twice;
    bench->spoil_at = 1;
    struct write_outcome written = fake_order(bench->line, 1, 2);
    assert_written(&written, "exception-02", true);
    written = fake_order(bench->line, 5, 2);
    assert_written(&written, "", true);
    bench_free(bench);
}

/* The value as it was is under way when it is asked for again: read before the write, late or doubled. */
static void what_is_read_after_a_write_is_not_from_before_it(void **state)
{
    (void)state;
    for (int64_t copy_us = 10000; copy_us < 900000; copy_us += 2000) {
        for (unsigned lost = 0; lost < 2; lost++) {
            struct bench *bench = bench_new(false);
            struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
            assert_right(&outcome, 10, 4);
            bench->copy_us = copy_us;
            outcome = fake_ask(bench->line, 50, 1, 0);
            assert_right(&outcome, 50, 1);
            bench->spoil_at = lost; /* its acknowledgement */
            struct write_outcome written = fake_order(bench->line, 50, 4711);
            assert_true(written.sent);
            outcome = fake_ask(bench->line, 50, 1, 3);
            assert_symptom(&outcome, "");
            assert_int_equal(outcome.words[0], 4711);
            bench_free(bench);
        }
    }
}

/* A copy that nothing announces: the write was acknowledged, so all before it seemed over. */
static void a_copy_from_before_an_acknowledged_write_is_not_what_is_read_after_it(void **state)
{
    (void)state;
    for (int64_t copy_us = 2500; copy_us < 30000; copy_us += 500) {
        struct bench *bench = bench_new(false);
        struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
        assert_right(&outcome, 10, 4);
        outcome = fake_ask(bench->line, 50, 1, 0);
        assert_right(&outcome, 50, 1);
        struct write_outcome written = fake_order(bench->line, 50, 4711);
        assert_written(&written, "", true);
        const struct pdu old = {.bytes = {3, 2, (uint8_t)(fake_value(50) >> 8), (uint8_t)fake_value(50)}, .length = 4};
        uint8_t copy[RTU_BYTES];
        fake_say(bench->line, copy_us, copy, rtu_build(copy, 1, &old));
        outcome = fake_ask(bench->line, 50, 1, 0);
        assert_symptom(&outcome, "");
        assert_int_equal(outcome.words[0], 4711);
        bench_free(bench);
    }
}

static size_t exception_0b(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    (void)answer;
    return exception(bench, frame, reply, 0x0b);
}

static void what_a_gateway_gave_up_may_still_be_carried_out(void **state)
{
    (void)state;
    struct bench *bench = bench_new(true);
    struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
    assert_right(&outcome, 10, 4);
    bench->spoil = exception_0b;
    bench->spoil_at = 1;
    struct write_outcome written = fake_order(bench->line, 1, 2);
    assert_written(&written, "exception-0b", true);
    unsigned reads = bench->reads;
    written = order(bench, &each_function[5]); /* of another function */
    assert_written(&written, "", true);
    assert_int_equal(bench->reads, reads + 1);
    bench_free(bench);
}

static void a_write_waits_for_proof_that_what_was_asked_before_is_over(void **state)
{
    (void)state;
    for (int tcp = 0; tcp < 2; tcp++) {
        struct bench *bench = bench_new(tcp == 1);
        struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
        assert_right(&outcome, 10, 4);
        bench->deaf = true;
        outcome = fake_ask(bench->line, 20, 3, 0);
        assert_symptom(&outcome, "no-reply");
        struct write_outcome written = fake_order(bench->line, 1, 2);
        assert_written(&written, "no-reply", false); /* a drive that does not answer reads is not written to */
        assert_int_equal(bench->writes, 0);
        assert_true(bench->reads > 2 + 1); /* the proof is a read, and may be asked for again */
        bench->deaf = false;
        outcome = fake_ask(bench->line, 10, 5, 0);
        assert_right(&outcome, 10, 5);
        written = fake_order(bench->line, 1, 2);
        assert_written(&written, "", true);
        bench_free(bench);
    }
}

static void where_nothing_can_be_read_silence_is_the_proof_on_a_serial_line_alone(void **state)
{
    (void)state;
    for (int tcp = 0; tcp < 2; tcp++) {
        struct bench *bench = bench_new(tcp == 1);
        bench->spoil_at = 1;
        struct write_outcome written = fake_order(bench->line, 1, 2);
        assert_written(&written, "no-reply", true);
        int64_t start_us = bench->line->now_us;
        written = fake_order(bench->line, 1, 2);
        if (tcp == 1) {
            assert_written(&written, "no-reply", false);
            assert_int_equal(bench->writes, 1);
        } else {
            assert_written(&written, "", true);
            assert_true(bench->line->first_write_us - start_us >= 1600000);
        }
        bench_free(bench);
    }
}

static void after_silence_a_drive_has_to_answer_before_it_is_written_to(void **state)
{
    (void)state;
    struct bench *bench = bench_new(false);
    struct outcome outcome = fake_ask(bench->line, 10, 1, 0);
    assert_right(&outcome, 10, 1); /* the one length that is known: no other one can prove anything */
    for (unsigned deaf = 0; deaf < 2; deaf++) {
        bench->deaf = true;
        outcome = fake_ask(bench->line, 10, 1, 0);
        assert_symptom(&outcome, "no-reply");
        bench->deaf = deaf == 1;
        int64_t start_us = bench->line->now_us;
        struct write_outcome written = fake_order(bench->line, 1, 2);
        assert_written(&written, deaf == 1 ? "no-reply" : "", deaf == 0);
        assert_true(bench->line->now_us - start_us >= 1600000);
    }
    assert_int_equal(bench->writes, 1);
    bench_free(bench);
}

/* ---- adapters that give back what is sent ---- */

static void an_echo_is_no_acknowledgement(void **state)
{
    (void)state;
    for (unsigned i = 0; i < EACH_FUNCTION; i++) {
        struct bench *bench = bench_new(false);
        bench->echoes = true;
        struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
        assert_right(&outcome, 10, 4);
        struct write_outcome written = order(bench, &each_function[i]);
        assert_written(&written, "", true);
        bench->spoil_at = 2; /* lost: nothing but the echo comes */
        written = order(bench, &each_function[i]);
        assert_written(&written, "no-reply", true);
        bench_free(bench);
    }
}

static void an_echo_in_pieces_is_no_spoiled_acknowledgement(void **state)
{
    (void)state;
    const struct write_request *request = &each_function[5];
    const struct asked asked = {.unit = 1, .pdu = {.bytes = {0x10, 0, 40, 0, 1, 2, 0x12, 0x34}, .length = 8}};
    uint8_t frame[RTU_BYTES];
    size_t length = rtu_build(frame, request->unit, &asked.pdu);
    for (size_t part = 1; part < length; part++)
        assert_false(rtu_scan(frame, part, &asked).spoiled);
    frame[length - 1] ^= 1U;
    assert_true(rtu_scan(frame, length, &asked).spoiled);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_late_acknowledgement_is_not_taken_for_a_later_writes),
        cmocka_unit_test(a_doubled_acknowledgement_is_not_taken_for_a_later_writes),
        cmocka_unit_test(a_doubled_exception_is_not_taken_for_a_later_writes),
        cmocka_unit_test(what_is_read_after_a_write_is_not_from_before_it),
        cmocka_unit_test(a_copy_from_before_an_acknowledged_write_is_not_what_is_read_after_it),
        cmocka_unit_test(what_a_gateway_gave_up_may_still_be_carried_out),
        cmocka_unit_test(a_write_waits_for_proof_that_what_was_asked_before_is_over),
        cmocka_unit_test(where_nothing_can_be_read_silence_is_the_proof_on_a_serial_line_alone),
        cmocka_unit_test(after_silence_a_drive_has_to_answer_before_it_is_written_to),
        cmocka_unit_test(an_echo_is_no_acknowledgement),
        cmocka_unit_test(an_echo_in_pieces_is_no_spoiled_acknowledgement),
    };
    return cmocka_run_group_tests_name("link, writes and old replies", tests, NULL, NULL);
}
