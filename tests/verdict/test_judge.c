/* SPDX-License-Identifier: MIT */
/* Verdicts: what agrees, what differs, what is unread or unchecked, and what a finding carries along. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "verdict/bench.h"

/* A register of 3.0 A as stamped, in steps of 0.01 A. */
static struct bench current_bench(void)
{
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A);
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 2.95, 3, 3.05, UNIT_A);
    return bench;
}

static void expect_verdict(struct bench *bench, uint32_t raw, enum verdict verdict)
{
    bench_answer(bench, 0, raw);
    assert_int_equal(bench_judge(bench)->verdict, verdict);
}

static void a_band_ends_where_rounding_and_half_a_step_end(void **state)
{
    (void)state;
    struct bench bench = current_bench();
    expect_verdict(&bench, 300, VERDICT_AGREES);
    expect_verdict(&bench, 295, VERDICT_AGREES); /* 2.945 is the end, and no register value */
    expect_verdict(&bench, 294, VERDICT_DIFFERS);
    expect_verdict(&bench, 305, VERDICT_AGREES);
    expect_verdict(&bench, 306, VERDICT_DIFFERS);
    bench_free(&bench);
}

static void the_very_end_of_a_band_belongs_to_it(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.1, UNIT_A);
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 0.25, 0.3, 0.35, UNIT_A); /* 0.2 to 0.4 A, in binary dust */
    expect_verdict(&bench, 2, VERDICT_AGREES);
    expect_verdict(&bench, 4, VERDICT_AGREES);
    expect_verdict(&bench, 1, VERDICT_DIFFERS);
    expect_verdict(&bench, 5, VERDICT_DIFFERS);
    bench_free(&bench);
}

static void a_band_that_begins_at_nothing_holds_nothing(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_LIMIT_MINIMUM_FREQUENCY, TYPE_U16, 0.6, UNIT_HZ);
    /* 0.1 + 0.2 - 0.3 is 5.6e-17 in binary */
    bench_band(&bench, MEANS_LIMIT_MINIMUM_FREQUENCY, 0.1 + 0.2, 0.6, 0.9, UNIT_HZ);
    expect_verdict(&bench, 0, VERDICT_AGREES);
    bench_free(&bench);
}

static void a_number_is_judged_in_the_unit_of_its_register(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_POWER, TYPE_U16, 0.01, UNIT_HP);
    bench_band(&bench, MEANS_MOTOR_RATED_POWER, 1450, 1500, 1550, UNIT_KW);
    expect_verdict(&bench, 201, VERDICT_AGREES);
    expect_verdict(&bench, 150, VERDICT_DIFFERS); /* kilowatts typed into horsepower */
    const struct finding *finding = bench.findings.items;
    assert_int_equal(finding->unit, UNIT_HP);
    assert_near(finding->found.number, 1.5);
    assert_near(finding->expected.nominal, 1500 / 745.69987158227022);
    bench_free(&bench);
}

static void a_wide_register_is_judged_by_both_words(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_SPEED, TYPE_U32, 0.001, UNIT_RPM);
    bench_band(&bench, MEANS_MOTOR_RATED_SPEED, 1744.5, 1745, 1745.5, UNIT_RPM);
    expect_verdict(&bench, 1745000, VERDICT_AGREES);
    expect_verdict(&bench, 1745501, VERDICT_DIFFERS);
    assert_int_equal(bench.findings.items[0].raw_count, 2);
    assert_int_equal(bench.findings.items[0].raw[0], 1745501 >> 16);
    bench_free(&bench);
}

static void one_sided_ranges_are_open_at_the_other_side(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_LIMIT_MAXIMUM_FREQUENCY, TYPE_U16, 0.1, UNIT_HZ);
    struct setpoint *setpoint = bench_band(&bench, MEANS_LIMIT_MAXIMUM_FREQUENCY, 10, NAN, INFINITY, UNIT_HZ);
    expect_verdict(&bench, 100, VERDICT_AGREES);
    expect_verdict(&bench, 65535, VERDICT_AGREES);
    expect_verdict(&bench, 99, VERDICT_DIFFERS);
    setpoint->low = -INFINITY;
    setpoint->high = 60;
    expect_verdict(&bench, 0, VERDICT_AGREES);
    expect_verdict(&bench, 600, VERDICT_AGREES);
    expect_verdict(&bench, 601, VERDICT_DIFFERS);
    bench_free(&bench);
}

