/* SPDX-License-Identifier: MIT */
/* What requests a simulated drive serves and which it refuses, with which exception. */
#include "sim/fixture.h"

#include "sim/access.h"

/* Function 16 only; low word first; a closed stretch; holes at 6, 16 to 19 and from 22 on. */
static const char wide_map[] =
    "map: bench-wide\n"
    "modbus: {count_from: 0, word_order: low-first, longest_read: 8, longest_write: 4, closed: [holding 0x08-0x0B]}\n"
    "parameters:\n"
    "  code: {at: holding 0, type: u16, default: 5}\n"
    "  speed: {at: holding 1, type: u16, unit: rpm, settable: stopped, accepts: 300 rpm to 3000 rpm, default: 1440 "
    "rpm}\n"
    "  time: {at: holding 2, type: u32, scale: 0.1, unit: s, settable: always, accepts: 0.1 s to 900 s, default: 5 s}\n"
    "  source: {at: holding 4, type: u16, choices: {0: keypad, 1: terminals}, settable: stopped, default: keypad}\n"
    "  lowest: {at: holding 5, type: u16, scale: 0.1, unit: Hz, settable: always, accepts: 0 Hz to "
    "limit.maximum_frequency,\n"
    "    default: 0 Hz}\n"
    "  level: {at: holding 7, type: u16, settable: always, default: 1}\n"
    "  secret: {at: holding 12, type: u32, settable: always, locked_by: {level: 0}, default: 70000}\n"
    "  highest: {at: holding 14, type: u16, scale: 0.1, unit: Hz, means: limit.maximum_frequency, settable: stopped,\n"
    "    default: 50 Hz}\n"
    "  lasting: {at: holding 20, write_at: holding 21, type: u16, settable: always, default: 3}\n"
    "  fan: {at: coil 4, settable: always, default: 0}\n"
    "  pump: {at: coil 5, settable: stopped, default: 1}\n"
    "  door: {at: discrete 9}\n";

/* Function 06 only; 32-bit values written high word first. No coils, no inputs. */
static const char narrow_map[] =
    "map: bench-narrow\n"
    "modbus: {count_from: 0, word_order: high-first, longest_read: 8, longest_write: 1}\n"
    "parameters:\n"
    "  time: {at: holding 2, type: u32, scale: 0.1, unit: s, settable: always, write_words: high-first,\n"
    "    accepts: 0.1 s to 9000 s, default: 5 s}\n"
    "  level: {at: holding 4, type: u16, settable: always, default: 1}\n";

static uint8_t ask(struct bench *bench, uint8_t function, unsigned address, unsigned count)
{
    const uint8_t pdu[] = {function, (uint8_t)(address >> 8), (uint8_t)address, (uint8_t)(count >> 8), (uint8_t)count};
    return access_serve(&bench->drive, pdu, sizeof pdu);
}

static uint8_t write_one(struct bench *bench, unsigned address, unsigned word)
{
    return ask(bench, 0x06, address, word);
}

static uint8_t write_many(struct bench *bench, unsigned address, const uint16_t *words, size_t count)
{
    uint8_t pdu[64] = {0x10, (uint8_t)(address >> 8), (uint8_t)address, 0, (uint8_t)count, (uint8_t)(2 * count)};
    for (size_t i = 0; i < count; i++) {
        pdu[6 + 2 * i] = (uint8_t)(words[i] >> 8);
        pdu[7 + 2 * i] = (uint8_t)words[i];
    }
    return access_serve(&bench->drive, pdu, 6 + 2 * count);
}

static uint8_t write_word(struct bench *bench, unsigned address, uint16_t word)
{
    return write_many(bench, address, &word, 1);
}

static void reads_of_whole_runs_are_served(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    assert_int_equal(ask(&bench, 0x03, 0, 6), 0);
    assert_int_equal(bench.drive.memory.shown->tab_registers[1], 1440);
    assert_int_equal(bench.drive.memory.shown->tab_registers[2], 50);
    assert_int_equal(ask(&bench, 0x01, 4, 2), 0);
    assert_int_equal(bench.drive.memory.shown->tab_bits[1], 1);
    assert_int_equal(ask(&bench, 0x02, 9, 1), 0);
    bench_close(&bench);
}

