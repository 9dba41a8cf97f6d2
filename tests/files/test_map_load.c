/* SPDX-License-Identifier: MIT */
/* Maps that are right: what each key puts into the struct, and what stands there where a map is silent. */
#include "files_bench.h"

/* The digest was taken with sha256sum of coreutils. */
static void digest_is_of_the_bytes(void **state)
{
    (void)state;
    struct map map = {0};
    bench_write("d.yaml", "map: m\nmodbus: {count_from: 0}\nparameters: {p: {at: coil 1}}\n");
    bench_load_map("d.yaml", &map);
    assert_string_equal(map.sha256, "bf3d463b7a4d09cea18a1f5f460d53bef79f1051d359563eb8937a7ef3c2c175");
    map_free(&map);
}

static void load_snippet(struct map *map, const char *text)
{
    char *whole = text_format(BENCH_MAP "%s", text);
    bench_write("s.yaml", whole);
    free(whole);
    bench_load_map("s.yaml", map);
}

static void silence_means_defaults(void **state)
{
    (void)state;
    struct map map = {0};
    bench_write("s.yaml", "map: m\nmodbus: {count_from: 0}\nparameters: {p: {at: input 7, type: s16}}\n");
    bench_load_map("s.yaml", &map);
    assert_null(map.about);
    assert_int_equal(map.modbus.word_order, ORDER_UNKNOWN);
    assert_int_equal(map.modbus.longest_read, 125);
    assert_int_equal(map.modbus.longest_write, 1);
    assert_true(map.modbus.answers_within_s == 0.5);
    assert_int_equal(map.modbus.writes_with, WRITES_UNSAID);
    assert_int_equal(map.modbus.connections, 0);
    const struct parameter *p = &map.parameters[0];
    assert_true(p->scale == 1 && p->offset == 0);
    assert_int_equal(p->unit, UNIT_NONE);
    assert_int_equal(p->means, MEANS_NONE);
    assert_int_equal(p->settable, SETTABLE_NEVER);
    assert_int_equal(p->base, BASE_REGISTER);
    assert_int_equal(p->accepts_low.kind, BOUND_NONE);
    assert_false(p->default_value.given || p->watch || p->could_start || p->tuned || p->cuts_line || p->is_percent);
    assert_int_equal(p->kind, KIND_VALUE);
    assert_int_equal(p->takes_effect, EFFECT_AT_ONCE);
    assert_int_equal(map.keeps, KEEPS_UNSAID);
    assert_int_equal(map.plate_at, PLATE_UNSAID);
    assert_false(map.save.given || map.set_in_force.given || map.network_watchdog.given);
    map_free(&map);
}

static void every_key_of_modbus(void **state)
{
    (void)state;
    struct map map = {0};
    bench_write("s.yaml",
                "map: m\nmodbus: {count_from: 1, word_order: low-first, longest_read: 0x7D, longest_write: 16,\n"
                "  answers_within: 1 s, rest_between: 5 ms, write_answers_within: 2 s, writes_with: either,\n"
                "  write_words: low-first, connections: 2, closed: [holding 10, input 0x10-0x1F]}\n"
                "parameters: {p: {at: holding 65536, type: u16}, q: {at: holding 1, type: u32},\n"
                "  r: {at: holding 20, type: u32, write_words: together}}\n");
    bench_load_map("s.yaml", &map);
    const struct modbus_habits *modbus = &map.modbus;
    assert_int_equal(modbus->longest_read, 125);
    assert_int_equal(modbus->longest_write, 16);
    assert_true(modbus->answers_within_s == 1 && modbus->rest_between_s == 0.005);
    assert_true(modbus->write_answers_within_s == 2);
    assert_int_equal(modbus->writes_with, WRITES_EITHER);
    assert_int_equal(modbus->connections, 2);
    assert_int_equal(modbus->closed_count, 2);
    assert_int_equal(modbus->closed[0].first, 9);
    assert_int_equal(modbus->closed[0].last, 9);
    assert_int_equal(modbus->closed[1].table, TABLE_INPUT);
    assert_int_equal(modbus->closed[1].first, 0x0f);
    assert_int_equal(map.parameters[0].at.at, 65535);
    assert_int_equal(map.parameters[1].at.at, 0);
    assert_int_equal(map.parameters[1].write_words, WRITE_LOW_FIRST);
    assert_int_equal(map.parameters[2].write_words, WRITE_TOGETHER);
    map_free(&map);
}

