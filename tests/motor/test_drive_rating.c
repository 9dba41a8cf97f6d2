/* SPDX-License-Identifier: MIT */
/* The drive against its motor, where it stands and with its cable. */
#include "motor/drive_rating.h"
#include "sheets.h"

/* 2000 m and 45 degC: 0.90 x 0.95 = 0.855. Source: web summary of IEC 60034-1 for the rule, arithmetic. */
static void height_and_heat_take_a_share(void **state)
{
    (void)state;
    assert_near(altitude_share(2000) * ambient_share(45), 0.855, 1e-12);
    assert_near(altitude_share(1000), 1, 0);
    assert_near(altitude_share(-50), 1, 0);
    assert_near(ambient_share(40), 1, 0);
    assert_near(ambient_share(-20), 1, 0);
    assert_near(ambient_share(200), 0, 0);
}

/* Equal power on one phase takes sqrt(3) times the current; half the rating is left. Common practice, no source. */
static void one_phase_of_supply(void **state)
{
    (void)state;
    assert_near(single_phase_input_ratio(), 1.7320508, 1e-6);
    assert_near(single_phase_input_share(), 0.5, 0);
}

static void pulses_double_on_a_long_cable(void **state)
{
    (void)state;
    assert_near(reflected_peak_v(650, 100), 1300, 0);
    assert_near(reflected_peak_v(650, 7.5), 1300, 1e-9);
    assert_near(reflected_peak_v(650, 3.75), 975, 1e-9);
    assert_near(reflected_peak_v(650, 0), 650, 0);
    assert_true(isnan(reflected_peak_v(650, NAN)));
}

/* The 3.0 A pump on a drive of 3.3 A for 150 %. */
static struct job *drive_job(void)
{
    struct job *job = pump_job();
    job->sheet.drive.rated_current = quantity_of("3.3 A");
    job->sheet.drive.overload = quantity_of("150 %");
    job->sheet.drive.overload_time = quantity_of("60 s");
    job->sheet.supply = (struct supply){.given = true, .voltage = quantity_of("480 V"), .phases = 3};
    return job;
}

static void a_drive_that_is_too_small_up_there(void **state)
{
    (void)state;
    struct job *job = drive_job();
    job->sheet.site.altitude = quantity_of("1500 m");
    job_compute(job);
    assert_plausible(job);
    assert_no_doubt(job);
    job->sheet.site.altitude = quantity_of("2000 m");
    job->sheet.site.ambient = quantity_of("45 degC");
    job_compute(job);
    const struct finding *finding = assert_one_doubt(job, "sheet.drive.rated_current", "x 0.9 for 2000 m");
    assert_non_null(strstr(finding->basis, "0.95 for 45 degC"));
    assert_near(finding->found.number, 3.3 * 0.855, 1e-9);
    job_free(job);
}

static void a_drive_on_one_phase(void **state)
{
    (void)state;
    struct job *job = drive_job();
    job->sheet.supply.phases = 1;
    job_compute(job);
    (void)assert_one_doubt(job, "sheet.drive.rated_current", "single-phase supply, whose input current is 1.732 times");
    job->sheet.drive.rated_current = quantity_of("6.2 A");
    job_compute(job);
    assert_no_doubt(job);
    job_free(job);
}

/* The load asks 6.5 of 8.16 N.m: 80 %; 65 % are left at 4500 m. */
static void a_motor_in_thin_air(void **state)
{
    (void)state;
    struct job *job = drive_job();
    job->sheet.drive.rated_current = quantity_of("9.0 A");
    job->sheet.load =
        (struct load){.given = true, .torque = LOAD_SQUARE, .torque_at_rated_speed = quantity_of("6.5 N.m")};
    job->sheet.site.altitude = quantity_of("4500 m");
    job_compute(job);
    (void)assert_one_doubt(job, "sheet.load.torque_at_rated_speed", "x 0.65 for 4500 m");
    job_free(job);
}

