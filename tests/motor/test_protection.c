/* SPDX-License-Identifier: MIT */
/* What can burn: several motors on one drive, an overload that does not trip, a braking resistor. */
#include "sheets.h"

static const struct finding *assert_one_open(const struct job *job, const char *means, const char *says)
{
    assert_plausible(job);
    assert_int_equal(job->setpoints.open.count, 1);
    const struct finding *finding = &job->setpoints.open.items[0];
    assert_int_equal(finding->verdict, VERDICT_UNCHECKED);
    assert_int_equal(finding->stake, STAKE_PEOPLE);
    assert_string_equal(finding->means, means);
    assert_non_null(strstr(finding->basis, says));
    return finding;
}

static void several_motors_need_overloads_of_their_own(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.motors = (struct motors){.given = true, .count = 3, .own_overloads = ANSWER_NO};
    job_compute(job);
    const struct finding *finding = assert_one_finding(job, "sheet.motors.own_overloads", "3 motors share the drive");
    assert_int_equal(finding->stake, STAKE_PEOPLE);
    job->sheet.motors.own_overloads = ANSWER_UNSAID;
    job_compute(job);
    (void)assert_one_open(job, "sheet.motors.own_overloads", "does not say");
    job->sheet.motors.own_overloads = ANSWER_YES;
    job_compute(job);
    assert_plausible(job);
    assert_int_equal(job->setpoints.open.count, 0);
    job->sheet.motors = (struct motors){.given = true, .count = 1, .own_overloads = ANSWER_NO};
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void ask_for(struct job *job, enum means means, const char *word)
{
    sheet_add_setting(&job->sheet, means, SETTING_WORD, NULL, NULL)->word = text_copy(word);
}

static void an_overload_that_does_not_trip_is_doubted(void **state)
{
    (void)state;
    struct job *job = pump_job();
    ask_for(job, MEANS_MOTOR_OVERLOAD_ACTION, "warn");
    job_compute(job);
    const struct finding *finding =
        assert_one_finding(job, "sheet.settings.motor.overload_action", "asks for warn when the motor is overloaded");
    assert_int_equal(finding->stake, STAKE_PEOPLE);
    job->sheet.motor.thermistor = ANSWER_YES; /* which nobody asked to trip */
    job_compute(job);
    (void)assert_one_finding(job, "sheet.settings.motor.overload_action", "warn");
    ask_for(job, MEANS_PROTECT_MOTOR_THERMISTOR, "trip");
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void an_overload_that_trips_is_not_doubted(void **state)
{
    (void)state;
    struct job *job = pump_job();
    ask_for(job, MEANS_MOTOR_OVERLOAD_ACTION, "trip");
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static struct job *resistor_job(const char *resistance, enum answer thermal_switch)
{
    struct job *job = pump_job();
    job->sheet.drive.has_resistor = ANSWER_YES;
    job->sheet.drive.resistor_resistance = quantity_of(resistance);
    job->sheet.drive.resistor_power = quantity_of("200 W");
    job->sheet.drive.resistor_thermal_switch = thermal_switch;
    job->sheet.drive.chopper_lowest_resistance = quantity_of("80 ohm");
    job_compute(job);
    return job;
}

static void a_resistor_without_thermal_switch_is_a_fire(void **state)
{
    (void)state;
    struct job *job = resistor_job("100 ohm", ANSWER_NO);
    const struct finding *finding =
        assert_one_finding(job, "sheet.drive.braking_resistor.thermal_switch", "has no thermal switch");
    assert_int_equal(finding->stake, STAKE_PEOPLE);
    job_free(job);
    job = resistor_job("100 ohm", ANSWER_UNSAID);
    (void)assert_one_open(job, "sheet.drive.braking_resistor.thermal_switch", "the sheet does not say");
    job_free(job);
}

static void a_resistor_below_the_choppers_lowest_is_doubted(void **state)
{
    (void)state;
    struct job *job = resistor_job("60 ohm", ANSWER_YES);
    const struct finding *finding =
        assert_one_finding(job, "sheet.drive.braking_resistor.resistance", "60 ohm is below the 80 ohm");
    assert_int_equal(finding->stake, STAKE_EQUIPMENT);
    assert_near(finding->expected.low, 80, 1e-12);
    assert_near(finding->found.number, 60, 1e-12);
    job_free(job);
    job = resistor_job("80 ohm", ANSWER_YES);
    assert_plausible(job);
    job_free(job);
}

/* Source: NEC 430.32(A)(1) for the percentages; that a service factor holds on sine supply is common practice. */
static void an_overload_bound_by_service_factor_says_what_it_is_worth(void **state)
{
    (void)state;
    struct job *job = pump_job();
    map_parameter(&job->map, MEANS_MOTOR_OVERLOAD_CURRENT)->overload_is = OVERLOAD_TRIP_CURRENT;
    job->sheet.motor.service_factor = quantity_of("1.15");
    job_compute(job);
    const struct setpoint *setpoint = job_setpoint(job, MEANS_MOTOR_OVERLOAD_CURRENT);
    assert_non_null(strstr(setpoint->basis, "service factor holds on sine supply"));
    assert_int_equal(setpoint->stake, STAKE_PEOPLE);
    job->sheet.motor.service_factor = quantity_of("1.0");
    job_compute(job);
    assert_null(strstr(job_setpoint(job, MEANS_MOTOR_OVERLOAD_CURRENT)->basis, "sine supply"));
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(several_motors_need_overloads_of_their_own),
        cmocka_unit_test(an_overload_that_does_not_trip_is_doubted),
        cmocka_unit_test(an_overload_that_trips_is_not_doubted),
        cmocka_unit_test(a_resistor_without_thermal_switch_is_a_fire),
        cmocka_unit_test(a_resistor_below_the_choppers_lowest_is_doubted),
        cmocka_unit_test(an_overload_bound_by_service_factor_says_what_it_is_worth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