static void types_and_their_widths(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        enum value_type type;
        unsigned words;
    } expected[] = {{"a", TYPE_U16, 1},  {"b", TYPE_S16, 1},  {"c", TYPE_U32, 2},  {"d", TYPE_S32, 2},
                    {"e", TYPE_F32, 2},  {"f", TYPE_TEXT, 8}, {"g", TYPE_TEXT, 3}, {"h", TYPE_BOOL, 1},
                    {"i", TYPE_BOOL, 1}, {"j", TYPE_BOOL, 1}};
    struct map map = {0};
    load_snippet(&map, "  a: {at: holding 0, type: u16}\n  b: {at: holding 1, type: s16}\n"
                       "  c: {at: holding 2, type: u32}\n  d: {at: holding 4, type: s32}\n"
                       "  e: {at: holding 6, type: f32}\n  f: {at: holding 8, type: text(8 registers)}\n"
                       "  g: {at: holding 16, type: text(3)}\n  h: {at: holding 20, type: bool}\n"
                       "  i: {at: coil 0}\n  j: {at: discrete 65535, type: bool}\n");
    for (size_t i = 0; i < sizeof expected / sizeof *expected; i++) {
        assert_string_equal(map.parameters[i].name, expected[i].name);
        assert_int_equal(map.parameters[i].type, expected[i].type);
        assert_int_equal(map.parameters[i].words, expected[i].words);
    }
    map_free(&map);
}

static void selectors(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(&map,
                 "  p: {at: holding 0, type: u16, means: motor.rated_power,\n"
                 "      unit_by: {parameter: region, 0: kW, 1: hp}, scale_by: {parameter: step, -1: 0.01, 0x2: 1e-1},\n"
                 "      accepts: 0.1 kW to 7.5 kW}\n"
                 "  region: {at: holding 1, type: u16}\n"
                 "  step: {at: holding 2, type: s16}\n"
                 "  up: {at: holding 3, type: u16, unit: s, means: ramp.acceleration_time,\n"
                 "       ramp_span: {by: region, 0: limit.maximum_frequency, 1: 50 Hz, 2: 1800 rpm}}\n");
    const struct parameter *p = &map.parameters[0];
    assert_true(p->unit_by.given);
    assert_int_equal(p->unit_by.parameter, 1);
    assert_int_equal(p->unit_by.count, 2);
    assert_int_equal(p->unit_by.rows[1].raw, 1);
    assert_int_equal(p->unit_by.rows[1].unit, UNIT_HP);
    assert_int_equal(p->scale_by.parameter, 2);
    assert_int_equal(p->scale_by.rows[0].raw, 0xffff);
    assert_true(p->scale_by.rows[0].scale == 0.01);
    assert_int_equal(p->scale_by.rows[1].raw, 2);
    assert_true(p->scale_by.rows[1].scale == 0.1);
    assert_int_equal(p->accepts_high.value.unit, UNIT_KW);
    const struct ramp_span *span = &map.parameters[3].ramp_span;
    assert_true(span->given && span->by.given);
    assert_int_equal(span->by.count, 3);
    assert_int_equal(span->by.rows[0].span_means, MEANS_LIMIT_MAXIMUM_FREQUENCY);
    assert_true(span->by.rows[1].span.value == 50);
    assert_int_equal(span->by.rows[2].span.unit, UNIT_RPM);
    map_free(&map);
}

