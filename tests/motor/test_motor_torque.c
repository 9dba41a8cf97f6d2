/* SPDX-License-Identifier: MIT */
/* What loads ask for over speed, and what a current gives. */
#include "sheets.h"

#include "motor/load_curve.h"
#include "motor/motor_torque.h"

static struct load_curve load_of(enum load_torque shape, double static_share)
{
    return (struct load_curve){
        .shape = shape, .rated_torque_nm = 10, .rated_speed_rpm = 1500, .static_share = static_share};
}

/* Source: affinity laws of fans and pumps, power in % of rated at 90, 80, 75 and 50 % of speed, as data pages give it.
 */
static void a_square_loads_power_falls_with_the_cube(void **state)
{
    static const double rows[][2] = {{1, 1}, {0.9, 0.729}, {0.8, 0.512}, {0.75, 0.422}, {0.5, 0.125}};
    (void)state;
    struct load_curve load = load_of(LOAD_SQUARE, 0);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_near(load_torque_nm(&load, 1500 * rows[i][0]) / 10 * rows[i][0], rows[i][1], 0.001);
}

static void a_static_share_is_there_at_standstill(void **state)
{
    (void)state;
    struct load_curve load = load_of(LOAD_SQUARE, 0.4);
    assert_near(load_torque_nm(&load, 0), 4, 1e-12);
    assert_near(load_torque_nm(&load, 750), 4 + 6 * 0.25, 1e-12);
    assert_near(load_torque_nm(&load, 1500), 10, 1e-12);
}

static void constant_torque_and_constant_power(void **state)
{
    (void)state;
    struct load_curve torque = load_of(LOAD_CONSTANT, 0);
    struct load_curve power = load_of(LOAD_CONSTANT_POWER, 0);
    assert_true(load_torque_nm(&torque, 0) == 10 && load_torque_nm(&torque, 3000) == 10);
    assert_true(load_torque_nm(&power, 0) == 10 && load_torque_nm(&power, 1500) == 10);
    assert_near(load_torque_nm(&power, 3000), 5, 1e-12);
}

static struct motor_torque motor_of(double magnetising_a)
{
    return (struct motor_torque){.rated_torque_nm = 8,
                                 .rated_current_a = 3,
                                 .magnetising_a = magnetising_a,
                                 .weakening_rpm = 1745,
                                 .breakdown = {1.6, INFINITY}};
}

static void rated_current_gives_rated_torque(void **state)
{
    (void)state;
    struct motor_torque motor = motor_of(1.8);
    assert_near(motor_torque_nm(&motor, DOUBT_SAFE, 3, 1000), 8, 1e-12);
    assert_near(motor_torque_nm(&motor, DOUBT_FAVOURABLE, 3, 1000), 8, 1e-12);
}

static void the_safe_side_is_the_smaller_of_two_relations(void **state)
{
    (void)state;
    struct motor_torque motor = motor_of(1.8);
    assert_near(motor_torque_nm(&motor, DOUBT_SAFE, 4.5, 0), 12, 1e-12);
    assert_near(motor_torque_nm(&motor, DOUBT_FAVOURABLE, 4.5, 0), 8 * sqrt((20.25 - 3.24) / (9 - 3.24)), 1e-12);
    assert_near(motor_torque_nm(&motor, DOUBT_SAFE, 2.4, 0), 8 * sqrt((5.76 - 3.24) / (9 - 3.24)), 1e-12);
    assert_near(motor_torque_nm(&motor, DOUBT_FAVOURABLE, 2.4, 0), 6.4, 1e-12);
    assert_true(motor_torque_nm(&motor, DOUBT_SAFE, 1.5, 0) == 0); /* less than it takes to magnetise */
}

static void breakdown_torque_is_an_end(void **state)
{
    (void)state;
    struct motor_torque motor = motor_of(1);
    assert_near(motor_torque_nm(&motor, DOUBT_SAFE, 9, 0), 1.6 * 8, 1e-12);
    assert_near(motor_torque_nm(&motor, DOUBT_FAVOURABLE, 9, 0), 8 * sqrt(80.0 / 8), 1e-12);
}

/* Source: textbook theory of field weakening: a 60 Hz motor at 90 Hz has 66.7 % of its torque at rated current, and
 * 44.4 % of its breakdown torque. */
static void above_base_frequency_torque_falls(void **state)
{
    (void)state;
    struct motor_torque motor = motor_of(1);
    assert_near(motor_torque_nm(&motor, DOUBT_SAFE, 3, 1745 * 1.5) / 8, 0.667, 0.0005);
    assert_near(motor_torque_nm(&motor, DOUBT_SAFE, 30, 1745 * 1.5) / (1.6 * 8), 0.444, 0.0005);
}

static void losses_brake_half_or_twice(void **state)
{
    (void)state;
    assert_near(braking_loss_w(200, 1500, DOUBT_SAFE, 1500), 100, 1e-12);
    assert_near(braking_loss_w(200, 1500, DOUBT_SAFE, 750), 50, 1e-12);
    assert_near(braking_loss_w(200, 1500, DOUBT_FAVOURABLE, 10), 400, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_square_loads_power_falls_with_the_cube),
        cmocka_unit_test(a_static_share_is_there_at_standstill),
        cmocka_unit_test(constant_torque_and_constant_power),
        cmocka_unit_test(rated_current_gives_rated_torque),
        cmocka_unit_test(the_safe_side_is_the_smaller_of_two_relations),
        cmocka_unit_test(breakdown_torque_is_an_end),
        cmocka_unit_test(above_base_frequency_torque_falls),
        cmocka_unit_test(losses_brake_half_or_twice),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
