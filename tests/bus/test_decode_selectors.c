/* SPDX-License-Identifier: MIT */
/* Decoding what others decide: units, scales, locks, conditions, sets, percentages; each alone and all together. */
#include "bus/decode_bench.h"

static void unit_by_chooses_the_unit(void **state)
{
    struct bench *bench = *state;
    add(bench, "region");
    struct parameter *power = add(bench, "motor_power");
    power->scale = 0.1;
    row_add(&power->unit_by, 0, (struct choice_row){.raw = 0, .unit = UNIT_KW});
    row_add(&power->unit_by, 0, (struct choice_row){.raw = 1, .unit = UNIT_HP});
    PUT_WORDS(bench, 1, 20);
    expect_number(decoded(bench, 1), 2, UNIT_HP, 0.1);
    reading_put_word(&bench->readings, 0, 0);
    expect_number(decoded(bench, 1), 2, UNIT_KW, 0.1);
}

static void scale_by_chooses_the_scale(void **state)
{
    struct bench *bench = *state;
    add(bench, "resolution");
    struct parameter *time = add(bench, "acceleration");
    row_add(&time->scale_by, 0, (struct choice_row){.raw = 0, .scale = 0.01});
    row_add(&time->scale_by, 0, (struct choice_row){.raw = 1, .scale = 0.1});
    PUT_WORDS(bench, 0, 57);
    expect_number(decoded(bench, 1), 0.57, UNIT_NONE, 0.01);
    reading_put_word(&bench->readings, 0, 1);
    expect_number(decoded(bench, 1), 5.7, UNIT_NONE, 0.1);
}

static void a_selector_with_an_unlisted_value_is_named(void **state)
{
    struct bench *bench = *state;
    names_add(&add(bench, "region")->choices, 7, "export");
    struct parameter *power = add(bench, "motor_power");
    row_add(&power->unit_by, 0, (struct choice_row){.raw = 0, .unit = UNIT_KW});
    struct parameter *time = add(bench, "acceleration");
    row_add(&time->scale_by, 0, (struct choice_row){.raw = 0, .scale = 0.01});
    PUT_WORDS(bench, 7, 20, 20);
    expect_failed(decoded(bench, 1), SYMPTOM_SELECTOR, "region is export (7), for which the map lists no unit");
    expect_failed(decoded(bench, 2), SYMPTOM_SELECTOR, "region is export (7), for which the map lists no scale");
}

static void a_selector_that_is_unread_is_named_until_it_is_read(void **state)
{
    struct bench *bench = *state;
    add(bench, "region");
    struct parameter *power = add(bench, "motor_power");
    row_add(&power->unit_by, 0, (struct choice_row){.raw = 0, .unit = UNIT_KW});
    PUT_WORDS(bench, 0, 20);
    bench->readings.items[0].raw_count = 0;
    expect_failed(decoded(bench, 1), SYMPTOM_SELECTOR, "region is not read, which decides unit");
    expect_failed(decoded(bench, 1), SYMPTOM_SELECTOR, "region is not read, which decides unit");
    reading_put_word(&bench->readings, 0, 0);
    expect_number(decoded(bench, 1), 20, UNIT_KW, 1);
    assert_null(decoded(bench, 1)->remark);
}

static void a_locked_selector_decides_nothing(void **state)
{
    struct bench *bench = *state;
    condition_add(&add(bench, "region")->locked_by, 2, 0);
    struct parameter *power = add(bench, "motor_power");
    row_add(&power->unit_by, 0, (struct choice_row){.raw = 0, .unit = UNIT_KW});
    add(bench, "access_level");
    condition_add(&add(bench, "poles")->applies_when, 0, 0);
    PUT_WORDS(bench, 0, 20, 0, 4);
    expect_failed(decoded(bench, 1), SYMPTOM_SELECTOR, "region is locked, which decides unit");
    expect_failed(decoded(bench, 3), SYMPTOM_SELECTOR, "region is locked, which tells whether this is in force");
    reading_put_word(&bench->readings, 2, 1);
    expect_number(decoded(bench, 1), 20, UNIT_KW, 1);
}

