/* SPDX-License-Identifier: MIT */
/* Which changes a sheet asks for, and to which raw values. */
#include "change/list_bench.h"

#include <math.h>

/* One register, the sheet's lines, what it holds, and the raw value that is to be written. */
struct case_of_one {
    const char *name, *parameter, *sheet;
    uint32_t now, to;
};

#define SETTINGS "settings:\n"
#define MOTOR                                                                                                          \
    "motor: {rated_power: 2 hp, rated_voltage: 460 V, rated_current: 3.0 A, rated_frequency: 60 Hz,"                   \
    " rated_speed: 1745 rpm}\n"

static const struct case_of_one cases[] = {
    {"a plate's figure", "type: u16, scale: 0.01, unit: A, means: motor.rated_current", MOTOR, 600, 300},
    {"in another unit", "type: u16, scale: 0.01, unit: kW, means: motor.rated_power", MOTOR, 400, 149},
    {"in mA, of 32 bits", "type: u32, unit: mA, means: motor.rated_current", MOTOR, 6000, 3000},
    {"with an offset", "type: u16, scale: 0.1, offset: -100, unit: Hz, means: limit.maximum_frequency",
     SETTINGS "  limit.maximum_frequency: 60 Hz\n", 0, 1600},
    {"a negative scale", "type: s16, scale: -0.1, unit: Hz, means: analog.low_frequency",
     SETTINGS "  analog.low_frequency: 5 Hz\n", 0, 0xffce},
    {"signed, below zero", "type: s16, scale: 0.1, unit: Hz, means: analog.low_frequency",
     SETTINGS "  analog.low_frequency: -5 Hz\n", 0, 0xffce},
    {"a float", "type: f32, unit: Hz, means: limit.maximum_frequency", SETTINGS "  limit.maximum_frequency: 60 Hz\n",
     0x42480000, 0x42700000}, /* 50 and 60 by IEEE 754 binary32, by Python's struct */
    {"the nearest of a coarse scale", "type: u16, scale: 0.7, unit: Hz, means: limit.maximum_frequency",
     SETTINGS "  limit.maximum_frequency: 60 Hz\n", 10, 86}, /* 60.2; 59.5 is farther */
    {"at least, from below", "type: u16, scale: 0.1, unit: A, means: limit.current",
     SETTINGS "  limit.current: {at_least: 3.05 A}\n", 10, 31},
    {"at most, from above", "type: u16, scale: 0.1, unit: A, means: limit.current",
     SETTINGS "  limit.current: {at_most: 4.55 A}\n", 60, 45},
    {"between, from above", "type: u16, scale: 0.1, unit: Hz, means: limit.skip_band",
     SETTINGS "  limit.skip_band: {between: [20.02 Hz, 25.08 Hz]}\n", 300, 250},
    {"between, from below", "type: u16, scale: 0.1, unit: Hz, means: limit.skip_band",
     SETTINGS "  limit.skip_band: {between: [20.02 Hz, 25.08 Hz]}\n", 0, 201},
    {"at most, from a word", "type: u16, scale: 0.1, unit: A, means: limit.current, special: {0: off}",
     SETTINGS "  limit.current: {at_most: 4.5 A}\n", 0, 45},
    {"a choice", "type: u16, choices: {0: coast, 4: ramp}, means: control.stop_method",
     SETTINGS "  control.stop_method: ramp\n", 0, 4},
    {"a choice by its number", "type: u16, choices: {2: two, 4: four}, means: motor.poles",
     SETTINGS "  motor.poles: 4\n", 2, 4},
    {"a special word", "type: u16, unit: A, special: {0: none, 99: off}", SETTINGS "  p: off\n", 5, 99},
    {"a bit", "type: bool", SETTINGS "  p: yes\n", 0, 1},
    {"a plain number", "type: u16", SETTINGS "  p: 7\n", 3, 7},
    {"a time over another span", "type: u16, scale: 0.1, unit: s, means: ramp.acceleration_time, ramp_span: 50 Hz",
     SETTINGS "  ramp.acceleration_time: {time: 12 s, from: 0 Hz, to: 60 Hz}\n", 7, 100},
    {"a rate", "type: u16, scale: 0.1, unit: Hz/s, means: ramp.acceleration_time",
     SETTINGS "  ramp.acceleration_time: {time: 12 s, from: 0 Hz, to: 60 Hz}\n", 7, 50},
    {"per cent of the sheet's",
     "type: u16, scale: 0.1, unit: \"%\", percent_of: motor.rated_current, base: sheet,"
     " means: limit.current",
     MOTOR SETTINGS "  limit.current: 4.5 A\n", 100, 1500},
    {"where zero and one are no numbers",
     "type: u16, scale: 0.1, unit: Hz, means: limit.maximum_frequency, special: {1: off, 2: {same_as: "
     "motor.rated_frequency}}, no_value: [3, 10000]",
     SETTINGS "  limit.maximum_frequency: 60 Hz\n", 1, 600},
};

