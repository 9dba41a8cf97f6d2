/* SPDX-License-Identifier: MIT */
/* The frame loop in good order: who answers what, when, and what the log and the sums say of it. */
#include "sim/server_bench.h"

#define READ_CODE "\x03\x00\x00\x00\x01", 5
#define CODE_IS_5 "\x03\x02\x00\x05", 4

static const struct server_setup plain = {0};

static void each_unit_answers_for_itself(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, NULL, &plain);
    for (unsigned unit = FIRST_UNIT; unit < FIRST_UNIT + DRIVES; unit++) {
        const char write[] = {0x06, 0x00, 0x00, 0x00, (char)(100 + unit)};
        server_bench_talk(&bench, unit, write, sizeof write);
        server_bench_sent(&bench, 0, unit, write, sizeof write);
    }
    for (unsigned unit = FIRST_UNIT; unit < FIRST_UNIT + DRIVES; unit++) {
        server_bench_talk(&bench, unit, READ_CODE);
        const char expected[] = {0x03, 0x02, 0x00, (char)(100 + unit)};
        assert_int_equal(bench.count, 1);
        server_bench_sent(&bench, 0, unit, expected, sizeof expected);
    }
    server_bench_close(&bench);
}

static void absent_units_are_silent(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, NULL, &plain);
    server_bench_talk(&bench, FIRST_UNIT - 1, READ_CODE);
    server_bench_talk(&bench, FIRST_UNIT + DRIVES, READ_CODE);
    assert_int_equal(bench.count, 0);
    assert_int_equal(server_sums(bench.server)->unheard, 2);
    assert_int_equal(server_sums(bench.server)->requests, 0);
    server_bench_close(&bench);
}

static void a_broadcast_reaches_all_and_nobody_answers(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, NULL, &plain);
    server_bench_talk(&bench, 0, "\x06\x00\x01\x03\xe8", 5);
    assert_int_equal(bench.count, 0);
    for (unsigned unit = FIRST_UNIT; unit < FIRST_UNIT + DRIVES; unit++) {
        server_bench_talk(&bench, unit, "\x03\x00\x01\x00\x01", 5);
        server_bench_sent(&bench, 0, unit, "\x03\x02\x03\xe8", 4);
    }
    server_bench_close(&bench);
}

static void all_functions_are_served(void **state)
{
    (void)state;
    static const struct {
        const char *request;
        size_t length;
        const char *reply;
        size_t reply_length;
    } rows[] = {
        {"\x01\x00\x04\x00\x01", 5, "\x01\x01\x01", 3},
        {"\x02\x00\x00\x00\x01", 5, "\x02\x01\x01", 3},
        {"\x03\x00\x00\x00\x02", 5, "\x03\x04\x00\x05\x05\xa0", 6},
        {"\x04\x00\x00\x00\x01", 5, "\x04\x02\x00\x00", 4},
        {"\x05\x00\x04\x00\x00", 5, "\x05\x00\x04\x00\x00", 5},
        {"\x01\x00\x04\x00\x01", 5, "\x01\x01\x00", 3},
        {"\x06\x00\x01\x05\xdc", 5, "\x06\x00\x01\x05\xdc", 5},
        {"\x0f\x00\x04\x00\x01\x01\x01", 7, "\x0f\x00\x04\x00\x01", 5},
        {"\x01\x00\x04\x00\x01", 5, "\x01\x01\x01", 3},
        {"\x10\x00\x00\x00\x02\x04\x00\x07\x05\xdd", 10, "\x10\x00\x00\x00\x02", 5},
        {"\x03\x00\x00\x00\x02", 5, "\x03\x04\x00\x07\x05\xdd", 6},
        {"\x03\x00\x09\x00\x01", 5, "\x83\x02", 2},
        {"\x03\x00\x00\x00\x7e", 5, "\x83\x03", 2},
        {"\x41\x00", 2, "\xc1\x01", 2},
        {"\x08\x00\x00\x12\x34", 5, "\x08\x00\x00\x12\x34", 5}, /* return query data */
        {"\x08\x00\x01\x00\x00", 5, "\x88\x01", 2},             /* restart: not here */
        {"\x08\x00", 2, "\x88\x03", 2},
        {"\x11\x00", 2, "\x91\x03", 2}, /* function 17 takes nothing */
        {"\x2b\x0e\x04\x05", 4,
         "\x2b\x0e\x04\x82\x00\x00\x01\x05\x04"
         "BS-1",
         13},
    };
    for (enum wire wire = WIRE_SERIAL; wire <= WIRE_TCP; wire++) {
        struct server_bench bench;
        server_bench_open(&bench, wire, NULL, &plain);
        for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
            server_bench_talk(&bench, FIRST_UNIT, rows[i].request, rows[i].length);
            assert_int_equal(bench.count, 1);
            server_bench_sent(&bench, 0, FIRST_UNIT, rows[i].reply, rows[i].reply_length);
        }
        server_bench_close(&bench);
    }
}

