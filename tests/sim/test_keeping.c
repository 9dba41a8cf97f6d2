/* SPDX-License-Identifier: MIT */
/* Working and lasting memory of a simulated drive: what a power-off leaves, the save command, when a value counts. */
#include "sim/fixture.h"
#include "sim/near.h"
#include "sim/writes.h"

#include "sim/live.h"

#define PARAMETERS                                                                                                     \
    "parameters:\n"                                                                                                    \
    "  level: {at: holding 0, type: u16, settable: always, default: 5}\n"                                              \
    "  long_one: {at: holding 1, type: u32, settable: always, default: 70000}\n"                                       \
    "  ramp: {at: holding 3, write_at: holding 13, type: u16, scale: 0.1, unit: s, means: ramp.acceleration_time,\n"   \
    "    settable: always, default: 10 s}\n"                                                                           \
    "  highest: {at: holding 4, type: u16, scale: 0.1, unit: Hz, means: limit.maximum_frequency, settable: always,\n"  \
    "    takes_effect: at-stop, default: 50 Hz}\n"                                                                     \
    "  base: {at: holding 5, type: u16, unit: V, means: output.base_voltage, settable: always,\n"                      \
    "    takes_effect: power-cycle, default: 400 V}\n"                                                                 \
    "  state: {at: input 0, type: bits, bits: {0: running, 7: tripped}, means: live.state}\n"

#define MODBUS "modbus: {count_from: 0, word_order: high-first, longest_write: 8}\n"

static const char saving_map[] = "map: bench-saving\n" MODBUS "keeps: after-save\n"
                                 "save: {at: holding 40, write: 1, done_when: 0, within: 1 s}\n" PARAMETERS;
static const char at_once_map[] = "map: bench-at-once\n" MODBUS "keeps: at-once\n" PARAMETERS;
static const char never_map[] = "map: bench-never\n" MODBUS "keeps: never\n" PARAMETERS;

enum { SECOND_US = 1000000, LEVEL = 0, LONG_ONE = 1, RAMP = 3, HIGHEST = 4, BASE = 5, RAMP_LASTING = 13, SAVE = 40 };

static void power_cycle_now(struct bench *bench)
{
    key(bench, "power-cycle", bench->drive.model.last_us, "power off and on again");
}

static void what_is_kept_at_once_survives(void **state)
{
    (void)state;
    struct bench bench;
    static const uint16_t words[] = {0x0002, 0x0003};
    bench_open(&bench, at_once_map, NULL, NULL);
    assert_int_equal(write_word(&bench, LEVEL, 9), 0);
    assert_int_equal(write_words(&bench, LONG_ONE, words, 2), 0);
    power_cycle_now(&bench);
    assert_int_equal(read_word(&bench, LEVEL), 9);
    assert_int_equal(bench_raw(&bench, "long_one"), 0x00020003);
    bench_close(&bench);
}

static void what_is_never_kept_is_lost(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, never_map, NULL, NULL);
    assert_int_equal(write_word(&bench, LEVEL, 9), 0);
    assert_int_equal(read_word(&bench, LEVEL), 9);
    power_cycle_now(&bench);
    assert_int_equal(read_word(&bench, LEVEL), 5);
    key(&bench, "wear", 0, "values put into lasting memory 0, save commands 0, writes of what was there already 0");
    bench_close(&bench);
}

static void unsaved_is_lost_and_saved_is_not(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, saving_map, NULL, NULL);
    assert_int_equal(write_word(&bench, LEVEL, 9), 0);
    power_cycle_now(&bench);
    assert_int_equal(read_word(&bench, LEVEL), 5);

    assert_int_equal(write_word(&bench, LEVEL, 9), 0);
    assert_int_equal(write_word(&bench, SAVE, 1), 0);
    drive_refresh(&bench.drive, SECOND_US);
    power_cycle_now(&bench);
    assert_int_equal(read_word(&bench, LEVEL), 9);
    bench_close(&bench);
}

