/* SPDX-License-Identifier: MIT */
/* Each fault of the frame loop, alone, on the second request: exactly its effect, counted, and nothing else. */
#include "sim/server_bench.h"

#define READ_CODE "\x03\x00\x00\x00\x01", 5
#define CODE_IS_5 "\x03\x02\x00\x05", 4
#define WRITE_7   "\x06\x00\x00\x00\x07", 5

static const struct server_setup plain = {0};

enum { SECOND_AT_US = 1000000, THIRD_AT_US = 100000000 };

/* One request in good order before; then the second one of the test's, which leaves `bench` with what was sent. */
static void strike(struct server_bench *bench, enum wire wire, const char *fault, const char *pdu, size_t length)
{
    server_bench_open(bench, wire, fault, &plain);
    server_bench_talk(bench, FIRST_UNIT, READ_CODE);
    assert_int_equal(bench->count, 1);
    server_bench_sent(bench, 0, FIRST_UNIT, CODE_IS_5);
    assert_int_equal(bench->faults.items[0].struck, 0);
    bench->now_us = SECOND_AT_US;
    server_bench_talk(bench, FIRST_UNIT, pdu, length);
    assert_int_equal(bench->faults.items[0].struck, 1);
}

/* The third one is in good order again: register 0 holds `value`. */
static void calm(struct server_bench *bench, unsigned value)
{
    bench->now_us = THIRD_AT_US;
    server_bench_talk(bench, FIRST_UNIT, READ_CODE);
    const char expected[] = {0x03, 0x02, 0x00, (char)value};
    assert_int_equal(bench->count, 1);
    assert_int_equal(bench->sent[0].at_us, THIRD_AT_US);
    server_bench_sent(bench, 0, FIRST_UNIT, expected, sizeof expected);
    assert_int_equal(bench->faults.items[0].struck, 1);
    server_bench_close(bench);
}

static void late_comes_later(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "late=120ms@2", READ_CODE);
    assert_int_equal(bench.count, 1);
    server_bench_sent(&bench, 0, FIRST_UNIT, CODE_IS_5);
    assert_int_equal(bench.sent[0].at_us, SECOND_AT_US + 120000);
    calm(&bench, 5);
}

static void cut_ends_early(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "cut=3@2", READ_CODE);
    assert_int_equal(bench.count, 1);
    assert_int_equal(bench.sent[0].length, 3);
    assert_memory_equal(bench.sent[0].bytes, "\x09\x03\x02", 3);
    calm(&bench, 5);
}

/* A reply that is no longer than the cut still lacks its end. */
static void cut_is_always_short_of_the_end(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "cut=32@2", READ_CODE);
    assert_int_equal(bench.sent[0].length, 6);
    calm(&bench, 5);
}

static unsigned bits_between(const uint8_t *one, const uint8_t *other, size_t length)
{
    unsigned bits = 0;
    for (size_t i = 0; i < length; i++)
        for (unsigned differing = one[i] ^ other[i]; differing != 0; differing &= differing - 1)
            bits++;
    return bits;
}

static void corrupt_has_one_wrong_bit(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "corrupt@2", READ_CODE);
    uint8_t right[FRAME_LONGEST];
    assert_int_equal(wire_wrap(WIRE_SERIAL, 0, FIRST_UNIT, (const uint8_t *)CODE_IS_5, right), 7);
    assert_int_equal(bench.sent[0].length, 7);
    assert_int_equal(bits_between(bench.sent[0].bytes, right, 7), 1);
    calm(&bench, 5);
}

/* Nothing would show that a value is wrong there: it never is. */
static void corrupt_over_tcp_spares_the_values(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_TCP, "corrupt", &plain);
    for (int i = 0; i < 200; i++) {
        server_bench_talk(&bench, FIRST_UNIT, READ_CODE);
        uint8_t right[FRAME_LONGEST];
        assert_int_equal(wire_wrap(WIRE_TCP, bench.transaction, FIRST_UNIT, (const uint8_t *)CODE_IS_5, right), 11);
        assert_int_equal(bits_between(bench.sent[0].bytes, right, 11), 1);
        assert_int_equal(bits_between(bench.sent[0].bytes, right, 9), 1);
    }
    server_bench_close(&bench);
}

