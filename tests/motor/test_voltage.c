/* SPDX-License-Identifier: MIT */
/* Voltage against frequency: base point, low supplies, run_to, boost, other kinds of motor. */
#include "motor/voltage.h"
#include "sheets.h"

/* 460/60 = 7.667, 230/60 = 3.833, 575/60 = 9.583, 400/50 = 8.000, 230/50 = 4.600 V/Hz: all rated flux. Arithmetic. */
static void flux_is_volts_a_hertz(void **state)
{
    (void)state;
    static const struct {
        double volts, hertz, ratio;
    } rows[] = {{460, 60, 7.667}, {230, 60, 3.833}, {575, 60, 9.583}, {400, 50, 8}, {480, 60, 8}, {230, 50, 4.6}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_near(flux_share(rows[i].volts, rows[i].hertz, rows[i].ratio, 1), 1, 0.0001);
        assert_near(flux_share(rows[i].volts / 2, rows[i].hertz / 2, rows[i].volts, rows[i].hertz), 1, 1e-12);
    }
}

/* A 230 V 60 Hz motor takes 151 A at start, and 173.3 A on 220 V 50 Hz. Source: Hubert, example 5.7. */
static void starting_current_follows_flux(void **state)
{
    (void)state;
    assert_near(151 * flux_share(220, 50, 230, 60), 173.3, 0.2);
}

/* A 460 V 60 Hz motor at 90 Hz: 66.7 % torque, 44.4 % breakdown. Theory of constant voltage. */
static void torque_above_base_frequency(void **state)
{
    (void)state;
    assert_near(torque_share_at(90, 60), 0.667, 0.0005);
    assert_near(breakdown_share_at(90, 60), 0.444, 0.0005);
    assert_near(torque_share_at(30, 60), 1, 0);
    assert_near(breakdown_share_at(30, 60), 1, 0);
}

static void a_low_supply_takes_base_frequency(void **state)
{
    (void)state;
    assert_near(base_frequency_on_supply_hz(400, 50, 320), 40, 1e-12);
    assert_near(base_frequency_on_supply_hz(460, 60, 480), 60, 0);
    assert_true(isnan(base_frequency_on_supply_hz(460, 60, NAN)));
}

/* 7.5 kW, 400 V: 14.088 A; 10 hp, 460 V: 12.008 A; 74.6 kW, 230 V: 248.0 A. Sources: formula; Hubert, example 4.6. */
static void current_from_power(void **state)
{
    (void)state;
    assert_near(line_current_a(MOTOR_INDUCTION, 7500, 400, 0.904, 0.85), 14.088, 0.001);
    assert_near(line_current_a(MOTOR_INDUCTION, 10 * 745.69987158, 460, 0.917, 0.85), 12.008, 0.001);
    assert_near(line_current_a(MOTOR_INDUCTION, 74600, 230, 0.910, 0.8298), 248.0, 0.1);
    assert_near(line_current_a(MOTOR_SINGLE_PHASE, 1000, 200, 0.5, 1), 10, 1e-9);
}

static void smaller_motors_take_more_boost(void **state)
{
    (void)state;
    assert_true(usual_boost_share(500) > usual_boost_share(5000));
    assert_true(usual_boost_share(5000) > usual_boost_share(200000));
}

/* Delta for 230 V, star for 400 V, 50 Hz; run to 400 V. 50 x sqrt(3) = 86.60 Hz; 4.619 against 4.600 V/Hz. Arithmetic.
 */
static struct job *delta_job(const char *voltage, const char *frequency)
{
    static const struct plate_text delta = {"3 kW", "230 V", "10.6 A", "50 Hz", "1430 rpm", NULL, NULL};
    struct job *job = job_of(&delta, 1, 0);
    job->sheet.motor.run_to_voltage = quantity_of(voltage);
    job->sheet.motor.run_to_frequency = quantity_of(frequency);
    job->map.plate_at = PLATE_NAMEPLATE;
    job_compute(job);
    return job;
}

static void run_to_keeps_volts_a_hertz(void **state)
{
    (void)state;
    static const char *const right[] = {"86.6 Hz", "87 Hz", "86.60 Hz"};
    for (size_t i = 0; i < 3; i++) {
        struct job *job = delta_job("400 V", right[i]);
        assert_plausible(job);
        assert_no_doubt(job);
        job_free(job);
    }
    struct job *job = delta_job("400 V", "100 Hz");
    const struct finding *finding = assert_one_finding(job, "sheet.motor.run_to", "400 V / 100 Hz = 4 V/Hz");
    assert_near(finding->expected.nominal, 460, 1e-9);
    job_free(job);
    job = delta_job("400 V", "50 Hz");
    (void)assert_one_finding(job, "sheet.motor.run_to", "at 400 V 86.96 Hz");
    job_free(job);
}

static void run_to_beyond_the_highest_speed(void **state)
{
    (void)state;
    struct job *job = delta_job("400 V", "87 Hz");
    job->sheet.motor.highest_speed = quantity_of("2400 rpm");
    job_compute(job);
    (void)assert_one_finding(job, "sheet.motor.run_to", "2400 rpm x 4 poles / 120 = 80 Hz");
    job_free(job);
}

static struct job *low_supply_job(const char *supply)
{
    struct job *job = job_of(&pump_columns[0], 1, 0);
    job->sheet.supply = (struct supply){.given = true, .voltage = quantity_of(supply), .phases = 3};
    job_compute(job);
    return job;
}