static void a_percentage_is_judged_as_what_it_is_of_its_base(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *current = bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.1, UNIT_PERCENT);
    current->is_percent = true;
    current->percent_of = MEANS_DRIVE_RATED_CURRENT;
    bench_register(&bench, MEANS_DRIVE_RATED_CURRENT, TYPE_U16, 0.1, UNIT_A);
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 3, 3, 3, UNIT_A);
    bench_answer(&bench, 1, 40);
    expect_verdict(&bench, 750, VERDICT_AGREES);
    const struct finding *finding = bench.findings.items;
    assert_int_equal(finding->unit, UNIT_A);
    assert_near(finding->found.number, 3);
    assert_near(finding->expected.high, 3.002); /* half of 0.1 % of 4 A */
    assert_string_equal(finding->remark, "75.0 % of 4.0 A");
    expect_verdict(&bench, 751, VERDICT_DIFFERS);
    bench_free(&bench);
}

static void a_percentage_of_an_unread_base_is_unread(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *current = bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.1, UNIT_PERCENT);
    current->is_percent = true;
    current->percent_of = MEANS_DRIVE_RATED_CURRENT;
    bench_register(&bench, MEANS_DRIVE_RATED_CURRENT, TYPE_U16, 0.1, UNIT_A);
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 3, 3, 3, UNIT_A);
    expect_verdict(&bench, 750, VERDICT_UNREAD);
    assert_int_equal(bench.findings.items[0].symptom.kind, SYMPTOM_SELECTOR);
    assert_int_equal(bench.findings.items[0].found.kind, VALUE_NOTHING);
    assert_near(bench.findings.items[0].expected.nominal, 3); /* in the setpoint's own unit */
    assert_int_equal(bench.findings.items[0].unit, UNIT_A);
    bench_free(&bench);
}

static void choices_are_judged_by_their_word(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *source = bench_register(&bench, MEANS_CONTROL_START_SOURCE, TYPE_U16, 1, UNIT_NONE);
    names_add(&source->choices, 0, "keypad");
    names_add(&source->choices, 1, "terminals");
    bench_word(&bench, MEANS_CONTROL_START_SOURCE, "terminals");
    expect_verdict(&bench, 1, VERDICT_AGREES);
    expect_verdict(&bench, 0, VERDICT_DIFFERS);
    assert_string_equal(bench.findings.items[0].found.text, "keypad");
    assert_string_equal(bench.findings.items[0].expected.one_of.items[0], "terminals");
    assert_int_equal(bench.findings.items[0].stake, STAKE_PEOPLE);
    expect_verdict(&bench, 9, VERDICT_DIFFERS); /* a value that the map does not list */
    assert_near(bench.findings.items[0].found.number, 9);
    bench_free(&bench);
}

static void a_number_is_judged_by_the_choice_that_says_it(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *poles = bench_register(&bench, MEANS_MOTOR_POLES, TYPE_U16, 1, UNIT_NONE);
    names_add(&poles->choices, 1, "2");
    names_add(&poles->choices, 2, "4");
    names_add(&poles->choices, 4, "8");
    bench_band(&bench, MEANS_MOTOR_POLES, 4, 4, 4, UNIT_NONE)->source = SOURCE_DERIVED;
    expect_verdict(&bench, 2, VERDICT_AGREES);
    expect_verdict(&bench, 4, VERDICT_DIFFERS);
    bench_free(&bench);
}

static void one_bit_is_judged(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_RESTART_AFTER_TRIP, TYPE_BOOL, 1, UNIT_NONE)->at.table = TABLE_COIL;
    bench_word(&bench, MEANS_RESTART_AFTER_TRIP, "no");
    expect_verdict(&bench, 0, VERDICT_AGREES);
    expect_verdict(&bench, 1, VERDICT_DIFFERS);
    bench_free(&bench);
}

static void a_special_word_where_a_number_is_due_differs(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *power = bench_register(&bench, MEANS_MOTOR_RATED_POWER, TYPE_U16, 0.01, UNIT_KW);
    names_add(&power->special, 0, "off");
    bench_band(&bench, MEANS_MOTOR_RATED_POWER, 1500, 1500, 1500, UNIT_KW);
    expect_verdict(&bench, 0, VERDICT_DIFFERS);
    const struct finding *finding = bench.findings.items;
    assert_string_equal(finding->found.text, "off");
    assert_near(finding->expected.nominal, 1.5); /* in the register's unit, not in the base unit */
    assert_int_equal(finding->unit, UNIT_KW);
    bench_free(&bench);
}