static void foreign_unit_bears_another_number(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "foreign-unit@2", READ_CODE);
    assert_int_equal(bench.count, 1);
    server_bench_sent(&bench, 0, FIRST_UNIT + 1, CODE_IS_5);
    calm(&bench, 5);
    strike(&bench, WIRE_TCP, "foreign-unit=42@2", READ_CODE);
    server_bench_sent(&bench, 0, 42, CODE_IS_5);
    calm(&bench, 5);
}

static void doubled_comes_twice(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "doubled=3ms@2", READ_CODE);
    assert_int_equal(bench.count, 2);
    server_bench_sent(&bench, 0, FIRST_UNIT, CODE_IS_5);
    server_bench_sent(&bench, 1, FIRST_UNIT, CODE_IS_5);
    assert_int_equal(bench.sent[0].at_us, SECOND_AT_US);
    assert_int_equal(bench.sent[1].at_us, SECOND_AT_US + 3000);
    assert_int_equal(server_sums(bench.server)->answered, 2);
    calm(&bench, 5);
}

/* The second copy does not wait for who asks in between. */
static void a_doubled_reply_may_come_two_requests_later(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, "doubled=3ms@1", &plain);
    server_bench_ask(&bench, FIRST_UNIT, READ_CODE);
    server_release(bench.server);
    for (int i = 0; i < 2; i++) {
        bench.now_us += 1000;
        server_bench_ask(&bench, FIRST_UNIT, "\x03\x00\x01\x00\x01", 5);
        server_release(bench.server);
    }
    server_bench_run(&bench);
    assert_int_equal(bench.count, 4);
    server_bench_sent(&bench, 1, FIRST_UNIT, "\x03\x02\x05\xa0", 4);
    server_bench_sent(&bench, 2, FIRST_UNIT, "\x03\x02\x05\xa0", 4);
    server_bench_sent(&bench, 3, FIRST_UNIT, CODE_IS_5);
    server_bench_close(&bench);
}

static void echo_brings_the_request_back(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "echo@2", READ_CODE);
    assert_int_equal(bench.count, 2);
    server_bench_sent(&bench, 0, FIRST_UNIT, READ_CODE);
    server_bench_sent(&bench, 1, FIRST_UNIT, CODE_IS_5);
    calm(&bench, 5);
}

static void noise_goes_before(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "noise=4@2", READ_CODE);
    uint8_t right[FRAME_LONGEST];
    assert_int_equal(wire_wrap(WIRE_SERIAL, 0, FIRST_UNIT, (const uint8_t *)CODE_IS_5, right), 7);
    assert_int_equal(bench.count, 1);
    assert_int_equal(bench.sent[0].length, 4 + 7);
    assert_memory_equal(bench.sent[0].bytes + 4, right, 7);
    calm(&bench, 5);
}

static void silent_does_it_and_says_nothing(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "silent@2", WRITE_7);
    assert_int_equal(bench.count, 0);
    assert_int_equal(server_sums(bench.server)->requests, 2);
    assert_int_equal(server_sums(bench.server)->answered, 1);
    calm(&bench, 7);
}

static void deaf_does_nothing_and_says_nothing(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "deaf@2", WRITE_7);
    assert_int_equal(bench.count, 0);
    calm(&bench, 5);
}

static void exception_refuses(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "exception=A1@2", WRITE_7);
    assert_int_equal(bench.count, 1);
    server_bench_sent(&bench, 0, FIRST_UNIT, "\x86\xa1", 2);
    calm(&bench, 5);
}

static void slow_comes_byte_by_byte(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_SERIAL, "slow=10ms@2", READ_CODE);
    uint8_t right[FRAME_LONGEST];
    assert_int_equal(wire_wrap(WIRE_SERIAL, 0, FIRST_UNIT, (const uint8_t *)CODE_IS_5, right), 7);
    assert_int_equal(bench.count, 7);
    for (int i = 0; i < 7; i++) {
        assert_int_equal(bench.sent[i].length, 1);
        assert_int_equal(bench.sent[i].bytes[0], right[i]);
        assert_int_equal(bench.sent[i].at_us, SECOND_AT_US + 10000 * i);
    }
    assert_int_equal(server_sums(bench.server)->ideal_us, 60000);
    calm(&bench, 5);
}

