/* SPDX-License-Identifier: MIT */
/* Derivations on the worksheet: symbols and numbers as a person computes by hand. */
#include "sheets.h"

#include "motor/derivation.h"

static void expect_derivation(const struct job *job, const char *of, const char *symbol, const char *formula,
                              const char *numbers)
{
    const struct derivation *derivation = setpoints_derivation(&job->setpoints, of);
    if (derivation == NULL)
        fail_msg("no derivation of %s", of);
    assert_string_equal(derivation->symbol, symbol);
    assert_string_equal(derivation->formula, formula);
    assert_string_equal(derivation->numbers, numbers);
}

static void a_plate_is_derived_line_by_line(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.supply = (struct supply){.given = true, .voltage = quantity_of("480 V"), .phases = 3};
    job_compute(job);
    expect_derivation(job, "poles", "p", "2 x floor(60 f_N / n_N)", "2 x floor(60 x 60 Hz / 1745 rpm)");
    expect_derivation(job, "synchronous_speed_rpm", "n_s", "120 f_N / p", "120 x 60 Hz / 4");
    expect_derivation(job, "slip", "s", "(n_s - n_N) / n_s", "(1800 rpm - 1745 rpm) / 1800 rpm");
    expect_derivation(job, "rated_torque_nm", "T_N", "60 P_N / (2 pi n_N)", "60 x 1491 W / (2 pi x 1745 rpm)");
    expect_derivation(job, "volts_per_hertz", "k", "U_N / f_N", "460 V / 60 Hz");
    expect_derivation(job, "dc_bus_v", "U_dc", "sqrt(2) U_L", "sqrt(2) x 480 V");
    expect_derivation(job, "dc_bus_loaded_v", "U_load", "3 sqrt(2) U_L / pi", "3 x sqrt(2) x 480 V / pi");
    job_free(job);
}

static void motors_without_slip_take_the_nearest_poles(void **state)
{
    (void)state;
    static const struct plate_text columns[] = {{"4 kW", "400 V", "7.6 A", "100 Hz", "1500 rpm", NULL, NULL}};
    struct job *job = job_of(columns, 1, 0);
    job->sheet.motor.kind = MOTOR_PERMANENT_MAGNET;
    job_compute(job);
    expect_derivation(job, "poles", "p", "2 x 60 f_N / n_N", "2 x 60 x 100 Hz / 1500 rpm");
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_POLES)->formula, "2 x 60 f_N / n_N");
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_POLES)->basis, "poles = 2 x 60 x 100 Hz / 1500 rpm = 8");
    job_free(job);
}

static void the_bus_follows_the_rectifier(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.supply = (struct supply){.given = true, .voltage = quantity_of("230 V"), .phases = 1};
    job_compute(job);
    expect_derivation(job, "dc_bus_v", "U_dc", "sqrt(2) U_L", "sqrt(2) x 230 V");
    expect_derivation(job, "dc_bus_loaded_v", "U_load", "2 sqrt(2) U_L / pi", "2 x sqrt(2) x 230 V / pi");
    job->sheet.supply.voltage = quantity_of("115 V");
    job->sheet.drive.front_end = FRONT_DOUBLER;
    job_compute(job);
    expect_derivation(job, "dc_bus_v", "U_dc", "2 sqrt(2) U_L", "2 x sqrt(2) x 115 V");
    expect_derivation(job, "dc_bus_loaded_v", "U_load", "4 sqrt(2) U_L / pi", "4 x sqrt(2) x 115 V / pi");
    job_free(job);
}

static void what_is_not_known_has_no_derivation(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.motor.columns[1].speed = (struct quantity){0};
    job->sheet.motor.columns[1].voltage_low = job->sheet.motor.columns[1].voltage_high = (struct quantity){0};
    job_compute(job);
    assert_int_equal(job->setpoints.derivation_count, 0);
    job_free(job);
}

static void a_setpoint_that_is_copied_has_no_formula(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)sheet_add_setting(&job->sheet, MEANS_OUTPUT_BASE_FREQUENCY, SETTING_QUANTITY, "60 Hz", "60 Hz");
    job_compute(job);
    assert_null(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT)->formula);
    assert_null(job_setpoint(job, MEANS_OUTPUT_BASE_FREQUENCY)->formula); /* the job says it */
    assert_string_equal(job_setpoint(job, MEANS_OUTPUT_BASE_VOLTAGE)->formula, "U_N");
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_RATED_SLIP)->formula, "f_N - n_N p / 120");
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_POLES)->formula, "2 x floor(60 f_N / n_N)");
    job_free(job);
}

static void formulas_count_the_motors(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.motors = (struct motors){.given = true, .count = 3, .own_overloads = ANSWER_YES};
    job->sheet.motor.no_load_current = quantity_of("1.1 A");
    job_compute(job);
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT)->formula, "N I_N");
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_RATED_POWER)->formula, "N P_N");
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_NO_LOAD_CURRENT)->formula, "N I_0");
    assert_null(job_setpoint(job, MEANS_MOTOR_RATED_VOLTAGE)->formula);
    job_free(job);
}

static void formulas_know_an_extended_motor(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.motor.run_to_voltage = quantity_of("797 V");
    job->sheet.motor.run_to_frequency = quantity_of("104 Hz");
    job->map.plate_at = PLATE_EXTENDED;
    job_compute(job);
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_RATED_POWER)->formula, "P_N f_run / f_N");
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_RATED_SPEED)->formula, "n_N + 120 (f_run - f_N) / p");
    assert_string_equal(job_setpoint(job, MEANS_OUTPUT_BASE_FREQUENCY)->formula, "f_run");
    job->map.plate_at = PLATE_NAMEPLATE;
    job_compute(job);
    assert_null(job_setpoint(job, MEANS_MOTOR_RATED_POWER)->formula);
    assert_string_equal(job_setpoint(job, MEANS_OUTPUT_BASE_FREQUENCY)->formula, "f_N");
    job_free(job);
}

static void an_overload_says_its_share(void **state)
{
    (void)state;
    struct job *job = pump_job();
    struct parameter *overload = map_parameter(&job->map, MEANS_MOTOR_OVERLOAD_CURRENT);
    overload->overload_is = OVERLOAD_REFERENCE;
    job_compute(job);
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_OVERLOAD_CURRENT)->formula, "I_N");
    overload->overload_is = OVERLOAD_TRIP_CURRENT;
    job_compute(job);
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_OVERLOAD_CURRENT)->formula, "I_N to 1.15 I_N");
    job->sheet.motor.service_factor = quantity_of("1.15");
    job_compute(job);
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_OVERLOAD_CURRENT)->formula, "I_N to 1.25 I_N");
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plate_is_derived_line_by_line),
        cmocka_unit_test(motors_without_slip_take_the_nearest_poles),
        cmocka_unit_test(the_bus_follows_the_rectifier),
        cmocka_unit_test(what_is_not_known_has_no_derivation),
        cmocka_unit_test(a_setpoint_that_is_copied_has_no_formula),
        cmocka_unit_test(formulas_count_the_motors),
        cmocka_unit_test(formulas_know_an_extended_motor),
        cmocka_unit_test(an_overload_says_its_share),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
