/* SPDX-License-Identifier: MIT */
/* The simulated motor: ramps on a clock of the test's own, slip, current, voltage and bus. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sim/drive_model.h"
#include "sim/near.h"

#include <math.h>

/* The motor of check value DRV-4: 4 poles, 60 Hz, 1750 rpm. */
static const struct motor_data plate = {
    .rated_power_w = 1500,
    .rated_voltage_v = 460,
    .rated_current_a = 3.0,
    .rated_frequency_hz = 60,
    .rated_speed_rpm = 1750,
    .synchronous_speed_rpm = 1800,
    .power_factor = 0.8,
    .efficiency = 0.7845, /* 1500 W / (sqrt(3) x 460 V x 3.0 A x 0.8) */
};

/* 0 to 60 Hz in 10 s, 60 to 0 Hz in 20 s. */
static const struct drive_settings usual = {
    .acceleration_hz_per_s = 6,
    .deceleration_hz_per_s = 3,
    .maximum_hz = 60,
    .base_hz = 60,
    .base_v = 460,
    .supply_v = 480,
    .bus_per_supply_volt = M_SQRT2,
};

static struct drive_model model_with(enum load_torque law, double torque, double command_hz)
{
    const struct load_data load = {.law = law, .torque_at_rated_speed = torque};
    struct drive_model model;
    drive_model_init(&model, &plate, &load, command_hz, 1000000);
    return model;
}

/* `seconds` after the model's beginning. */
static void run_until(struct drive_model *model, const struct drive_settings *settings, double seconds)
{
    drive_model_advance(model, settings, 1000000 + (int64_t)(seconds * 1e6));
}

static struct drive_model running_at(enum load_torque law, double torque, double command_hz)
{
    struct drive_model model = model_with(law, torque, command_hz);
    assert_true(drive_model_start(&model));
    run_until(&model, &usual, 100);
    assert_int_equal(model.state, MOTOR_RUNNING);
    return model;
}

static void ramp_of_10_s_is_half_way_after_5_s(void **state)
{
    (void)state;
    struct drive_model model = model_with(LOAD_SQUARE, 1, 60);
    assert_true(drive_model_start(&model));
    run_until(&model, &usual, 2);
    run_until(&model, &usual, 5);
    assert_near(model.output_hz, 30, 1e-6);
    assert_int_equal(model.state, MOTOR_STARTING);
    run_until(&model, &usual, 10);
    assert_near(model.output_hz, 60, 1e-6);
    assert_int_equal(model.state, MOTOR_RUNNING);
}

static void stop_ramps_down_by_the_deceleration(void **state)
{
    (void)state;
    struct drive_model model = running_at(LOAD_SQUARE, 1, 60);
    assert_true(drive_model_stop(&model));
    run_until(&model, &usual, 110);
    assert_int_equal(model.state, MOTOR_STOPPING);
    assert_near(model.output_hz, 30, 1e-6);
    run_until(&model, &usual, 121);
    assert_int_equal(model.state, MOTOR_STOPPED);
    assert_near(model.output_hz, 0, 0);
}

static void coasting_stop_takes_the_output_away(void **state)
{
    (void)state;
    struct drive_settings settings = usual;
    settings.coasts = true;
    struct drive_model model = running_at(LOAD_SQUARE, 1, 60);
    assert_true(drive_model_stop(&model));
    run_until(&model, &settings, 100.001);
    assert_int_equal(model.state, MOTOR_STOPPED);
    assert_near(model.output_hz, 0, 0);
}

static void command_is_held_within_the_limits(void **state)
{
    (void)state;
    struct drive_settings settings = usual;
    settings.minimum_hz = 20;
    struct drive_model model = model_with(LOAD_SQUARE, 1, 90);
    assert_near(drive_model_target_hz(&model, &settings), 60, 0);
    model.command_hz = 5;
    assert_near(drive_model_target_hz(&model, &settings), 20, 0);
}