/* At 110 baud a character takes longer than the gap that is asked for. */
static void slow_is_no_faster_than_the_wire(void **state)
{
    (void)state;
    struct server_bench bench;
    const struct server_setup setup = {.pace = {.baud = 110, .character_bits = 11}};
    server_bench_open(&bench, WIRE_SERIAL, "slow=10ms@1", &setup);
    server_bench_talk(&bench, FIRST_UNIT, READ_CODE);
    assert_int_equal(bench.count, 7);
    assert_int_equal(bench.sent[6].at_us, 8 * 100000 + 350000 + 7 * 100000);
    server_bench_close(&bench);
}

/* Two replies to one client never mix, even where the slow one was late and the line is another drive's by then. */
static void a_slow_reply_is_not_interrupted(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_TCP, "late=100ms@1", &plain);
    assert_true(line_faults_add(&bench.faults, "slow=10ms@2", NULL));
    server_bench_ask(&bench, FIRST_UNIT, READ_CODE);
    server_bench_ask(&bench, FIRST_UNIT, READ_CODE);
    bench.now_us = 101000;
    server_release(bench.server); /* the late one, and the first byte of the slow one */
    assert_int_equal(bench.count, 2);
    server_bench_ask(&bench, FIRST_UNIT + 1, READ_CODE);
    server_bench_run(&bench);
    assert_int_equal(bench.count, 1 + 11 + 1);
    for (size_t i = 1; i <= 11; i++)
        assert_int_equal(bench.sent[i].length, 1);
    server_bench_sent(&bench, 12, FIRST_UNIT + 1, CODE_IS_5);
    server_bench_close(&bench);
}

static void disconnect_ends_the_connection(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_TCP, "disconnect@2", READ_CODE);
    assert_int_equal(bench.count, 1);
    assert_int_equal(bench.sent[0].length, 0);
    assert_int_equal(bench.sent[0].client, CLIENT);
    assert_int_equal(server_sums(bench.server)->answered, 1);
    calm(&bench, 5);
}

static void not_kept_confirms_and_forgets(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, "not-kept@1", &plain);
    server_bench_talk(&bench, FIRST_UNIT, READ_CODE); /* counts for nothing: it writes nothing */
    server_bench_talk(&bench, FIRST_UNIT, WRITE_7);
    assert_int_equal(bench.count, 1);
    server_bench_sent(&bench, 0, FIRST_UNIT, WRITE_7);
    assert_int_equal(bench.faults.items[0].struck, 1);
    calm(&bench, 5);
}

/* A write that would be refused still is. */
static void not_kept_refuses_what_is_refused(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, "not-kept@1", &plain);
    server_bench_talk(&bench, FIRST_UNIT, "\x06\x00\x02\x00\x07", 5);
    server_bench_sent(&bench, 0, FIRST_UNIT, "\x86\x02", 2);
    calm(&bench, 5);
}

static void gateway_gives_the_late_reply_to_the_next(void **state)
{
    (void)state;
    struct server_bench bench;
    strike(&bench, WIRE_TCP, "gateway=20ms@2", "\x03\x00\x01\x00\x01", 5);
    assert_int_equal(bench.count, 1);
    assert_int_equal(bench.sent[0].at_us, SECOND_AT_US + 20000);
    server_bench_sent(&bench, 0, FIRST_UNIT, "\x83\x0b", 2);
    /* Another register of another drive, another transaction: and the answer is the one before. */
    server_bench_talk(&bench, FIRST_UNIT + 1, READ_CODE);
    assert_int_equal(bench.count, 1);
    server_bench_sent(&bench, 0, FIRST_UNIT, "\x03\x02\x05\xa0", 4);
    calm(&bench, 5);
}

/* What hands a late reply over is not struck itself. */
static void gateway_strikes_no_request_that_it_hands_a_reply_to(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_TCP, "gateway", &plain);
    for (int i = 0; i < 2; i++) {
        server_bench_talk(&bench, FIRST_UNIT, READ_CODE);
        server_bench_sent(&bench, 0, FIRST_UNIT, "\x83\x0b", 2);
        server_bench_talk(&bench, FIRST_UNIT, READ_CODE);
        server_bench_sent(&bench, 0, FIRST_UNIT, CODE_IS_5);
    }
    assert_int_equal(bench.faults.items[0].struck, 2);
    server_bench_close(&bench);
}

