/* SPDX-License-Identifier: MIT */
/* Times of a run against closed forms, worked examples and a fine sum. */
#include "sheets.h"

#include "motor/acceleration.h"
#include "motor/constants.h"
#include "motor/load_curve.h"
#include "motor/nameplate.h"

/* A motor of one torque at every speed, less a load. */
struct plain_machine {
    double motor_nm;
    struct load_curve load;
};

static double torque_left_nm(const void *machine, double speed_rpm)
{
    const struct plain_machine *plain = machine;
    return plain->motor_nm - load_torque_nm(&plain->load, speed_rpm);
}

static struct plain_machine machine_of(double motor_nm, enum load_torque shape, double load_nm, double rated_rpm)
{
    return (struct plain_machine){motor_nm, {shape, load_nm, rated_rpm, 0}};
}

static struct run run_of(const struct plain_machine *machine, double inertia_kgm2, double from_rpm, double to_rpm)
{
    return (struct run){inertia_kgm2, from_rpm, to_rpm, torque_left_nm, machine};
}

/* Source: t = WK^2 dN / (308 T) of a course text on motor starting, whose 308 is 60 g / 2 pi = 307.24 in lb, ft, s and
 * rpm: 100 lb.ft2 from 0 to 1750 rpm with 30 lb.ft take 18.94 s by 308 and 18.99 s exactly. */
static void a_constant_torque_takes_the_time_of_the_wk2_formula(void **state)
{
    (void)state;
    struct plain_machine machine = machine_of(unit_to_base(30, UNIT_LBFT), LOAD_CONSTANT, 0, 1750);
    struct run run = run_of(&machine, unit_to_base(100, UNIT_LBFT2), 0, 1750);
    double exact_s = 100.0 * 1750 / (60 * STANDARD_GRAVITY / METRES_PER_FOOT / (2 * PI) * 30);
    assert_near(60 * STANDARD_GRAVITY / METRES_PER_FOOT / (2 * PI), 307.24, 0.01);
    assert_near(run_time_s(&run), exact_s, 1e-9 * exact_s);
    assert_near(run_time_s(&run), 18.99, 0.005);
    assert_near(run_time_s(&run), 100.0 * 1750 / (308 * 30), 0.003 * 18.94);
    assert_near(run_straight_s(&run), exact_s, 1e-9 * exact_s);
}

/* Source: J. B. Gupta, Elements of Electric Drives, example 23: 37.5 kW at 500 rpm, a motor of twice full torque
 * against full torque, 242.8 kJ stored at full speed: 177.1 kg.m2, 12.95 s. */
static void a_flywheel_of_known_energy_takes_the_textbooks_time(void **state)
{
    (void)state;
    double full_nm = shaft_torque_nm(37500, 500);
    double inertia_kgm2 = 242.8e3 / kinetic_energy_j(1, 0, 500);
    struct plain_machine machine = machine_of(2 * full_nm, LOAD_CONSTANT, full_nm, 500);
    struct run run = run_of(&machine, inertia_kgm2, 0, 500);
    assert_near(inertia_kgm2, 177.1, 0.05);
    assert_near(run_time_s(&run), 12.95, 0.01);
}

/* Source: the same, example 21: 100 N.m against 30 N.m gain 10 rev/s in a second with 1.114 kg.m2. */
static void a_textbooks_rate_follows_from_its_inertia(void **state)
{
    (void)state;
    struct plain_machine machine = machine_of(100, LOAD_CONSTANT, 30, 1000);
    struct run run = run_of(&machine, 1.114, 0, 600);
    assert_near(run_time_s(&run), 1, 0.001);
}

/* Source: E = J w^2 / 2: 2 kg.m2 from 1750 rpm hold 33.58 kJ; in 5 s that takes 73.3 N.m and, at first, 13.43 kW. */
static void the_energy_of_a_stop(void **state)
{
    (void)state;
    double energy_j = kinetic_energy_j(2, 0, 1750);
    double torque_nm = 2 * angular_speed(1750) / 5;
    assert_near(energy_j, 33580, 10);
    assert_near(torque_nm, 73.3, 0.05);
    assert_near(torque_nm * angular_speed(1750), 13430, 10);
    assert_near(energy_j / 5, 6717, 3);
}

/* Source: the integral of dx / (a - b x^2) is artanh(x sqrt(b / a)) / sqrt(a b). */
static void a_square_load_takes_the_time_of_its_closed_form(void **state)
{
    (void)state;
    static const double loads_nm[] = {1, 6.5, 11, 12.239};
    for (size_t i = 0; i < sizeof loads_nm / sizeof loads_nm[0]; i++) {
        struct plain_machine machine = machine_of(12.24, LOAD_SQUARE, loads_nm[i], 1745);
        struct run run = run_of(&machine, 0.026, 0, 1745);
        double share = loads_nm[i] / 12.24;
        double closed_s = 0.026 * angular_speed(1745) / 12.24 * atanh(sqrt(share)) / sqrt(share);
        assert_near(run_time_s(&run), closed_s, 1e-6 * closed_s);
    }
}

