/* SPDX-License-Identifier: MIT */
/* The highest and lowest frequency that motor and load stand. */
#include "motor/frequency_limits.h"
#include "sheets.h"

/* A load in shares of rated torque, over Hz. */
static struct load_curve load_of(enum load_torque shape, double share)
{
    return (struct load_curve){.shape = shape, .rated_torque_nm = share, .rated_speed_rpm = 60};
}

/* Fan and pump laws: power 51.2, 72.9, 42.2, 12.5 % at 80, 90, 75, 50 % of speed. Source: several trade texts give 51 %
 * at 80 % speed; the rest follows. */
static void power_of_fans_and_pumps_rises_with_the_cube(void **state)
{
    (void)state;
    static const struct {
        double hz, power;
    } rows[] = {{48, 0.512}, {54, 0.729}, {45, 0.422}, {30, 0.125}, {66, 1.331}};
    const struct load_curve fan = load_of(LOAD_SQUARE, 0.8), belt = load_of(LOAD_CONSTANT, 0.8);
    const struct load_curve winder = load_of(LOAD_CONSTANT_POWER, 0.8);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_near(load_power_share(&fan, rows[i].hz, 60), rows[i].power, 0.0005);
    assert_near(load_power_share(&belt, 90, 60), 1.5, 1e-12);
    assert_near(load_power_share(&winder, 90, 60), 1, 1e-12);
}

/* Square: f^3 = base x rated^2 / share, and f^4 for breakdown; constant: base / share and base x sqrt(b / share);
 * constant power: never by torque, base^2 x b / (share x rated) by breakdown. Algebra. */
static void limits_are_where_the_curves_meet(void **state)
{
    (void)state;
    static const double shares[] = {0.3, 0.6, 0.9};
    const double breakdown = 2.5;
    for (size_t i = 0; i < 3; i++) {
        double share = shares[i];
        struct load_curve load = load_of(LOAD_SQUARE, share);
        assert_near(highest_frequency_by_torque_hz(&load, 1, 60, 60), 60 / cbrt(share), 1e-9);
        assert_near(highest_frequency_by_breakdown_hz(&load, breakdown, 60, 60), 60 * sqrt(sqrt(breakdown / share)),
                    1e-9);
        load = load_of(LOAD_CONSTANT, share);
        assert_near(highest_frequency_by_torque_hz(&load, 1, 60, 60), 60 / share, 1e-9);
        assert_near(highest_frequency_by_breakdown_hz(&load, breakdown, 60, 60), 60 * sqrt(breakdown / share), 1e-9);
        load = load_of(LOAD_CONSTANT_POWER, share);
        assert_true(isinf(highest_frequency_by_torque_hz(&load, 1, 60, 60)));
        assert_near(highest_frequency_by_breakdown_hz(&load, breakdown, 60, 60), 60 * breakdown / share, 1e-6);
    }
}

/* At full constant power, the motor stalls at breakdown torque times base frequency: 2.5 x 60 Hz. */
static void constant_power_ends_at_breakdown(void **state)
{
    (void)state;
    const struct load_curve winder = load_of(LOAD_CONSTANT_POWER, 1);
    assert_near(highest_frequency_by_breakdown_hz(&winder, 2.5, 60, 60), 150, 1e-6);
}

static void a_static_share_leaves_more_room_above(void **state)
{
    (void)state;
    struct load_curve pump = load_of(LOAD_SQUARE, 0.8);
    double without = highest_frequency_by_torque_hz(&pump, 1, 60, 60);
    pump.static_share = 0.5;
    assert_true(highest_frequency_by_torque_hz(&pump, 1, 60, 60) > without);
}

static void too_heavy_a_load_limits_below_base_frequency(void **state)
{
    (void)state;
    struct load_curve load = load_of(LOAD_SQUARE, 1.44);
    assert_near(highest_frequency_by_torque_hz(&load, 1, 60, 60), 50, 1e-9);
    load = load_of(LOAD_CONSTANT, 1.1);
    assert_near(highest_frequency_by_torque_hz(&load, 1, 60, 60), 0, 0);
    load = load_of(LOAD_CONSTANT, 0.9);
    assert_near(highest_frequency_by_torque_hz(&load, 1, 60, 45), 50, 1e-9);
}

static void what_is_not_known_limits_nothing(void **state)
{
    (void)state;
    struct load_curve load = load_of(LOAD_UNSAID, 0.5);
    assert_true(isnan(highest_frequency_by_torque_hz(&load, 1, 60, 60)));
    load = load_of(LOAD_SQUARE, NAN);
    assert_true(isnan(highest_frequency_by_torque_hz(&load, 1, 60, 60)));
    load = load_of(LOAD_SQUARE, 0.5);
    assert_true(isnan(highest_frequency_by_breakdown_hz(&load, 2, 60, NAN)));
    assert_true(isnan(highest_frequency_by_breakdown_hz(&load, NAN, 60, 60)));
}