/* 208 V for a 230 V motor: 60 x 208 / 230 = 54.26 Hz, 90.4 % torque, 81.8 % breakdown. Arithmetic on constant V/Hz. */
static void a_low_supply_says_what_is_lost(void **state)
{
    (void)state;
    struct job *job = low_supply_job("208 V");
    const struct finding *finding = assert_one_doubt(job, "sheet.supply.voltage", "60 Hz x 208 / 230 = 54.26 Hz");
    assert_int_equal(finding->source, SOURCE_DERIVED);
    assert_non_null(strstr(finding->basis, "90.43 % of the torque and 81.78 % of the breakdown torque"));
    assert_near(job->setpoints.running.base_frequency_hz, 54.26, 0.01);
    job_free(job);
    job = low_supply_job("240 V");
    assert_no_doubt(job);
    job_free(job);
}

static void the_same_curve_by_another_point_is_no_contradiction(void **state)
{
    (void)state;
    struct job *job = low_supply_job("240 V");
    sheet_add_number(&job->sheet, MEANS_OUTPUT_BASE_VOLTAGE, "208 V");
    sheet_add_number(&job->sheet, MEANS_OUTPUT_BASE_FREQUENCY, "54.3 Hz");
    job_compute(job);
    assert_plausible(job);
    assert_near(job_setpoint(job, MEANS_OUTPUT_BASE_VOLTAGE)->nominal, 208, 0);
    job->sheet.settings[1].low = job->sheet.settings[1].high = quantity_of("50.0 Hz");
    job_compute(job);
    assert_int_equal(job->setpoints.implausible.count, 2);
    job_free(job);
}

static void a_boost_beyond_the_usual_is_a_doubt(void **state)
{
    (void)state;
    struct job *job = pump_job();
    const struct setpoint *open = (job_compute(job), job_setpoint(job, MEANS_OUTPUT_VOLTAGE_BOOST));
    assert_int_equal(open->source, SOURCE_ESTIMATE);
    assert_near(open->high, 0.10, 1e-12);
    sheet_add_number(&job->sheet, MEANS_OUTPUT_VOLTAGE_BOOST, "10 %");
    job_compute(job);
    assert_no_doubt(job);
    job->sheet.settings[0].low = job->sheet.settings[0].high = quantity_of("20 %");
    job_compute(job);
    (void)assert_one_doubt(job, "sheet.settings.output.voltage_boost", "20 % is more than the 10 %");
    job_free(job);
}

static void single_phase_motors_are_doubted(void **state)
{
    (void)state;
    static const struct plate_text one = {"1.5 kW", "230 V", "10.0 A", "50 Hz", "1420 rpm", NULL, NULL};
    struct job *job = job_of(&one, 1, 0);
    job->sheet.motor.kind = MOTOR_SINGLE_PHASE;
    job_compute(job);
    (void)assert_one_doubt(job, "sheet.motor.kind", "start capacitor");
    job_free(job);
}

/* 1.5 kW / (230 V x 75 % x 0.9) = 9.66 A: as a three-phase plate it is implausible, and the likely reason is told. */
static void a_plate_that_fits_one_phase(void **state)
{
    (void)state;
    static const struct plate_text one = {"1.5 kW", "230 V", "9.66 A", "50 Hz", "1420 rpm", "75 %", "0.90 per unit"};
    struct job *job = job_of(&one, 1, 0);
    job_compute(job);
    assert_int_equal(job->setpoints.implausible.count, 1);
    (void)assert_one_of(&job->setpoints.doubts, VERDICT_UNCHECKED, "sheet.motor.kind", "fit a single-phase motor");
    job_free(job);
}

static void motors_without_slip_have_neither_slip_nor_boost(void **state)
{
    (void)state;
    static const struct plate_text reluctance = {"2.2 kW",   "400 V", "5.1 A",        "50 Hz",
                                                 "1500 rpm", "88 %",  "0.71 per unit"};
    static const enum motor_kind kinds[] = {MOTOR_PERMANENT_MAGNET, MOTOR_SYNCHRONOUS_RELUCTANCE};
    for (size_t i = 0; i < 2; i++) {
        struct job *job = job_of(&reluctance, 1, 0);
        job->sheet.motor.kind = kinds[i];
        job_compute(job);
        assert_plausible(job);
        assert_no_doubt(job);
        assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_SLIP), "induction motors only");
        assert_null(setpoints_find(&job->setpoints, MEANS_OUTPUT_VOLTAGE_BOOST));
        job_free(job);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flux_is_volts_a_hertz),
        cmocka_unit_test(starting_current_follows_flux),
        cmocka_unit_test(torque_above_base_frequency),
        cmocka_unit_test(a_low_supply_takes_base_frequency),
        cmocka_unit_test(current_from_power),
        cmocka_unit_test(smaller_motors_take_more_boost),
        cmocka_unit_test(run_to_keeps_volts_a_hertz),
        cmocka_unit_test(run_to_beyond_the_highest_speed),
        cmocka_unit_test(a_low_supply_says_what_is_lost),
        cmocka_unit_test(the_same_curve_by_another_point_is_no_contradiction),
        cmocka_unit_test(a_boost_beyond_the_usual_is_a_doubt),
        cmocka_unit_test(single_phase_motors_are_doubted),
        cmocka_unit_test(a_plate_that_fits_one_phase),
        cmocka_unit_test(motors_without_slip_have_neither_slip_nor_boost),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
