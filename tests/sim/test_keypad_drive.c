/* SPDX-License-Identifier: MIT */
/* Power, terminals, exchange and states at the keypad, and what registers show of them. */
#include "sim/writes.h"

#include "sim/power.h"

/* The sets are there so that one means may have several registers. */
static const char map_text[] =
    "map: bench-whole\n"
    "modbus: {count_from: 0, word_order: high-first, longest_write: 8}\n"
    "parameters:\n"
    "  level: {at: holding 0, type: u16, settable: always, default: 5}\n"
    "  speed: {at: holding 1, type: u16, unit: rpm, settable: stopped, default: 1440 rpm}\n"
    "  start_source: {at: holding 2, type: u16, choices: {0: keypad, 1: terminals, 2: network}, settable: stopped,\n"
    "    means: control.start_source, default: terminals}\n"
    "  access: {at: holding 3, type: u16, default: 2}\n"
    "  control: {at: holding 4, type: u16, settable: always, kind: command}\n"
    "  serial: {at: holding 5, type: text(3 registers), means: drive.serial_number}\n"
    "  state: {at: input 0, type: u16, means: live.state, set: 1,\n"
    "    choices: {0: stopped, 1: starting, 2: running, 3: stopping, 4: sleeping, 9: tripped}}\n"
    "  bits: {at: input 1, type: bits, bits: {0: running, 1: stopped, 4: dc_braking}, means: live.state, set: 2}\n"
    "  run: {at: input 2, type: u16, choices: {3: absent, 4: present}, means: live.run_command, set: 1}\n"
    "  run_bits: {at: input 3, type: bits, bits: {2: forward, 3: reverse}, means: live.run_command, set: 2}\n"
    "  run_wire: {at: discrete 0, means: live.run_command, set: 3}\n"
    "  enable: {at: input 4, type: u16, choices: {0: disabled, 1: enabled}, means: live.enable, set: 1}\n"
    "  enable_wire: {at: discrete 1, means: live.enable, set: 2}\n";

enum { SECOND_US = 1000000 };
#define AT_S(seconds) ((seconds) * (int64_t)SECOND_US)

/* run, run_bits, run_wire, enable, enable_wire */
static void wires_show(const struct bench *bench, bool run, bool enable)
{
    assert_int_equal(bench_raw(bench, "run"), run ? 4 : 3);
    assert_int_equal(bench_raw(bench, "run_bits"), run ? 4 : 0);
    assert_int_equal(bench_raw(bench, "run_wire"), run);
    assert_int_equal(bench_raw(bench, "enable"), enable);
    assert_int_equal(bench_raw(bench, "enable_wire"), enable);
}

static void wires_are_shown_each_for_itself(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, "start_source=keypad");
    wires_show(&bench, false, false);
    key(&bench, "enable on", 0, "enable on, stopped");
    wires_show(&bench, false, true);
    key(&bench, "enable off", 0, "enable off, stopped");
    key(&bench, "run-command on", 0, "run command on, stopped");
    wires_show(&bench, true, false);
    key(&bench, "enable maybe", 0, "'maybe' is neither on nor off");
    key(&bench, "enable", 0, "'enable' wants something behind it: enable on|off");
    bench_close(&bench);
}

static void both_wires_start_and_the_run_command_stops(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    key(&bench, "run-command on", 0, "run command on, stopped");
    key(&bench, "enable on", 0, "enable on, starting");
    drive_refresh(&bench.drive, AT_S(60));
    assert_int_equal(bench_raw(&bench, "state"), 2);
    wires_show(&bench, true, true);
    key(&bench, "run-command off", AT_S(60), "run command off, stopping");
    drive_refresh(&bench.drive, AT_S(120));
    assert_int_equal(bench_raw(&bench, "state"), 0);
    wires_show(&bench, false, true);
    bench_close(&bench);
}

static void an_opened_enable_lets_it_coast(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    key(&bench, "run-command on", 0, "run command on, stopped");
    key(&bench, "enable on", 0, "enable on, starting");
    key(&bench, "enable off", AT_S(5), "enable off, stopped");
    key(&bench, "enable on", AT_S(6), "enable on, starting");
    bench_close(&bench);
}

static void a_wired_run_command_starts_when_terminals_become_the_source(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, "start_source=keypad");
    key(&bench, "run-command on", 0, "run command on, stopped");
    key(&bench, "enable on", 0, "enable on, stopped");
    assert_int_equal(write_word(&bench, 2, 1), 0);
    drive_refresh(&bench.drive, SECOND_US);
    assert_int_equal(bench.drive.model.state, MOTOR_STARTING);
    bench_close(&bench);
}