/* 60 Hz: 4:1 15.0, 10:1 6.0, 20:1 3.0 Hz; 50 Hz: 12.5, 5.0, 2.5 Hz. Arithmetic. */
static void cooling_by_turndown(void **state)
{
    (void)state;
    static const double turndown[] = {4, 10, 20}, at_60[] = {15, 6, 3}, at_50[] = {12.5, 5, 2.5};
    for (size_t i = 0; i < 3; i++) {
        assert_near(lowest_frequency_by_cooling_hz(60, turndown[i]), at_60[i], 1e-12);
        assert_near(lowest_frequency_by_cooling_hz(50, turndown[i]), at_50[i], 1e-12);
    }
}

/* A pump against 64 % static head: nothing below 80 % speed, or less where its head rises without flow. Affinity laws.
 */
static void static_head(void **state)
{
    (void)state;
    struct band hz = lowest_frequency_by_static_head_hz(50, 0.64);
    assert_near(hz.high, 40, 1e-12);
    assert_near(hz.low, 40 / sqrt(1.3), 1e-12);
}

/* The pump with its load: 8.16 N.m rated, 6.5 N.m asked. */
static struct job *loaded_job(enum load_torque torque, const char *minimum, const char *maximum)
{
    struct job *job = pump_job();
    job->sheet.load = (struct load){.given = true, .torque = torque, .torque_at_rated_speed = quantity_of("6.5 N.m")};
    job->sheet.motor.cooling = COOLING_SELF;
    job->sheet.motor.constant_torque_turndown = quantity_of("10");
    if (minimum != NULL)
        sheet_add_number(&job->sheet, MEANS_LIMIT_MINIMUM_FREQUENCY, minimum);
    if (maximum != NULL)
        sheet_add_number(&job->sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, maximum);
    job_compute(job);
    return job;
}

/* 60 Hz x cube root of (8.16 / 6.5) = 64.7 Hz. */
static void a_square_load_overloads_the_motor_just_above_base(void **state)
{
    (void)state;
    struct job *job = loaded_job(LOAD_SQUARE, "20 Hz", "64 Hz");
    assert_plausible(job);
    assert_no_doubt(job);
    job_free(job);
    job = loaded_job(LOAD_SQUARE, "20 Hz", "66 Hz");
    const struct finding *finding =
        assert_one_finding(job, "sheet.settings.limit.maximum_frequency", "a square load of 6.5 N.m at rated speed");
    assert_non_null(strstr(finding->basis, "at 66 Hz it takes 1.331 times its power at rated speed"));
    assert_near(finding->expected.high, 60 * cbrt(8.16 / 6.5), 0.4);
    assert_near(finding->found.number, 66, 0);
    job_free(job);
}

static void a_load_that_must_not_turn_so_fast(void **state)
{
    (void)state;
    struct job *job = loaded_job(LOAD_SQUARE, "20 Hz", "60 Hz");
    job->sheet.load.highest_speed = quantity_of("1700 rpm");
    job_compute(job);
    (void)assert_one_finding(job, "sheet.settings.limit.maximum_frequency",
                             "highest speed of the load: 1700 rpm x 4 poles / 120 = 56.68 Hz");
    job_free(job);
}

/* 3.5 times rated speed with a light load: only breakdown torque ends it. With all rounding in
 * its favour: 60 Hz x sqrt(2.905 x 8.211 N.m / 0.495 N.m). */
static void breakdown_torque_of_the_plate(void **state)
{
    (void)state;
    struct job *job = loaded_job(LOAD_CONSTANT, "20 Hz", "500 Hz");
    job->sheet.load.torque_at_rated_speed = quantity_of("0.50 N.m");
    job->sheet.motor.breakdown_torque = quantity_of("290 %");
    job->sheet.motor.highest_speed = quantity_of("20000 rpm");
    job_compute(job);
    const struct finding *finding =
        assert_one_finding(job, "sheet.settings.limit.maximum_frequency", "breakdown torque: 2.905 times rated");
    assert_near(finding->expected.high, 60 * sqrt(2.905 * 8.211 / 0.495), 0.1);
    job_free(job);
}

static void beyond_the_usual_speed_is_a_doubt(void **state)
{
    (void)state;
    struct job *job = pump_job();
    sheet_add_number(&job->sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, "100 Hz");
    job_compute(job);
    const struct finding *finding =
        assert_one_doubt(job, "sheet.settings.limit.maximum_frequency", "the plate has no highest speed");
    assert_int_equal(finding->source, SOURCE_ESTIMATE);
    assert_near(finding->expected.high, 90, 1e-9);
    job->sheet.motor.highest_speed = quantity_of("3600 rpm");
    job_compute(job);
    assert_no_doubt(job);
    job_free(job);
}

/* Constant torque below a tenth of rated frequency, against the plate's 10:1; square torque is cooled anyway. */
static void constant_torque_below_the_plates_turndown(void **state)
{
    (void)state;
    struct job *job = loaded_job(LOAD_CONSTANT, "6 Hz", "60 Hz");
    assert_plausible(job);
    job_free(job);
    job = loaded_job(LOAD_CONSTANT, "5 Hz", "60 Hz");
    const struct finding *finding = assert_one_finding(job, "sheet.settings.limit.minimum_frequency",
                                                       "60 Hz / 10 = 6 Hz, the plate's constant_torque_turndown");
    assert_near(finding->expected.low, 6, 1e-9);
    job->sheet.motor.cooling = COOLING_SEPARATE;
    job_compute(job);
    assert_plausible(job);
    assert_no_doubt(job);
    job_free(job);
    job = loaded_job(LOAD_SQUARE, "5 Hz", "60 Hz");
    (void)assert_one_doubt(job, "sheet.settings.limit.minimum_frequency", "usual for a square load");
    job_free(job);
}