static void conditions_and_sets(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(&map, "  p: {at: holding 0, type: u16, set: 1, unit: A, means: motor.rated_current,\n"
                       "      applies_when: {motor_set: 1, mode: [0, 1]}, locked_by: {level: [0, 1]}}\n"
                       "  q: {at: holding 1, type: u16, set: 2, unit: A, means: motor.rated_current}\n"
                       "  motor_set: {at: holding 2, type: u16}\n"
                       "  mode: {at: holding 3, type: u16}\n"
                       "  level: {at: holding 4, type: u16}\n"
                       "set_in_force: {parameter: motor_set, 0: 1, 1: 2, 2: terminal}\n");
    const struct parameter *p = &map.parameters[0];
    assert_int_equal(p->set, 1);
    assert_int_equal(p->applies_when.count, 2);
    assert_int_equal(p->applies_when.items[0].parameter, 2);
    assert_int_equal(p->applies_when.items[0].raws.count, 1);
    assert_int_equal(p->applies_when.items[1].parameter, 3);
    assert_int_equal(p->applies_when.items[1].raws.count, 2);
    assert_int_equal(p->applies_when.items[1].raws.items[1], 1);
    assert_int_equal(p->locked_by.count, 1);
    assert_int_equal(p->locked_by.items[0].parameter, 4);
    assert_int_equal(map_find_means(&map, MEANS_MOTOR_RATED_CURRENT, 2), 1);
    assert_true(map.set_in_force.given);
    assert_int_equal(map.set_in_force.parameter, 2);
    assert_int_equal(map.set_in_force.count, 3);
    assert_int_equal(map.set_in_force.rows[1].set, 2);
    assert_true(map.set_in_force.rows[2].terminal);
    map_free(&map);
}

static void percentages_and_bounds(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(&map,
                 "  rated: {at: input 0, type: u16, scale: 0.1, unit: A, means: drive.rated_current}\n"
                 "  p: {at: holding 0, type: u16, scale: 0.1, means: limit.current, percent_of: drive.rated_current,\n"
                 "      accepts: 0 % to 200 %, default: 150 %}\n"
                 "  q: {at: holding 1, type: u16, unit: per unit, means: motor.no_load_current,\n"
                 "      percent_of: motor.rated_current, base: sheet}\n"
                 "  low: {at: holding 2, type: u16, unit: Hz, means: limit.minimum_frequency,\n"
                 "        accepts: 0 Hz to limit.maximum_frequency}\n");
    const struct parameter *p = &map.parameters[1];
    assert_true(p->is_percent);
    assert_int_equal(p->percent_of, MEANS_DRIVE_RATED_CURRENT);
    assert_int_equal(p->base, BASE_REGISTER);
    assert_int_equal(p->unit, UNIT_PERCENT);
    assert_true(p->default_value.value == 150);
    assert_int_equal(map.parameters[2].base, BASE_SHEET);
    assert_int_equal(map.parameters[2].unit, UNIT_PER_UNIT);
    assert_int_equal(map.parameters[3].accepts_high.kind, BOUND_MEANS);
    assert_int_equal(map.parameters[3].accepts_high.means, MEANS_LIMIT_MAXIMUM_FREQUENCY);
    assert_true(map.parameters[3].could_start);
    map_free(&map);
}

static void specials_and_nothing(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(&map, "  p: {at: holding 0, type: s16, unit: s, means: ramp.deceleration_time, ramp_span: 60 Hz,\n"
                       "      special: {0: off, 9999: {same_as: ramp.acceleration_time}}, no_value: [0x7FFF, -1],\n"
                       "      default: off}\n"
                       "  q: {at: holding 2, type: s32, no_value: -1}\n"
                       "  r: {at: holding 4, type: u16, choices: {0: no, 1: yes}, default: no}\n"
                       "  s: {at: holding 5, type: u16, choices: {0: no, 1: yes}, default: 0x1}\n"
                       "  t: {at: holding 6, type: text(2), default: AB}\n"
                       "  u: {at: coil 6, default: yes}\n");
    const struct parameter *p = &map.parameters[0];
    assert_int_equal(p->special.count, 2);
    assert_string_equal(p->special.items[0].word, "off");
    assert_null(p->special.items[1].word);
    assert_int_equal(p->special.items[1].raw, 9999);
    assert_int_equal(p->special.items[1].same_as, MEANS_RAMP_ACCELERATION_TIME);
    assert_int_equal(p->no_value.count, 2);
    assert_int_equal(p->no_value.items[0], 0x7fff);
    assert_int_equal(p->no_value.items[1], 0xffff);
    assert_string_equal(p->default_word, "off");
    assert_true(p->ramp_span.value.value == 60);
    assert_int_equal(map.parameters[1].no_value.items[0], 0xffffffff);
    assert_string_equal(map.parameters[2].default_word, "no");
    assert_null(map.parameters[3].default_word);
    assert_true(map.parameters[3].default_value.given && map.parameters[3].default_value.value == 1);
    assert_string_equal(map.parameters[4].default_word, "AB");
    assert_true(map.parameters[5].default_value.value == 1);
    map_free(&map);
}

