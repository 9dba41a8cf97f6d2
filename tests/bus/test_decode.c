/* SPDX-License-Identifier: MIT */
/* Decoding what a value says by itself: numbers, words, bits, texts, special values. */
#include "bus/decode_bench.h"

static void scale_offset_and_unit_make_the_number(void **state)
{
    struct bench *bench = *state;
    struct parameter *current = add(bench, "motor_current");
    current->scale = 0.01;
    current->unit = UNIT_A;
    struct parameter *heatsink = add(bench, "heatsink");
    heatsink->type = TYPE_S16;
    heatsink->scale = 0.1;
    heatsink->offset = -40;
    heatsink->unit = UNIT_DEGC;
    PUT_WORDS(bench, 600, 0xffff);
    expect_number(decoded(bench, 0), 6, UNIT_A, 0.01);
    expect_number(decoded(bench, 1), -40.1, UNIT_DEGC, 0.1);
    assert_true(decoded(bench, 0)->in_force);
    assert_null(decoded(bench, 0)->remark);
}

static void wide_values_follow_the_map_s_order(void **state)
{
    struct bench *bench = *state;
    map_add(&bench->map, "frequency", TABLE_HOLDING, 0, TYPE_F32)->unit = UNIT_HZ;
    readings_init(&bench->readings, 1);
    reading_put(&bench->readings, 0, (const uint16_t[]){0x0000, 0x4270}, 2);
    bench->map.modbus.word_order = ORDER_LOW_FIRST;
    expect_number(decoded(bench, 0), 60, UNIT_HZ, ldexp(1, -18));
    uint32_t raw = 0;
    assert_true(reading_raw(&bench->map, &bench->readings, 0, &raw));
    assert_int_equal(raw, 0x42700000);
}

static void what_is_unread_stays_nothing(void **state)
{
    struct bench *bench = *state;
    add(bench, "motor_current");
    readings_init(&bench->readings, 1);
    bench->readings.items[0].symptom = (struct symptom){SYMPTOM_EXCEPTION, 2};
    const struct reading *reading = decoded(bench, 0);
    assert_int_equal(reading->value.kind, VALUE_NOTHING);
    assert_int_equal(reading->symptom.kind, SYMPTOM_EXCEPTION);
    uint32_t raw = 0;
    assert_false(reading_raw(&bench->map, &bench->readings, 0, &raw));
}

static void a_symptom_given_by_others_stays(void **state)
{
    struct bench *bench = *state;
    condition_add(&add(bench, "motor_current")->locked_by, 0, 7);
    PUT_WORDS(bench, 7);
    bench->readings.items[0].symptom.kind = SYMPTOM_OTHER_MODEL;
    const struct reading *reading = decoded(bench, 0);
    assert_int_equal(reading->symptom.kind, SYMPTOM_OTHER_MODEL);
    assert_int_equal(reading->value.kind, VALUE_NOTHING);
}

static void choices_become_words(void **state)
{
    struct bench *bench = *state;
    struct parameter *source = add(bench, "start_source");
    names_add(&source->choices, 0, "keypad");
    names_add(&source->choices, 1, "terminals");
    PUT_WORDS(bench, 1);
    expect_word(decoded(bench, 0), "terminals");
}

static void an_unlisted_choice_is_its_raw_number(void **state)
{
    struct bench *bench = *state;
    struct parameter *source = add(bench, "start_source");
    source->scale = 0.1;
    source->type = TYPE_S16;
    names_add(&source->choices, 0, "keypad");
    PUT_WORDS(bench, 0xfff7);
    expect_number(decoded(bench, 0), -9, UNIT_NONE, 1);
}

static void bits_become_names(void **state)
{
    struct bench *bench = *state;
    struct parameter *run = add(bench, "run_state");
    run->type = TYPE_BITS;
    names_add(&run->bits, 0, "running");
    names_add(&run->bits, 7, "tripped");
    PUT_WORDS(bench, 0x0082);
    const struct reading *reading = decoded(bench, 0);
    assert_int_equal(reading->value.kind, VALUE_BITS);
    assert_int_equal(reading->value.words.count, 1);
    assert_string_equal(reading->value.words.items[0], "tripped");
}

static void any_register_but_zero_is_true(void **state)
{
    struct bench *bench = *state;
    add(bench, "braking_chopper")->type = TYPE_BOOL;
    add(bench, "energy_saver")->type = TYPE_BOOL;
    PUT_WORDS(bench, 0, 0xff00);
    assert_int_equal(decoded(bench, 0)->value.kind, VALUE_BOOL);
    assert_false(decoded(bench, 0)->value.truth);
    assert_true(decoded(bench, 1)->value.truth);
}

static void text_is_text_however_long(void **state)
{
    struct bench *bench = *state;
    struct parameter *serial = add(bench, "serial_number");
    serial->type = TYPE_TEXT;
    serial->words = 3;
    readings_init(&bench->readings, 1);
    reading_put(&bench->readings, 0, (const uint16_t[]){0x5143, 0x2d37, 0x2000}, 3);
    const struct reading *reading = decoded(bench, 0);
    assert_int_equal(reading->value.kind, VALUE_TEXT);
    assert_string_equal(reading->value.text, "QC-7");
    uint32_t raw = 0;
    assert_false(reading_raw(&bench->map, &bench->readings, 0, &raw));
}

