/* SPDX-License-Identifier: MIT */
/* What a running drive should show: the plate at rated load, less at less load, a range that holds the true motor. */
#include "circuits.h"

#include "motor/live_expectation.h"

/* EQ-6's motor as its plate would say it. */
static struct motor_model chapman_model(void)
{
    const struct operating_point rated = circuit_at_slip(&chapman, &chapman_terminals, 0.022);
    const struct motor_plate plate = {
        .power_w = rated.output_power_w,
        .voltage_v = 460,
        .current_a = rated.line_current_a,
        .frequency_hz = 60,
        .speed_rpm = rated.speed_rpm,
        .power_factor = rated.power_factor,
        .efficiency = NAN,
        .no_load_current_a = NAN,
        .breakdown = NAN,
        .poles = 4,
    };
    struct motor_model model;
    assert_true(motor_model_estimate(&plate, &model));
    return model;
}

static struct load_curve load_of(enum load_torque shape, double torque_nm)
{
    return (struct load_curve){.shape = shape, .rated_torque_nm = torque_nm, .rated_speed_rpm = 1760.4};
}

static double curve_nm(const void *curve, double speed_rpm)
{
    return load_torque_nm(curve, speed_rpm);
}

static struct feed feed_at(double frequency_hz, const struct load_curve *load)
{
    return (struct feed){
        .frequency_hz = frequency_hz, .base_v = 460, .base_hz = 60, .highest_v = INFINITY, .load = load};
}

static void assert_holds(struct band band, double value)
{
    if (!(band.low <= value && value <= band.high))
        fail_msg("%g to %g does not hold %g", band.low, band.high, value);
}

static void rated_load_at_rated_frequency_is_the_plate(void **state)
{
    (void)state;
    const struct motor_model model = chapman_model();
    const struct load_curve conveyor = load_of(LOAD_CONSTANT, 56.84);
    const struct feed feed = feed_at(60, &conveyor);
    const struct live_expectation expectation = live_expectation(&model, &feed);
    assert_close(expectation.output_current_a.nominal, 18.892);
    assert_close(expectation.output_power_w.nominal, 12525);
    assert_close(expectation.output_voltage_v.nominal, 460);
    assert_near(expectation.speed_rpm.nominal, 1760.4, 0.1);
    assert_share(expectation.slip_hz.nominal, 0.022 * 60, 0.005);
    assert_close(expectation.torque.nominal, 1);
    assert_false(expectation.stalls);
}

/* The published motor itself, run on plain V/f, lies within what its plate lets expect, at any speed and load. */
static void true_motor_is_within_the_range(void **state)
{
    (void)state;
    const struct motor_model model = chapman_model();
    for (int eighths = 2; eighths <= 10; eighths++) {
        const double frequency_hz = 7.5 * eighths;
        for (int fifths = 1; fifths <= 5; fifths++) {
            const struct load_curve fan = load_of(LOAD_SQUARE, 56.84 * fifths / 5);
            const struct feed feed = feed_at(frequency_hz, &fan);
            const struct live_expectation expectation = live_expectation(&model, &feed);
            const struct terminals terminals = {460 * fmin(frequency_hz / 60, 1), frequency_hz};
            struct operating_point point;
            assert_true(circuit_against_load(&chapman, &terminals, curve_nm, &fan, &point));
            assert_holds(expectation.output_current_a, point.line_current_a);
            assert_holds(expectation.speed_rpm, point.speed_rpm);
            assert_holds(expectation.output_power_w, point.input_power_w);
            assert_holds(expectation.output_voltage_v, terminals.voltage_v);
            assert_holds(expectation.torque, point.shaft_torque_nm / 56.84);
            assert_holds(expectation.slip_hz, slip_from_speed_hz(4, frequency_hz, point.speed_rpm));
        }
    }
}

static void fan_at_half_speed_draws_hardly_more_than_idle(void **state)
{
    (void)state;
    const struct motor_model model = chapman_model();
    const struct load_curve fan = load_of(LOAD_SQUARE, 56.84);
    const struct feed feed = feed_at(30, &fan);
    const struct live_expectation expectation = live_expectation(&model, &feed);
    assert_near(expectation.torque.nominal, 0.26, 0.01);
    assert_true(expectation.output_current_a.nominal < 0.65 * 18.892);
    assert_true(expectation.output_current_a.nominal > model.plate.no_load_current_a * 0.95);
}

static void unknown_load_leaves_everything_from_idle_to_rated(void **state)
{
    (void)state;
    const struct motor_model model = chapman_model();
    const struct feed feed = feed_at(60, NULL);
    const struct live_expectation expectation = live_expectation(&model, &feed);
    assert_true(isnan(expectation.output_current_a.nominal));
    assert_true(isnan(expectation.speed_rpm.nominal));
    assert_holds(expectation.output_current_a, model.plate.no_load_current_a);
    assert_holds(expectation.output_current_a, 18.892);
    assert_false(expectation.output_current_a.high > 1.2 * 18.892);
    assert_near(expectation.speed_rpm.high, 1800, 1e-9);
    assert_near(expectation.torque.low, 0, 1e-9);
    assert_false(expectation.stalls);
}

/* MOT-13's kind of mistake: the motor for 460 V set to 230 V at 60 Hz cannot carry its load. */
static void half_the_volts_a_hertz_stall_a_full_load(void **state)
{
    (void)state;
    const struct motor_model model = chapman_model();
    const struct load_curve conveyor = load_of(LOAD_CONSTANT, 56.84);
    struct feed feed = feed_at(60, &conveyor);
    feed.base_v = 230;
    assert_true(live_expectation(&model, &feed).stalls);
}

static void supply_caps_the_voltage(void **state)
{
    (void)state;
    const struct motor_model model = chapman_model();
    const struct load_curve conveyor = load_of(LOAD_CONSTANT, 56.84);
    struct feed feed = feed_at(60, &conveyor);
    feed.highest_v = 415;
    const struct live_expectation expectation = live_expectation(&model, &feed);
    assert_close(expectation.output_voltage_v.nominal, 415);
    assert_true(expectation.output_current_a.nominal > 18.892);
    assert_true(expectation.speed_rpm.nominal < 1760.4);
}

static void slip_of_a_reading(void **state)
{
    (void)state;
    assert_near(slip_from_speed_hz(4, 30, 850), 30 - 850.0 / 30, 1e-9);
    assert_near(slip_from_speed_hz(4, 60, 1750) * 30, 50, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rated_load_at_rated_frequency_is_the_plate),
        cmocka_unit_test(true_motor_is_within_the_range),
        cmocka_unit_test(fan_at_half_speed_draws_hardly_more_than_idle),
        cmocka_unit_test(unknown_load_leaves_everything_from_idle_to_rated),
        cmocka_unit_test(half_the_volts_a_hertz_stall_a_full_load),
        cmocka_unit_test(supply_caps_the_voltage),
        cmocka_unit_test(slip_of_a_reading),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
