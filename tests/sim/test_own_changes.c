/* SPDX-License-Identifier: MIT */
/* What a simulated drive changes by itself when a parameter is written. What it works out is the simulator's own
 * choice: no source. */
#include "sim/writes.h"

static const char map_text[] =
    "map: bench-own\n"
    "modbus: {count_from: 0, word_order: high-first, longest_write: 8}\n"
    "keeps: after-save\n"
    "save: {at: holding 40, write: 1, done_when: 0, within: 1 s}\n"
    "parameters:\n"
    "  power: {at: holding 0, type: u16, scale: 0.1, unit: kW, means: motor.rated_power, settable: stopped,\n"
    "    default: 4 kW, writing_changes: [slip, limit, fan, name]}\n"
    "  slip: {at: holding 1, type: u16, scale: 0.01, unit: Hz, settable: stopped, accepts: 0 Hz to 5 Hz,\n"
    "    default: 2 Hz}\n"
    "  limit: {at: holding 2, type: u16, scale: 0.1, unit: A, settable: stopped, accepts: 1 A to 10 A, default: 9 A}\n"
    "  fan: {at: holding 3, type: u16, choices: {0: off, 1: low, 2: high}, settable: stopped, default: low}\n"
    "  name: {at: holding 4, type: text(2 registers), settable: stopped, default: OWN}\n"
    "  region: {at: holding 6, type: u16, choices: {0: metric, 1: imperial}, settable: stopped, default: metric,\n"
    "    writing_changes: [plate]}\n"
    "  plate: {at: holding 7, type: u16, scale: 0.1, unit_by: {parameter: region, 0: kW, 1: hp}, settable: stopped,\n"
    "    default: 7.5 kW}\n"
    "  mode: {at: holding 8, type: u16, choices: {0: plain, 1: vector}, settable: stopped, default: plain,\n"
    "    writing_changes: [gain]}\n"
    "  gain: {at: holding 9, type: u16, settable: stopped, accepts: 1 to 8, default: 8}\n";

enum { POWER, SLIP, LIMIT, FAN, REGION = 6, PLATE, MODE, GAIN };

/* Twice the power: twice the slip, and the limit as far as its range goes. A choice goes back to its default. */
static void numbers_follow_in_proportion(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, "fan=high");
    assert_int_equal(write_word(&bench, POWER, 80), 0);
    assert_int_equal(read_word(&bench, POWER), 80);
    assert_int_equal(read_word(&bench, SLIP), 400);
    assert_int_equal(read_word(&bench, LIMIT), 100);
    assert_int_equal(read_word(&bench, FAN), 1);
    bench_close(&bench);
}

static void what_stands_at_its_default_still_changes(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    assert_int_equal(write_word(&bench, POWER, 50), 0);
    assert_int_equal(read_word(&bench, FAN), 2);
    bench_close(&bench);
}

/* 7.5 kW are 10.06 hp (1 hp = 745.7 W). */
static void a_new_unit_makes_another_number_of_the_same_value(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    assert_int_equal(write_word(&bench, REGION, 1), 0);
    assert_int_equal(read_word(&bench, PLATE), 101);
    bench_close(&bench);
}

/* It stands at its default, which is the highest value. */
static void the_next_value_is_within_the_range(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    assert_int_equal(write_word(&bench, MODE, 1), 0);
    assert_int_equal(read_word(&bench, GAIN), 7);
    bench_close(&bench);
}

static void an_equal_value_changes_nothing(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    assert_int_equal(write_word(&bench, POWER, 40), 0);
    assert_int_equal(read_word(&bench, SLIP), 200);
    assert_int_equal(read_word(&bench, FAN), 1);
    bench_close(&bench);
}

static void a_refused_write_changes_nothing(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    key(&bench, "start", 0, "starting, towards 50.00 Hz");
    assert_int_equal(write_word(&bench, POWER, 80), 0x04);
    assert_int_equal(read_word(&bench, SLIP), 200);
    bench_close(&bench);
}

static void what_changed_is_kept_as_the_write_is(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    assert_int_equal(write_word(&bench, POWER, 80), 0);
    key(&bench, "power-cycle", 0, "power off and on again");
    assert_int_equal(read_word(&bench, POWER), 40);
    assert_int_equal(read_word(&bench, SLIP), 200);
    bench_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_follow_in_proportion),
        cmocka_unit_test(what_stands_at_its_default_still_changes),
        cmocka_unit_test(a_new_unit_makes_another_number_of_the_same_value),
        cmocka_unit_test(the_next_value_is_within_the_range),
        cmocka_unit_test(an_equal_value_changes_nothing),
        cmocka_unit_test(a_refused_write_changes_nothing),
        cmocka_unit_test(what_changed_is_kept_as_the_write_is),
    };
    return cmocka_run_group_tests_name("sim_own_changes", tests, NULL, NULL);
}