/* A sum over a million slices is the reference where torque has a kink and no short closed form. */
static void a_kinked_load_takes_the_time_of_a_fine_sum(void **state)
{
    enum { SLICES = 1000000 };
    (void)state;
    struct plain_machine machine = machine_of(60, LOAD_CONSTANT_POWER, 50, 1111);
    struct run run = run_of(&machine, 0.3, 100, 2900);
    double sum_s = 0;
    for (int i = 0; i < SLICES; i++)
        sum_s += 0.3 * angular_speed(2800.0 / SLICES) / torque_left_nm(&machine, 100 + (i + 0.5) * 2800.0 / SLICES);
    assert_near(run_time_s(&run), sum_s, 1e-6 * sum_s);
}

static void the_mean_torque_is_not_enough(void **state)
{
    (void)state;
    struct plain_machine machine = machine_of(12, LOAD_SQUARE, 11.5, 1745);
    struct run run = run_of(&machine, 0.026, 0, 1745);
    double by_mean_s = 0.026 * angular_speed(1745) / (12 - 11.5 / 3);
    assert_true(run_time_s(&run) > 1.5 * by_mean_s);
    assert_true(run_straight_s(&run) > run_time_s(&run));
    assert_near(run_straight_s(&run), 0.026 * angular_speed(1745) / 0.5, 1e-6);
}

static void a_load_above_the_motors_torque_takes_for_ever(void **state)
{
    (void)state;
    double at_rpm;
    struct plain_machine machine = machine_of(12, LOAD_SQUARE, 12.1, 1745);
    struct run run = run_of(&machine, 0.026, 0, 1745);
    assert_true(isinf(run_time_s(&run)) && isinf(run_straight_s(&run)));
    assert_near(run_least_torque_nm(&run, &at_rpm), -0.1, 1e-9);
    assert_near(at_rpm, 1745, 1e-9);
    run.to_rpm = 1700;
    assert_true(isfinite(run_time_s(&run)));
}

/* A parabola whose lowest point lies between the places that are tried first. */
static double dip_nm(const void *machine, double speed_rpm)
{
    double off = speed_rpm - *(const double *)machine;
    return 1 + off * off / 1e4;
}

static void the_least_torque_is_found_inside_a_run(void **state)
{
    (void)state;
    double lowest_rpm = 777.7;
    double at_rpm;
    struct run run = {1, 0, 1500, dip_nm, &lowest_rpm};
    assert_near(run_least_torque_nm(&run, &at_rpm), 1, 1e-9);
    assert_near(at_rpm, lowest_rpm, 0.01);
}

static void overload_counts_only_while_it_may_last(void **state)
{
    (void)state;
    struct plain_machine most = machine_of(20, LOAD_CONSTANT, 5, 1500);
    struct plain_machine lasting = machine_of(10, LOAD_CONSTANT, 5, 1500);
    struct run run = run_of(&most, 15 / angular_speed(1500) * 100, 0, 1500); /* 100 s at 15 N.m, 300 s at 5 N.m */
    struct run slow = run_of(&lasting, run.inertia_kgm2, 0, 1500);
    assert_near(run_time_with_overload_s(&run, &slow, 200), 100, 1e-6);
    assert_near(run_time_with_overload_s(&run, &slow, 60), 60 + 0.4 * 300, 1e-4);
    lasting.motor_nm = 5;
    assert_true(isinf(run_time_with_overload_s(&run, &slow, 60)));
}

static void the_seconds_short_of_torque_are_counted(void **state)
{
    (void)state;
    struct plain_machine machine = machine_of(10, LOAD_SQUARE, 10, 1500);
    struct run run = run_of(&machine, 0.1, 0, 1500);
    /* 7.5 N.m are left over up to half speed, so a ramp that needs 7.5 N.m is short for its second half */
    double straight_s = 0.1 * angular_speed(1500) / 7.5;
    assert_near(run_seconds_short_s(&run, straight_s), straight_s / 2, 0.001 * straight_s);
    assert_near(run_seconds_short_s(&run, 1e9), 0, 1e9 * 0.001);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_constant_torque_takes_the_time_of_the_wk2_formula),
        cmocka_unit_test(a_flywheel_of_known_energy_takes_the_textbooks_time),
        cmocka_unit_test(a_textbooks_rate_follows_from_its_inertia),
        cmocka_unit_test(the_energy_of_a_stop),
        cmocka_unit_test(a_square_load_takes_the_time_of_its_closed_form),
        cmocka_unit_test(a_kinked_load_takes_the_time_of_a_fine_sum),
        cmocka_unit_test(the_mean_torque_is_not_enough),
        cmocka_unit_test(a_load_above_the_motors_torque_takes_for_ever),
        cmocka_unit_test(the_least_torque_is_found_inside_a_run),
        cmocka_unit_test(overload_counts_only_while_it_may_last),
        cmocka_unit_test(the_seconds_short_of_torque_are_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