static void a_turndown_by_common_practice_is_a_doubt(void **state)
{
    (void)state;
    struct job *job = loaded_job(LOAD_CONSTANT, "10 Hz", "60 Hz");
    job->sheet.motor.constant_torque_turndown.given = false;
    job_compute(job);
    (void)assert_one_doubt(job, "sheet.settings.limit.minimum_frequency", "60 Hz / 4 = 15 Hz, usual");
    job_free(job);
}

static void a_pump_that_delivers_nothing_is_a_doubt(void **state)
{
    (void)state;
    struct job *job = loaded_job(LOAD_SQUARE, "20 Hz", "60 Hz");
    job->sheet.load.static_share = quantity_of("60 %");
    job_compute(job);
    const struct finding *finding = assert_one_doubt(job, "sheet.settings.limit.minimum_frequency", "static head");
    assert_near(finding->expected.low, 60 * sqrt(0.6 / 1.3), 1e-9);
    job_free(job);
}

static void a_limit_that_the_job_leaves_open(void **state)
{
    (void)state;
    struct job *job = loaded_job(LOAD_CONSTANT, NULL, NULL);
    const struct setpoint *maximum = job_setpoint(job, MEANS_LIMIT_MAXIMUM_FREQUENCY);
    assert_int_equal(maximum->source, SOURCE_ESTIMATE);
    const struct setpoint *minimum = job_setpoint(job, MEANS_LIMIT_MINIMUM_FREQUENCY);
    assert_int_equal(minimum->source, SOURCE_ESTIMATE);
    assert_near(minimum->low, 6, 1e-9);
    assert_true(isinf(minimum->high));
    job->sheet.motor.highest_speed = quantity_of("2400 rpm");
    job_compute(job);
    maximum = job_setpoint(job, MEANS_LIMIT_MAXIMUM_FREQUENCY);
    assert_int_equal(maximum->source, SOURCE_DERIVED);
    assert_near(maximum->high, 2400.5 * 4 / 120, 1e-9);
    assert_true(isinf(maximum->low));
    job_free(job);
}

static void magnets_are_not_run_above_base_frequency(void **state)
{
    (void)state;
    static const struct plate_text magnet = {"2 hp", "460 V", "2.29 A", "60 Hz", "1800 rpm", "91 %", "90 %"};
    struct job *job = job_of(&magnet, 1, 0);
    job->sheet.motor.kind = MOTOR_PERMANENT_MAGNET;
    sheet_add_number(&job->sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, "66 Hz");
    job_compute(job);
    (void)assert_one_doubt(job, "sheet.settings.limit.maximum_frequency", "magnets induce a voltage");
    job_free(job);
}

/* The falling of breakdown torque with the square of frequency is the induction motor's. */
static void breakdown_torque_is_of_induction_motors(void **state)
{
    (void)state;
    static const struct plate_text reluctance = {"2.2 kW", "400 V", "5.1 A", "50 Hz", "1500 rpm", NULL, NULL};
    struct job *job = job_of(&reluctance, 1, 0);
    job->sheet.motor.highest_speed = quantity_of("9000 rpm");
    sheet_add_number(&job->sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, "200 Hz");
    job->sheet.motor.kind = MOTOR_SYNCHRONOUS_RELUCTANCE;
    job_compute(job);
    assert_plausible(job);
    assert_no_doubt(job);
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(power_of_fans_and_pumps_rises_with_the_cube),
        cmocka_unit_test(limits_are_where_the_curves_meet),
        cmocka_unit_test(constant_power_ends_at_breakdown),
        cmocka_unit_test(a_static_share_leaves_more_room_above),
        cmocka_unit_test(too_heavy_a_load_limits_below_base_frequency),
        cmocka_unit_test(what_is_not_known_limits_nothing),
        cmocka_unit_test(cooling_by_turndown),
        cmocka_unit_test(static_head),
        cmocka_unit_test(a_square_load_overloads_the_motor_just_above_base),
        cmocka_unit_test(a_load_that_must_not_turn_so_fast),
        cmocka_unit_test(breakdown_torque_of_the_plate),
        cmocka_unit_test(beyond_the_usual_speed_is_a_doubt),
        cmocka_unit_test(constant_torque_below_the_plates_turndown),
        cmocka_unit_test(a_turndown_by_common_practice_is_a_doubt),
        cmocka_unit_test(a_pump_that_delivers_nothing_is_a_doubt),
        cmocka_unit_test(a_limit_that_the_job_leaves_open),
        cmocka_unit_test(breakdown_torque_is_of_induction_motors),
        cmocka_unit_test(magnets_are_not_run_above_base_frequency),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