/* With both wires on, neither a reset nor the return of power starts it. */
static void a_start_takes_a_new_run_command(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    key(&bench, "run-command on", 0, "run command on, stopped");
    key(&bench, "enable on", 0, "enable on, starting");
    key(&bench, "trip", SECOND_US, "tripped");
    key(&bench, "reset", SECOND_US, "reset, stopped");
    drive_refresh(&bench.drive, AT_S(2));
    assert_int_equal(bench.drive.model.state, MOTOR_STOPPED);
    key(&bench, "power-cycle", AT_S(2), "power off and on again");
    drive_refresh(&bench.drive, AT_S(3));
    assert_int_equal(bench.drive.model.state, MOTOR_STOPPED);
    key(&bench, "run-command off", AT_S(3), "run command off, stopped");
    key(&bench, "run-command on", AT_S(3), "run command on, starting");
    bench_close(&bench);
}

static void power_stops_and_resets(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    key(&bench, "start", 0, "starting, towards 50.00 Hz");
    key(&bench, "power-cycle", SECOND_US, "power off and on again");
    assert_int_equal(bench_raw(&bench, "state"), 0);
    key(&bench, "trip", SECOND_US, "tripped");
    key(&bench, "power-cycle", SECOND_US, "power off and on again");
    assert_int_equal(bench_raw(&bench, "state"), 0);
    bench_close(&bench);
}

static void without_power_it_does_not_start(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    assert_false(drive_is_off(&bench.drive, 0));
    key(&bench, "power-cycle 2s", SECOND_US, "power off for 2s");
    assert_true(drive_is_off(&bench.drive, AT_S(3) - 1));
    assert_false(drive_is_off(&bench.drive, AT_S(3)));
    key(&bench, "start", AT_S(2), "not started: it has no power");
    key(&bench, "enable on", AT_S(2), "enable on, stopped");
    key(&bench, "run-command on", AT_S(2), "run command on, stopped");
    key(&bench, "start", AT_S(3), "starting, towards 50.00 Hz");
    key(&bench, "power-cycle soon", AT_S(3), "'soon' is no time without power; expected one up to 1 h, such as 2 s");
    key(&bench, "power-cycle 2 h", AT_S(3), "'2 h' is no time without power; expected one up to 1 h, such as 2 s");
    bench_close(&bench);
}

static void factory_reset_is_for_settings_and_lasts(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, "speed=1200");
    key(&bench, "set access=1", 0, "access: 1 (raw 0x0001)");
    assert_int_equal(write_word(&bench, 0, 9), 0);
    assert_int_equal(write_word(&bench, 4, 33), 0);
    key(&bench, "start", 0, "starting, towards 50.00 Hz");
    key(&bench, "factory-reset", 0, "not reset: it runs; stop it first");
    assert_int_equal(read_word(&bench, 0), 9);
    key(&bench, "enable off", 0, "enable off, stopped");
    key(&bench, "factory-reset", 0, "factory settings");
    key(&bench, "power-cycle", 0, "power off and on again");
    assert_int_equal(read_word(&bench, 0), 5);
    assert_int_equal(read_word(&bench, 1), 1440);
    assert_int_equal(read_word(&bench, 3), 1);
    assert_int_equal(read_word(&bench, 4), 33);
    bench_close(&bench);
}