/* A quarter of the second that the map promises. */
static void saving_takes_its_time_and_shows_when_it_is_done(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, saving_map, NULL, NULL);
    assert_int_equal(read_word(&bench, SAVE), 0);
    assert_int_equal(write_word(&bench, LEVEL, 9), 0);
    assert_int_equal(write_word(&bench, SAVE, 1), 0);
    assert_int_equal(read_word(&bench, SAVE), 1);
    assert_int_equal(write_word(&bench, SAVE, 1), 0x06);
    drive_refresh(&bench.drive, SECOND_US / 4 - 1);
    assert_int_equal(read_word(&bench, SAVE), 1);
    drive_refresh(&bench.drive, SECOND_US / 4);
    assert_int_equal(read_word(&bench, SAVE), 0);
    bench_close(&bench);
}

static void a_save_that_power_interrupts_is_lost(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, saving_map, NULL, NULL);
    assert_int_equal(write_word(&bench, LEVEL, 9), 0);
    assert_int_equal(write_word(&bench, SAVE, 1), 0);
    power_cycle_now(&bench);
    assert_int_equal(read_word(&bench, SAVE), 0);
    drive_refresh(&bench.drive, SECOND_US);
    assert_int_equal(read_word(&bench, LEVEL), 5);
    key(&bench, "wear", SECOND_US,
        "values put into lasting memory 0, save commands 0, writes of what was there already 0");
    bench_close(&bench);
}

/* Where writing the value that means "done" saves, something else is read until then. */
static void saving_never_looks_done_too_soon(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench,
               "map: bench-same\n" MODBUS "keeps: after-save\n"
               "save: {at: holding 40, write: 7, done_when: 7, within: 20 s}\n" PARAMETERS,
               NULL, NULL);
    assert_int_equal(read_word(&bench, SAVE), 7);
    assert_int_equal(write_word(&bench, SAVE, 7), 0);
    assert_int_not_equal(read_word(&bench, SAVE), 7);
    drive_refresh(&bench.drive, SECOND_US / 2);
    assert_int_equal(read_word(&bench, SAVE), 7);
    bench_close(&bench);
}

static void the_save_register_takes_nothing_else(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, saving_map, NULL, NULL);
    assert_int_equal(write_word(&bench, SAVE, 2), 0x03);
    assert_int_equal(read_word(&bench, SAVE), 0);
    bench_close(&bench);
}

static void wear_is_counted(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, saving_map, NULL, NULL);
    assert_int_equal(write_word(&bench, LEVEL, 9), 0);
    assert_int_equal(write_word(&bench, LEVEL, 9), 0); /* equal */
    assert_int_equal(write_word(&bench, BASE, 380), 0);
    assert_int_equal(write_word(&bench, SAVE, 1), 0);
    drive_refresh(&bench.drive, SECOND_US);
    key(&bench, "wear", SECOND_US,
        "values put into lasting memory 2, save commands 1, writes of what was there already 1");
    bench_close(&bench);
    bench_open(&bench, at_once_map, NULL, NULL);
    assert_int_equal(write_word(&bench, LEVEL, 9), 0);
    assert_int_equal(write_word(&bench, LEVEL, 9), 0);
    key(&bench, "wear", 0, "values put into lasting memory 2, save commands 0, writes of what was there already 1");
    bench_close(&bench);
}

/* Written where it is read, it is in working memory; at its lasting address it lasts, whatever the map keeps. */
static void a_lasting_address_lasts_and_the_other_does_not(void **state)
{
    static const char *const maps[] = {saving_map, at_once_map, never_map};
    (void)state;
    for (size_t i = 0; i < sizeof maps / sizeof *maps; i++) {
        struct bench bench;
        bench_open(&bench, maps[i], NULL, NULL);
        assert_int_equal(write_word(&bench, RAMP, 70), 0);
        assert_int_equal(read_word(&bench, RAMP), 70);
        assert_int_equal(read_word(&bench, RAMP_LASTING), 100);
        power_cycle_now(&bench);
        assert_int_equal(read_word(&bench, RAMP), 100);

        assert_int_equal(write_word(&bench, RAMP_LASTING, 80), 0);
        assert_int_equal(read_word(&bench, RAMP), 80);
        power_cycle_now(&bench);
        assert_int_equal(read_word(&bench, RAMP), 80);
        assert_int_equal(read_word(&bench, RAMP_LASTING), 80);
        bench_close(&bench);
    }
}