static void a_special_word_that_is_asked_for_agrees(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *skip = bench_register(&bench, MEANS_LIMIT_SKIP_BAND, TYPE_U16, 0.01, UNIT_HZ);
    names_add(&skip->special, 0, "off");
    bench_word(&bench, MEANS_LIMIT_SKIP_BAND, "off");
    expect_verdict(&bench, 0, VERDICT_AGREES);
    expect_verdict(&bench, 500, VERDICT_DIFFERS);
    bench_free(&bench);
}

static void what_the_drive_tunes_itself_never_differs(void **state)
{
    (void)state;
    struct bench bench = current_bench();
    bench.map.parameters[0].tuned = true;
    expect_verdict(&bench, 900, VERDICT_UNCHECKED);
    assert_string_equal(bench.findings.items[0].basis, "the drive finds it itself; as stamped");
    assert_near(bench.findings.items[0].expected.nominal, 3); /* its range is shown */
    bench_free(&bench);
}

static void an_estimate_never_differs(void **state)
{
    (void)state;
    struct bench bench = current_bench();
    bench.setpoints.items[0].source = SOURCE_ESTIMATE;
    expect_verdict(&bench, 900, VERDICT_UNCHECKED);
    assert_string_equal(bench.findings.items[0].basis, "an estimate only: as stamped");
    assert_int_equal(bench.findings.items[0].source, SOURCE_ESTIMATE);
    assert_near(bench.findings.items[0].expected.high, 3.055);
    bench_free(&bench);
}

static void what_the_sheet_lacks_is_unchecked_with_the_reason(void **state)
{
    (void)state;
    struct bench bench = current_bench();
    bench.setpoints.items[0].kind = SETPOINT_MISSING;
    expect_verdict(&bench, 300, VERDICT_UNCHECKED);
    assert_string_equal(bench.findings.items[0].basis, "as stamped");
    assert_int_equal(bench.findings.items[0].source, SOURCE_NONE);
    assert_int_equal(bench.findings.items[0].expected.kind, EXPECTED_NOTHING);
    bench_free(&bench);
}

static void what_nobody_asks_for_is_unchecked(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_RESTART_AFTER_TRIP, TYPE_U16, 1, UNIT_NONE);
    expect_verdict(&bench, 1, VERDICT_UNCHECKED);
    assert_string_equal(bench.findings.items[0].basis, "the sheet does not say");
    assert_int_equal(bench.findings.items[0].stake, STAKE_PEOPLE); /* and people may be hurt */
    assert_int_equal(bench.findings.items[0].source, SOURCE_NONE);
    bench_free(&bench);
}

static void what_is_not_in_force_is_unchecked_and_says_so_once(void **state)
{
    (void)state;
    struct bench bench = current_bench();
    bench_register(&bench, MEANS_NONE, TYPE_U16, 1, UNIT_NONE)->settable = SETTABLE_NEVER;
    condition_add(&bench.map.parameters[0].applies_when, 1, 1);
    bench_answer(&bench, 1, 2);
    expect_verdict(&bench, 900, VERDICT_UNCHECKED);
    assert_string_equal(bench.findings.items[0].basis, "not in force: p1 is 2");
    assert_null(bench.findings.items[0].remark);
    bench_answer(&bench, 1, 1);
    expect_verdict(&bench, 900, VERDICT_DIFFERS);
    bench_free(&bench);
}

static void every_symptom_makes_it_unread(void **state)
{
    (void)state;
    for (enum symptom_kind kind = SYMPTOM_NO_REPLY; kind <= SYMPTOM_OTHER_MODEL; kind++) {
        struct bench bench = current_bench();
        bench_fail(&bench, 0, (struct symptom){.kind = kind, .exception = kind == SYMPTOM_EXCEPTION ? 2 : 0});
        const struct finding *finding = bench_judge(&bench);
        assert_int_equal(finding->verdict, VERDICT_UNREAD);
        assert_int_equal(finding->symptom.kind, kind);
        assert_int_equal(finding->symptom.exception, kind == SYMPTOM_EXCEPTION ? 2 : 0);
        assert_int_equal(finding->raw_count, 0);
        assert_string_equal(finding->basis, "as stamped");
        bench_free(&bench);
    }
}

