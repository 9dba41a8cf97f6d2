/* SPDX-License-Identifier: MIT */
/* Faults that strike writes: what is confirmed, what is kept, what happens right after, and the log of writes. */
#include "sim/server_bench.h"

#define READ_LEVEL    "\x03\x00\x04\x00\x01", 5
#define WRITE_LEVEL_9 "\x06\x00\x04\x00\x09", 5 /* below its range, 10 to 20 */

static const struct server_setup plain = {0};

static void level_is(struct server_bench *bench, unsigned expected)
{
    const char reply[] = {0x03, 0x02, 0x00, (char)expected};
    server_bench_talk(bench, FIRST_UNIT, READ_LEVEL);
    server_bench_sent(bench, 0, FIRST_UNIT, reply, sizeof reply);
}

/* A write of `value` that the drive confirms. */
static void write_level(struct server_bench *bench, unsigned value)
{
    const char pdu[] = {0x06, 0x00, 0x04, 0x00, (char)value};
    server_bench_talk(bench, FIRST_UNIT, pdu, sizeof pdu);
    assert_int_equal(bench->count, 1);
    server_bench_sent(bench, 0, FIRST_UNIT, pdu, sizeof pdu);
}

static void without_a_habit_a_value_outside_is_refused(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, "clamped@2", &plain);
    server_bench_talk(&bench, FIRST_UNIT, WRITE_LEVEL_9);
    server_bench_sent(&bench, 0, FIRST_UNIT, "\x86\x03", 2);
    level_is(&bench, 12); /* a read, which does not count */
    write_level(&bench, 9);
    level_is(&bench, 10);
    server_bench_close(&bench);
}

static void clamped_keeps_the_nearest_end(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_TCP, "clamped", &plain);
    write_level(&bench, 25);
    level_is(&bench, 20);
    write_level(&bench, 9);
    level_is(&bench, 10);
    write_level(&bench, 15);
    level_is(&bench, 15);
    server_bench_close(&bench);
}

/* From 12 to 20: half the way is 16. From 16 to 17 there is nothing between, so nothing is kept. */
static void clamped_within_goes_part_of_the_way(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, "clamped=50%", &plain);
    write_level(&bench, 20);
    level_is(&bench, 16);
    write_level(&bench, 17);
    level_is(&bench, 16);
    server_bench_close(&bench);
}

static void changed_later_turns_back(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, "changed-later=300ms@1", &plain);
    write_level(&bench, 15);
    level_is(&bench, 15);
    bench.now_us = 299999;
    level_is(&bench, 15);
    bench.now_us = 300000;
    level_is(&bench, 12);
    write_level(&bench, 15);
    bench.now_us = 900000;
    level_is(&bench, 15);
    server_bench_close(&bench);
}

static void trip_and_start_come_right_after(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, "trip@2", &plain);
    write_level(&bench, 15);
    assert_int_equal(bench.drives[0].model.state, MOTOR_STOPPED);
    write_level(&bench, 16);
    assert_int_equal(bench.drives[0].model.state, MOTOR_TRIPPED);
    level_is(&bench, 16);
    server_bench_close(&bench);

    server_bench_open(&bench, WIRE_SERIAL, "starts@1", &plain);
    write_level(&bench, 15);
    assert_int_equal(bench.drives[0].model.state, MOTOR_STARTING);
    server_bench_talk(&bench, FIRST_UNIT, "\x04\x00\x00\x00\x01", 5);
    server_bench_sent(&bench, 0, FIRST_UNIT, "\x04\x02\x00\x01", 4);
    assert_int_equal(bench.drives[1].model.state, MOTOR_STOPPED);
    server_bench_close(&bench);
}

static void after_the_write_another_drive_answers(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, "exchanged=AB-12@1", &plain);
    write_level(&bench, 15);
    level_is(&bench, 12);
    server_bench_talk(&bench, FIRST_UNIT, "\x03\x00\x05\x00\x03", 5);
    server_bench_sent(&bench, 0, FIRST_UNIT,
                      "\x03\x06"
                      "AB-12\0",
                      8);
    server_bench_talk(&bench, FIRST_UNIT + 1, "\x03\x00\x05\x00\x03", 5);
    server_bench_sent(&bench, 0, FIRST_UNIT + 1,
                      "\x03\x06"
                      "SIM-00",
                      8);
    server_bench_close(&bench);
}