static void a_lower_command_ramps_down_without_leaving_running(void **state)
{
    (void)state;
    struct drive_model model = running_at(LOAD_SQUARE, 1, 60);
    assert_true(drive_model_live(&model, &usual).at_speed);
    model.command_hz = 30;
    run_until(&model, &usual, 105);
    assert_near(model.output_hz, 45, 1e-6);
    assert_int_equal(model.state, MOTOR_RUNNING);
    assert_false(drive_model_live(&model, &usual).at_speed);
}

static void ramp_of_no_time_is_at_once(void **state)
{
    (void)state;
    struct drive_settings settings = usual;
    settings.acceleration_hz_per_s = INFINITY;
    struct drive_model model = model_with(LOAD_SQUARE, 1, 60);
    assert_true(drive_model_start(&model));
    run_until(&model, &settings, 0.001);
    assert_near(model.output_hz, 60, 0);
}

static void time_that_stands_still_changes_nothing(void **state)
{
    (void)state;
    struct drive_model model = model_with(LOAD_SQUARE, 1, 60);
    assert_true(drive_model_start(&model));
    run_until(&model, &usual, 5);
    run_until(&model, &usual, 5);
    assert_near(model.output_hz, 30, 1e-6);
}

static void trip_takes_the_output_away_until_reset(void **state)
{
    (void)state;
    struct drive_model model = running_at(LOAD_SQUARE, 1, 60);
    assert_true(drive_model_trip(&model));
    assert_int_equal(model.state, MOTOR_TRIPPED);
    assert_near(drive_model_live(&model, &usual).output_current_a, 0, 0);
    assert_false(drive_model_start(&model));
    assert_false(drive_model_stop(&model));
    assert_true(drive_model_reset(&model));
    assert_int_equal(model.state, MOTOR_STOPPED);
    assert_true(drive_model_start(&model));
}

/* DRV-4 in docs/check-values.md: 850 rpm at 30 Hz and full load, 900 without, by the rule of constant slip speed. The
 * circuit's friction is part of its torque, and less at half speed. */
static void slip_speed_follows_torque_at_constant_volts_per_hertz(void **state)
{
    (void)state;
    const struct drive_model full = running_at(LOAD_CONSTANT, 1, 30);
    assert_near(drive_model_live(&full, &usual).speed_rpm, 850, 2);
    const struct drive_model idle = running_at(LOAD_CONSTANT, 0, 30);
    assert_near(drive_model_live(&idle, &usual).speed_rpm, 900, 2);
}

static void rated_load_gives_the_plate(void **state)
{
    (void)state;
    const struct drive_model model = running_at(LOAD_SQUARE, 1, 60);
    const struct drive_live live = drive_model_live(&model, &usual);
    assert_near(live.speed_rpm, 1750, 0.5);
    assert_near(live.torque, 1, 1e-3);
    assert_near(live.output_current_a, 3.0, 0.01);
    assert_near(live.output_voltage_v, 460, 1e-6);
    assert_near(live.output_power_w, 1500 / 0.7845, 2);
}

/* sin(acos(0.8)) = 0.6 of 3.0 A magnetises, less what the leakage takes of it at rated load. */
static void idle_current_is_the_magnetising_part(void **state)
{
    (void)state;
    const struct drive_model model = running_at(LOAD_CONSTANT, 0, 60);
    assert_near(drive_model_live(&model, &usual).output_current_a, 1.65, 0.15);
    assert_near(drive_model_live(&model, &usual).output_current_a, motor_no_load_a(&plate), 1e-6);
}

/* MOT-13 in docs/check-values.md: 460/60 V/Hz; below it the drive adds what the stator's resistance loses. */
static void voltage_follows_frequency_up_to_the_base(void **state)
{
    (void)state;
    struct drive_settings settings = usual;
    settings.maximum_hz = 90;
    struct drive_model model = running_at(LOAD_SQUARE, 0.5, 30);
    assert_near(drive_model_live(&model, &settings).output_voltage_v, 233, 3);
    assert_true(drive_model_live(&model, &settings).output_voltage_v > 230);
    model.command_hz = 90;
    run_until(&model, &settings, 200);
    assert_near(drive_model_live(&model, &settings).output_voltage_v, 460, 1e-6);
}