static void ramp_span_by_must_be_known(void **state)
{
    struct bench *bench = *state;
    add(bench, "ramp_over");
    struct parameter *time = add(bench, "acceleration");
    time->ramp_span.given = true;
    names_add(&time->special, 0, "no_ramp");
    row_add(&time->ramp_span.by, 0, (struct choice_row){.raw = 0, .span_means = MEANS_LIMIT_MAXIMUM_FREQUENCY});
    PUT_WORDS(bench, 3, 20);
    expect_failed(decoded(bench, 1), SYMPTOM_SELECTOR, "ramp_over is 3, for which the map lists no ramp span");
    reading_put_word(&bench->readings, 0, 0);
    expect_number(decoded(bench, 1), 20, UNIT_NONE, 1);
    reading_put_word(&bench->readings, 0, 3);
    reading_put_word(&bench->readings, 1, 0);
    expect_word(decoded(bench, 1), "no_ramp");
}

static void a_lock_says_to_raise_the_level(void **state)
{
    struct bench *bench = *state;
    struct parameter *poles = add(bench, "poles");
    condition_add(&poles->locked_by, 1, 0);
    raws_add(&poles->locked_by.items[0].raws, 1);
    add(bench, "access_level");
    PUT_WORDS(bench, 4, 0);
    expect_failed(decoded(bench, 0), SYMPTOM_LOCKED, "raise the level at the keypad (access_level is 0)");
    reading_put_word(&bench->readings, 1, 1);
    expect_failed(decoded(bench, 0), SYMPTOM_LOCKED, "raise the level at the keypad (access_level is 1)");
    reading_put_word(&bench->readings, 1, 2);
    expect_number(decoded(bench, 0), 4, UNIT_NONE, 1);
}

static void any_lock_locks_and_an_unread_one_may(void **state)
{
    struct bench *bench = *state;
    struct parameter *poles = add(bench, "poles");
    condition_add(&poles->locked_by, 1, 0);
    condition_add(&poles->locked_by, 2, 1);
    add(bench, "access_level");
    add(bench, "parameter_lock");
    PUT_WORDS(bench, 4, 3, 1);
    expect_failed(decoded(bench, 0), SYMPTOM_LOCKED, "raise the level at the keypad (parameter_lock is 1)");
    bench->readings.items[1].raw_count = 0;
    expect_failed(decoded(bench, 0), SYMPTOM_LOCKED, "raise the level at the keypad (parameter_lock is 1)");
    reading_put_word(&bench->readings, 2, 0);
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR, "access_level is not read, which tells whether this is locked");
}

static void all_conditions_must_hold(void **state)
{
    struct bench *bench = *state;
    struct parameter *boost = add(bench, "boost");
    boost->scale = 0.1;
    condition_add(&boost->applies_when, 1, 0);
    raws_add(&boost->applies_when.items[0].raws, 1);
    condition_add(&boost->applies_when, 2, 5);
    add(bench, "control_mode");
    names_add(&add(bench, "region")->choices, 4, "america");
    PUT_WORDS(bench, 30, 1, 5);
    assert_true(decoded(bench, 0)->in_force);
    reading_put_word(&bench->readings, 1, 2);
    assert_false(decoded(bench, 0)->in_force);
    expect_number(decoded(bench, 0), 3, UNIT_NONE, 0.1);
    assert_string_equal(decoded(bench, 0)->remark, "not in force: control_mode is 2");
    reading_put_word(&bench->readings, 1, 0);
    reading_put_word(&bench->readings, 2, 4);
    assert_false(decoded(bench, 0)->in_force);
    assert_string_equal(decoded(bench, 0)->remark, "not in force: region is america (4)");
}

static void a_condition_that_is_unread_leaves_it_open(void **state)
{
    struct bench *bench = *state;
    struct parameter *boost = add(bench, "boost");
    condition_add(&boost->applies_when, 1, 0);
    condition_add(&boost->applies_when, 2, 0);
    add(bench, "control_mode");
    add(bench, "motor_kind");
    PUT_WORDS(bench, 30, 0, 0);
    bench->readings.items[1].raw_count = 0;
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR,
                  "control_mode is not read, which tells whether this is in force");
    assert_true(decoded(bench, 0)->in_force);
    reading_put_word(&bench->readings, 2, 9); /* whatever the other one holds */
    assert_false(decoded(bench, 0)->in_force);
    assert_int_equal(decoded(bench, 0)->symptom.kind, SYMPTOM_NONE);
}

