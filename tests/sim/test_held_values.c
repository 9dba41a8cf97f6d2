/* SPDX-License-Identifier: MIT */
/* What a simulated drive holds: factory defaults, a sheet's right values, and what --set puts on top. */
#include "sim/fixture.h"
#include "sim/near.h"

#include "sim/assign.h"
#include "sim/live.h"
#include "sim/scaling.h"

static const char map_text[] =
    "map: bench-values\n"
    "modbus: {count_from: 0, word_order: low-first, longest_read: 50, longest_write: 20}\n"
    "identity: [{parameter: model_code, equals: 77}, {parameter: model_name, equals: BENCH}]\n"
    "network_watchdog: {parameter: silence_time, off: 0}\n"
    "set_in_force: {parameter: active_set}\n"
    "parameters:\n"
    "  model_code: {at: holding 0, type: u16}\n"
    "  model_name: {at: holding 1, type: text(3 registers)}\n"
    "  drive_current: {at: holding 4, type: u16, scale: 0.1, unit: A, means: drive.rated_current, default: 5.0 A}\n"
    "  region: {at: holding 5, type: u16, choices: {0: metric, 1: imperial}, settable: stopped, default: metric}\n"
    "  step: {at: holding 6, type: u16, choices: {0: fine, 1: coarse}, settable: stopped, default: fine}\n"
    "  active_set: {at: holding 7, type: u16, default: 1}\n"
    "  access_level: {at: holding 8, type: u16, choices: {0: display, 1: basic, 2: full}, default: display}\n"
    "  silence_time: {at: holding 9, type: u16, scale: 0.1, unit: s, settable: always, default: 3.0 s}\n"
    "  motor_power: {at: holding 10, type: u16, scale: 0.01, unit_by: {parameter: region, 0: kW, 1: hp},\n"
    "    means: motor.rated_power, settable: stopped}\n"
    "  motor_current: {at: holding 11, type: u16, scale: 0.1, unit: '%', percent_of: drive.rated_current,\n"
    "    means: motor.rated_current, set: 1, settable: stopped, default: 100 %}\n"
    "  motor_current_2: {at: holding 12, type: u16, scale: 0.1, unit: '%', percent_of: drive.rated_current,\n"
    "    means: motor.rated_current, set: 2, settable: stopped, default: 100 %}\n"
    "  motor_voltage: {at: holding 13, type: u16, unit: V, means: motor.rated_voltage, settable: stopped, default: 400 "
    "V}\n"
    "  motor_frequency: {at: holding 14, type: u16, scale_by: {parameter: step, 0: 0.01, 1: 0.1}, unit: Hz,\n"
    "    means: motor.rated_frequency, settable: stopped, default: 50 Hz}\n"
    "  motor_speed: {at: holding 15, type: u16, unit: rpm, means: motor.rated_speed, settable: stopped, default: 1440 "
    "rpm}\n"
    "  acceleration_time: {at: holding 16, type: u32, scale: 0.1, unit: s, means: ramp.acceleration_time,\n"
    "    ramp_span: {by: region, 0: 50 Hz, 1: 60 Hz}, settable: always, default: 5 s}\n"
    "  deceleration_rate: {at: holding 18, type: f32, unit: Hz/s, means: ramp.deceleration_time, settable: always,\n"
    "    default: 5 Hz/s}\n"
    "  maximum_frequency: {at: holding 20, type: u16, scale: 0.1, unit: Hz, means: limit.maximum_frequency,\n"
    "    settable: stopped, default: 50 Hz}\n"
    "  start_source: {at: holding 21, type: u16, choices: {0: keypad, 1: terminals}, means: control.start_source,\n"
    "    settable: stopped, default: keypad}\n"
    "  secret: {at: holding 22, type: u16, settable: stopped, locked_by: {access_level: [0, 1]}, default: 42}\n"
    "  note: {at: holding 23, type: text(2 registers), default: OK}\n"
    "  spare: {at: holding 25, type: u16, settable: always, accepts: 3 to 9}\n"
    "  hold: {at: holding 26, type: u16, scale: 0.1, unit: s, settable: always, special: {0: never, 65535: always},\n"
    "    default: 1.0 s}\n"
    "  state: {at: input 0, type: bits, bits: {0: running, 2: at_speed, 7: tripped}, means: live.state}\n"
    "  output_current: {at: input 1, type: u16, scale: 0.01, unit: A, means: live.output_current}\n"
    "  bus: {at: input 2, type: u16, unit: V, means: live.dc_bus_voltage}\n";