static void one_parameter(void **state)
{
    const struct case_of_one *row = *state;
    struct list_bench bench;
    char *map = text_format(LIST_MAP(LIST_KEYS, "  p: {at: holding 100, settable: always, %s}\n"), row->parameter);
    char *sheet = text_format(LIST_SHEET("%s"), row->sheet);
    char *expected = text_format("p=%u", row->to);
    list_open(&bench, map, sheet);
    list_answer(&bench, "p", row->now);
    expect_changes(&bench, expected);
    const struct change *item = &bench.list.items[0];
    assert_int_equal(codec_raw(item->now, item->words, ORDER_HIGH_FIRST), row->now);
    assert_int_equal(item->outcome, WRITE_PLANNED);
    assert_non_null(item->why);
    /* once written, there is nothing left to do */
    list_answer(&bench, "p", row->to);
    expect_changes(&bench, "");
    list_close(&bench);
    free(map);
    free(sheet);
    free(expected);
}

static void a_change_says_what_it_is(void **state)
{
    (void)state;
    struct list_bench bench;
    list_open(&bench,
              LIST_MAP(LIST_KEYS,
                       "  p: {at: holding 9, type: u16, scale: 0.01, unit: A, means: motor.rated_current, settable: "
                       "stopped}\n"
                       "  q: {at: holding 10, type: u16, choices: {0: ignore, 1: trip}, means: motor.overload_action, "
                       "settable: stopped}\n"),
              LIST_SHEET(MOTOR SETTINGS "  motor.overload_action: trip\n"));
    list_answer(&bench, "p", 600);
    expect_changes(&bench, "p=300 q=1");
    const struct change *p = &bench.list.items[0], *q = &bench.list.items[1];
    assert_string_equal(p->now_shown, "6.00 A");
    assert_string_equal(p->to_shown, "3.00 A");
    assert_string_equal(p->why, "nameplate current");
    assert_true(fabs(p->now_number - 6) < 1e-9 && fabs(p->to_number - 3) < 1e-9);
    assert_int_equal(p->unit, UNIT_A);
    assert_int_equal(p->stake, STAKE_EQUIPMENT);
    assert_string_equal(q->now_shown, "ignore");
    assert_string_equal(q->to_shown, "trip");
    assert_true(isnan(q->now_number) && isnan(q->to_number));
    assert_int_equal(q->stake, STAKE_PEOPLE);
    assert_false(bench.list.restores);
    assert_int_equal(bench.list.save, SAVE_NONE);
    list_close(&bench);
}

/* A register's unit, scale and base as the drive has them now. */
static void selectors_and_bases_count_as_they_are_read(void **state)
{
    (void)state;
    struct list_bench bench;
    list_open(&bench,
              LIST_MAP(LIST_KEYS,
                       "  region: {at: holding 8, type: u16}\n"
                       "  size: {at: holding 9, type: u16, scale: 0.1, unit: A, means: drive.rated_current}\n"
                       "  power: {at: holding 10, type: u16, scale: 0.1, settable: stopped, means: motor.rated_power,\n"
                       "          unit_by: {parameter: region, 0: kW, 1: hp}}\n"
                       "  current: {at: holding 11, type: u16, scale: 0.1, unit: \"%\", settable: stopped,\n"
                       "            means: motor.rated_current, percent_of: drive.rated_current, base: register}\n"),
              LIST_SHEET(MOTOR));
    list_answer(&bench, "size", 40);
    expect_changes(&bench, "power=15 current=750"); /* 2 hp are 1.49 kW (BIPM: 1 hp is 745.7 W); 3.0 of 4.0 A */
    list_answer(&bench, "region", 1);
    list_answer(&bench, "size", 60);
    expect_changes(&bench, "power=20 current=500");
    assert_string_equal(bench.list.items[1].to_shown, "3.000 A");
    list_fail(&bench, "region", SYMPTOM_NO_REPLY);
    expect_changes(&bench, "current=500");
    expect_left(&bench, "power is not read (selector: region is not read, which decides unit), so it is not written");
    list_close(&bench);
}

