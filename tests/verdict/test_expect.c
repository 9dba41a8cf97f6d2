/* SPDX-License-Identifier: MIT */
/* Setpoints in the terms of a register: half a step, units, ramps, words, and why nothing can be expected. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "verdict/bench.h"

static struct expectation expectation_of(struct bench *bench, size_t parameter)
{
    struct expectation expectation;
    bool read = bench->readings.count > 0;
    if (read)
        readings_decode(&bench->map, &bench->setpoints, &bench->readings);
    expect_parameter(&bench->map, parameter, &bench->setpoints, read ? &bench->readings : NULL, &expectation);
    return expectation;
}

static void expect_range(struct bench *bench, double low, double nominal, double high)
{
    struct expectation expectation = expectation_of(bench, 0);
    assert_int_equal(expectation.expected.kind, EXPECTED_RANGE);
    assert_near(expectation.expected.low, low);
    assert_near(expectation.expected.nominal, nominal);
    assert_near(expectation.expected.high, high);
    assert_null(expectation.reason);
    expectation_free(&expectation);
}

static void expect_word(struct bench *bench, const char *word)
{
    struct expectation expectation = expectation_of(bench, 0);
    assert_int_equal(expectation.expected.kind, EXPECTED_ONE_OF);
    assert_int_equal(expectation.expected.one_of.count, 1);
    assert_string_equal(expectation.expected.one_of.items[0], word);
    expectation_free(&expectation);
}

static void expect_nothing(struct bench *bench, const char *reason)
{
    struct expectation expectation = expectation_of(bench, 0);
    assert_int_equal(expectation.expected.kind, EXPECTED_NOTHING);
    assert_string_equal(expectation.reason, reason);
    expectation_free(&expectation);
}

static void a_parameter_that_nobody_asks_for_has_no_setpoint(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_NONE, TYPE_U16, 1, UNIT_NONE);
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 2.95, 3, 3.05, UNIT_A);
    struct expectation expectation = expectation_of(&bench, 0);
    assert_null(expectation.setpoint);
    assert_int_equal(expectation.expected.kind, EXPECTED_NOTHING);
    expectation_free(&expectation);
    bench_free(&bench);
}

static void a_band_is_widened_by_half_a_step_of_the_register(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A);
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 2.95, 3, 3.05, UNIT_A);
    expect_range(&bench, 2.945, 3, 3.055);
    bench.map.parameters[0].scale = -0.1; /* a falling scale has steps as well */
    expect_range(&bench, 2.9, 3, 3.1);
    bench_free(&bench);
}

static void a_float_adds_no_step_before_it_is_read(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_F32, 1, UNIT_A);
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 2.95, 3, 3.05, UNIT_A);
    expect_range(&bench, 2.95, 3, 3.05);
    bench_free(&bench);
}

static void power_is_converted_into_the_unit_of_the_register(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *power = bench_register(&bench, MEANS_MOTOR_RATED_POWER, TYPE_U16, 0.1, UNIT_KW);
    bench_band(&bench, MEANS_MOTOR_RATED_POWER, 1450, 1500, 1550, UNIT_KW);
    expect_range(&bench, 1.4, 1.5, 1.6);
    power->unit = UNIT_HP; /* 1 hp = 745.69987 W: NIST SP 811, appendix B.8 (550 ft.lbf/s) */
    expect_range(&bench, 1450 / 745.69987158227022 - 0.05, 1500 / 745.69987158227022, 1550 / 745.69987158227022 + 0.05);
    power->unit = UNIT_W;
    power->scale = 10;
    expect_range(&bench, 1445, 1500, 1555);
    bench_free(&bench);
}

static void slip_is_expected_as_the_register_counts_it(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *slip = bench_register(&bench, MEANS_MOTOR_RATED_SLIP, TYPE_U16, 0.01, UNIT_HZ);
    bench_band(&bench, MEANS_MOTOR_RATED_SLIP, 1.8, 1.8333, 1.85, UNIT_HZ);
    expect_range(&bench, 1.795, 1.8333, 1.855);
    slip->unit = UNIT_RPM; /* 30 rpm a hertz with four poles */
    slip->scale = 1;
    expect_range(&bench, 53.5, 54.999, 56);
    slip->unit = UNIT_PERCENT;
    slip->scale = 0.1;
    expect_range(&bench, 2.95, 1.8333 / 0.6, 1.85 / 0.6 + 0.05);
    bench_free(&bench);
}