static void a_save_takes_working_memory_to_lasting_addresses(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, saving_map, NULL, NULL);
    assert_int_equal(write_word(&bench, RAMP, 70), 0);
    assert_int_equal(write_word(&bench, SAVE, 1), 0);
    drive_refresh(&bench.drive, SECOND_US);
    power_cycle_now(&bench);
    assert_int_equal(read_word(&bench, RAMP), 70);
    assert_int_equal(read_word(&bench, RAMP_LASTING), 70);
    bench_close(&bench);
}

static void what_is_set_at_the_keypad_lasts(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, never_map, NULL, NULL);
    key(&bench, "set level=9", 0, "level: 9 (raw 0x0009)");
    power_cycle_now(&bench);
    assert_int_equal(read_word(&bench, LEVEL), 9);
    bench_close(&bench);
}

/* The limit is read at once, and the motor goes by it from its next rest on. */
static void at_stop_counts_when_the_motor_has_stopped(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, at_once_map, NULL, NULL);
    key(&bench, "frequency 60", 0, "frequency command 60.00 Hz");
    key(&bench, "start", 0, "starting, towards 50.00 Hz");
    drive_refresh(&bench.drive, 60 * (int64_t)SECOND_US);
    assert_int_equal(write_word(&bench, HIGHEST, 400), 0);
    assert_int_equal(read_word(&bench, HIGHEST), 400);
    drive_refresh(&bench.drive, 120 * (int64_t)SECOND_US);
    assert_near(bench.drive.model.output_hz, 50, 1e-9);
    key(&bench, "stop", 120 * (int64_t)SECOND_US, "stopping");
    drive_refresh(&bench.drive, 180 * (int64_t)SECOND_US);
    key(&bench, "start", 180 * (int64_t)SECOND_US, "starting, towards 40.00 Hz");
    bench_close(&bench);
}

static void power_cycle_counts_only_then(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, at_once_map, NULL, NULL);
    assert_int_equal(write_word(&bench, BASE, 380), 0);
    drive_refresh(&bench.drive, SECOND_US);
    assert_int_equal(read_word(&bench, BASE), 380);
    assert_near(live_settings(&bench.drive).base_v, 400, 1e-9);
    power_cycle_now(&bench);
    assert_near(live_settings(&bench.drive).base_v, 380, 1e-9);
    bench_close(&bench);
}

static void halves_do_not_outlive_a_power_cycle(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench,
               "map: bench-halves\n"
               "modbus: {count_from: 0, word_order: high-first, longest_write: 1, writes_with: multiple}\n"
               "parameters:\n"
               "  time: {at: holding 2, type: u32, settable: always, write_words: high-first, default: 70000}\n",
               NULL, NULL);
    assert_int_equal(write_word(&bench, 2, 5), 0);
    power_cycle_now(&bench);
    assert_int_equal(write_word(&bench, 3, 6), 0x03);
    assert_int_equal(bench_raw(&bench, "time"), 70000);
    bench_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_kept_at_once_survives),
        cmocka_unit_test(what_is_never_kept_is_lost),
        cmocka_unit_test(unsaved_is_lost_and_saved_is_not),
        cmocka_unit_test(saving_takes_its_time_and_shows_when_it_is_done),
        cmocka_unit_test(a_save_that_power_interrupts_is_lost),
        cmocka_unit_test(saving_never_looks_done_too_soon),
        cmocka_unit_test(the_save_register_takes_nothing_else),
        cmocka_unit_test(wear_is_counted),
        cmocka_unit_test(a_lasting_address_lasts_and_the_other_does_not),
        cmocka_unit_test(a_save_takes_working_memory_to_lasting_addresses),
        cmocka_unit_test(what_is_set_at_the_keypad_lasts),
        cmocka_unit_test(at_stop_counts_when_the_motor_has_stopped),
        cmocka_unit_test(power_cycle_counts_only_then),
        cmocka_unit_test(halves_do_not_outlive_a_power_cycle),
    };
    return cmocka_run_group_tests_name("sim_keeping", tests, NULL, NULL);
}