static void what_is_unread_still_shows_what_is_expected(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_POWER, TYPE_U16, 0.1, UNIT_KW);
    bench_band(&bench, MEANS_MOTOR_RATED_POWER, 1500, 1500, 1500, UNIT_KW);
    bench_fail(&bench, 0, (struct symptom){.kind = SYMPTOM_NO_REPLY});
    const struct finding *finding = bench_judge(&bench);
    assert_int_equal(finding->unit, UNIT_KW);
    assert_near(finding->expected.low, 1.45);
    assert_near(finding->expected.nominal, 1.5);
    bench_free(&bench);
}

static void an_allowance_is_carried_along(void **state)
{
    (void)state;
    struct bench bench = current_bench();
    struct setpoint *setpoint = bench.setpoints.items;
    setpoint->low = 2.5;
    setpoint->high = 3.5;
    setpoint->allow_within = 0.5;
    setpoint->allow_because = text_copy("rewound in 2019");
    expect_verdict(&bench, 350, VERDICT_AGREES);
    assert_near(bench.findings.items[0].allow_within, 0.5);
    assert_string_equal(bench.findings.items[0].allow_because, "rewound in 2019");
    bench_free(&bench);
}

static void live_values_commands_and_names_are_never_judged(void **state)
{
    (void)state;
    struct parameter parameter = {.means = MEANS_LIVE_STATE, .settable = SETTABLE_ALWAYS};
    for (; parameter.means <= MEANS_LIVE_HOURS_RUN; parameter.means++)
        assert_false(judge_wants(&parameter));
    static const enum means names[] = {MEANS_DRIVE_MODEL, MEANS_DRIVE_SERIAL_NUMBER, MEANS_DRIVE_FIRMWARE};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        parameter.means = names[i];
        assert_false(judge_wants(&parameter));
    }
    parameter.means = MEANS_MOTOR_RATED_CURRENT;
    assert_true(judge_wants(&parameter));
    parameter.kind = KIND_COMMAND;
    assert_false(judge_wants(&parameter));
}

static void serial_number_and_firmware_are_judged_where_the_sheet_gives_them(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_word(&bench, MEANS_DRIVE_SERIAL_NUMBER, "48213");
    struct parameter parameter = {.means = MEANS_DRIVE_SERIAL_NUMBER};
    assert_true(judge_includes(&parameter, &bench.setpoints));
    parameter.means = MEANS_DRIVE_FIRMWARE;
    assert_false(judge_includes(&parameter, &bench.setpoints));
    parameter.means = MEANS_MOTOR_RATED_CURRENT;
    assert_true(judge_includes(&parameter, &bench.setpoints));
    bench_free(&bench);
}

static void what_has_no_means_is_judged_only_if_it_can_be_set(void **state)
{
    (void)state;
    struct parameter parameter = {.means = MEANS_NONE, .settable = SETTABLE_NEVER};
    assert_false(judge_wants(&parameter));
    parameter.settable = SETTABLE_STOPPED;
    assert_true(judge_wants(&parameter));
    parameter.settable = SETTABLE_ALWAYS;
    assert_true(judge_wants(&parameter));
}

static void only_what_was_asked_is_judged_in_the_order_of_the_map(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A);
    bench_register(&bench, MEANS_MOTOR_RATED_SPEED, TYPE_U16, 1, UNIT_RPM);
    bench_register(&bench, MEANS_LIVE_SPEED, TYPE_U16, 1, UNIT_RPM);
    bench_register(&bench, MEANS_NONE, TYPE_U16, 1, UNIT_NONE);
    bench_answer(&bench, 3, 1);
    bench_answer(&bench, 2, 1);
    bench_answer(&bench, 0, 1);
    bench_judge(&bench);
    assert_int_equal(bench.findings.count, 2);
    assert_string_equal(bench.findings.items[0].parameter, "p0");
    assert_string_equal(bench.findings.items[0].means, "motor.rated_current");
    assert_string_equal(bench.findings.items[1].parameter, "p3");
    assert_null(bench.findings.items[1].means);
    bench_free(&bench);
}

