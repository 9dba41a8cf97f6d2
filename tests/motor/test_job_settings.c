/* SPDX-License-Identifier: MIT */
/* Setpoints that the job asks for: the sheet's settings. */
#include "sheets.h"

static void a_quantity_is_exact(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_MINIMUM_FREQUENCY, SETTING_QUANTITY, "20 Hz", NULL);
    (void)sheet_add_setting(&job->sheet, MEANS_OUTPUT_CARRIER_FREQUENCY, SETTING_QUANTITY, "4 kHz", NULL);
    job_compute(job);
    const struct setpoint *minimum = job_setpoint(job, MEANS_LIMIT_MINIMUM_FREQUENCY);
    assert_range(minimum, 20, 20, 20);
    assert_string_equal(minimum->basis, "the job asks for 20 Hz");
    assert_int_equal(minimum->source, SOURCE_JOB);
    assert_range(job_setpoint(job, MEANS_OUTPUT_CARRIER_FREQUENCY), 4000, 4000, 4000);
    assert_int_equal(job_setpoint(job, MEANS_OUTPUT_CARRIER_FREQUENCY)->unit, UNIT_KHZ);
    job_free(job);
}

static void a_word_is_a_word(void **state)
{
    (void)state;
    struct job *job = pump_job();
    struct setting *setting = sheet_add_setting(&job->sheet, MEANS_CONTROL_START_SOURCE, SETTING_WORD, NULL, NULL);
    setting->word = text_copy("terminals");
    job_compute(job);
    const struct setpoint *source = job_setpoint(job, MEANS_CONTROL_START_SOURCE);
    assert_int_equal(source->kind, SETPOINT_WORD);
    assert_string_equal(source->word, "terminals");
    assert_string_equal(source->basis, "the job asks for terminals");
    assert_int_equal(source->stake, STAKE_PEOPLE);
    job_free(job);
}

static void bounds_leave_an_end_open(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_MINIMUM_FREQUENCY, SETTING_AT_LEAST, "20 Hz", NULL);
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, SETTING_AT_MOST, NULL, "60 Hz");
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_SKIP_BAND, SETTING_BETWEEN, "20 Hz", "25 Hz");
    job_compute(job);
    const struct setpoint *minimum = job_setpoint(job, MEANS_LIMIT_MINIMUM_FREQUENCY);
    assert_true(minimum->low == 20 && isnan(minimum->nominal) && minimum->high == INFINITY);
    assert_string_equal(minimum->basis, "the job asks for at least 20 Hz");
    const struct setpoint *maximum = job_setpoint(job, MEANS_LIMIT_MAXIMUM_FREQUENCY);
    assert_true(maximum->low == -INFINITY && isnan(maximum->nominal) && maximum->high == 60);
    assert_int_equal(maximum->unit, UNIT_HZ);
    const struct setpoint *between = job_setpoint(job, MEANS_LIMIT_SKIP_BAND);
    assert_true(between->low == 20 && isnan(between->nominal) && between->high == 25);
    assert_string_equal(between->basis, "the job asks for 20 Hz to 25 Hz");
    job_free(job);
}

static void a_bare_ramp_runs_to_the_maximum_frequency(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)sheet_add_setting(&job->sheet, MEANS_RAMP_ACCELERATION_TIME, SETTING_QUANTITY, "10 s", NULL);
    job_compute(job);
    const struct setpoint *ramp = job_setpoint(job, MEANS_RAMP_ACCELERATION_TIME);
    assert_near(ramp->ramp_from_hz, 0, 0);
    assert_near(ramp->ramp_to_hz, 60, 0); /* the plate's rated frequency */
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, SETTING_QUANTITY, "75 Hz", NULL);
    job_compute(job);
    ramp = job_setpoint(job, MEANS_RAMP_ACCELERATION_TIME);
    assert_range(ramp, 10, 10, 10);
    assert_near(ramp->ramp_to_hz, 75, 0);
    assert_string_equal(ramp->basis, "the job asks for 10 s from 0 Hz to 75 Hz");
    job->sheet.settings[1].kind = SETTING_AT_MOST;
    job->sheet.settings[1].high = quantity_of("50 Hz");
    job_compute(job);
    assert_near(job_setpoint(job, MEANS_RAMP_ACCELERATION_TIME)->ramp_to_hz, 50, 0);
    job_free(job);
}

static void a_ramp_may_say_its_span(void **state)
{
    (void)state;
    struct job *job = pump_job();
    struct setting *ramp = sheet_add_setting(&job->sheet, MEANS_RAMP_DECELERATION_TIME, SETTING_RAMP, "500 ms", NULL);
    ramp->ramp_from = quantity_of("45 Hz");
    ramp->ramp_to = quantity_of("600 rpm");
    job_compute(job);
    const struct setpoint *setpoint = job_setpoint(job, MEANS_RAMP_DECELERATION_TIME);
    assert_range(setpoint, 0.5, 0.5, 0.5);
    assert_near(setpoint->ramp_from_hz, 45, 0);
    assert_near(setpoint->ramp_to_hz, 20, 1e-12);
    job_free(job);
}