static const char sheet_text[] =
    "tag: T-1\n"
    "drive: {map: map.yaml, rated_current: 4.0 A}\n"
    "line: {host: 127.0.0.1, unit: 3}\n"
    "supply: {voltage: 480 V, phases: 3, frequency: 60 Hz}\n"
    "motor: {rated_power: 2 hp, rated_voltage: 230/460 V, rated_current: 6.0/3.0 A, connected_for: 460 V,\n"
    "  rated_frequency: 60 Hz, rated_speed: 1745 rpm, efficiency: 86.5 %, power_factor: 72 %}\n"
    "settings:\n"
    "  limit.maximum_frequency: 60 Hz\n"
    "  ramp.acceleration_time: 12 s\n"
    "  ramp.deceleration_time: 15 s\n"
    "  control.start_source: terminals\n";

static void factory_defaults_without_a_sheet(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    assert_int_equal(bench_raw(&bench, "model_code"), 77);
    assert_int_equal(bench_raw(&bench, "motor_voltage"), 400);
    assert_int_equal(bench_raw(&bench, "motor_frequency"), 5000);
    assert_int_equal(bench_raw(&bench, "motor_current"), 1000);
    assert_int_equal(bench_raw(&bench, "silence_time"), 30);
    assert_int_equal(bench_raw(&bench, "access_level"), 0);
    assert_int_equal(bench_raw(&bench, "spare"), 3);
    bench_close(&bench);
}

static void texts_hold_identity_and_default(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    const uint16_t *name = drive_words(&bench.drive, map_find(&bench.map, "model_name"));
    assert_int_equal(name[0], 0x4245);
    assert_int_equal(name[2], 0x4800);
    assert_int_equal(drive_words(&bench.drive, map_find(&bench.map, "note"))[0], 0x4f4b);
    bench_close(&bench);
}

static void nameplate_of_the_connected_column(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, NULL);
    assert_int_equal(bench_raw(&bench, "motor_voltage"), 460);
    assert_int_equal(bench_raw(&bench, "motor_speed"), 1745);
    assert_int_equal(bench_raw(&bench, "motor_frequency"), 6000);
    assert_int_equal(bench_raw(&bench, "start_source"), 1);
    bench_close(&bench);
}

/* 3.0 A of the drive's 4.0 A is 75.0 %, in both motor sets. */
static void percentages_go_by_the_drives_own_base_in_all_sets(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, NULL);
    assert_int_equal(bench_raw(&bench, "drive_current"), 40);
    assert_int_equal(bench_raw(&bench, "motor_current"), 750);
    assert_int_equal(bench_raw(&bench, "motor_current_2"), 750);
    bench_close(&bench);
}

/* 2 hp = 1.4914 kW: 149 in hundredths of a kW; region imperial makes it 200 in hundredths of a hp. */
static void selected_units_change_the_register(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, NULL);
    assert_int_equal(bench_raw(&bench, "motor_power"), 149);
    bench_close(&bench);
    bench_open(&bench, map_text, sheet_text, "region=imperial");
    assert_int_equal(bench_raw(&bench, "region"), 1);
    assert_int_equal(bench_raw(&bench, "motor_power"), 200);
    bench_close(&bench);
}

static void selected_scales_change_the_register(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, "step=coarse");
    assert_int_equal(bench_raw(&bench, "motor_frequency"), 600);
    bench_close(&bench);
}

/* 12 s from 0 to 60 Hz: 10.0 s over the metric 50 Hz, 12.0 s over 60 Hz; 60 Hz in 15 s: 4 Hz/s = 0x40800000. */
static void ramps_are_in_the_registers_terms(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, NULL);
    assert_int_equal(bench_raw(&bench, "acceleration_time"), 100);
    assert_int_equal(bench_raw(&bench, "deceleration_rate"), 0x40800000);
    bench_close(&bench);
    bench_open(&bench, map_text, sheet_text, "region=imperial");
    assert_int_equal(bench_raw(&bench, "acceleration_time"), 120);
    bench_close(&bench);
}