static void the_contradictions_of_the_sheet_come_last(void **state)
{
    (void)state;
    struct bench bench = current_bench();
    struct finding *contradiction = findings_add(&bench.setpoints.implausible);
    *contradiction = (struct finding){.means = text_copy("sheet.motor.rated_speed"),
                                      .verdict = VERDICT_IMPLAUSIBLE,
                                      .stake = STAKE_EQUIPMENT,
                                      .expected = {.kind = EXPECTED_RANGE, .low = 1, .nominal = NAN, .high = 2},
                                      .found = {.kind = VALUE_NUMBER, .number = 1800},
                                      .unit = UNIT_RPM,
                                      .basis = text_copy("at the synchronous speed")};
    expect_verdict(&bench, 300, VERDICT_AGREES);
    assert_int_equal(bench.findings.count, 2);
    const struct finding *copy = &bench.findings.items[1];
    assert_null(copy->parameter);
    assert_int_equal(copy->verdict, VERDICT_IMPLAUSIBLE);
    assert_string_equal(copy->means, "sheet.motor.rated_speed");
    assert_near(copy->found.number, 1800);
    assert_near(copy->expected.high, 2);
    assert_string_equal(copy->basis, "at the synchronous speed");
    assert_ptr_not_equal(copy->basis, contradiction->basis);
    bench_free(&bench);
}

static void what_the_sheet_leaves_open_is_unchecked(void **state)
{
    (void)state;
    struct bench bench = current_bench();
    *findings_add(&bench.setpoints.open) = (struct finding){.means = text_copy("sheet.motors.own_overloads"),
                                                            .verdict = VERDICT_UNCHECKED,
                                                            .stake = STAKE_PEOPLE,
                                                            .basis = text_copy("the sheet does not say")};
    expect_verdict(&bench, 300, VERDICT_AGREES);
    assert_int_equal(bench.findings.count, 2);
    assert_int_equal(bench.findings.items[1].verdict, VERDICT_UNCHECKED);
    assert_int_equal(bench.findings.items[1].stake, STAKE_PEOPLE);
    assert_string_equal(bench.findings.items[1].means, "sheet.motors.own_overloads");
    bench_free(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_band_ends_where_rounding_and_half_a_step_end),
        cmocka_unit_test(the_very_end_of_a_band_belongs_to_it),
        cmocka_unit_test(a_band_that_begins_at_nothing_holds_nothing),
        cmocka_unit_test(a_number_is_judged_in_the_unit_of_its_register),
        cmocka_unit_test(a_wide_register_is_judged_by_both_words),
        cmocka_unit_test(one_sided_ranges_are_open_at_the_other_side),
        cmocka_unit_test(a_percentage_is_judged_as_what_it_is_of_its_base),
        cmocka_unit_test(a_percentage_of_an_unread_base_is_unread),
        cmocka_unit_test(choices_are_judged_by_their_word),
        cmocka_unit_test(a_number_is_judged_by_the_choice_that_says_it),
        cmocka_unit_test(one_bit_is_judged),
        cmocka_unit_test(a_special_word_where_a_number_is_due_differs),
        cmocka_unit_test(a_special_word_that_is_asked_for_agrees),
        cmocka_unit_test(what_the_drive_tunes_itself_never_differs),
        cmocka_unit_test(an_estimate_never_differs),
        cmocka_unit_test(what_the_sheet_lacks_is_unchecked_with_the_reason),
        cmocka_unit_test(what_nobody_asks_for_is_unchecked),
        cmocka_unit_test(what_is_not_in_force_is_unchecked_and_says_so_once),
        cmocka_unit_test(every_symptom_makes_it_unread),
        cmocka_unit_test(what_is_unread_still_shows_what_is_expected),
        cmocka_unit_test(an_allowance_is_carried_along),
        cmocka_unit_test(live_values_commands_and_names_are_never_judged),
        cmocka_unit_test(serial_number_and_firmware_are_judged_where_the_sheet_gives_them),
        cmocka_unit_test(what_has_no_means_is_judged_only_if_it_can_be_set),
        cmocka_unit_test(only_what_was_asked_is_judged_in_the_order_of_the_map),
        cmocka_unit_test(the_contradictions_of_the_sheet_come_last),
        cmocka_unit_test(what_the_sheet_leaves_open_is_unchecked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
