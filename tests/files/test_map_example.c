/* SPDX-License-Identifier: MIT */
/* The map that the interface description shows, and what it becomes. */
#include "files_bench.h"

/* The map of the interface description, with the parameter that its identity names. */
static const char example[] =
    "map: quayside-compact\n"
    "about: Invented drive for the demonstration; no maker's register list.\n"
    "modbus:\n"
    "  count_from: 0            # 0: addresses as they travel on the wire; 1: register numbers as many manuals print\n"
    "  word_order: high-first   # high-first | low-first, for 32-bit values\n"
    "  longest_read: 32         # registers one request may ask for, 1 to 125\n"
    "  longest_write: 1         # 1: function 06 only; more: function 16\n"
    "  answers_within: 300 ms\n"
    "  rest_between: 0 ms       # silence that the drive wants between requests\n"
    "  closed: [holding 0x0140-0x014F]     # addresses that must not be read, not even to bridge a gap\n"
    "identity:                  # the drive is of this model only where all of these hold\n"
    "  - {parameter: model_code, equals: 0x5143}\n"
    "parameters:\n"
    "  motor_current:\n"
    "    at: holding 0x0110     # coil | discrete | input | holding, then the address (decimal or 0x)\n"
    "    type: u16              # u16 s16 u32 s32 f32 bits text(N registers) bool\n"
    "    scale: 0.01            # engineering value = raw * scale + offset\n"
    "    unit: A\n"
    "    means: motor.rated_current\n"
    "    settable: stopped      # never | stopped | always\n"
    "    accepts: 0.1 A to 9.9 A\n"
    "    default: 4.0 A\n"
    "  start_source:\n"
    "    at: holding 0x0120\n"
    "    type: u16\n"
    "    choices: {0: keypad, 1: terminals, 2: network}\n"
    "    means: control.start_source\n"
    "    settable: stopped\n"
    "  run_state:\n"
    "    at: input 0x0000\n"
    "    type: bits\n"
    "    bits: {0: running, 1: reverse, 2: at_speed, 7: tripped}\n"
    "    means: live.state\n"
    "  acceleration_time:\n"
    "    at: holding 0x0114\n"
    "    type: u32\n"
    "    scale: 0.1\n"
    "    unit: s\n"
    "    means: ramp.acceleration_time\n"
    "    ramp_span: limit.maximum_frequency   # the time runs from 0 Hz to this\n"
    "    settable: always\n"
    "  model_code: {at: holding 0x0000, type: u16}\n";

static void load_example(struct map *map)
{
    struct problems problems = {0};
    bench_write("example.yaml", example);
    bool fine = map_load("example.yaml", map, &problems);
    bench_print("error", &problems.errors);
    assert_true(fine);
    /* Longest_write 1, a 32-bit settable, and not a word on which half goes first. */
    assert_int_equal(problems.warnings.count, 1);
    assert_non_null(strstr(problems.warnings.items[0], "example.yaml:36:11: acceleration_time has two registers"));
    problems_free(&problems);
}

static void example_head(void **state)
{
    (void)state;
    struct map map = {0};
    load_example(&map);
    assert_string_equal(map.path, "example.yaml");
    assert_string_equal(map.name, "quayside-compact");
    assert_string_equal(map.about, "Invented drive for the demonstration; no maker's register list.");
    assert_int_equal(map.modbus.count_from, 0);
    assert_int_equal(map.modbus.word_order, ORDER_HIGH_FIRST);
    assert_int_equal(map.modbus.longest_read, 32);
    assert_int_equal(map.modbus.longest_write, 1);
    assert_true(map.modbus.answers_within_s == 0.3);
    assert_true(map.modbus.write_answers_within_s == 0.3);
    assert_true(map.modbus.rest_between_s == 0);
    assert_int_equal(map.modbus.closed_count, 1);
    assert_int_equal(map.modbus.closed[0].table, TABLE_HOLDING);
    assert_int_equal(map.modbus.closed[0].first, 0x140);
    assert_int_equal(map.modbus.closed[0].last, 0x14f);
    assert_int_equal(map.identity_count, 1);
    assert_int_equal(map.identity[0].parameter, 4);
    assert_false(map.identity[0].is_text);
    assert_int_equal(map.identity[0].raw, 0x5143);
    map_free(&map);
}

static void example_number(void **state)
{
    (void)state;
    struct map map = {0};
    load_example(&map);
    assert_int_equal(map.count, 5);
    const struct parameter *current = &map.parameters[0];
    assert_string_equal(current->name, "motor_current");
    assert_int_equal(current->line, 14);
    assert_int_equal(current->at.table, TABLE_HOLDING);
    assert_int_equal(current->at.at, 0x110);
    assert_int_equal(current->type, TYPE_U16);
    assert_int_equal(current->words, 1);
    assert_true(current->scale == 0.01);
    assert_true(current->offset == 0);
    assert_int_equal(current->unit, UNIT_A);
    assert_int_equal(current->means, MEANS_MOTOR_RATED_CURRENT);
    assert_int_equal(current->settable, SETTABLE_STOPPED);
    assert_int_equal(current->accepts_low.kind, BOUND_VALUE);
    assert_true(current->accepts_low.value.value == 0.1);
    assert_true(current->accepts_high.value.value == 9.9);
    assert_true(current->default_value.given);
    assert_true(current->default_value.value == 4);
    assert_true(current->default_value.rounding == 0.05);
    assert_true(current->watch);
    assert_false(current->could_start);
    map_free(&map);
}

static void example_words_bits_and_ramp(void **state)
{
    (void)state;
    struct map map = {0};
    load_example(&map);
    const struct parameter *source = &map.parameters[1];
    assert_int_equal(source->choices.count, 3);
    assert_int_equal(source->choices.items[2].raw, 2);
    assert_string_equal(source->choices.items[2].word, "network");
    assert_true(source->could_start);
    const struct parameter *run = &map.parameters[2];
    assert_int_equal(run->at.table, TABLE_INPUT);
    assert_int_equal(run->type, TYPE_BITS);
    assert_int_equal(run->bits.count, 4);
    assert_int_equal(run->bits.items[3].raw, 7);
    assert_string_equal(run->bits.items[3].word, "tripped");
    assert_false(run->watch);
    const struct parameter *ramp = &map.parameters[3];
    assert_int_equal(ramp->words, 2);
    assert_int_equal(ramp->ramp_kind, RAMP_TIME);
    assert_true(ramp->ramp_span.given);
    assert_int_equal(ramp->ramp_span.means, MEANS_LIMIT_MAXIMUM_FREQUENCY);
    assert_int_equal(ramp->settable, SETTABLE_ALWAYS);
    map_free(&map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(example_head),
        cmocka_unit_test(example_number),
        cmocka_unit_test(example_words_bits_and_ramp),
    };
    return cmocka_run_group_tests_name("map_example", tests, bench_open, bench_close);
}