static void ramp_registers_drive_the_motor(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, NULL);
    const struct drive_settings settings = live_settings(&bench.drive);
    assert_near(settings.acceleration_hz_per_s, 5, 1e-9); /* 50 Hz in 10 s */
    assert_near(settings.deceleration_hz_per_s, 4, 1e-9);
    assert_near(settings.maximum_hz, 60, 1e-9);
    bench_close(&bench);
}

/* The set that the drive goes by is the one that its motor feels. */
static void the_active_set_counts(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, "motor_current_2=2 A");
    assert_near(scaling_means(&bench.drive, MEANS_MOTOR_RATED_CURRENT), 3.0, 1e-9);
    drive_put_raw(&bench.drive, map_find(&bench.map, "active_set"), 2);
    assert_near(scaling_means(&bench.drive, MEANS_MOTOR_RATED_CURRENT), 2.0, 1e-9);
    bench_close(&bench);
}

/* 60 Hz in 12 s: 5 Hz/s, 0.2 s/Hz, 150 rpm/s for four poles, 10 s over 50 Hz, 12 s over the maximum. */
static void every_kind_of_ramp_register_means_the_same(void **state)
{
    (void)state;
    static const char *const rows[] = {
        "type: f32, unit: Hz/s",
        "type: f32, unit: s/Hz",
        "type: f32, unit: rpm/s",
        "type: f32, unit: s, ramp_span: 50 Hz",
        "type: f32, unit: s, ramp_span: 1500 rpm",
        "type: u32, unit: ms, ramp_span: limit.maximum_frequency",
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *map = text_format("map: bench-ramps\n"
                                "modbus: {count_from: 0, word_order: high-first}\n"
                                "parameters:\n"
                                "  ramp: {at: holding 0, %s, means: ramp.acceleration_time, settable: always}\n"
                                "  highest: {at: holding 2, type: u16, unit: Hz, means: limit.maximum_frequency}\n",
                                rows[i]);
        char *sheet = text_format("tag: T-2\n"
                                  "drive: {map: map.yaml}\n"
                                  "line: {host: 127.0.0.1, unit: 3}\n"
                                  "motor: {rated_power: 2 hp, rated_voltage: 460 V, rated_current: 3.0 A,\n"
                                  "  rated_frequency: 60 Hz, rated_speed: 1745 rpm}\n"
                                  "settings: {limit.maximum_frequency: 60 Hz, ramp.acceleration_time: 12 s}\n");
        struct bench bench;
        bench_open(&bench, map, sheet, NULL);
        const struct drive_settings settings = live_settings(&bench.drive);
        assert_near(settings.acceleration_hz_per_s, 5, 1e-6);
        bench_close(&bench);
        free(map);
        free(sheet);
    }
}

static void low_word_comes_first(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, "acceleration_time=7000 s"); /* raw 70000 = 0x00011170 */
    const uint16_t *words = drive_words(&bench.drive, map_find(&bench.map, "acceleration_time"));
    assert_int_equal(words[0], 0x1170);
    assert_int_equal(words[1], 0x0001);
    bench_close(&bench);
}

static void a_commissioned_drive_is_unlocked_and_unwatched(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, NULL);
    assert_int_equal(bench_raw(&bench, "access_level"), 2);
    assert_false(drive_is_locked(&bench.drive, map_find(&bench.map, "secret")));
    assert_int_equal(bench_raw(&bench, "silence_time"), 0);
    bench_close(&bench);
    bench_open(&bench, map_text, sheet_text, "access_level=basic");
    assert_true(drive_is_locked(&bench.drive, map_find(&bench.map, "secret")));
    bench_close(&bench);
}

