/* SPDX-License-Identifier: MIT */
/* The simulator's keypad: what each key does, and what it says to a wrong one. */
#include "sim/fixture.h"
#include "sim/near.h"

#include "sim/keypad.h"

static const char map_text[] =
    "map: bench-keypad\n"
    "modbus: {count_from: 0}\n"
    "parameters:\n"
    "  current: {at: holding 0, type: u16, scale: 0.01, unit: A, means: motor.rated_current, default: 4 A}\n"
    "  frequency: {at: holding 1, type: u16, scale: 0.1, unit: Hz, means: motor.rated_frequency, default: 50 Hz}\n"
    "  highest: {at: holding 2, type: u16, scale: 0.1, unit: Hz, means: limit.maximum_frequency, default: 60 Hz}\n"
    "  command: {at: holding 3, type: u16, scale: 0.01, unit: Hz, means: live.frequency_command}\n"
    "  state: {at: input 0, type: u16, choices: {0: stopped, 1: starting, 2: running, 9: tripped}, means: live.state}\n"
    "  label: {at: holding 4, type: text(3 registers), default: PUMP}\n";

/* Presses at time `now_us`; the answer must be exactly `expected` (NULL: none). */
static void presses(struct bench *bench, const char *line, int64_t now_us, const char *expected)
{
    bool quit = false;
    char *answer = keypad_line(&bench->drive, line, now_us, &quit);
    assert_false(quit);
    if (expected == NULL)
        assert_null(answer);
    else
        assert_string_equal(answer, expected);
    free(answer);
}

static void start_ramps_to_the_command(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    presses(&bench, "frequency 30", 0, "frequency command 30.00 Hz");
    presses(&bench, "start", 0, "starting, towards 30.00 Hz");
    presses(&bench, "show state", 1000000, "state: starting (raw 0x0001)");
    presses(&bench, "show state", 60000000, "state: running (raw 0x0002)");
    assert_near(bench.drive.model.output_hz, 30, 1e-9);
    presses(&bench, "start", 60000000, "not started: it runs already");
    bench_close(&bench);
}

static void stop_goes_down_to_stopped(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    presses(&bench, "stop", 0, "nothing to stop: the drive is stopped");
    presses(&bench, "start", 0, "starting, towards 50.00 Hz");
    presses(&bench, "stop", 60000000, "stopping");
    presses(&bench, "show state", 120000000, "state: stopped (raw 0x0000)");
    bench_close(&bench);
}

static void frequency_is_shown_and_held_within_the_limit(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    presses(&bench, "frequency 0.07 kHz", 0, "frequency command 70.00 Hz");
    presses(&bench, "show command", 0, "command: 70.00 Hz (raw 0x1B58)");
    presses(&bench, "start", 0, "starting, towards 60.00 Hz");
    presses(&bench, "frequency -5", 0, "'-5' is below 0 Hz; the simulated motor turns forward only");
    bench_close(&bench);
}

static void trip_holds_until_reset(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    presses(&bench, "reset", 0, "nothing to reset: the drive is not tripped");
    presses(&bench, "trip", 0, "tripped");
    presses(&bench, "show state", 0, "state: tripped (raw 0x0009)");
    presses(&bench, "start", 0, "not started: the drive is tripped; reset it first");
    presses(&bench, "reset", 0, "reset, stopped");
    presses(&bench, "start", 0, "starting, towards 50.00 Hz");
    bench_close(&bench);
}

static void set_and_show_values(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    presses(&bench, "set current=6.0 A", 0, "current: 6.00 A (raw 0x0258)");
    presses(&bench, "show current", 0, "current: 6.00 A (raw 0x0258)");
    presses(&bench, "  set   current = raw 0x64  ", 0, "current: 1.00 A (raw 0x0064)");
    presses(&bench, "set label=FAN 2", 0, "label: \"FAN 2\"");
    presses(&bench, "set command=25 Hz", 0, "command: 25.00 Hz (raw 0x09C4)");
    presses(&bench, "start", 0, "starting, towards 25.00 Hz");
    bench_close(&bench);
}

static void wrong_input_is_answered_helpfully(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    presses(&bench, "strat", 0, "no key 'strat'; did you mean 'start'?");
    presses(&bench, "xyzzy", 0, "no key 'xyzzy'; 'help' lists them");
    presses(&bench, "start now", 0, "'start' takes nothing behind it, found 'now'");
    presses(&bench, "show", 0, "'show' wants something behind it: show NAME");
    presses(&bench, "show curent", 0, "the map has no parameter 'curent'; did you mean 'current'?");
    presses(&bench, "", 0, NULL);
    presses(&bench, "   ", 0, NULL);
    assert_int_equal(bench.drive.model.state, MOTOR_STOPPED);
    bench_close(&bench);
}

static void help_names_every_key(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    presses(
        &bench, "help", 0,
        "keys: start, stop, frequency HZ, run-command on|off, enable on|off, set NAME=VALUE, show NAME, wear, trip, "
        "reset, state WORD, power-cycle [TIME], factory-reset, exchange SERIAL, help, quit");
    bench_close(&bench);
}

static void quit_ends(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    bool quit = false;
    char *answer = keypad_line(&bench.drive, "quit", 0, &quit);
    assert_true(quit);
    free(answer);
    bench_close(&bench);
}

static void collect(void *user, const char *text)
{
    texts_add(user, text_copy(text));
}

static void lines_come_together_from_pieces(void **state)
{
    (void)state;
    struct keypad_input input = {0};
    struct texts lines = {0};
    keypad_feed(&input, "st", 2, collect, &lines);
    assert_int_equal(lines.count, 0);
    keypad_feed(&input, "art\nshow x\nhe", 13, collect, &lines);
    assert_int_equal(lines.count, 2);
    assert_string_equal(lines.items[0], "start");
    assert_string_equal(lines.items[1], "show x");
    texts_free(&lines);
}

static void a_line_without_end_is_cut(void **state)
{
    (void)state;
    struct keypad_input input = {0};
    struct texts lines = {0};
    for (int i = 0; i < 2000; i++)
        keypad_feed(&input, "a", 1, collect, &lines);
    keypad_feed(&input, "\n", 1, collect, &lines);
    assert_int_equal(lines.count, 1);
    assert_int_equal(strlen(lines.items[0]), sizeof input.text - 1);
    texts_free(&lines);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(start_ramps_to_the_command),
        cmocka_unit_test(stop_goes_down_to_stopped),
        cmocka_unit_test(frequency_is_shown_and_held_within_the_limit),
        cmocka_unit_test(trip_holds_until_reset),
        cmocka_unit_test(set_and_show_values),
        cmocka_unit_test(wrong_input_is_answered_helpfully),
        cmocka_unit_test(help_names_every_key),
        cmocka_unit_test(quit_ends),
        cmocka_unit_test(lines_come_together_from_pieces),
        cmocka_unit_test(a_line_without_end_is_cut),
    };
    return cmocka_run_group_tests_name("sim_keypad", tests, NULL, NULL);
}