/* 8N1 is 10 bits: a character at 10,000 baud is 1 ms, the silence 3.5 ms. */
static const struct server_setup one_ms_a_character = {
    .pace = {.baud = 10000, .character_bits = 10, .turnaround_us = 5000}};

static void replies_come_when_a_wire_would_bring_them(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, NULL, &one_ms_a_character);
    bench.now_us = 1000000;
    server_bench_talk(&bench, FIRST_UNIT, READ_CODE);
    /* 8 characters, silence, turnaround, 7 characters */
    assert_int_equal(bench.sent[0].at_us, 1000000 + 8000 + 3500 + 5000 + 7000);
    server_bench_talk(&bench, FIRST_UNIT + 1, READ_CODE);
    /* Asked at once: the silence comes first. */
    assert_int_equal(bench.sent[0].at_us, 1023500 + 3500 + 8000 + 3500 + 5000 + 7000);
    assert_int_equal(server_sums(bench.server)->answered, 2);
    assert_int_equal(server_sums(bench.server)->ideal_us, 2 * 23500);
    assert_int_equal(server_sums(bench.server)->real_us, 2 * 23500);
    server_bench_close(&bench);
}

/* As behind a gateway: the header of TCP is not on the wire. */
static void over_tcp_the_wire_behind_the_gateway_counts(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_TCP, NULL, &one_ms_a_character);
    server_bench_talk(&bench, FIRST_UNIT, READ_CODE);
    server_bench_sent(&bench, 0, FIRST_UNIT, CODE_IS_5);
    assert_int_equal(bench.sent[0].at_us, 8000 + 3500 + 5000 + 7000);
    server_bench_close(&bench);
}

static void requests_to_absent_units_take_their_wire_time(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, NULL, &one_ms_a_character);
    server_bench_ask(&bench, 200, READ_CODE);
    server_bench_talk(&bench, FIRST_UNIT, READ_CODE);
    assert_int_equal(bench.sent[0].at_us, 8000 + 3500 + 8000 + 3500 + 5000 + 7000);
    server_bench_close(&bench);
}

/* The host that releases late, every time: what is due next is computed from what was due before. */
static void a_late_release_does_not_move_the_next_one(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, NULL, &one_ms_a_character);
    for (int i = 0; i < 10; i++) {
        bench.count = 0;
        server_bench_ask(&bench, FIRST_UNIT, READ_CODE);
        bench.now_us = server_due_us(bench.server) + 1234;
        server_release(bench.server);
        assert_int_equal(bench.count, 1);
    }
    assert_int_equal(bench.sent[0].at_us, 10 * 23500 + 9 * 3500 + 1234);
    assert_int_equal(server_sums(bench.server)->ideal_us, 10 * 23500);
    assert_int_equal(server_sums(bench.server)->real_us, 10 * (23500 + 1234));
    server_bench_close(&bench);
}

/* The lines of the log, in a stream in memory. */
static void the_log_has_a_line_for_each_request(void **state)
{
    (void)state;
    struct server_bench bench;
    char *text = NULL;
    size_t size = 0;
    struct server_setup setup = one_ms_a_character;
    setup.log = open_memstream(&text, &size);
    server_bench_open(&bench, WIRE_SERIAL, "silent@3", &setup);
    server_bench_talk(&bench, FIRST_UNIT, "\x03\x00\x01\x00\x02", 5);
    bench.now_us = 100000;
    server_bench_ask(&bench, FIRST_UNIT + 1, "\x06\x00\x01\x00\x02", 5);
    bench.now_us = server_due_us(bench.server) + 7;
    server_release(bench.server);
    bench.now_us = 200000;
    server_bench_talk(&bench, FIRST_UNIT, READ_CODE);
    server_bench_talk(&bench, 77, "\x11", 1);
    server_bench_talk(&bench, 0, "\x06\x00\x01\x00\x02", 5);
    assert_int_equal(fclose(setup.log), 0);
    assert_string_equal(text, "read_us,ideal_us,real_us,unit,function,address,count,fault\n"
                              "0,25500,25500,9,3,1,2,\n"
                              "100000,124500,124507,10,6,1,1,\n"
                              "200000,,,9,3,0,1,silent\n"
                              "200000,,,77,17,,,absent\n"
                              "200000,,,0,6,1,1,broadcast\n");
    free(text);
    server_bench_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_unit_answers_for_itself),
        cmocka_unit_test(absent_units_are_silent),
        cmocka_unit_test(a_broadcast_reaches_all_and_nobody_answers),
        cmocka_unit_test(all_functions_are_served),
        cmocka_unit_test(replies_come_when_a_wire_would_bring_them),
        cmocka_unit_test(over_tcp_the_wire_behind_the_gateway_counts),
        cmocka_unit_test(requests_to_absent_units_take_their_wire_time),
        cmocka_unit_test(a_late_release_does_not_move_the_next_one),
        cmocka_unit_test(the_log_has_a_line_for_each_request),
    };
    return cmocka_run_group_tests_name("sim_server", tests, NULL, NULL);
}