/* SunSpec: a float32 that is not implemented holds 0x7FC00000. */
static void a_float_that_is_none_is_not_a_number(void **state)
{
    struct bench *bench = *state;
    map_add(&bench->map, "torque", TABLE_HOLDING, 0, TYPE_F32);
    readings_init(&bench->readings, 1);
    reading_put(&bench->readings, 0, (const uint16_t[]){0x7fc0, 0x0000}, 2);
    expect_failed(decoded(bench, 0), SYMPTOM_NOT_A_NUMBER, "the drive sent 0x7fc00000, which is no number");
}

/* SunSpec: a uint16 that is not implemented holds 0xFFFF; shown as 65535 rpm it would be a lie. */
static void no_value_is_nothing_with_a_remark(void **state)
{
    struct bench *bench = *state;
    struct parameter *speed = add(bench, "speed");
    raws_add(&speed->no_value, 0x7fff);
    raws_add(&speed->no_value, 0xffff);
    PUT_WORDS(bench, 0xffff);
    expect_failed(decoded(bench, 0), SYMPTOM_NOT_A_NUMBER, "the drive sent 0xffff, which stands for no value");
    reading_put_word(&bench->readings, 0, 0x7ffe);
    expect_number(decoded(bench, 0), 0x7ffe, UNIT_NONE, 1);
}

static void special_words_are_never_scaled(void **state)
{
    struct bench *bench = *state;
    struct parameter *torque = add(bench, "torque_limit");
    torque->scale = 0.1;
    torque->unit = UNIT_PERCENT;
    names_add(&torque->special, 0, "off");
    PUT_WORDS(bench, 0);
    expect_word(decoded(bench, 0), "off");
    reading_put_word(&bench->readings, 0, 1500);
    expect_number(decoded(bench, 0), 150, UNIT_PERCENT, 0.1);
}

/* deceleration: 9999 means the acceleration time. */
static void add_ramps(struct bench *bench)
{
    struct parameter *deceleration = add(bench, "deceleration");
    deceleration->means = MEANS_RAMP_DECELERATION_TIME;
    deceleration->scale = 0.1;
    deceleration->unit = UNIT_S;
    same_as_add(&deceleration->special, 9999, MEANS_RAMP_ACCELERATION_TIME);
    struct parameter *acceleration = add(bench, "acceleration");
    acceleration->means = MEANS_RAMP_ACCELERATION_TIME;
    acceleration->scale = 0.01;
    acceleration->unit = UNIT_MIN;
}

static void same_as_takes_the_other_value(void **state)
{
    struct bench *bench = *state;
    add_ramps(bench);
    PUT_WORDS(bench, 9999, 250);
    expect_number(decoded(bench, 0), 2.5, UNIT_MIN, 0.01);
    assert_string_equal(decoded(bench, 0)->remark, "the same as ramp.acceleration_time");
}

static void same_as_something_unread_is_unread(void **state)
{
    struct bench *bench = *state;
    add_ramps(bench);
    PUT_WORDS(bench, 9999, 250);
    bench->readings.items[1].raw_count = 0;
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR, "acceleration is not read, whose value this takes");
}

static void same_as_in_a_circle_is_refused(void **state)
{
    struct bench *bench = *state;
    add_ramps(bench);
    same_as_add(&bench->map.parameters[1].special, 8888, MEANS_RAMP_DECELERATION_TIME);
    PUT_WORDS(bench, 9999, 8888);
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR, "acceleration has no value, whose value this takes");
    expect_failed(decoded(bench, 1), SYMPTOM_SELECTOR,
                  "deceleration, whose value this takes, depends on this one: a circle");
}

static void same_as_itself_is_refused(void **state)
{
    struct bench *bench = *state;
    add_ramps(bench);
    same_as_add(&bench->map.parameters[0].special, 8888, MEANS_RAMP_DECELERATION_TIME);
    PUT_WORDS(bench, 8888, 250);
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR,
                  "the map has no other parameter that means ramp.deceleration_time, whose value this takes");
}

int main(void)
{
#define TEST(function) cmocka_unit_test_setup_teardown(function, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(scale_offset_and_unit_make_the_number),
        TEST(wide_values_follow_the_map_s_order),
        TEST(what_is_unread_stays_nothing),
        TEST(a_symptom_given_by_others_stays),
        TEST(choices_become_words),
        TEST(an_unlisted_choice_is_its_raw_number),
        TEST(bits_become_names),
        TEST(any_register_but_zero_is_true),
        TEST(text_is_text_however_long),
        TEST(a_float_that_is_none_is_not_a_number),
        TEST(no_value_is_nothing_with_a_remark),
        TEST(special_words_are_never_scaled),
        TEST(same_as_takes_the_other_value),
        TEST(same_as_something_unread_is_unread),
        TEST(same_as_in_a_circle_is_refused),
        TEST(same_as_itself_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