static void holes_and_closed_addresses_are_02(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    assert_int_equal(ask(&bench, 0x03, 6, 1), 0x02);
    assert_int_equal(ask(&bench, 0x03, 4, 4), 0x02);
    assert_int_equal(ask(&bench, 0x03, 7, 2), 0x02);
    assert_int_equal(ask(&bench, 0x03, 9, 1), 0x02);
    assert_int_equal(ask(&bench, 0x03, 21, 2), 0x02);
    assert_int_equal(ask(&bench, 0x03, 65535, 2), 0x02);
    assert_int_equal(ask(&bench, 0x01, 3, 1), 0x02);
    bench_close(&bench);
}

static void too_long_and_empty_reads_are_03(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    assert_int_equal(ask(&bench, 0x03, 0, 9), 0x03);
    assert_int_equal(ask(&bench, 0x03, 0, 0), 0x03);
    const uint8_t cut[] = {0x03, 0, 0, 0};
    assert_int_equal(access_serve(&bench.drive, cut, sizeof cut), 0x03);
    bench_close(&bench);
}

static void functions_that_the_drive_has_not_are_01(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    assert_int_equal(ask(&bench, 0x04, 0, 1), 0x01); /* no input registers */
    assert_int_equal(ask(&bench, 0x07, 0, 0), 0x01);
    assert_int_equal(ask(&bench, 0x2b, 0, 0), 0x01);
    assert_int_equal(write_one(&bench, 7, 1), 0x01); /* longest_write 4: function 16 */
    bench_close(&bench);
    bench_open(&bench, narrow_map, NULL, NULL);
    assert_int_equal(write_word(&bench, 4, 1), 0x01); /* longest_write 1: function 06 */
    assert_int_equal(write_one(&bench, 4, 1), 0);
    bench_close(&bench);
}

static void accepted_writes_are_stored(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    const uint16_t words[] = {1200, 100, 0, 1};
    assert_int_equal(write_many(&bench, 1, words, 4), 0);
    assert_int_equal(bench_raw(&bench, "speed"), 1200);
    assert_int_equal(bench_raw(&bench, "time"), 100);
    assert_int_equal(bench_raw(&bench, "source"), 1);
    bench_close(&bench);
}

static void a_refused_write_stores_nothing(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    const uint16_t words[] = {1200, 100, 0, 9}; /* no such choice */
    assert_int_equal(write_many(&bench, 1, words, 4), 0x03);
    assert_int_equal(bench_raw(&bench, "speed"), 1440);
    assert_int_equal(bench_raw(&bench, "time"), 50);
    bench_close(&bench);
}

static void values_outside_are_03(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    assert_int_equal(write_word(&bench, 1, 299), 0x03);
    assert_int_equal(write_word(&bench, 1, 300), 0);
    assert_int_equal(write_word(&bench, 1, 3000), 0);
    assert_int_equal(write_word(&bench, 1, 3001), 0x03);
    assert_int_equal(write_word(&bench, 5, 500), 0); /* up to limit.maximum_frequency, 50.0 Hz */
    assert_int_equal(write_word(&bench, 5, 501), 0x03);
    bench_close(&bench);
}

static void what_is_never_settable_is_02(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    assert_int_equal(write_word(&bench, 0, 5), 0x02);
    assert_int_equal(write_word(&bench, 6, 5), 0x02);
    assert_int_equal(bench_raw(&bench, "code"), 5);
    bench_close(&bench);
}

static void writes_while_running_are_04_where_the_map_says_stopped(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    assert_true(drive_model_start(&bench.drive.model));
    assert_int_equal(write_word(&bench, 1, 1200), 0x04);
    assert_int_equal(write_word(&bench, 7, 2), 0);
    assert_true(drive_model_stop(&bench.drive.model));
    assert_int_equal(write_word(&bench, 1, 1200), 0x04); /* still turning */
    drive_refresh(&bench.drive, 1000);
    drive_refresh(&bench.drive, 100000000);
    assert_int_equal(write_word(&bench, 1, 1200), 0);
    bench_close(&bench);
}