static void the_other_set_is_not_in_force(void **state)
{
    struct bench *bench = *state;
    add_sets(bench);
    PUT_WORDS(bench, 1, 300, 400);
    assert_true(decoded(bench, 1)->in_force);
    assert_false(decoded(bench, 2)->in_force);
    expect_number(decoded(bench, 2), 4, UNIT_A, 0.01);
    assert_string_equal(decoded(bench, 2)->remark, "not in force: motor_set is 1");
    reading_put_word(&bench->readings, 0, 2);
    assert_false(decoded(bench, 1)->in_force);
    assert_true(decoded(bench, 2)->in_force);
}

static void set_rows_translate_and_a_terminal_means_all(void **state)
{
    struct bench *bench = *state;
    add_sets(bench);
    set_row_add(&bench->map.set_in_force, 0, (struct set_row){.raw = 0, .set = 1});
    set_row_add(&bench->map.set_in_force, 0, (struct set_row){.raw = 1, .set = 2});
    set_row_add(&bench->map.set_in_force, 0, (struct set_row){.raw = 2, .terminal = true});
    PUT_WORDS(bench, 1, 300, 400);
    assert_false(decoded(bench, 1)->in_force);
    assert_true(decoded(bench, 2)->in_force);
    reading_put_word(&bench->readings, 0, 2);
    assert_true(decoded(bench, 1)->in_force);
    assert_true(decoded(bench, 2)->in_force);
}

static void an_unread_set_leaves_its_parameters_open(void **state)
{
    struct bench *bench = *state;
    add_sets(bench);
    PUT_WORDS(bench, 1, 300, 400);
    bench->readings.items[0].raw_count = 0;
    expect_failed(decoded(bench, 1), SYMPTOM_SELECTOR, "motor_set is not read, which tells whether this is in force");
}

static void a_percentage_is_of_the_register(void **state)
{
    struct bench *bench = *state;
    add_percent(bench, "overload", MEANS_MOTOR_RATED_CURRENT);
    struct parameter *current = add(bench, "motor_current");
    current->means = MEANS_MOTOR_RATED_CURRENT;
    current->scale = 0.01;
    current->unit = UNIT_A;
    PUT_WORDS(bench, 750, 400);
    expect_number(decoded(bench, 0), 3, UNIT_A, 0.004);
    assert_string_equal(decoded(bench, 0)->remark, "75.0 % of 4.00 A");
}

static void a_per_unit_value_is_a_share_of_one(void **state)
{
    struct bench *bench = *state;
    struct parameter *share = add_percent(bench, "overload", MEANS_MOTOR_RATED_CURRENT);
    share->unit = UNIT_PER_UNIT;
    share->scale = 0.001;
    struct parameter *current = add(bench, "motor_current");
    current->means = MEANS_MOTOR_RATED_CURRENT;
    current->unit = UNIT_A;
    PUT_WORDS(bench, 750, 4);
    expect_number(decoded(bench, 0), 3, UNIT_A, 0.004);
    assert_string_equal(decoded(bench, 0)->remark, "0.750 per unit of 4 A");
}

static void a_percentage_of_a_percentage(void **state)
{
    struct bench *bench = *state;
    add_percent(bench, "overload", MEANS_MOTOR_RATED_CURRENT);
    add_percent(bench, "motor_current", MEANS_DRIVE_RATED_CURRENT)->means = MEANS_MOTOR_RATED_CURRENT;
    struct parameter *drive = add(bench, "drive_current");
    drive->means = MEANS_DRIVE_RATED_CURRENT;
    drive->scale = 0.1;
    drive->unit = UNIT_A;
    PUT_WORDS(bench, 1100, 500, 80);
    expect_number(decoded(bench, 1), 4, UNIT_A, 0.008);
    expect_number(decoded(bench, 0), 4.4, UNIT_A, 0.004);
}

static void percentages_in_a_circle_are_refused(void **state)
{
    struct bench *bench = *state;
    add_percent(bench, "overload", MEANS_MOTOR_RATED_CURRENT)->means = MEANS_MOTOR_OVERLOAD_CURRENT;
    add_percent(bench, "motor_current", MEANS_MOTOR_OVERLOAD_CURRENT)->means = MEANS_MOTOR_RATED_CURRENT;
    PUT_WORDS(bench, 1100, 500);
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR, "motor_current has no value, of which this is a percentage");
    expect_failed(decoded(bench, 1), SYMPTOM_SELECTOR,
                  "overload, of which this is a percentage, depends on this one: a circle");
}

