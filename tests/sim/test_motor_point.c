/* SPDX-License-Identifier: MIT */
/* The simulated motor where its figures, its kind or its load are unusual, and over the whole of a ramp. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sim/motor_point.h"
#include "sim/near.h"

#include <math.h>

static const struct motor_data plate = {
    .rated_power_w = 7500,
    .rated_voltage_v = 400,
    .rated_current_a = 14.088,
    .rated_frequency_hz = 50,
    .rated_speed_rpm = 1460,
    .synchronous_speed_rpm = 1500,
    .power_factor = 0.85,
    .efficiency = 0.904,
};
static const struct load_data conveyor = {.law = LOAD_CONSTANT, .torque_at_rated_speed = 1};

static struct motor_point point_at(const struct motor_data *motor, const struct load_data *load, double frequency_hz)
{
    struct circuit circuit;
    const bool has_circuit = motor_circuit(motor, &circuit);
    const struct drive_output output = {
        .frequency_hz = frequency_hz, .voltage_v = 8 * fmin(frequency_hz, 50), .base_hz = 50};
    return motor_point(motor, has_circuit ? &circuit : NULL, load, &output);
}

static void rated_load_is_the_plate(void **state)
{
    (void)state;
    const struct motor_point point = point_at(&plate, &conveyor, 50);
    assert_near(point.speed_rpm, 1460, 0.01);
    assert_near(point.current_a, 14.088, 0.001);
    assert_near(point.power_w, 7500 / 0.904, 2);
    assert_near(point.torque, 1, 1e-6);
}

/* From 0 Hz up: numbers all the way, the shaft begins to turn with the slip's frequency, and never turns back. */
static void loaded_motor_follows_a_ramp_from_standstill(void **state)
{
    (void)state;
    double before_rpm = 0;
    for (double frequency_hz = 0; frequency_hz <= 60; frequency_hz += 0.25) {
        const struct motor_point point = point_at(&plate, &conveyor, frequency_hz);
        assert_true(isfinite(point.current_a) && isfinite(point.voltage_v) && isfinite(point.power_w));
        assert_true(point.speed_rpm >= before_rpm - 1e-6);
        assert_true(point.current_a < 1.5 * 14.088);
        before_rpm = point.speed_rpm;
    }
    assert_near(point_at(&plate, &conveyor, 0).speed_rpm, 0, 0);
    assert_true(point_at(&plate, &conveyor, 3).speed_rpm > 40);
}

static void low_frequency_takes_more_than_its_share_of_voltage(void **state)
{
    (void)state;
    const struct motor_point point = point_at(&plate, &conveyor, 5);
    assert_true(point.voltage_v > 1.1 * 40);
    assert_true(point.voltage_v < 1.6 * 40);
}

/* A power factor that the other figures contradict is left out. */
static void contradicting_figures_still_make_a_motor(void **state)
{
    (void)state;
    struct motor_data motor = plate;
    motor.power_factor = 0.5;
    motor.efficiency = 0.99;
    const struct motor_point point = point_at(&motor, &conveyor, 50);
    assert_near(point.speed_rpm, 1460, 0.01);
    assert_near(point.current_a, 14.088, 0.001);
    motor.rated_current_a = 5; /* more power out than in */
    assert_near(point_at(&motor, &conveyor, 50).speed_rpm, 1460, 0.01);
    motor.rated_speed_rpm = 800; /* nearly half of it slip */
    motor.synchronous_speed_rpm = 1500;
    assert_true(point_at(&motor, &conveyor, 50).speed_rpm > 0);
}

static void motor_without_slip_turns_with_the_field(void **state)
{
    (void)state;
    struct motor_data motor = plate;
    motor.rated_speed_rpm = 1500;
    struct circuit circuit;
    assert_false(motor_circuit(&motor, &circuit));
    assert_near(point_at(&motor, &conveyor, 25).speed_rpm, 750, 1e-9);
    assert_near(point_at(&motor, &conveyor, 25).current_a, 14.088, 0.001);
    assert_near(point_at(&motor, &conveyor, 0).speed_rpm, 0, 0);
}

static void no_load_current_of_the_plate_counts(void **state)
{
    (void)state;
    struct motor_data motor = plate;
    motor.no_load_current_a = 6;
    const struct load_data nothing = {.law = LOAD_CONSTANT};
    assert_near(motor_no_load_a(&motor), 6, 0);
    assert_near(point_at(&motor, &nothing, 50).current_a, 6, 0.01);
}

static void constant_power_load_asks_less_torque_above_rated_speed(void **state)
{
    (void)state;
    const struct load_data winder = {.law = LOAD_CONSTANT_POWER, .torque_at_rated_speed = 0.8};
    const struct motor_point fast = point_at(&plate, &winder, 60);
    assert_near(fast.torque * fast.speed_rpm / 1460, 0.8, 1e-3);
    assert_near(point_at(&plate, &winder, 25).torque, 0.8, 1e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rated_load_is_the_plate),
        cmocka_unit_test(loaded_motor_follows_a_ramp_from_standstill),
        cmocka_unit_test(low_frequency_takes_more_than_its_share_of_voltage),
        cmocka_unit_test(contradicting_figures_still_make_a_motor),
        cmocka_unit_test(motor_without_slip_turns_with_the_field),
        cmocka_unit_test(no_load_current_of_the_plate_counts),
        cmocka_unit_test(constant_power_load_asks_less_torque_above_rated_speed),
    };
    return cmocka_run_group_tests_name("sim_motor_point", tests, NULL, NULL);
}