static void ramps_that_count_rates(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(&map, "  p: {at: holding 0, type: u16, unit: Hz/s, means: ramp.acceleration_time, set: 1}\n"
                       "  q: {at: holding 1, type: u16, unit: s/Hz, means: ramp.deceleration_time, set: 1}\n"
                       "  r: {at: holding 2, type: u16, unit: rpm/s, means: ramp.acceleration_time, set: 2}\n"
                       "  s: {at: holding 3, type: u16}\nset_in_force: {parameter: s}\n");
    assert_int_equal(map.parameters[0].ramp_kind, RAMP_RATE);
    assert_int_equal(map.parameters[1].ramp_kind, RAMP_INVERSE_RATE);
    assert_int_equal(map.parameters[2].ramp_kind, RAMP_SPEED_RATE);
    assert_int_equal(map.set_in_force.count, 0);
    map_free(&map);
}

static void keys_about_writing(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(
        &map, "  p: {at: holding 0, type: u16, settable: always, takes_effect: power-cycle, write_at: holding 0x80,\n"
              "      could_start: true, writing_changes: [q, r], watch: no}\n"
              "  q: {at: holding 1, type: u16, kind: command, cuts_line: yes, watch: yes}\n"
              "  r: {at: input 2, type: u16, settable: always, write_at: holding 2, takes_effect: at-stop}\n"
              "  s: {at: holding 3, type: u32, settable: always, write_words: high-first, tuned: true}\n");
    const struct parameter *p = &map.parameters[0];
    assert_int_equal(p->takes_effect, EFFECT_POWER_CYCLE);
    assert_true(p->write_at_given);
    assert_int_equal(p->write_at.at, 0x80);
    assert_true(p->could_start);
    assert_false(p->watch);
    assert_int_equal(p->writing_changes_count, 2);
    assert_int_equal(p->writing_changes[1], 2);
    assert_int_equal(map.parameters[1].kind, KIND_COMMAND);
    assert_true(map.parameters[1].cuts_line);
    assert_true(map.parameters[1].watch);
    assert_true(map.parameters[2].watch);
    assert_int_equal(map.parameters[3].write_words, WRITE_HIGH_FIRST);
    assert_true(map.parameters[3].tuned);
    map_free(&map);
}

static void live_values_are_not_watched(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(&map, "  p: {at: holding 0, type: u16, unit: Hz, means: live.frequency_command, settable: always}\n");
    assert_false(map.parameters[0].watch);
    map_free(&map);
}

static void keys_of_live_values(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(&map,
                 "  p: {at: input 0, type: u16, unit: A, means: live.output_current, obtained: computed,\n"
                 "      refreshed_every: 100 ms, filtered_over: 0.2 s}\n"
                 "  q: {at: input 1, type: s16, unit: N.m, means: live.torque, obtained: measured}\n"
                 "  r: {at: input 2, type: u16, unit: Hz, means: live.frequency_command, obtained: commanded}\n"
                 "  s: {at: input 3, type: u16, unit: A, means: motor.overload_current, overload_is: trip-current}\n"
                 "  t: {at: input 4, type: u16, unit: rpm, means: motor.rated_slip}\n"
                 "  u: {at: input 5, type: u16, unit: mA, means: analog.low_signal}\n");
    const struct parameter *p = &map.parameters[0];
    assert_int_equal(p->obtained, OBTAINED_COMPUTED);
    assert_true(p->refreshed_every.value == 100);
    assert_int_equal(p->refreshed_every.unit, UNIT_MS);
    assert_true(p->filtered_over.value == 0.2);
    assert_int_equal(map.parameters[1].obtained, OBTAINED_MEASURED);
    assert_int_equal(map.parameters[2].obtained, OBTAINED_COMMANDED);
    assert_int_equal(map.parameters[3].overload_is, OVERLOAD_TRIP_CURRENT);
    map_free(&map);
}