static void locked_parameters_read_as_ffff_and_refuse(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    assert_int_equal(ask(&bench, 0x03, 12, 3), 0);
    assert_int_equal(bench.drive.memory.shown->tab_registers[12], 0x1170); /* 70000 = 0x00011170 */
    assert_int_equal(write_word(&bench, 7, 0), 0);
    assert_int_equal(ask(&bench, 0x03, 12, 3), 0);
    assert_int_equal(bench.drive.memory.shown->tab_registers[12], 0xffff);
    assert_int_equal(bench.drive.memory.shown->tab_registers[13], 0xffff);
    assert_int_equal(bench.drive.memory.shown->tab_registers[14], 500);
    const uint16_t words[] = {1, 0};
    assert_int_equal(write_many(&bench, 12, words, 2), 0x04);
    assert_int_equal(bench_raw(&bench, "secret"), 70000);
    bench_close(&bench);
}

static void half_of_a_value_that_is_written_together_is_03(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    assert_int_equal(write_word(&bench, 2, 100), 0x03);
    assert_int_equal(write_word(&bench, 3, 0), 0x03);
    assert_int_equal(bench_raw(&bench, "time"), 50);
    bench_close(&bench);
}

/* 70000 = 0x00011170: the high word waits for the low one. */
static void two_single_writes_make_a_32_bit_value(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, narrow_map, NULL, NULL);
    assert_int_equal(write_one(&bench, 3, 0x1170), 0x03); /* the wrong half first */
    assert_int_equal(write_one(&bench, 2, 0x0001), 0);
    assert_int_equal(bench_raw(&bench, "time"), 50);
    assert_int_equal(write_one(&bench, 3, 0x1170), 0);
    assert_int_equal(bench_raw(&bench, "time"), 70000);
    assert_int_equal(write_one(&bench, 2, 0x0002), 0);
    assert_int_equal(write_one(&bench, 3, 0x1170), 0x03); /* beyond 9000 s */
    assert_int_equal(bench_raw(&bench, "time"), 70000);
    bench_close(&bench);
}

static void a_lasting_address_is_where_it_is_written(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    assert_int_equal(write_word(&bench, 21, 8), 0);
    assert_int_equal(bench_raw(&bench, "lasting"), 8);
    assert_int_equal(ask(&bench, 0x03, 20, 2), 0);
    assert_int_equal(bench.drive.memory.shown->tab_registers[20], 8);
    assert_int_equal(bench.drive.memory.shown->tab_registers[21], 8);
    bench_close(&bench);
}

static void coils_are_written_by_function_15(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    const uint8_t both[] = {0x0f, 0, 4, 0, 2, 1, 0x01};
    assert_int_equal(access_serve(&bench.drive, both, sizeof both), 0);
    assert_int_equal(bench_raw(&bench, "fan"), 1);
    assert_int_equal(bench_raw(&bench, "pump"), 0);
    bench_close(&bench);
}

static void malformed_writes_are_03(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, wide_map, NULL, NULL);
    const uint8_t wrong_bytes[] = {0x10, 0, 7, 0, 1, 4, 0, 1};
    const uint8_t cut[] = {0x10, 0, 7, 0, 1, 2, 0};
    const uint8_t too_many[] = {0x10, 0, 0, 0, 5, 10, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1};
    assert_int_equal(access_serve(&bench.drive, wrong_bytes, sizeof wrong_bytes), 0x03);
    assert_int_equal(access_serve(&bench.drive, cut, sizeof cut), 0x03);
    assert_int_equal(access_serve(&bench.drive, too_many, sizeof too_many), 0x03);
    bench_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_of_whole_runs_are_served),
        cmocka_unit_test(holes_and_closed_addresses_are_02),
        cmocka_unit_test(too_long_and_empty_reads_are_03),
        cmocka_unit_test(functions_that_the_drive_has_not_are_01),
        cmocka_unit_test(accepted_writes_are_stored),
        cmocka_unit_test(a_refused_write_stores_nothing),
        cmocka_unit_test(values_outside_are_03),
        cmocka_unit_test(what_is_never_settable_is_02),
        cmocka_unit_test(writes_while_running_are_04_where_the_map_says_stopped),
        cmocka_unit_test(locked_parameters_read_as_ffff_and_refuse),
        cmocka_unit_test(half_of_a_value_that_is_written_together_is_03),
        cmocka_unit_test(two_single_writes_make_a_32_bit_value),
        cmocka_unit_test(a_lasting_address_is_where_it_is_written),
        cmocka_unit_test(coils_are_written_by_function_15),
        cmocka_unit_test(malformed_writes_are_03),
    };
    return cmocka_run_group_tests_name("sim_access", tests, NULL, NULL);
}