static void slip_in_rpm_without_a_speed_cannot_be_expected(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_SLIP, TYPE_U16, 1, UNIT_RPM);
    bench_band(&bench, MEANS_MOTOR_RATED_SLIP, 1.8, 1.8, 1.8, UNIT_HZ);
    bench.setpoints.derived = (struct derived){.synchronous_speed_rpm = NAN, .rated_frequency_hz = NAN};
    expect_nothing(&bench, "the sheet lacks what converts this into the register's unit");
    bench_free(&bench);
}

static void another_kind_of_quantity_cannot_be_expected(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_OUTPUT_VOLTAGE_BOOST, TYPE_U16, 0.1, UNIT_V);
    bench_band(&bench, MEANS_OUTPUT_VOLTAGE_BOOST, 0.03, 0.03, 0.03, UNIT_PERCENT);
    expect_nothing(&bench, "the sheet lacks what converts this into the register's unit");
    bench_free(&bench);
}

static void a_number_as_written_is_converted_from_its_own_unit(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_NONE, TYPE_U16, 1, UNIT_S);
    struct setpoint *delay = bench_band(&bench, MEANS_NONE, 2, 2, 2, UNIT_MIN);
    delay->parameter = text_copy("p0");
    expect_range(&bench, 119.5, 120, 120.5);
    bench_free(&bench);

    bench = bench_start();
    bench_register(&bench, MEANS_ANALOG_LOW_SIGNAL, TYPE_U16, 0.1, UNIT_MA);
    bench_band(&bench, MEANS_ANALOG_LOW_SIGNAL, 4, 4, 4, UNIT_MA);
    expect_range(&bench, 3.95, 4, 4.05);
    bench_free(&bench);
}

static void what_names_the_parameter_wins_over_what_names_its_means(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A);
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 3, 3, 3, UNIT_A);
    bench_band(&bench, MEANS_NONE, 5, 5, 5, UNIT_A)->parameter = text_copy("p0");
    expect_range(&bench, 4.995, 5, 5.005);
    bench_free(&bench);
}

static struct parameter *ramp_bench(struct bench *bench, enum ramp_kind kind, enum unit unit, double scale)
{
    *bench = bench_start();
    struct parameter *ramp = bench_register(bench, MEANS_RAMP_ACCELERATION_TIME, TYPE_U16, scale, unit);
    ramp->ramp_kind = kind;
    struct setpoint *setpoint = bench_band(bench, MEANS_RAMP_ACCELERATION_TIME, 10, 10, 10, UNIT_S);
    setpoint->ramp_from_hz = 0;
    setpoint->ramp_to_hz = 60;
    return ramp;
}

static void a_ramp_time_runs_over_the_span_of_its_register(void **state)
{
    (void)state;
    struct bench bench;
    struct parameter *ramp = ramp_bench(&bench, RAMP_TIME, UNIT_S, 0.1);
    ramp->ramp_span = (struct ramp_span){.given = true, .value = {.given = true, .value = 50, .unit = UNIT_HZ}};
    expect_range(&bench, 10.0 * 50 / 60 - 0.05, 10.0 * 50 / 60, 10.0 * 50 / 60 + 0.05);
    ramp->ramp_span.value = (struct quantity){.given = true, .value = 3600, .unit = UNIT_RPM}; /* 120 Hz */
    expect_range(&bench, 19.95, 20, 20.05);
    bench_free(&bench);
}

static void a_ramp_span_may_be_a_means_of_the_sheet(void **state)
{
    (void)state;
    struct bench bench;
    struct parameter *ramp = ramp_bench(&bench, RAMP_TIME, UNIT_S, 0.1);
    ramp->ramp_span = (struct ramp_span){.given = true, .means = MEANS_LIMIT_MAXIMUM_FREQUENCY};
    expect_nothing(&bench, "the sheet lacks what this time spans");
    bench_band(&bench, MEANS_LIMIT_MAXIMUM_FREQUENCY, 90, 90, 90, UNIT_HZ);
    expect_range(&bench, 14.95, 15, 15.05);
    bench_free(&bench);
}