static void keys_of_the_top_level(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(&map, "  p: {at: holding 0, type: u16}\n"
                       "  name: {at: holding 1, type: text(4)}\n"
                       "identity: [{parameter: name, equals: 0012}, {parameter: p, equals: 7}]\n"
                       "network_watchdog: {parameter: p, off: 0xFFFF}\n"
                       "plate_at: extended\nkeeps: after-save\n"
                       "save: {at: holding 0x20, write: 1, done_when: 0, within: 2 s}\n");
    assert_true(map.identity[0].is_text);
    assert_string_equal(map.identity[0].text, "0012");
    assert_int_equal(map.identity[1].raw, 7);
    assert_true(map.network_watchdog.given);
    assert_int_equal(map.network_watchdog.parameter, 0);
    assert_int_equal(map.network_watchdog.off, 0xffff);
    assert_int_equal(map.plate_at, PLATE_EXTENDED);
    assert_int_equal(map.keeps, KEEPS_AFTER_SAVE);
    assert_true(map.save.given && map.save.done_given);
    assert_int_equal(map.save.at.at, 0x20);
    assert_int_equal(map.save.write, 1);
    assert_int_equal(map.save.done_when, 0);
    assert_true(map.save.within_s == 2);
    map_free(&map);
}

static void two_views_of_a_register(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(&map, "  p: {at: holding 1, type: bits, bits: {0: a}}\n  q: {at: holding 1, type: u16}\n"
                       "  r: {at: input 1, type: u32}\n  s: {at: coil 1}\n");
    assert_int_equal(map.count, 4);
    map_free(&map);
}

static void one_means_by_condition(void **state)
{
    (void)state;
    struct map map = {0};
    load_snippet(&map, "  mode: {at: holding 0, type: u16}\n"
                       "  p: {at: holding 1, type: u16, means: motor.poles, applies_when: {mode: 0}}\n"
                       "  q: {at: holding 2, type: u16, means: motor.poles, applies_when: {mode: 1}}\n");
    assert_int_equal(map_find_means(&map, MEANS_MOTOR_POLES, 0), 1);
    map_free(&map);
}

static void words_that_yaml_would_guess(void **state)
{
    (void)state;
    struct map map = {0};
    bench_write("s.yaml", "\xef\xbb\xbfmap: 1e3\r\nabout: no\r\nmodbus: {count_from: 0}\r\nparameters:\r\n"
                          "  p: {at: holding 1, type: u16, choices: {0: off, 1: yes, 2: null, 3: 1:30}}\r\n");
    bench_load_map("s.yaml", &map);
    assert_string_equal(map.name, "1e3");
    assert_string_equal(map.about, "no");
    assert_string_equal(map.parameters[0].choices.items[0].word, "off");
    assert_string_equal(map.parameters[0].choices.items[2].word, "null");
    assert_string_equal(map.parameters[0].choices.items[3].word, "1:30");
    assert_int_equal(map.parameters[0].line, 5);
    map_free(&map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(digest_is_of_the_bytes),
        cmocka_unit_test(silence_means_defaults),
        cmocka_unit_test(every_key_of_modbus),
        cmocka_unit_test(types_and_their_widths),
        cmocka_unit_test(selectors),
        cmocka_unit_test(conditions_and_sets),
        cmocka_unit_test(percentages_and_bounds),
        cmocka_unit_test(specials_and_nothing),
        cmocka_unit_test(ramps_that_count_rates),
        cmocka_unit_test(keys_about_writing),
        cmocka_unit_test(live_values_are_not_watched),
        cmocka_unit_test(keys_of_live_values),
        cmocka_unit_test(keys_of_the_top_level),
        cmocka_unit_test(two_views_of_a_register),
        cmocka_unit_test(one_means_by_condition),
        cmocka_unit_test(words_that_yaml_would_guess),
    };
    return cmocka_run_group_tests_name("map_load", tests, bench_open, bench_close);
}