static void duty_and_overload_belong_together(void **state)
{
    (void)state;
    static const struct {
        enum duty duty;
        enum load_torque torque;
        const char *overload, *says;
    } rows[] = {
        {DUTY_HEAVY, LOAD_UNSAID, "110 %", "heavy duty usually goes with 150 %"},
        {DUTY_NORMAL, LOAD_UNSAID, "150 %", "normal duty usually goes with 110 or 120 %"},
        {DUTY_UNSAID, LOAD_CONSTANT, "110 %", "usually breaks away with 150 %"},
        {DUTY_HEAVY, LOAD_CONSTANT, "150 %", NULL},
        {DUTY_NORMAL, LOAD_SQUARE, "120 %", NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct job *job = drive_job();
        job->sheet.drive.duty = rows[i].duty;
        job->sheet.load.torque = rows[i].torque;
        job->sheet.drive.overload = quantity_of(rows[i].overload);
        job_compute(job);
        if (rows[i].says == NULL)
            assert_no_doubt(job);
        else
            (void)assert_one_doubt(job, "sheet.drive.overload", rows[i].says);
        job_free(job);
    }
}

static void a_current_limit_that_the_drive_cannot_give(void **state)
{
    (void)state;
    struct job *job = drive_job();
    sheet_add_number(&job->sheet, MEANS_LIMIT_CURRENT, "5.2 A");
    job_compute(job);
    const struct finding *finding =
        assert_one_finding(job, "sheet.settings.limit.current", "at most 150 % x 3.3 A = 4.95 A");
    assert_int_equal(finding->source, SOURCE_JOB);
    job_free(job);
    job = drive_job();
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_CURRENT, SETTING_AT_MOST, NULL, "5.2 A");
    job_compute(job);
    assert_plausible(job);
    assert_no_doubt(job);
    job_free(job);
}

static void a_current_limit_below_the_motors_current(void **state)
{
    (void)state;
    struct job *job = drive_job();
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_CURRENT_MOTORING, SETTING_AT_MOST, NULL, "2.0 A");
    job_compute(job);
    (void)assert_one_doubt(job, "sheet.settings.limit.current_motoring", "2 A is below the motor's 3 A");
    job_free(job);
}

static void carrier_frequency_by_cable(void **state)
{
    (void)state;
    struct job *job = drive_job();
    job_compute(job);
    assert_near(job_setpoint(job, MEANS_OUTPUT_CARRIER_FREQUENCY)->high, 8000, 0);
    assert_int_equal(job_setpoint(job, MEANS_OUTPUT_CARRIER_FREQUENCY)->source, SOURCE_ESTIMATE);
    job->sheet.site.cable_length = quantity_of("120 m");
    job->sheet.site.cable_filter = FILTER_REACTOR;
    job_compute(job);
    assert_near(job_setpoint(job, MEANS_OUTPUT_CARRIER_FREQUENCY)->high, 4000, 0);
    assert_no_doubt(job);
    sheet_add_number(&job->sheet, MEANS_OUTPUT_CARRIER_FREQUENCY, "12 kHz");
    job_compute(job);
    (void)assert_one_doubt(job, "sheet.settings.output.carrier_frequency", "2 to 4 kHz with a cable of 120 m");
    job_free(job);
}

/* 480 V: 679 V of bus, doubled 1358 V, against 1000 V of general-purpose insulation. Source: NEMA MG 1 parts 30 and 31
 * as trade articles give them. */
static void insulation_and_the_cable(void **state)
{
    (void)state;
    struct job *job = drive_job();
    job->sheet.site.cable_length = quantity_of("40 m");
    job_compute(job);
    const struct finding *finding = assert_one_doubt(job, "sheet.cable.length", "678.8 V x 2 = 1358 V");
    assert_near(finding->expected.high, 1000, 0);
    job->sheet.site.cable_filter = FILTER_SINE;
    job_compute(job);
    assert_no_doubt(job);
    job->sheet.site.cable_filter = FILTER_UNSAID;
    job->sheet.site.cable_length = quantity_of("3 m");
    job_compute(job);
    assert_no_doubt(job);
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(height_and_heat_take_a_share),
        cmocka_unit_test(one_phase_of_supply),
        cmocka_unit_test(pulses_double_on_a_long_cable),
        cmocka_unit_test(a_drive_that_is_too_small_up_there),
        cmocka_unit_test(a_drive_on_one_phase),
        cmocka_unit_test(a_motor_in_thin_air),
        cmocka_unit_test(duty_and_overload_belong_together),
        cmocka_unit_test(a_current_limit_that_the_drive_cannot_give),
        cmocka_unit_test(a_current_limit_below_the_motors_current),
        cmocka_unit_test(carrier_frequency_by_cable),
        cmocka_unit_test(insulation_and_the_cable),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