static void quantities_are_converted(void **state)
{
    (void)state;
    static const struct {
        const char *set;
        const char *name;
        uint32_t raw;
    } rows[] = {
        {"motor_current=6.0 A", "motor_current", 1500}, /* 150.0 % of 4.0 A */
        {"motor_current=150 %", "motor_current", 1500}, /* as such */
        {"motor_current=150", "motor_current", 1500},   /* the register's own unit */
        {"motor_current=raw 0x0258", "motor_current", 600},
        {"motor_power=2 kW", "motor_power", 200},
        {"motor_power = 1 hp", "motor_power", 75}, /* 0.7457 kW */
        {"acceleration_time=500 ms", "acceleration_time", 5},
        {"deceleration_rate=60", "deceleration_rate", 0x42700000},
        {"start_source=terminals", "start_source", 1},
        {"start_source=7", "start_source", 7},
        {"hold=always", "hold", 65535},
        {"hold=2.5", "hold", 25},
        {"state=running,tripped", "state", 0x0081},
        {"state=none", "state", 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench;
        bench_open(&bench, map_text, sheet_text, rows[i].set);
        if (bench_raw(&bench, rows[i].name) != rows[i].raw)
            print_error("%s gave raw %u\n", rows[i].set, bench_raw(&bench, rows[i].name));
        assert_int_equal(bench_raw(&bench, rows[i].name), rows[i].raw);
        bench_close(&bench);
    }
}

static void wrong_settings_say_what_was_expected(void **state)
{
    (void)state;
    static const struct {
        const char *set;
        const char *says;
    } rows[] = {
        {"motor_current", "expected PARAMETER=VALUE"},
        {"=5", "expected PARAMETER=VALUE"},
        {"motor_curent=5 A", "did you mean 'motor_current'?"},
        {"motor_current=5 V", "wrong kind of unit"},
        {"motor_current=5 a", "did you mean"},
        {"motor_voltage=70000", "does not fit"},
        {"motor_voltage=raw 0x12345", "does not fit in 16 bits"},
        {"motor_voltage=raw many", "expected a whole number"},
        {"motor_voltage=much", "is no number"},
        {"motor_voltage=010", "010"},
        {"start_source=terminal", "did you mean 'terminals'?"},
        {"start_source=moon", "expected one of: keypad, terminals"},
        {"state=flying", "is no bit of it"},
        {"note=LONGER", "longer than the 4 characters"},
    };
    struct bench bench;
    bench_load(&bench, map_text, sheet_text);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct error error = {0};
        const char *const sets[] = {rows[i].set};
        assert_false(drive_init(&bench.drive, &bench.map, &bench.sheet, sets, 1, 0, &error));
        assert_int_equal(error.kind, ERROR_USE);
        if (strstr(error.text, rows[i].says) == NULL)
            print_error("%s: '%s' lacks '%s'\n", rows[i].set, error.text, rows[i].says);
        assert_non_null(strstr(error.text, rows[i].says));
        drive_free(&bench.drive);
    }
    bench_close(&bench);
}

static void live_registers_follow_the_motor(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, NULL);
    assert_int_equal(bench_raw(&bench, "state"), 0);
    assert_int_equal(bench_raw(&bench, "bus"), 679); /* 480 V times the root of 2 */
    assert_true(drive_model_start(&bench.drive.model));
    drive_refresh(&bench.drive, 5000000);
    assert_int_equal(bench_raw(&bench, "state"), 1);
    drive_refresh(&bench.drive, 20000000);
    assert_int_equal(bench_raw(&bench, "state"), 1 | 4);
    assert_in_range(bench_raw(&bench, "output_current"), 200, 300);
    assert_true(drive_model_trip(&bench.drive.model));
    drive_refresh(&bench.drive, 20000001);
    assert_int_equal(bench_raw(&bench, "state"), 0x80);
    bench_close(&bench);
}

static void a_set_live_value_stays(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, sheet_text, "output_current=9.5 A");
    assert_true(drive_model_start(&bench.drive.model));
    drive_refresh(&bench.drive, 20000000);
    assert_int_equal(bench_raw(&bench, "output_current"), 950);
    bench_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(factory_defaults_without_a_sheet),
        cmocka_unit_test(texts_hold_identity_and_default),
        cmocka_unit_test(nameplate_of_the_connected_column),
        cmocka_unit_test(percentages_go_by_the_drives_own_base_in_all_sets),
        cmocka_unit_test(selected_units_change_the_register),
        cmocka_unit_test(selected_scales_change_the_register),
        cmocka_unit_test(ramps_are_in_the_registers_terms),
        cmocka_unit_test(ramp_registers_drive_the_motor),
        cmocka_unit_test(the_active_set_counts),
        cmocka_unit_test(every_kind_of_ramp_register_means_the_same),
        cmocka_unit_test(low_word_comes_first),
        cmocka_unit_test(a_commissioned_drive_is_unlocked_and_unwatched),
        cmocka_unit_test(quantities_are_converted),
        cmocka_unit_test(wrong_settings_say_what_was_expected),
        cmocka_unit_test(live_registers_follow_the_motor),
        cmocka_unit_test(a_set_live_value_stays),
    };
    return cmocka_run_group_tests_name("sim_held_values", tests, NULL, NULL);
}