static void a_ramp_over_nothing_known_is_missing(void **state)
{
    (void)state;
    struct job *job = job_of(NULL, 0, 0);
    (void)sheet_add_setting(&job->sheet, MEANS_RAMP_ACCELERATION_TIME, SETTING_AT_LEAST, "10 s", NULL);
    job_compute(job);
    assert_missing(job_setpoint(job, MEANS_RAMP_ACCELERATION_TIME), "neither limit.maximum_frequency");
    job_free(job);
}

static void a_parameter_without_means_is_compared_as_written(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)map_add(&job->map, "energy_saver", MEANS_NONE);
    struct parameter *sleep = map_add(&job->map, "sleep_frequency", MEANS_NONE);
    sleep->could_start = true;
    struct setting *saver = sheet_add_setting(&job->sheet, MEANS_NONE, SETTING_QUANTITY, "1", NULL);
    free(saver->name);
    saver->name = text_copy("energy_saver");
    struct setting *below = sheet_add_setting(&job->sheet, MEANS_NONE, SETTING_BETWEEN, "0.012 kHz", "15 Hz");
    free(below->name);
    below->name = text_copy("sleep_frequency");
    job_compute(job);
    const struct setpoint *first = setpoints_find_parameter(&job->setpoints, "energy_saver");
    assert_non_null(first);
    assert_range(first, 1, 1, 1);
    assert_int_equal(first->means, MEANS_NONE);
    assert_int_equal(first->stake, STAKE_PROCESS);
    const struct setpoint *second = setpoints_find_parameter(&job->setpoints, "sleep_frequency");
    assert_non_null(second);
    assert_int_equal(second->unit, UNIT_KHZ);
    assert_near(second->low, 0.012, 1e-12);
    assert_near(second->high, 0.015, 1e-12);
    assert_int_equal(second->stake, STAKE_PEOPLE);
    job_free(job);
}

static void a_ramp_by_parameter_name_has_its_span(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)map_add(&job->map, "second_ramp", MEANS_RAMP_ACCELERATION_TIME);
    struct setting *ramp = sheet_add_setting(&job->sheet, MEANS_NONE, SETTING_QUANTITY, "5 s", NULL);
    free(ramp->name);
    ramp->name = text_copy("second_ramp");
    job_compute(job);
    const struct setpoint *setpoint = setpoints_find_parameter(&job->setpoints, "second_ramp");
    assert_non_null(setpoint);
    assert_near(setpoint->ramp_to_hz, 60, 0);
    job_free(job);
}

static void a_percentage_is_of_what_the_map_says(void **state)
{
    (void)state;
    struct job *job = pump_job();
    struct parameter *limit = map_parameter(&job->map, MEANS_LIMIT_CURRENT);
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_CURRENT, SETTING_AT_MOST, NULL, "150 %");
    job_compute(job);
    assert_missing(job_setpoint(job, MEANS_LIMIT_CURRENT), "what that is a percentage of is not known");
    limit->is_percent = true;
    limit->percent_of = MEANS_MOTOR_RATED_CURRENT;
    job_compute(job);
    const struct setpoint *setpoint = job_setpoint(job, MEANS_LIMIT_CURRENT);
    assert_near(setpoint->high, 4.5, 1e-12);
    assert_true(setpoint->low == -INFINITY);
    assert_int_equal(setpoint->unit, UNIT_A);
    assert_string_equal(setpoint->basis, "the job asks for at most 150 % of motor.rated_current 3 A");
    job_free(job);
}

static void the_job_wins_over_the_plate(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)sheet_add_setting(&job->sheet, MEANS_MOTOR_RATED_POWER, SETTING_QUANTITY, "1.5 kW", NULL);
    job_compute(job);
    const struct setpoint *power = job_setpoint(job, MEANS_MOTOR_RATED_POWER);
    assert_range(power, 1500, 1500, 1500);
    assert_int_equal(power->source, SOURCE_JOB);
    assert_plausible(job);
    size_t with_that_means = 0;
    for (size_t i = 0; i < job->setpoints.count; i++)
        with_that_means += job->setpoints.items[i].means == MEANS_MOTOR_RATED_POWER;
    assert_int_equal(with_that_means, 1);
    job_free(job);
}