static void what_a_register_cannot_hold_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *parameter, *setting, *part;
        uint32_t now;
    } rows[] = {
        {"type: u16, scale: 0.0001, unit: A", "7 A", "the register cannot hold 7.0000 A", 1},
        {"type: u16, unit: A, special: {7: off}", "7 A", "the nearest that it has is", 1},
        {"type: u16, unit: A, no_value: [7]", "7 A", "the nearest that it has is", 1},
        {"type: u16, unit: A, special: {0: off}", "{between: [5 A, 9 A]}", "say one in the sheet", 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct list_bench bench;
        char *map = text_format(LIST_MAP(LIST_KEYS, "  p: {at: holding 9, settable: always, %s}\n"), rows[i].parameter);
        char *sheet = text_format(LIST_SHEET("settings: {p: %s}\n"), rows[i].setting);
        list_open(&bench, map, sheet);
        list_answer(&bench, "p", rows[i].now);
        expect_refusal(&bench, "p", rows[i].part);
        list_close(&bench);
        free(map);
        free(sheet);
    }
}

static void what_is_no_matter_of_the_list_is_left(void **state)
{
    (void)state;
    struct list_bench bench;
    list_open(
        &bench,
        LIST_MAP(LIST_KEYS,
                 "  fixed: {at: holding 9, type: u16, unit: V, means: supply.voltage}\n"
                 "  unread: {at: holding 10, type: u16, unit: A, means: motor.rated_current, settable: stopped}\n"
                 "  level: {at: holding 11, type: u16}\n"
                 "  locked: {at: holding 12, type: u16, unit: V, means: motor.rated_voltage, settable: stopped,\n"
                 "           locked_by: {level: 0}}\n"
                 "  tuned: {at: holding 13, type: u16, unit: A, means: motor.no_load_current, settable: stopped,\n"
                 "          tuned: yes}\n"
                 "  name: {at: holding 14, type: text(2), settable: always}\n"
                 "  other: {at: holding 16, type: u16, settable: always}\n"),
        LIST_SHEET("supply: {voltage: 480 V}\nsettings: {name: pump}\n"
                   "motor: {rated_voltage: 460 V, rated_current: 3.0 A, no_load_current: 1.5 A}\n"));
    list_answer(&bench, "fixed", 400);
    list_fail(&bench, "unread", SYMPTOM_NO_REPLY);
    list_answer(&bench, "tuned", 9);
    list_answer_text(&bench, "name", "fan");
    expect_changes(&bench, "");
    assert_int_equal(bench.list.left.count, 5);
    expect_left(&bench, "fixed cannot be set by this map: it holds 400 V, and differs (the sheet's supply voltage)");
    expect_left(&bench, "unread is not read (no-reply), so it is not written");
    expect_left(&bench,
                "locked is not read (locked: raise the level at the keypad (level is 0)), so it is not written");
    expect_left(&bench, "tuned is found by the drive itself, by motor tuning: it holds 9 A");
    expect_left(&bench, "name is a text, which is set at the keypad: it holds fan");
    list_close(&bench);
}

