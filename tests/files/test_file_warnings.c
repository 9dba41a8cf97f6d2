/* SPDX-License-Identifier: MIT */
/* What makes a file doubtful but not useless: each warning with its position and words, and the file loads. */
#include "files_bench.h"

static const struct bad_text map_rows[] = {
    {"register_40001", NULL, "map: m\nmodbus: {count_from: 1}\nparameters: {p: {at: holding 40001, type: u16}}\n", 0,
     "f.yaml:3:22: at: register 40001 is rare; if the manual prints 40001, the word before it stands for the leading "
     "4: write holding 1"},
    {"register_30017", NULL, "map: m\nmodbus: {count_from: 1}\nparameters: {p: {at: input 30017, type: u16}}\n", 0,
     "f.yaml:3:22: at: register 30017 is rare; if the manual prints 30017, the word before it stands for the leading "
     "3: write input 17"},
    {"register_10001", NULL, "map: m\nmodbus: {count_from: 1}\nparameters: {p: {at: discrete 10001}}\n", 0,
     "f.yaml:3:22: at: register 10001 is rare; if the manual prints 10001, the word before it stands for the leading "
     "1: write discrete 1"},
    {"ramp_without_span", BENCH_MAP, "  p: {at: holding 1, type: u16, unit: s, means: ramp.deceleration_time}\n", 0,
     "f.yaml:4:49: p has no ramp_span, so its ramp is not compared; expected what the time runs over, such as "
     "limit.maximum_frequency"},
    {"overload_unsaid", BENCH_MAP, "  p: {at: holding 1, type: u16, unit: A, means: motor.overload_current}\n", 0,
     "f.yaml:4:49: p does not say what its current is; expected overload_is: reference or trip-current"},
    {"set_without_set_in_force", BENCH_MAP, "  p: {at: holding 1, type: u16, set: 2}\n", 0,
     "f.yaml:4:38: set 2 has no set_in_force at the top level, so nothing tells whether it counts; expected "
     "set_in_force: {parameter: NAME}"},
    {"state_without_standstill", BENCH_MAP,
     "  p: {at: holding 1, type: u16, settable: stopped}\n  s: {at: input 1, type: bits, bits: {3: tripped}, means: "
     "live.state}\n",
     0,
     "f.yaml:5:59: s cannot prove that the motor stands, and p may be set only then; expected a bit or choice named "
     "stopped, or a bit named running"},
    {"state_word_without_standstill", BENCH_MAP,
     "  p: {at: holding 1, type: u16, settable: stopped}\n  s: {at: input 1, type: u16, choices: {0: running, 1: "
     "ready}, means: live.state}\n",
     0,
     "f.yaml:5:71: s cannot prove that the motor stands, and p may be set only then; expected a bit or choice named "
     "stopped, or a bit named running"},
    {"no_state", BENCH_MAP, "  p: {at: holding 1, type: u16, settable: stopped}\n", 0,
     "f.yaml:4:43: settable stopped: no parameter means live.state, so nothing proves that the motor stands; expected "
     "one"},
    {"halves_unsaid", BENCH_MAP, "  p: {at: holding 1, type: u32, settable: always}\n", 0,
     "f.yaml:4:28: p has two registers and longest_write is 1, but nothing says which goes first; it cannot be written "
     "without write_words: low-first or high-first"},
    {"save_unsaid", BENCH_MAP, "  p: {at: holding 1, type: u16}\nkeeps: after-save\n", 0,
     "f.yaml:5:8: keeps after-save, but save does not say how: what is written would be lost at power-off; expected "
     "save: {at: holding ..., write: ...}"},
};

static const struct bad_text sheet_rows[] = {
    {"column_unsaid", BENCH_SHEET, "motor: {rated_voltage: 230/460 V}\n", 0,
     "f.yaml:4:1: the plate has 2 columns, and connected_for does not say which one counts; expected one of 230 V, 460 "
     "V"},
    {"setting_without_a_parameter", BENCH_SHEET, "settings: {limit.maximum_frequency: 60 Hz}\n", 0,
     "f.yaml:4:12: no parameter of the map means limit.maximum_frequency: not checked"},
    {"setting_above_accepts", BENCH_SHEET, "settings: {lift: 60 Hz}\n", 0,
     "f.yaml:4:18: lift: 60 Hz is outside of what lift accepts; expected a value within accepts"},
    {"bound_below_accepts", BENCH_SHEET, "settings: {lift: {between: [4 Hz, 50 Hz]}}\n", 0,
     "f.yaml:4:18: lift: 4 Hz is outside of what lift accepts; expected a value within accepts"},
    {"allowance_without_a_parameter", BENCH_SHEET, "allow: [{means: motor.rated_speed, within: 10 rpm, because: x}]\n",
     0, "f.yaml:4:17: no parameter of the map means motor.rated_speed: not checked"},
};

static int open_with_map(void **state)
{
    int result = bench_open(state);
    if (result == 0)
        bench_write("m.yaml", BENCH_SHEET_MAP);
    return result;
}

static void map_is_warned_of(void **state)
{
    bad_check(*state, BAD_MAP, true);
}

static void sheet_is_warned_of(void **state)
{
    bad_check(*state, BAD_SHEET, true);
}

static int run_maps(void)
{
    BAD_TESTS(map_rows, map_is_warned_of);
    return cmocka_run_group_tests_name("map_warnings", tests, bench_open, bench_close);
}

static int run_sheets(void)
{
    BAD_TESTS(sheet_rows, sheet_is_warned_of);
    return cmocka_run_group_tests_name("sheet_warnings", tests, open_with_map, bench_close);
}

int main(void)
{
    return run_maps() + run_sheets();
}