/* 1.49 kW stands for 1.485 to 1.495 kW, and 2 hp is 1.4914 kW. */
static void the_jobs_own_rounding_settles_a_contradiction(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)sheet_add_setting(&job->sheet, MEANS_MOTOR_RATED_POWER, SETTING_QUANTITY, "1.49 kW", NULL);
    job_compute(job);
    assert_plausible(job);
    job->sheet.settings[0].low = quantity_of("1.48 kW");
    job_compute(job);
    (void)assert_one_finding(job, "sheet.settings.motor.rated_power", "the job asks for 1.48 kW");
    job_free(job);
}

static void a_job_against_the_plate_is_implausible(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)sheet_add_setting(&job->sheet, MEANS_MOTOR_RATED_CURRENT, SETTING_QUANTITY, "6.0 A", NULL);
    job_compute(job);
    const struct finding *finding =
        assert_one_finding(job, "sheet.settings.motor.rated_current",
                           "the job asks for 6.0 A, but nameplate current in the 460 V column asks for 3 A");
    assert_int_equal(finding->source, SOURCE_JOB);
    assert_int_equal(finding->stake, STAKE_EQUIPMENT);
    assert_near(finding->found.number, 6, 1e-12);
    assert_near(finding->expected.high, 3.05, 1e-12);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT), 6, 6, 6);
    job_free(job);
}

static void an_allowance_settles_a_contradiction(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)sheet_add_setting(&job->sheet, MEANS_MOTOR_RATED_SPEED, SETTING_QUANTITY, "1752 rpm", NULL);
    sheet_add_allowance(&job->sheet, MEANS_MOTOR_RATED_SPEED, "10 rpm", "rewound");
    job_compute(job);
    assert_plausible(job);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_SPEED), 1742, 1752, 1762);
    job_free(job);
}

static void a_bound_that_holds_the_plate_is_no_contradiction(void **state)
{
    (void)state;
    struct job *job = pump_job();
    map_parameter(&job->map, MEANS_MOTOR_OVERLOAD_CURRENT)->overload_is = OVERLOAD_TRIP_CURRENT;
    job->sheet.motor.service_factor = quantity_of("1.15");
    (void)sheet_add_setting(&job->sheet, MEANS_MOTOR_RATED_CURRENT, SETTING_AT_MOST, NULL, "3.2 A");
    (void)sheet_add_setting(&job->sheet, MEANS_MOTOR_OVERLOAD_CURRENT, SETTING_QUANTITY, "3.45 A", NULL);
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void an_allowance_may_name_a_parameter(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)map_add(&job->map, "sleep_frequency", MEANS_NONE);
    struct setting *setting = sheet_add_setting(&job->sheet, MEANS_NONE, SETTING_QUANTITY, "12 Hz", NULL);
    free(setting->name);
    setting->name = text_copy("sleep_frequency");
    (void)map_add(&job->map, "wake_frequency", MEANS_NONE);
    struct setting *other = sheet_add_setting(&job->sheet, MEANS_NONE, SETTING_QUANTITY, "20 Hz", NULL);
    free(other->name);
    other->name = text_copy("wake_frequency");
    sheet_add_allowance(&job->sheet, MEANS_NONE, "0.5 Hz", "the operator trims it");
    job->sheet.allow[0].parameter = text_copy("sleep_frequency");
    sheet_add_allowance(&job->sheet, MEANS_NONE, "1 A", "by the parameter's name");
    job->sheet.allow[1].parameter = text_copy("motor.rated_current"); /* the map's name of it */
    job_compute(job);
    assert_range(setpoints_find_parameter(&job->setpoints, "sleep_frequency"), 11.5, 12, 12.5);
    assert_range(setpoints_find_parameter(&job->setpoints, "wake_frequency"), 20, 20, 20);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT), 1.95, 3, 4.05);
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_quantity_is_exact),
        cmocka_unit_test(a_word_is_a_word),
        cmocka_unit_test(bounds_leave_an_end_open),
        cmocka_unit_test(a_bare_ramp_runs_to_the_maximum_frequency),
        cmocka_unit_test(a_ramp_may_say_its_span),
        cmocka_unit_test(a_ramp_over_nothing_known_is_missing),
        cmocka_unit_test(a_parameter_without_means_is_compared_as_written),
        cmocka_unit_test(a_ramp_by_parameter_name_has_its_span),
        cmocka_unit_test(a_percentage_is_of_what_the_map_says),
        cmocka_unit_test(the_job_wins_over_the_plate),
        cmocka_unit_test(the_jobs_own_rounding_settles_a_contradiction),
        cmocka_unit_test(a_job_against_the_plate_is_implausible),
        cmocka_unit_test(an_allowance_settles_a_contradiction),
        cmocka_unit_test(a_bound_that_holds_the_plate_is_no_contradiction),
        cmocka_unit_test(an_allowance_may_name_a_parameter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