static void a_ramp_span_may_be_selected_in_the_drive(void **state)
{
    (void)state;
    struct bench bench;
    ramp_bench(&bench, RAMP_TIME, UNIT_S, 0.1);
    struct parameter *reference = bench_register(&bench, MEANS_NONE, TYPE_U16, 1, UNIT_NONE);
    assert_ptr_equal(reference, &bench.map.parameters[1]);
    struct parameter *ramp = &bench.map.parameters[0];
    ramp->ramp_span.given = true;
    row_add(&ramp->ramp_span.by, 1,
            (struct choice_row){.raw = 0, .span = {.given = true, .value = 50, .unit = UNIT_HZ}});
    row_add(&ramp->ramp_span.by, 1, (struct choice_row){.raw = 1, .span_means = MEANS_LIMIT_MAXIMUM_FREQUENCY});
    bench_band(&bench, MEANS_LIMIT_MAXIMUM_FREQUENCY, 90, 90, 90, UNIT_HZ);
    expect_nothing(&bench, "what this time spans is selected by p1, which is not known");

    bench_answer(&bench, 0, 83);
    bench_answer(&bench, 1, 0);
    expect_range(&bench, 10.0 * 50 / 60 - 0.05, 10.0 * 50 / 60, 10.0 * 50 / 60 + 0.05);
    bench_answer(&bench, 1, 1);
    expect_range(&bench, 14.95, 15, 15.05);
    bench_answer(&bench, 1, 7);
    expect_nothing(&bench, "what this time spans is selected by p1, which is not known");
    bench_free(&bench);
}

static void a_ramp_time_of_unknown_span_cannot_be_expected(void **state)
{
    (void)state;
    struct bench bench;
    ramp_bench(&bench, RAMP_TIME, UNIT_S, 0.1);
    expect_nothing(&bench, "the map does not say what this time spans (ramp_span)");
    bench_free(&bench);
}

static void a_ramp_rate_is_the_reciprocal(void **state)
{
    (void)state;
    struct bench bench;
    ramp_bench(&bench, RAMP_RATE, UNIT_HZ_PER_S, 0.01);
    bench.setpoints.items[0].low = 8;
    bench.setpoints.items[0].high = 12;
    expect_range(&bench, 60.0 / 12 - 0.005, 6, 60.0 / 8 + 0.005); /* the longer time is the smaller rate */
    bench_free(&bench);

    ramp_bench(&bench, RAMP_SPEED_RATE, UNIT_RPM_PER_S, 1);
    expect_range(&bench, 179.5, 180, 180.5);
    bench_free(&bench);

    ramp_bench(&bench, RAMP_INVERSE_RATE, UNIT_S_PER_HZ, 0.001);
    expect_range(&bench, 1.0 / 6 - 0.0005, 1.0 / 6, 1.0 / 6 + 0.0005);
    bench_free(&bench);
}

static void a_ramp_of_at_least_so_long_is_a_rate_of_at_most_so_much(void **state)
{
    (void)state;
    struct bench bench;
    ramp_bench(&bench, RAMP_RATE, UNIT_HZ_PER_S, 0.01);
    struct setpoint *setpoint = &bench.setpoints.items[0];
    setpoint->nominal = NAN;
    setpoint->high = INFINITY;
    struct expectation expectation = expectation_of(&bench, 0);
    assert_near(expectation.expected.low, -0.005); /* however slow */
    assert_near(expectation.expected.high, 6.005);
    assert_true(isnan(expectation.expected.nominal));
    expectation_free(&expectation);

    setpoint->low = -INFINITY;
    setpoint->high = 10;
    expectation = expectation_of(&bench, 0);
    assert_near(expectation.expected.low, 5.995);
    assert_true(isinf(expectation.expected.high));
    expectation_free(&expectation);
    bench_free(&bench);
}

static void a_ramp_in_no_time_is_a_rate_without_end(void **state)
{
    (void)state;
    struct bench bench;
    ramp_bench(&bench, RAMP_RATE, UNIT_HZ_PER_S, 0.01);
    bench.setpoints.items[0].low = bench.setpoints.items[0].nominal = 0;
    bench.setpoints.items[0].high = 0.5;
    struct expectation expectation = expectation_of(&bench, 0);
    assert_near(expectation.expected.low, 119.995);
    assert_true(isinf(expectation.expected.high));
    expectation_free(&expectation);
    bench_free(&bench);
}

static void a_speed_rate_without_a_motor_cannot_be_expected(void **state)
{
    (void)state;
    struct bench bench;
    ramp_bench(&bench, RAMP_SPEED_RATE, UNIT_RPM_PER_S, 1);
    bench.setpoints.derived = (struct derived){.synchronous_speed_rpm = NAN, .rated_frequency_hz = NAN};
    expect_nothing(&bench, "the sheet lacks what converts this into the register's unit");
    bench_free(&bench);
}

