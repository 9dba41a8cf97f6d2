/* SPDX-License-Identifier: MIT */
/* What refuses a whole list, each with its reason, and leaves it without a code. */
#include "change/list_bench.h"

#define STOPPED_P "  p: {at: holding 9, type: u16, settable: stopped}\n"
#define ALWAYS_P  "  p: {at: holding 9, type: u16, settable: always}\n"
#define ASKS      LIST_SHEET("settings: {p: 7}\n")

static void another_unit_model_or_serial_number(void **state)
{
    (void)state;
    struct list_bench bench;
    list_open(&bench, LIST_MAP(LIST_KEYS, STOPPED_P), ASKS);
    expect_changes(&bench, "p=7");
    bench.order.unit = 0;
    expect_refusal(&bench, NULL, "every drive on the line");
    bench.order.unit = 4;
    list_answer(&bench, "model", 0x5144);
    expect_refusal(&bench, "model", "another model");
    list_fail(&bench, "model", SYMPTOM_NO_REPLY);
    expect_refusal(&bench, "model", "is not read");
    list_close(&bench);

    list_open(&bench, LIST_MAP(LIST_KEYS, STOPPED_P),
              "tag: T\ndrive: {map: m.yaml, serial_number: S-100}\nline: {host: h, unit: 4}\nsettings: {p: 7}\n");
    expect_changes(&bench, "p=7");
    list_answer_text(&bench, "serial", "S-101");
    expect_refusal(&bench, NULL, "the sheet is of the drive with serial number S-100, and this one's is S-101");
    list_fail(&bench, "serial", SYMPTOM_NO_REPLY);
    expect_refusal(&bench, NULL, "this one's is not read");
    list_close(&bench);
}

/* Something has to tell which drive this is. */
static void a_map_without_identity_needs_the_serial_number(void **state)
{
    (void)state;
    struct list_bench bench;
    list_open(&bench, LIST_MAP("keeps: at-once\n", STOPPED_P), ASKS);
    expect_refusal(&bench, NULL, "nothing proves which drive this is");
    list_close(&bench);
    list_open(&bench, LIST_MAP("keeps: at-once\n", STOPPED_P),
              "tag: T\ndrive: {map: m.yaml, serial_number: S-100}\nline: {host: h, unit: 4}\nsettings: {p: 7}\n");
    expect_changes(&bench, "p=7");
    list_close(&bench);
}

static void what_is_never_written(void **state)
{
    (void)state;
    struct list_bench bench;
    list_open(&bench,
              LIST_MAP(LIST_KEYS, STOPPED_P "  baud: {at: holding 10, type: u16, settable: always, cuts_line: yes}\n"),
              LIST_SHEET("settings: {p: 7, baud: 2}\n"));
    expect_refusal(&bench, "baud", "would cut the line");
    assert_int_equal(bench.list.count, 1); /* it is not among the changes */
    list_close(&bench);

    list_open(&bench,
              "map: m\nmodbus: {count_from: 0, word_order: high-first}\n" LIST_KEYS
              "parameters:\n  model: {at: holding 0, type: u16}\n  serial: {at: holding 1, type: text(4)}\n"
              "  firmware: {at: holding 5, type: u16}\n"
              "  state: {at: input 0, type: bits, bits: {0: running}, means: live.state}\n"
              "  p: {at: holding 9, type: u32, settable: always}\n",
              ASKS);
    expect_refusal(&bench, "p", "cannot be written: "); /* in halves, and which goes first is not said */
    list_close(&bench);
}

