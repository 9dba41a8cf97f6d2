/* SPDX-License-Identifier: MIT */
/* The highest and lowest frequency that motor and load stand. */
#include "motor/frequency_limits.h"
#include "motor/voltage.h"
#include "sheets.h"

/* Fan and pump laws: flow 80, 90, 75, 50 %; head 64, 81, 56.25, 25 %; power 51.2, 72.9, 42.2, 12.5 %. Source: several
 * trade texts give 51 % at 80 % speed; the rest follows. */
static void fans_and_pumps_follow_the_affinity_laws(void **state)
{
    (void)state;
    static const struct {
        double hz, head, power;
    } rows[] = {{48, 0.64, 0.512}, {54, 0.81, 0.729}, {45, 0.5625, 0.422}, {30, 0.25, 0.125}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_near(load_torque_share(LOAD_SQUARE, rows[i].hz / 60), rows[i].head, 0.0005);
        assert_near(load_power_share(LOAD_SQUARE, rows[i].hz / 60), rows[i].power, 0.0005);
    }
}

static void the_other_loads_by_definition(void **state)
{
    (void)state;
    assert_near(load_torque_share(LOAD_CONSTANT, 0.5), 1, 0);
    assert_near(load_power_share(LOAD_CONSTANT, 0.5), 0.5, 0);
    assert_near(load_torque_share(LOAD_CONSTANT_POWER, 0.5), 2, 0);
    assert_near(load_power_share(LOAD_CONSTANT_POWER, 0.5), 1, 0);
    assert_true(isnan(load_torque_share(LOAD_UNSAID, 0.5)));
}

/* At the limit, load and motor torque are equal, by the curves themselves. */
static void torque_limits_are_where_the_curves_meet(void **state)
{
    (void)state;
    static const enum load_torque kinds[] = {LOAD_SQUARE, LOAD_CONSTANT};
    static const double shares[] = {0.3, 0.6, 0.9};
    for (size_t kind = 0; kind < 2; kind++)
        for (size_t i = 0; i < 3; i++) {
            double hz = highest_frequency_by_torque_hz(kinds[kind], shares[i], 60, 60);
            assert_true(hz > 60);
            assert_near(shares[i] * load_torque_share(kinds[kind], hz / 60), torque_share_at(hz, 60), 1e-12);
            hz = highest_frequency_by_breakdown_hz(kinds[kind], shares[i], 2.5, 60, 60);
            assert_near(shares[i] * load_torque_share(kinds[kind], hz / 60), 2.5 * breakdown_share_at(hz, 60), 1e-12);
        }
}

static void too_heavy_a_load_limits_below_base_frequency(void **state)
{
    (void)state;
    assert_near(highest_frequency_by_torque_hz(LOAD_SQUARE, 1.44, 60, 60), 50, 1e-9);
    assert_near(highest_frequency_by_torque_hz(LOAD_CONSTANT, 1.1, 60, 60), 0, 0);
    assert_near(highest_frequency_by_torque_hz(LOAD_CONSTANT, 1, 60, 60), 60, 1e-9);
}

static void constant_power_is_limited_by_breakdown_and_from_below(void **state)
{
    (void)state;
    assert_true(isinf(highest_frequency_by_torque_hz(LOAD_CONSTANT_POWER, 0.9, 60, 60)));
    assert_near(highest_frequency_by_breakdown_hz(LOAD_CONSTANT_POWER, 1, 2.5, 60, 60), 150, 1e-9);
    assert_near(lowest_frequency_by_torque_hz(LOAD_CONSTANT_POWER, 0.5, 60), 30, 0);
    assert_near(lowest_frequency_by_torque_hz(LOAD_SQUARE, 0.5, 60), 0, 0);
}

static void what_is_not_known_limits_nothing(void **state)
{
    (void)state;
    assert_true(isnan(highest_frequency_by_torque_hz(LOAD_UNSAID, 0.5, 60, 60)));
    assert_true(isnan(highest_frequency_by_torque_hz(LOAD_SQUARE, NAN, 60, 60)));
    assert_true(isnan(highest_frequency_by_breakdown_hz(LOAD_SQUARE, 0.5, 2, 60, NAN)));
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fans_and_pumps_follow_the_affinity_laws),
        cmocka_unit_test(the_other_loads_by_definition),
        cmocka_unit_test(torque_limits_are_where_the_curves_meet),
        cmocka_unit_test(too_heavy_a_load_limits_below_base_frequency),
        cmocka_unit_test(constant_power_is_limited_by_breakdown_and_from_below),
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
        cmocka_unit_test(magnets_are_not_run_above_base_frequency),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