static void requests_without_power_are_lost(void **state)
{
    (void)state;
    struct server_bench bench;
    server_bench_open(&bench, WIRE_SERIAL, NULL, &plain);
    bench.drives[0].off_until_us = 500000;
    server_bench_talk(&bench, FIRST_UNIT, READ_LEVEL);
    assert_int_equal(bench.count, 0);
    server_bench_talk(&bench, 0, "\x06\x00\x04\x00\x0f", 5); /* a broadcast reaches the others */
    assert_int_equal(server_sums(bench.server)->lost, 1);
    bench.now_us = 500000;
    level_is(&bench, 12);
    server_bench_talk(&bench, FIRST_UNIT + 1, READ_LEVEL);
    server_bench_sent(&bench, 0, FIRST_UNIT + 1, "\x03\x02\x00\x0f", 4);
    server_bench_close(&bench);
}

/* Everything in `file` since its beginning. */
static void file_is(FILE *file, const char *expected)
{
    char text[1024] = "";
    rewind(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    assert_string_equal(text, expected);
    assert_int_equal(fclose(file), 0);
}

static void every_write_that_came_in_is_logged(void **state)
{
    (void)state;
    struct server_bench bench;
    FILE *writes = tmpfile();
    assert_non_null(writes);
    const struct server_setup setup = {.writes = writes};
    server_bench_open(&bench, WIRE_SERIAL, "not-kept@2", &setup);
    write_level(&bench, 15);
    write_level(&bench, 16);
    server_bench_talk(&bench, FIRST_UNIT, READ_LEVEL);
    server_bench_talk(&bench, FIRST_UNIT, WRITE_LEVEL_9);
    server_bench_talk(&bench, FIRST_UNIT + 1, "\x10\x00\x00\x00\x02\x04\x12\x34\x56\x78", 10);
    server_bench_talk(&bench, FIRST_UNIT, "\x0f\x00\x04\x00\x01\x01\x01", 7);
    server_bench_talk(&bench, FIRST_UNIT, "\x05\x00\x04\xff\x00", 5);
    server_bench_talk(&bench, FIRST_UNIT, "\x06\x00", 2);
    bench.drives[1].off_until_us = 1;
    server_bench_talk(&bench, 0, "\x06\x00\x04\x00\x0f", 5);
    server_bench_close(&bench);
    file_is(writes, "9,6,4,000f,done,\n"
                    "9,6,4,0010,done,not-kept\n"
                    "9,6,4,0009,exception-03,\n"
                    "10,16,0,1234 5678,done,\n"
                    "9,15,4,01,done,\n"
                    "9,5,4,ff00,done,\n"
                    "9,6,,,exception-03,\n"
                    "9,6,4,000f,done,\n"
                    "11,6,4,000f,done,\n");
}

static void lost_writes_are_not_logged_and_refused_ones_are(void **state)
{
    (void)state;
    struct server_bench bench;
    FILE *writes = tmpfile();
    assert_non_null(writes);
    const struct server_setup setup = {.writes = writes};
    server_bench_open(&bench, WIRE_SERIAL, "deaf@1", &setup);
    struct error error = {0};
    assert_true(line_faults_add(&bench.faults, "exception=06@2", &error));
    assert_true(line_faults_add(&bench.faults, "silent@3", &error));
    for (int i = 0; i < 3; i++)
        server_bench_talk(&bench, FIRST_UNIT, "\x06\x00\x04\x00\x0f", 5);
    server_bench_close(&bench);
    file_is(writes, "9,6,4,000f,exception-06,exception\n"
                    "9,6,4,000f,done,silent\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_a_habit_a_value_outside_is_refused),
        cmocka_unit_test(clamped_keeps_the_nearest_end),
        cmocka_unit_test(clamped_within_goes_part_of_the_way),
        cmocka_unit_test(changed_later_turns_back),
        cmocka_unit_test(trip_and_start_come_right_after),
        cmocka_unit_test(after_the_write_another_drive_answers),
        cmocka_unit_test(requests_without_power_are_lost),
        cmocka_unit_test(every_write_that_came_in_is_logged),
        cmocka_unit_test(lost_writes_are_not_logged_and_refused_ones_are),
    };
    return cmocka_run_group_tests_name("sim_habits", tests, NULL, NULL);
}