/* Its default is to start from the terminals, whose wires are both on. */
static void factory_settings_start_nothing(void **state)
{
    static const char *const keys[][2] = {
        {"factory-reset", "factory settings"},
        {"exchange SN-2", "another drive, serial number SN-2, with factory settings"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        struct bench bench;
        bench_open(&bench, map_text, NULL, "start_source=keypad");
        key(&bench, "run-command on", 0, "run command on, stopped");
        key(&bench, "enable on", 0, "enable on, stopped");
        key(&bench, keys[i][0], 0, keys[i][1]);
        drive_refresh(&bench.drive, SECOND_US);
        assert_int_equal(read_word(&bench, 2), 1);
        assert_int_equal(bench.drive.model.state, MOTOR_STOPPED);
        bench_close(&bench);
    }
}

static void another_drive_has_another_number_and_factory_settings(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, "speed=1200");
    assert_int_equal(write_word(&bench, 0, 9), 0);
    key(&bench, "start", 0, "starting, towards 50.00 Hz");
    key(&bench, "exchange SN-77", 0, "another drive, serial number SN-77, with factory settings");
    key(&bench, "show serial", 0, "serial: \"SN-77\"");
    key(&bench, "show state", 0, "state: stopped (raw 0x0000)");
    key(&bench, "wear", 0, "values put into lasting memory 0, save commands 0, writes of what was there already 0");
    assert_int_equal(read_word(&bench, 0), 5);
    assert_int_equal(read_word(&bench, 1), 1440);
    key(&bench, "power-cycle", 0, "power off and on again");
    key(&bench, "show serial", 0, "serial: \"SN-77\"");
    struct error error = {0};
    assert_true(power_can_exchange(&bench.drive, "SN-99", &error));
    assert_false(power_can_exchange(&bench.drive, "SN-9999", &error));
    key(&bench, "show serial", 0, "serial: \"SN-77\"");
    key(&bench, "exchange SN-7777", 0, "serial: 'SN-7777' is longer than the 6 characters that its registers hold");
    key(&bench, "show serial", 0, "serial: \"SN-77\"");
    bench_close(&bench);
}

static void a_map_without_serial_number_has_no_other_drive(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench,
               "map: bench-none\n"
               "modbus: {count_from: 0}\n"
               "parameters: {level: {at: holding 0, type: u16, settable: always, default: 5}}\n",
               NULL, NULL);
    key(&bench, "exchange 5", 0, "the map has no drive.serial_number, so nobody could tell another drive");
    key(&bench, "state sleeping", 0, "the map has no state 'sleeping'");
    bench_close(&bench);
}

static void any_state_that_the_map_names_can_be_shown(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    assert_int_equal(bench_raw(&bench, "bits"), 2);
    key(&bench, "state sleeping", 0, "shows itself as sleeping");
    assert_int_equal(bench_raw(&bench, "state"), 4);
    assert_int_equal(bench_raw(&bench, "bits"), 2); /* it has no word for that */
    assert_int_equal(write_word(&bench, 1, 1200), 0x04);
    assert_int_equal(write_word(&bench, 0, 9), 0);
    key(&bench, "state dc_braking", 0, "shows itself as dc_braking");
    assert_int_equal(bench_raw(&bench, "bits"), 16);
    assert_int_equal(bench_raw(&bench, "state"), 0);
    key(&bench, "state sleping", 0, "the map has no state 'sleping'; did you mean 'sleeping'?");
    key(&bench, "state own", 0, "shows its own state, stopped");
    assert_int_equal(bench_raw(&bench, "bits"), 2);
    assert_int_equal(write_word(&bench, 1, 1200), 0);
    bench_close(&bench);
}

/* A drive that calls itself stopped while its motor turns still refuses. */
static void a_wrong_state_lets_nobody_write(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    key(&bench, "start", 0, "starting, towards 50.00 Hz");
    key(&bench, "state stopped", 0, "shows itself as stopped");
    assert_int_equal(bench_raw(&bench, "state"), 0);
    assert_int_equal(write_word(&bench, 1, 1200), 0x04);
    key(&bench, "power-cycle", 0, "power off and on again");
    key(&bench, "start", 0, "starting, towards 50.00 Hz");
    assert_int_equal(bench_raw(&bench, "state"), 1);
    bench_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wires_are_shown_each_for_itself),
        cmocka_unit_test(both_wires_start_and_the_run_command_stops),
        cmocka_unit_test(an_opened_enable_lets_it_coast),
        cmocka_unit_test(a_wired_run_command_starts_when_terminals_become_the_source),
        cmocka_unit_test(a_start_takes_a_new_run_command),
        cmocka_unit_test(power_stops_and_resets),
        cmocka_unit_test(without_power_it_does_not_start),
        cmocka_unit_test(factory_reset_is_for_settings_and_lasts),
        cmocka_unit_test(factory_settings_start_nothing),
        cmocka_unit_test(another_drive_has_another_number_and_factory_settings),
        cmocka_unit_test(a_map_without_serial_number_has_no_other_drive),
        cmocka_unit_test(any_state_that_the_map_names_can_be_shown),
        cmocka_unit_test(a_wrong_state_lets_nobody_write),
    };
    return cmocka_run_group_tests_name("sim_keypad_drive", tests, NULL, NULL);
}