static void what_lasts_is_said(void **state)
{
    (void)state;
    static const struct {
        const char *keys, *refused, *left;
        enum save_outcome save;
    } rows[] = {
        {"keeps: at-once\n", NULL, NULL, SAVE_NONE},
        {"keeps: after-save\nsave: {at: holding 90, write: 1}\n", NULL, NULL, SAVE_PLANNED},
        {"keeps: after-save\n", "no save command", NULL, SAVE_NONE},
        {"keeps: never\n", "lost at power off", NULL, SAVE_NONE},
        {"", NULL, "The map does not say whether a written value outlasts power off", SAVE_NONE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct list_bench bench;
        char *map = text_format(LIST_MAP(LIST_IDENTITY "%s", "  p: {at: holding 9, type: u16, settable: always}\n"),
                                rows[i].keys);
        list_open(&bench, map, LIST_SHEET("settings: {p: 7}\n"));
        if (rows[i].refused != NULL)
            expect_refusal(&bench, NULL, rows[i].refused);
        else
            expect_changes(&bench, "p=7");
        assert_int_equal(bench.list.save, rows[i].save);
        assert_int_equal(bench.list.left.count, rows[i].left != NULL);
        if (rows[i].left != NULL)
            expect_left(&bench, rows[i].left);
        list_answer(&bench, "p", 7); /* nothing to change: nothing to keep */
        expect_changes(&bench, "");
        assert_int_equal(bench.list.save, SAVE_NONE);
        list_close(&bench);
        free(map);
    }
}

static bool is_wanted(const struct list_bench *bench, const struct wanted *wanted, const char *name)
{
    return wanted_has(wanted, list_index(bench, name));
}

static void everything_that_a_list_rests_on_is_read(void **state)
{
    (void)state;
    struct list_bench bench;
    struct wanted wanted = {0};
    list_open(&bench,
              LIST_MAP(LIST_KEYS, "  region: {at: holding 9, type: u16}\n"
                                  "  nobody: {at: holding 10, type: u16}\n"
                                  "  p: {at: holding 11, type: u16, settable: always, unit: Hz, accepts: 0 Hz to "
                                  "live.frequency_command,\n"
                                  "      scale_by: {parameter: region, 0: 1, 1: 2}}\n"
                                  "  command: {at: holding 12, type: u16, settable: always, kind: command}\n"
                                  "  speed: {at: holding 13, type: u16, settable: always, cuts_line: yes}\n"
                                  "  run: {at: input 1, type: bool, means: live.run_command}\n"
                                  "  enable: {at: input 2, type: bool, means: live.enable}\n"
                                  "  asked: {at: input 3, type: u16, unit: Hz, means: live.frequency_command}\n"
                                  "  hours: {at: input 4, type: u16, unit: h, means: live.hours_run}\n"
                                  "  plate: {at: input 5, type: u16, unit: V, means: supply.voltage}\n"),
              LIST_SHEET(""));
    change_reads(&bench.map, &bench.setpoints, &wanted);
    static const char *const due[] = {"model", "serial", "firmware", "state", "region", "p",
                                      "speed", "run",    "enable",   "asked", "plate"};
    for (size_t i = 0; i < sizeof due / sizeof *due; i++)
        if (!is_wanted(&bench, &wanted, due[i]))
            fail_msg("%s is not read", due[i]);
    assert_int_equal(wanted.count, sizeof due / sizeof *due);
    wanted_free(&wanted);
    list_close(&bench);
}

int main(void)
{
    enum { ONES = sizeof cases / sizeof *cases };
    const struct CMUnitTest others[] = {
        cmocka_unit_test(a_change_says_what_it_is),
        cmocka_unit_test(selectors_and_bases_count_as_they_are_read),
        cmocka_unit_test(what_a_register_cannot_hold_is_refused),
        cmocka_unit_test(what_is_no_matter_of_the_list_is_left),
        cmocka_unit_test(what_lasts_is_said),
        cmocka_unit_test(everything_that_a_list_rests_on_is_read),
    };
    struct CMUnitTest ones[ONES];
    for (size_t i = 0; i < ONES; i++)
        ones[i] = (struct CMUnitTest){
            .name = cases[i].name, .test_func = one_parameter, .initial_state = (void *)(uintptr_t)&cases[i]};
    int failed = cmocka_run_group_tests(ones, bench_open, bench_close);
    return failed + cmocka_run_group_tests(others, bench_open, bench_close);
}