static void choices_are_expected_by_their_word(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *source = bench_register(&bench, MEANS_CONTROL_START_SOURCE, TYPE_U16, 1, UNIT_NONE);
    names_add(&source->choices, 1, "terminals");
    bench_word(&bench, MEANS_CONTROL_START_SOURCE, "terminals");
    expect_word(&bench, "terminals");
    bench_free(&bench);
}

static struct setpoint *poles_bench(struct bench *bench)
{
    *bench = bench_start();
    struct parameter *poles = bench_register(bench, MEANS_MOTOR_POLES, TYPE_U16, 1, UNIT_NONE);
    names_add(&poles->choices, 4, "2");
    names_add(&poles->choices, 1, "4");
    names_add(&poles->choices, 2, "6");
    struct setpoint *setpoint = bench_band(bench, MEANS_MOTOR_POLES, 4, 4, 4, UNIT_NONE);
    setpoint->source = SOURCE_DERIVED;
    return setpoint;
}

static void a_number_is_expected_as_the_choice_whose_word_it_is(void **state)
{
    (void)state;
    struct bench bench;
    poles_bench(&bench)->source = SOURCE_JOB;
    expect_word(&bench, "4"); /* and not "2", whose raw value is 4 */
    bench_free(&bench);
}

static void a_number_from_the_job_may_be_a_raw_value(void **state)
{
    (void)state;
    struct bench bench;
    struct setpoint *setpoint = poles_bench(&bench);
    setpoint->low = setpoint->nominal = setpoint->high = 1;
    expect_nothing(&bench, "none of its choices stands for 1"); /* a computed number never is */
    setpoint->source = SOURCE_JOB;
    expect_word(&bench, "4");
    setpoint->nominal = 9;
    expect_nothing(&bench, "none of its choices stands for 9");
    bench_free(&bench);
}

static void a_range_of_choices_cannot_be_expected(void **state)
{
    (void)state;
    struct bench bench;
    struct setpoint *setpoint = poles_bench(&bench);
    setpoint->nominal = NAN;
    setpoint->high = INFINITY;
    expect_nothing(&bench, "a range is asked for, and the register holds a choice");
    bench_free(&bench);
}

static void one_bit_is_expected_as_true_or_false(void **state)
{
    (void)state;
    const struct {
        const char *word, *expected;
    } rows[] = {{"true", "true"}, {"yes", "true"},  {"on", "true"},    {"false", "false"},
                {"no", "false"},  {"off", "false"}, {"allowed", NULL}, {"", NULL}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench = bench_start();
        bench_register(&bench, MEANS_RESTART_AFTER_TRIP, TYPE_BOOL, 1, UNIT_NONE);
        bench_word(&bench, MEANS_RESTART_AFTER_TRIP, rows[i].word);
        if (rows[i].expected != NULL)
            expect_word(&bench, rows[i].expected);
        else
            expect_nothing(&bench, "the register holds one bit, which is asked for as true or false");
        bench_free(&bench);
    }
}

static void one_bit_is_expected_by_number_too(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_NONE, TYPE_BOOL, 1, UNIT_NONE);
    struct setpoint *setpoint = bench_band(&bench, MEANS_NONE, 1, 1, 1, UNIT_NONE);
    setpoint->parameter = text_copy("p0");
    expect_word(&bench, "true");
    setpoint->nominal = 0;
    expect_word(&bench, "false");
    setpoint->nominal = 2;
    expect_nothing(&bench, "the register holds one bit, which is asked for as true or false");
    bench_free(&bench);
}

static void one_bit_with_choices_is_expected_by_its_word(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *restart = bench_register(&bench, MEANS_RESTART_AFTER_TRIP, TYPE_BOOL, 1, UNIT_NONE);
    names_add(&restart->choices, 0, "stays_stopped");
    names_add(&restart->choices, 1, "on");
    bench_word(&bench, MEANS_RESTART_AFTER_TRIP, "on");
    expect_word(&bench, "on");
    bench_free(&bench);
}

static void bits_and_texts_are_not_expected_by_number(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    struct parameter *parameter = bench_register(&bench, MEANS_NONE, TYPE_BITS, 1, UNIT_NONE);
    struct setpoint *setpoint = bench_band(&bench, MEANS_NONE, 1, 1, 1, UNIT_NONE);
    setpoint->parameter = text_copy("p0");
    expect_nothing(&bench, "the register holds a set of bits, which no setpoint asks for");
    parameter->type = TYPE_TEXT;
    expect_nothing(&bench, "a number is asked for, and the register holds a text");
    setpoint->kind = SETPOINT_WORD;
    setpoint->word = text_copy("LEFT");
    expect_word(&bench, "LEFT");
    bench_free(&bench);
}

