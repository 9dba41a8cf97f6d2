/* SPDX-License-Identifier: MIT */
/* Ramps in the terms of a drive's register. */
#include "sheets.h"

#include "motor/ramp.h"

/* Source: proportion. A 10 s ramp over 0 to 60 Hz takes 4.167 s from 20 to 45 Hz and 8.333 s from 0 to 50 Hz. */
static void a_time_over_part_of_the_span(void **state)
{
    (void)state;
    assert_near(ramp_register_value(RAMP_TIME, 25.0 / 6, 20, 45, 60, 30), 10, 1e-12);
    assert_near(ramp_register_value(RAMP_TIME, 50.0 / 6, 0, 50, 60, 30), 10, 1e-12);
    assert_near(ramp_register_value(RAMP_TIME, 10, 0, 60, 50, 30), 8.3333333333, 1e-9);
}

static void a_ramp_down_counts_like_one_up(void **state)
{
    (void)state;
    assert_near(ramp_register_value(RAMP_TIME, 5, 45, 20, 60, 30), 12, 1e-12);
}

/* Source: definition of a rate; 1500 rpm in 10 s is 150 rpm/s. */
static void rates_are_change_over_time(void **state)
{
    (void)state;
    assert_near(ramp_register_value(RAMP_RATE, 10, 0, 60, NAN, NAN), 6, 1e-12);
    assert_near(ramp_register_value(RAMP_INVERSE_RATE, 10, 0, 50, NAN, NAN), 0.2, 1e-12);
    assert_near(ramp_register_value(RAMP_SPEED_RATE, 10, 0, 50, NAN, 30), 150, 1e-12);
}

static void what_has_no_value_is_nan(void **state)
{
    (void)state;
    assert_true(isnan(ramp_register_value(RAMP_TIME, 10, 50, 50, 60, 30)));
    assert_true(isnan(ramp_register_value(RAMP_TIME, 10, 0, 50, NAN, 30)));
    assert_true(isnan(ramp_register_value(RAMP_RATE, 0, 0, 50, 60, 30)));
    assert_true(isnan(ramp_register_value(RAMP_SPEED_RATE, 0, 0, 50, 60, 30)));
    assert_true(isnan(ramp_register_value(RAMP_INVERSE_RATE, 5, NAN, 50, 60, 30)));
    assert_true(ramp_register_value(RAMP_TIME, 0, 0, 50, 60, 30) == 0);
}

static void a_span_is_a_value(void **state)
{
    (void)state;
    struct setpoints setpoints = {.derived = {.poles = 4, .synchronous_speed_rpm = 1800, .rated_frequency_hz = 60}};
    struct ramp_span in_hz = {.given = true, .value = quantity_of("50 Hz")};
    struct ramp_span in_rpm = {.given = true, .value = quantity_of("1500 rpm")};
    assert_near(ramp_span_hz(&in_hz, &setpoints, false, 0), 50, 1e-12);
    assert_near(ramp_span_hz(&in_rpm, &setpoints, false, 0), 50, 1e-12);
    setpoints.derived.synchronous_speed_rpm = NAN;
    assert_true(isnan(ramp_span_hz(&in_rpm, &setpoints, false, 0)));
}

static void a_span_is_the_setpoint_of_a_means(void **state)
{
    (void)state;
    struct job *job = pump_job();
    struct ramp_span span = {.given = true, .means = MEANS_LIMIT_MAXIMUM_FREQUENCY};
    job_compute(job);
    assert_true(isnan(ramp_span_hz(&span, &job->setpoints, false, 0)));
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, SETTING_QUANTITY, "55 Hz", NULL);
    job_compute(job);
    assert_near(ramp_span_hz(&span, &job->setpoints, false, 0), 55, 1e-12);
    job_free(job);
}

static void a_selector_chooses_the_span(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job_compute(job);
    struct choice_row choices[] = {{.raw = 0, .span_means = MEANS_MOTOR_RATED_FREQUENCY},
                                   {.raw = 1, .span = quantity_of("50 Hz")}};
    struct ramp_span span = {.given = true, .by = {.given = true, .rows = choices, .count = 2}};
    assert_near(ramp_span_hz(&span, &job->setpoints, true, 0), 60, 1e-12);
    assert_near(ramp_span_hz(&span, &job->setpoints, true, 1), 50, 1e-12);
    assert_true(isnan(ramp_span_hz(&span, &job->setpoints, true, 2)));
    assert_true(isnan(ramp_span_hz(&span, &job->setpoints, false, 0)));
    job_free(job);
}

static void no_span_is_nan(void **state)
{
    (void)state;
    struct setpoints setpoints = {0};
    struct ramp_span span = {0};
    assert_true(isnan(ramp_span_hz(&span, &setpoints, false, 0)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_time_over_part_of_the_span),
        cmocka_unit_test(a_ramp_down_counts_like_one_up),
        cmocka_unit_test(rates_are_change_over_time),
        cmocka_unit_test(what_has_no_value_is_nan),
        cmocka_unit_test(a_span_is_a_value),
        cmocka_unit_test(a_span_is_the_setpoint_of_a_means),
        cmocka_unit_test(a_selector_chooses_the_span),
        cmocka_unit_test(no_span_is_nan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