static void the_base_is_of_the_same_set(void **state)
{
    struct bench *bench = *state;
    add_sets(bench);
    add_percent(bench, "overload_2", MEANS_MOTOR_RATED_CURRENT)->set = 2;
    PUT_WORDS(bench, 1, 300, 400, 1000);
    expect_number(decoded(bench, 3), 4, UNIT_A, 0.004);
    assert_string_equal(decoded(bench, 3)->remark, "not in force: motor_set is 1; 100.0 % of 4.00 A");
}

static void a_base_outside_sets_is_the_one_in_force(void **state)
{
    struct bench *bench = *state;
    add_sets(bench);
    add_percent(bench, "overload", MEANS_MOTOR_RATED_CURRENT);
    PUT_WORDS(bench, 2, 300, 400, 1000);
    expect_number(decoded(bench, 3), 4, UNIT_A, 0.004);
}

static void a_missing_or_unread_base_is_named(void **state)
{
    struct bench *bench = *state;
    add_percent(bench, "overload", MEANS_MOTOR_RATED_CURRENT);
    add_percent(bench, "current_limit", MEANS_DRIVE_RATED_CURRENT);
    names_add(&add(bench, "motor_current")->special, 0, "by_tuning");
    bench->map.parameters[2].means = MEANS_MOTOR_RATED_CURRENT;
    PUT_WORDS(bench, 750, 750, 0);
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR,
                  "motor.rated_current, of which this is a percentage, is no number");
    expect_failed(decoded(bench, 1), SYMPTOM_SELECTOR,
                  "the map has no other parameter that means drive.rated_current, of which this is a percentage");
    bench->readings.items[2].raw_count = 0;
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR, "motor_current is not read, of which this is a percentage");
}

static void a_percentage_of_the_sheet_s_value(void **state)
{
    struct bench *bench = *state;
    add_percent(bench, "power_limit", MEANS_MOTOR_RATED_POWER)->base = BASE_SHEET;
    PUT_WORDS(bench, 500);
    bench->setpoints.items = memory_new(1, sizeof *bench->setpoints.items);
    bench->setpoints.items[0] =
        (struct setpoint){.means = MEANS_MOTOR_RATED_POWER, .kind = SETPOINT_RANGE, .nominal = 2200, .unit = UNIT_KW};
    bench->setpoints.count = 1;
    expect_number(decoded(bench, 0), 1.1, UNIT_KW, 0.0022);
    assert_string_equal(decoded(bench, 0)->remark, "50.0 % of 2.2 kW");
    bench->setpoints.items[0].unit = UNIT_NONE;
    expect_number(decoded(bench, 0), 1100, UNIT_W, 2.2);
}

static void a_sheet_without_the_base_is_named(void **state)
{
    struct bench *bench = *state;
    add_percent(bench, "power_limit", MEANS_MOTOR_RATED_POWER)->base = BASE_SHEET;
    PUT_WORDS(bench, 500);
    const char *remark = "the sheet does not give motor.rated_power, of which this is a percentage";
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR, remark);
    readings_decode(&bench->map, NULL, &bench->readings);
    expect_failed(&bench->readings.items[0], SYMPTOM_SELECTOR, remark);
    bench->setpoints.items = memory_new(1, sizeof *bench->setpoints.items);
    bench->setpoints.items[0] = (struct setpoint){.means = MEANS_MOTOR_RATED_POWER, .kind = SETPOINT_MISSING};
    bench->setpoints.count = 1;
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR, remark);
    bench->setpoints.items[0].kind = SETPOINT_RANGE; /* bounds only */
    bench->setpoints.items[0].nominal = NAN;
    expect_failed(decoded(bench, 0), SYMPTOM_SELECTOR, remark);
}