static void what_the_sheet_lacks_is_the_reason(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_SPEED, TYPE_U16, 1, UNIT_RPM);
    struct setpoint *setpoint = bench_setpoint(&bench, MEANS_MOTOR_RATED_SPEED, SETPOINT_MISSING);
    free(setpoint->basis);
    setpoint->basis = text_copy("the sheet lacks motor.rated_speed");
    expect_nothing(&bench, "the sheet lacks motor.rated_speed");
    bench_free(&bench);
}

static void a_selected_unit_is_the_setpoints_until_the_drive_is_read(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_POWER, TYPE_U16, 0.01, UNIT_NONE);
    bench_register(&bench, MEANS_NONE, TYPE_U16, 1, UNIT_NONE);
    row_add(&bench.map.parameters[0].unit_by, 1, (struct choice_row){.raw = 0, .unit = UNIT_KW});
    row_add(&bench.map.parameters[0].unit_by, 1, (struct choice_row){.raw = 1, .unit = UNIT_HP});
    bench_band(&bench, MEANS_MOTOR_RATED_POWER, 1500, 1500, 1500, UNIT_KW);
    expect_range(&bench, 1.5, 1.5, 1.5);

    bench_answer(&bench, 0, 201);
    bench_answer(&bench, 1, 1);
    struct expectation expectation = expectation_of(&bench, 0);
    assert_int_equal(expectation.unit, UNIT_HP);
    assert_near(expectation.step, 0.01);
    assert_near(expectation.expected.nominal, 1500 / 745.69987158227022);
    expectation_free(&expectation);
    bench_free(&bench);
}

static void an_allowance_is_told_in_the_terms_of_the_register(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_SLIP, TYPE_U16, 1, UNIT_RPM);
    struct setpoint *slip = bench_band(&bench, MEANS_MOTOR_RATED_SLIP, 1.5, 1.8, 2.1, UNIT_HZ);
    slip->allow_within = 0.3;
    slip->allow_because = text_copy("rewound in 2019");
    struct expectation expectation = expectation_of(&bench, 0);
    assert_near(expectation.allow_within, 9);
    expectation_free(&expectation);
    bench_free(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_parameter_that_nobody_asks_for_has_no_setpoint),
        cmocka_unit_test(a_band_is_widened_by_half_a_step_of_the_register),
        cmocka_unit_test(a_float_adds_no_step_before_it_is_read),
        cmocka_unit_test(power_is_converted_into_the_unit_of_the_register),
        cmocka_unit_test(slip_is_expected_as_the_register_counts_it),
        cmocka_unit_test(slip_in_rpm_without_a_speed_cannot_be_expected),
        cmocka_unit_test(another_kind_of_quantity_cannot_be_expected),
        cmocka_unit_test(a_number_as_written_is_converted_from_its_own_unit),
        cmocka_unit_test(what_names_the_parameter_wins_over_what_names_its_means),
        cmocka_unit_test(a_ramp_time_runs_over_the_span_of_its_register),
        cmocka_unit_test(a_ramp_span_may_be_a_means_of_the_sheet),
        cmocka_unit_test(a_ramp_span_may_be_selected_in_the_drive),
        cmocka_unit_test(a_ramp_time_of_unknown_span_cannot_be_expected),
        cmocka_unit_test(a_ramp_rate_is_the_reciprocal),
        cmocka_unit_test(a_ramp_of_at_least_so_long_is_a_rate_of_at_most_so_much),
        cmocka_unit_test(a_ramp_in_no_time_is_a_rate_without_end),
        cmocka_unit_test(a_speed_rate_without_a_motor_cannot_be_expected),
        cmocka_unit_test(choices_are_expected_by_their_word),
        cmocka_unit_test(a_number_is_expected_as_the_choice_whose_word_it_is),
        cmocka_unit_test(a_number_from_the_job_may_be_a_raw_value),
        cmocka_unit_test(a_range_of_choices_cannot_be_expected),
        cmocka_unit_test(one_bit_is_expected_as_true_or_false),
        cmocka_unit_test(one_bit_is_expected_by_number_too),
        cmocka_unit_test(one_bit_with_choices_is_expected_by_its_word),
        cmocka_unit_test(bits_and_texts_are_not_expected_by_number),
        cmocka_unit_test(what_the_sheet_lacks_is_the_reason),
        cmocka_unit_test(a_selected_unit_is_the_setpoints_until_the_drive_is_read),
        cmocka_unit_test(an_allowance_is_told_in_the_terms_of_the_register),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