static void a_value_outside_of_its_range(void **state)
{
    (void)state;
    static const struct {
        const char *accepts, *setting, *part;
    } rows[] = {
        {"accepts: 10 A to 20 A", "9 A", "its range begins at 10 A"},
        {"accepts: 10 A to 20 A", "21 A", "its range ends at 20 A"},
        {"accepts: 10 A to 20 A", "20 A", NULL},
        {"accepts: 10 A to 20 A", "10000 mA", NULL},
        {"accepts: 10 A to drive.rated_current", "16 A", "its range ends at size"},
        {"accepts: 10 A to drive.rated_current", "15 A", NULL},
        {"accepts: 10 A to motor.no_load_current", "15 A", "motor.no_load_current, which the map does not have"},
        {"special: {0: off}, accepts: 10 A to 20 A", "off", NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct list_bench bench;
        char *map = text_format(LIST_MAP(LIST_KEYS, "  size: {at: holding 8, type: u16, unit: A, means: "
                                                    "drive.rated_current}\n"
                                                    "  p: {at: holding 9, settable: always, type: u16, unit: A, %s}\n"),
                                rows[i].accepts);
        char *sheet = text_format(LIST_SHEET("settings: {p: %s}\n"), rows[i].setting);
        list_open(&bench, map, sheet);
        list_answer(&bench, "size", 15);
        list_answer(&bench, "p", 12);
        if (rows[i].part != NULL)
            expect_refusal(&bench, "p", rows[i].part);
        else
            assert_int_equal(list_make(&bench)->refusal_count, 0);
        list_close(&bench);
        free(map);
        free(sheet);
    }
}

/* A range in per cent is compared with per cent, though the value is shown in amperes. */
static void a_percentage_outside_of_its_range(void **state)
{
    (void)state;
    struct list_bench bench;
    list_open(&bench,
              LIST_MAP(LIST_KEYS,
                       "  size: {at: holding 8, type: u16, scale: 0.1, unit: A, means: drive.rated_current}\n"
                       "  p: {at: holding 9, type: u16, unit: \"%\", percent_of: drive.rated_current, base: register,\n"
                       "      means: limit.current, accepts: 10 % to 120 %, settable: always}\n"),
              LIST_SHEET("settings: {limit.current: 12 A}\n"));
    list_answer(&bench, "size", 100);
    expect_changes(&bench, "p=120");
    list_answer(&bench, "size", 96);
    expect_refusal(&bench, "p", "its range ends at 120 %");
    list_close(&bench);
}

static void what_decides_another_one_on_the_list(void **state)
{
    (void)state;
    static const char *const dependents[] = {
        "unit_by: {parameter: s, 0: A, 1: mA}",
        "unit: A, scale_by: {parameter: s, 0: 1, 1: 0.1}",
        "unit: A, applies_when: {s: 0}",
        "unit: A, locked_by: {s: 9}",
        "unit: A, set: 1",
    };
    for (size_t i = 0; i < sizeof dependents / sizeof *dependents; i++) {
        struct list_bench bench;
        char *map = text_format(LIST_MAP(LIST_KEYS "set_in_force: {parameter: s, 0: 1, 1: 2}\n",
                                         "  s: {at: holding 8, type: u16, settable: always}\n"
                                         "  p: {at: holding 9, type: u16, settable: always, %s}\n"),
                                dependents[i]);
        list_open(&bench, map, LIST_SHEET("settings: {s: 1, p: 7 A}\n"));
        expect_refusal(&bench, "s", "it decides how to read p");
        list_answer(&bench, "p", 7); /* alone it may be written, and others are to be looked at again */
        expect_changes(&bench, "s=1");
        expect_left(&bench, "s decides how to read p");
        list_close(&bench);
        free(map);
    }
}

/* Its base decides a percentage; what only lends a special value its number does not. */
static void a_base_decides_and_a_lender_does_not(void **state)
{
    (void)state;
    struct list_bench bench;
    list_open(&bench,
              LIST_MAP(LIST_KEYS,
                       "  base: {at: holding 8, type: u16, unit: A, means: motor.rated_current, settable: always}\n"
                       "  p: {at: holding 9, type: u16, unit: \"%\", percent_of: motor.rated_current, base: register,\n"
                       "      means: limit.current, settable: always}\n"),
              LIST_SHEET("motor: {rated_current: 3 A}\nsettings: {limit.current: 4 A}\n"));
    list_answer(&bench, "base", 9);
    expect_refusal(&bench, "base", "it decides how to read p");
    list_close(&bench);

    list_open(
        &bench,
        LIST_MAP(LIST_KEYS,
                 "  up: {at: holding 8, type: u16, unit: s, means: ramp.acceleration_time, ramp_span: 60 Hz,\n"
                 "       settable: always}\n"
                 "  down: {at: holding 9, type: u16, unit: s, means: ramp.deceleration_time, ramp_span: 60 Hz,\n"
                 "         special: {1: {same_as: ramp.acceleration_time}, 9999: {same_as: ramp.acceleration_time}},\n"
                 "         settable: always}\n"
                 "  z: {at: holding 10, type: u16, settable: always, applies_when: {up: 3}}\n"),
        LIST_SHEET("settings: {limit.maximum_frequency: 60 Hz, ramp.acceleration_time: 10 s,\n"
                   "  ramp.deceleration_time: 15 s}\n"));
    list_answer(&bench, "down", 9999);
    list_answer(&bench, "up", 3000);
    expect_changes(&bench, "up=10 down=15");
    expect_left(&bench, "up decides how to read z");
    list_close(&bench);
}

static void a_drive_that_is_not_stopped(void **state)
{
    (void)state;
    static const char *const settable[] = {STOPPED_P, ALWAYS_P};
    for (size_t i = 0; i < 2; i++) {
        struct list_bench bench;
        char *map = text_format("%s%s", LIST_MAP(LIST_KEYS, ""), settable[i]);
        list_open(&bench, map, ASKS);
        list_answer(&bench, "state", 2); /* `reverse` is no state */
        expect_changes(&bench, "p=7");
        list_answer(&bench, "state", 1);
        expect_refusal(&bench, NULL, "not proved stopped (running)");
        list_answer(&bench, "state", 0x80);
        expect_refusal(&bench, NULL, "not proved stopped (tripped)");
        list_fail(&bench, "state", SYMPTOM_NO_REPLY);
        expect_refusal(&bench, NULL, "not proved stopped (not read)");
        list_answer(&bench, "p", 7); /* with nothing to change there is nothing to refuse */
        expect_changes(&bench, "");
        list_close(&bench);
        free(map);
    }
}

static void what_could_start_the_shaft(void **state)
{
    (void)state;
    struct list_bench bench;
    const char *sheet = LIST_SHEET("settings: {control.start_source: terminals}\n");
#define SOURCE                                                                                                         \
    "  source: {at: holding 9, type: u16, choices: {0: keypad, 1: terminals}, means: control.start_source,\n"          \
    "           settable: always}\n"
    list_open(&bench, LIST_MAP(LIST_KEYS, SOURCE), sheet);
    expect_refusal(&bench, "source", "the map has no live.run_command: set this at the keypad, with enable open");
    list_close(&bench);

    list_open(&bench,
              LIST_MAP(LIST_KEYS, SOURCE "  run: {at: input 1, type: bool, means: live.run_command}\n"
                                         "  enable: {at: input 2, type: bool, means: live.enable}\n"),
              sheet);
    expect_changes(&bench, "source=1");
    list_answer(&bench, "enable", 1);
    expect_refusal(&bench, "source", "live.enable (enable) does not read absent, but true");
    list_fail(&bench, "enable", SYMPTOM_NO_REPLY);
    expect_refusal(&bench, "source", "live.enable (enable) is not read");
    list_answer(&bench, "run", 1);
    expect_refusal(&bench, "source", "live.run_command (run) does not read absent, but true");
    list_close(&bench);
}

/* ---- a sheet that contradicts itself ---- */

#define IN_DOUBT_MAP                                                                                                   \
    LIST_MAP(LIST_KEYS, "  current: {at: holding 9, type: u16, scale: 0.1, unit: A, means: motor.rated_current,\n"     \
                        "            settable: always}\n"                                                              \
                        "  minimum: {at: holding 10, type: u16, scale: 0.1, unit: Hz, settable: always}\n"             \
                        "  maximum: {at: holding 11, type: u16, scale: 0.1, unit: Hz, settable: always,\n"             \
                        "            means: limit.maximum_frequency}\n"                                                \
                        "  up: {at: holding 12, type: u16, unit: s, means: ramp.acceleration_time,\n"                  \
                        "       ramp_span: limit.maximum_frequency, settable: always}\n"                               \
                        "  stop: {at: holding 13, type: u16, choices: {0: coast, 1: ramp}, settable: always,\n"        \
                        "         means: control.stop_method}\n")

/* Exactly these are refused, "a b c" in the map's order. */
static void expect_refused(struct list_bench *bench, const char *names)
{
    struct texts parts = {0};
    (void)list_make(bench);
    for (size_t i = 0; i < bench->list.refusal_count; i++) {
        assert_non_null(bench->list.refusals[i].parameter);
        assert_non_null(strstr(bench->list.refusals[i].reason, "the sheet cannot be right: "));
        texts_add(&parts, text_copy(bench->list.refusals[i].parameter));
    }
    char *all = texts_join(&parts, " ");
    if (strcmp(all, names) != 0)
        list_print(bench);
    assert_string_equal(all, names);
    free(all);
    texts_free(&parts);
}

static void an_implausible_sheet_refuses_what_hangs_on_it(void **state)
{
    (void)state;
    static const struct {
        const char *means, *refused;
    } rows[] = {
        {"sheet.motor.rated_current", "current up"},
        {"sheet.motors.own_overloads", "current up"},
        {"sheet.drive.bus_trip", "current maximum up stop"},
        {"sheet.settings.stop", "stop"},
        {"sheet.settings.control.stop_method", "stop"},
        {"sheet.settings.minimum", "minimum"},
        {"sheet.settings.limit.maximum_frequency", "maximum up"},
        {"sheet.settings.motor.rated_current", "current up"},
        {"sheet.settings.ramp.acceleration_time", "up"},
        {"sheet.something.new", "current minimum maximum up stop"},
    };
    struct list_bench bench;
    list_open(&bench, IN_DOUBT_MAP,
              LIST_SHEET("motor: {rated_current: 3.0 A}\n"
                         "settings: {minimum: 20 Hz, limit.maximum_frequency: 60 Hz, ramp.acceleration_time: 10 s,\n"
                         "  control.stop_method: ramp}\n"));
    assert_int_equal(bench.setpoints.implausible.count, 0);
    expect_changes(&bench, "current=30 minimum=200 maximum=600 up=10 stop=1");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        *findings_add(&bench.setpoints.implausible) = (struct finding){.means = text_copy(rows[i].means),
                                                                       .verdict = VERDICT_IMPLAUSIBLE,
                                                                       .basis = text_copy("two figures disagree")};
        expect_refused(&bench, rows[i].refused);
        findings_free(&bench.setpoints.implausible);
    }
    list_close(&bench);
}