/* A set, a lock, a condition, a unit, a scale and a base all at once. */
static void further_keys_work_together(void **state)
{
    struct bench *bench = *state;
    add_sets(bench); /* 0 to 2 */
    struct parameter *limit = add_percent(bench, "limit_2", MEANS_MOTOR_RATED_CURRENT);
    limit->set = 2;
    raws_add(&limit->no_value, 0xffff);
    names_add(&limit->special, 0, "off");
    condition_add(&limit->locked_by, 4, 0);
    condition_add(&limit->applies_when, 5, 1);
    row_add(&limit->scale_by, 5, (struct choice_row){.raw = 1, .scale = 1});
    row_add(&limit->unit_by, 4, (struct choice_row){.raw = 3, .unit = UNIT_PERCENT});
    add(bench, "access_level");
    add(bench, "control_mode");
    PUT_WORDS(bench, 2, 300, 400, 150, 3, 1);
    expect_number(decoded(bench, 3), 6, UNIT_A, 0.04);
    assert_string_equal(decoded(bench, 3)->remark, "150 % of 4.00 A");
    assert_true(decoded(bench, 3)->in_force);

    reading_put_word(&bench->readings, 3, 0);
    expect_word(decoded(bench, 3), "off");
    reading_put_word(&bench->readings, 4, 0);
    expect_failed(decoded(bench, 3), SYMPTOM_LOCKED, "raise the level at the keypad (access_level is 0)");
    reading_put_word(&bench->readings, 0, 1);
    expect_failed(decoded(bench, 3), SYMPTOM_LOCKED,
                  "not in force: motor_set is 1; raise the level at the keypad (access_level is 0)");
    assert_false(decoded(bench, 3)->in_force);
}

static void decoding_again_gives_the_same(void **state)
{
    struct bench *bench = *state;
    add_sets(bench);
    add_percent(bench, "overload", MEANS_MOTOR_RATED_CURRENT);
    PUT_WORDS(bench, 2, 300, 400, 1000);
    expect_number(decoded(bench, 3), 4, UNIT_A, 0.004);
    char *remark = text_copy(decoded(bench, 3)->remark);
    expect_number(decoded(bench, 3), 4, UNIT_A, 0.004);
    assert_string_equal(decoded(bench, 3)->remark, remark);
    assert_false(decoded(bench, 1)->in_force);
    free(remark);
}

static void selectors_are_known_as_such(void **state)
{
    struct bench *bench = *state;
    static const char *const deciders[] = {"motor_set", "unit", "scale", "span", "mode", "level", "base", "idle"};
    for (size_t i = 0; i < 8; i++)
        add(bench, deciders[i]);
    bench->map.parameters[6].means = MEANS_MOTOR_RATED_CURRENT;
    bench->map.set_in_force = (struct set_in_force){.given = true, .parameter = 0};
    struct parameter *all = add_percent(bench, "all", MEANS_MOTOR_RATED_CURRENT);
    row_add(&all->unit_by, 1, (struct choice_row){0});
    row_add(&all->scale_by, 2, (struct choice_row){0});
    all->ramp_span.given = true;
    row_add(&all->ramp_span.by, 3, (struct choice_row){0});
    condition_add(&all->applies_when, 4, 0);
    condition_add(&all->locked_by, 5, 0);
    for (size_t i = 0; i <= 6; i++)
        assert_true(map_is_selector(&bench->map, i));
    assert_false(map_is_selector(&bench->map, 7));
    assert_false(map_is_selector(&bench->map, 8));
    bench->map.parameters[8].base = BASE_SHEET;
    assert_false(map_is_selector(&bench->map, 6));
}

int main(void)
{
#define TEST(function) cmocka_unit_test_setup_teardown(function, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(unit_by_chooses_the_unit),
        TEST(scale_by_chooses_the_scale),
        TEST(a_selector_with_an_unlisted_value_is_named),
        TEST(a_selector_that_is_unread_is_named_until_it_is_read),
        TEST(a_locked_selector_decides_nothing),
        TEST(ramp_span_by_must_be_known),
        TEST(a_lock_says_to_raise_the_level),
        TEST(any_lock_locks_and_an_unread_one_may),
        TEST(all_conditions_must_hold),
        TEST(a_condition_that_is_unread_leaves_it_open),
        TEST(the_other_set_is_not_in_force),
        TEST(set_rows_translate_and_a_terminal_means_all),
        TEST(an_unread_set_leaves_its_parameters_open),
        TEST(a_percentage_is_of_the_register),
        TEST(a_per_unit_value_is_a_share_of_one),
        TEST(a_percentage_of_a_percentage),
        TEST(percentages_in_a_circle_are_refused),
        TEST(the_base_is_of_the_same_set),
        TEST(a_base_outside_sets_is_the_one_in_force),
        TEST(a_missing_or_unread_base_is_named),
        TEST(a_percentage_of_the_sheet_s_value),
        TEST(a_sheet_without_the_base_is_named),
        TEST(further_keys_work_together),
        TEST(decoding_again_gives_the_same),
        TEST(selectors_are_known_as_such),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