/* Asked while the first reply is still due. */
static void ask_again_while_late(struct server_bench *bench, bool ignores)
{
    const struct server_setup setup = {.ignores = ignores};
    server_bench_open(bench, WIRE_SERIAL, "late=100ms@1", &setup);
    server_bench_ask(bench, FIRST_UNIT, READ_CODE);
    bench->now_us = 50000;
    server_bench_ask(bench, FIRST_UNIT, "\x03\x00\x01\x00\x01", 5);
    server_bench_ask(bench, FIRST_UNIT + 1, READ_CODE);
    server_bench_run(bench);
    /* The drive beside it is not held up. */
    server_bench_sent(bench, 0, FIRST_UNIT + 1, CODE_IS_5);
    assert_int_equal(bench->sent[0].at_us, 50000);
    server_bench_sent(bench, 1, FIRST_UNIT, CODE_IS_5);
    assert_int_equal(bench->sent[1].at_us, 100000);
}

static void a_drive_that_queues_answers_in_order(void **state)
{
    (void)state;
    struct server_bench bench;
    ask_again_while_late(&bench, false);
    assert_int_equal(bench.count, 3);
    server_bench_sent(&bench, 2, FIRST_UNIT, "\x03\x02\x05\xa0", 4);
    assert_int_equal(bench.sent[2].at_us, 100000);
    server_bench_close(&bench);
}

static void a_drive_that_ignores_loses_what_comes_meanwhile(void **state)
{
    (void)state;
    struct server_bench bench;
    ask_again_while_late(&bench, true);
    assert_int_equal(bench.count, 2);
    assert_int_equal(server_sums(bench.server)->lost, 1);
    calm(&bench, 5);
}

/* All replies of a long run under many faults, as one number. */
static uint64_t digest_of_run(uint64_t seed)
{
    static const char *const texts[] = {"late=1ms-90ms:10%", "cut:5%",       "corrupt:5%",
                                        "foreign-unit:5%",   "doubled:5%",   "noise:5%",
                                        "silent:5%",         "exception:5%", "echo:5%"};
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, NULL, &plain);
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        assert_true(line_faults_add(&bench.faults, texts[i], NULL));
    line_faults_seed(&bench.faults, seed);
    uint64_t digest = 0;
    for (int i = 0; i < 300; i++) {
        server_bench_talk(&bench, FIRST_UNIT, READ_CODE);
        for (size_t sent = 0; sent < bench.count; sent++) {
            digest = digest * 31 + (uint64_t)bench.sent[sent].at_us;
            for (size_t at = 0; at < bench.sent[sent].length; at++)
                digest = digest * 31 + bench.sent[sent].bytes[at];
        }
    }
    server_bench_close(&bench);
    return digest;
}

static void a_seed_repeats_every_byte(void **state)
{
    (void)state;
    assert_true(digest_of_run(7) == digest_of_run(7));
    assert_true(digest_of_run(7) != digest_of_run(8));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(late_comes_later),
        cmocka_unit_test(cut_ends_early),
        cmocka_unit_test(cut_is_always_short_of_the_end),
        cmocka_unit_test(corrupt_has_one_wrong_bit),
        cmocka_unit_test(corrupt_over_tcp_spares_the_values),
        cmocka_unit_test(foreign_unit_bears_another_number),
        cmocka_unit_test(doubled_comes_twice),
        cmocka_unit_test(a_doubled_reply_may_come_two_requests_later),
        cmocka_unit_test(echo_brings_the_request_back),
        cmocka_unit_test(noise_goes_before),
        cmocka_unit_test(silent_does_it_and_says_nothing),
        cmocka_unit_test(deaf_does_nothing_and_says_nothing),
        cmocka_unit_test(exception_refuses),
        cmocka_unit_test(slow_comes_byte_by_byte),
        cmocka_unit_test(slow_is_no_faster_than_the_wire),
        cmocka_unit_test(a_slow_reply_is_not_interrupted),
        cmocka_unit_test(disconnect_ends_the_connection),
        cmocka_unit_test(not_kept_confirms_and_forgets),
        cmocka_unit_test(not_kept_refuses_what_is_refused),
        cmocka_unit_test(gateway_gives_the_late_reply_to_the_next),
        cmocka_unit_test(gateway_strikes_no_request_that_it_hands_a_reply_to),
        cmocka_unit_test(a_drive_that_queues_answers_in_order),
        cmocka_unit_test(a_drive_that_ignores_loses_what_comes_meanwhile),
        cmocka_unit_test(a_seed_repeats_every_byte),
    };
    return cmocka_run_group_tests_name("sim_server_faults", tests, NULL, NULL);
}