/* A base voltage of 230 V at a 460 V motor halves the flux: four times the slip for the same torque, and somewhat
 * more so near the breakdown torque. */
static void half_the_flux_slips_four_times_as_much(void **state)
{
    (void)state;
    struct drive_settings settings = usual;
    const struct drive_model model = running_at(LOAD_CONSTANT, 0.25, 60);
    const double slip_rpm = 1800 - drive_model_live(&model, &settings).speed_rpm;
    settings.base_v = 230;
    const double at_half_rpm = 1800 - drive_model_live(&model, &settings).speed_rpm;
    assert_near(at_half_rpm / slip_rpm, 4.3, 0.35);
}

/* Breakdown torque goes with the square of voltage: a quarter of 2.7 is less than the load. */
static void half_the_flux_stalls_under_full_load(void **state)
{
    (void)state;
    struct drive_settings settings = usual;
    settings.base_v = 230;
    const struct drive_model model = running_at(LOAD_CONSTANT, 1, 60);
    const struct drive_live live = drive_model_live(&model, &settings);
    assert_near(live.speed_rpm, 0, 0);
    assert_true(live.output_current_a > 1.5 * 3.0);
}

static void square_load_falls_with_speed(void **state)
{
    (void)state;
    const struct drive_model model = running_at(LOAD_SQUARE, 1, 30);
    const struct drive_live live = drive_model_live(&model, &usual);
    assert_near(live.torque, (live.speed_rpm / 1750) * (live.speed_rpm / 1750), 1e-4);
    assert_in_range((int)live.speed_rpm, 880, 900);
}

/* DC-01 and DC-02: 480 V idles at 678.8 V, and reads 648.2 V under full load. */
static void bus_droops_from_peak_to_mean(void **state)
{
    (void)state;
    struct drive_model model = model_with(LOAD_CONSTANT, 1, 60);
    assert_near(drive_model_live(&model, &usual).dc_bus_v, 678.8, 0.1);
    model = running_at(LOAD_CONSTANT, 1, 60);
    assert_near(drive_model_live(&model, &usual).dc_bus_v, 648.2, 0.1);
}

static void hours_run_count_only_with_an_output(void **state)
{
    (void)state;
    struct drive_model model = model_with(LOAD_SQUARE, 1, 60);
    run_until(&model, &usual, 50);
    assert_near(model.run_s, 0, 0);
    assert_true(drive_model_start(&model));
    run_until(&model, &usual, 150);
    assert_near(model.run_s, 100, 1e-6);
    assert_true(drive_model_stop(&model));
    run_until(&model, &usual, 300);
    assert_near(model.run_s, 120, 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ramp_of_10_s_is_half_way_after_5_s),
        cmocka_unit_test(stop_ramps_down_by_the_deceleration),
        cmocka_unit_test(coasting_stop_takes_the_output_away),
        cmocka_unit_test(command_is_held_within_the_limits),
        cmocka_unit_test(a_lower_command_ramps_down_without_leaving_running),
        cmocka_unit_test(ramp_of_no_time_is_at_once),
        cmocka_unit_test(time_that_stands_still_changes_nothing),
        cmocka_unit_test(trip_takes_the_output_away_until_reset),
        cmocka_unit_test(slip_speed_follows_torque_at_constant_volts_per_hertz),
        cmocka_unit_test(rated_load_gives_the_plate),
        cmocka_unit_test(idle_current_is_the_magnetising_part),
        cmocka_unit_test(voltage_follows_frequency_up_to_the_base),
        cmocka_unit_test(half_the_flux_slips_four_times_as_much),
        cmocka_unit_test(half_the_flux_stalls_under_full_load),
        cmocka_unit_test(square_load_falls_with_speed),
        cmocka_unit_test(bus_droops_from_peak_to_mean),
        cmocka_unit_test(hours_run_count_only_with_an_output),
    };
    return cmocka_run_group_tests_name("sim_drive_model", tests, NULL, NULL);
}