/* As the nameplate's own checks find it: 3.0 A at 2 hp and 460 V would take eta cos(phi) of 62 %; 30 A cannot be. */
static void a_contradiction_on_the_plate_is_found(void **state)
{
    (void)state;
    struct list_bench bench;
    list_open(&bench, IN_DOUBT_MAP,
              LIST_SHEET("motor: {rated_power: 2 hp, rated_voltage: 460 V, rated_current: 30.0 A, rated_frequency: "
                         "60 Hz,\n  rated_speed: 1745 rpm, efficiency: 86.5 %, power_factor: 72 %}\n"
                         "settings: {minimum: 20 Hz}\n"));
    assert_true(bench.setpoints.implausible.count > 0);
    expect_refused(&bench, "current");
    list_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(another_unit_model_or_serial_number),
        cmocka_unit_test(a_map_without_identity_needs_the_serial_number),
        cmocka_unit_test(what_is_never_written),
        cmocka_unit_test(a_value_outside_of_its_range),
        cmocka_unit_test(a_percentage_outside_of_its_range),
        cmocka_unit_test(what_decides_another_one_on_the_list),
        cmocka_unit_test(a_base_decides_and_a_lender_does_not),
        cmocka_unit_test(a_drive_that_is_not_stopped),
        cmocka_unit_test(what_could_start_the_shaft),
        cmocka_unit_test(an_implausible_sheet_refuses_what_hangs_on_it),
        cmocka_unit_test(a_contradiction_on_the_plate_is_found),
    };
    return cmocka_run_group_tests(tests, bench_open, bench_close);
}
