/* SPDX-License-Identifier: MIT */
/* The worksheet: setpoints in the terms of a map, before any drive is asked. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "verdict/bench.h"
#include "verdict/worksheet.h"

static const struct findings *worksheet_of(struct bench *bench)
{
    findings_free(&bench->findings);
    worksheet(&bench->map, &bench->setpoints, &bench->findings);
    return &bench->findings;
}

static void each_parameter_with_a_setpoint_is_listed_in_the_order_of_the_map(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_SPEED, TYPE_U16, 1, UNIT_RPM);
    bench_register(&bench, MEANS_NONE, TYPE_U16, 1, UNIT_NONE);
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A);
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 2.95, 3, 3.05, UNIT_A);
    bench_band(&bench, MEANS_MOTOR_RATED_SPEED, 1744.5, 1745, 1745.5, UNIT_RPM);
    const struct findings *findings = worksheet_of(&bench);
    assert_int_equal(findings->count, 2);
    assert_string_equal(findings->items[0].parameter, "p0");
    const struct finding *current = &findings->items[1];
    assert_string_equal(current->parameter, "p2");
    assert_string_equal(current->means, "motor.rated_current");
    assert_int_equal(current->verdict, VERDICT_UNCHECKED);
    assert_near(current->expected.low, 2.945); /* half a step included */
    assert_near(current->step, 0.01);
    assert_int_equal(current->unit, UNIT_A);
    assert_int_equal(current->stake, STAKE_EQUIPMENT);
    assert_int_equal(current->source, SOURCE_NAMEPLATE);
    assert_string_equal(current->basis, "as stamped");
    assert_null(current->remark);
    bench_free(&bench);
}

static void a_means_in_two_sets_is_listed_twice(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A)->set = 1;
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.1, UNIT_A)->set = 2;
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 3, 3, 3, UNIT_A);
    const struct findings *findings = worksheet_of(&bench);
    assert_int_equal(findings->count, 2);
    assert_near(findings->items[0].expected.high, 3.005);
    assert_near(findings->items[1].expected.high, 3.05);
    bench_free(&bench);
}

static void what_no_parameter_holds_comes_last_in_its_own_unit(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A);
    bench_band(&bench, MEANS_MOTOR_RATED_POWER, 1450, 1500, 1550, UNIT_KW);
    bench_band(&bench, MEANS_ANALOG_LOW_SIGNAL, 4, 4, 4, UNIT_MA);
    bench_word(&bench, MEANS_CONTROL_START_SOURCE, "terminals");
    bench_band(&bench, MEANS_MOTOR_RATED_CURRENT, 3, 3, 3, UNIT_A);
    const struct findings *findings = worksheet_of(&bench);
    assert_int_equal(findings->count, 4);
    assert_string_equal(findings->items[0].parameter, "p0");
    const struct finding *power = &findings->items[1];
    assert_null(power->parameter);
    assert_string_equal(power->means, "motor.rated_power");
    assert_near(power->expected.low, 1.45);
    assert_int_equal(power->unit, UNIT_KW);
    assert_string_equal(power->remark, "no parameter of the map holds it");
    assert_near(findings->items[2].expected.nominal, 4);
    assert_string_equal(findings->items[3].expected.one_of.items[0], "terminals");
    bench_free(&bench);
}

static void what_cannot_be_computed_says_why(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_SLIP, TYPE_U16, 0.01, UNIT_HZ);
    bench_setpoint(&bench, MEANS_MOTOR_RATED_SLIP, SETPOINT_MISSING);
    const struct findings *findings = worksheet_of(&bench);
    assert_int_equal(findings->items[0].expected.kind, EXPECTED_NOTHING);
    assert_string_equal(findings->items[0].basis, "as stamped");
    assert_int_equal(findings->items[0].source, SOURCE_NONE);
    bench_free(&bench);
}

static void a_step_that_the_drive_decides_is_announced(void **state)
{
    (void)state;
    const char *remark = "half a step of the register is added once the drive says how large it is";
    struct bench bench = bench_start();
    struct parameter *limit = bench_register(&bench, MEANS_LIMIT_CURRENT, TYPE_U16, 0.1, UNIT_PERCENT);
    limit->is_percent = true;
    limit->percent_of = MEANS_DRIVE_RATED_CURRENT;
    bench_band(&bench, MEANS_LIMIT_CURRENT, 4.5, 4.5, 4.5, UNIT_A);
    const struct findings *findings = worksheet_of(&bench);
    assert_string_equal(findings->items[0].remark, remark);
    assert_near(findings->items[0].expected.low, 4.5);
    assert_int_equal(findings->items[0].unit, UNIT_A);
    assert_near(findings->items[0].step, 0);
    bench_free(&bench);
}

static void an_allowance_shows_here_too(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_POWER, TYPE_U16, 0.1, UNIT_KW);
    struct setpoint *setpoint = bench_band(&bench, MEANS_MOTOR_RATED_POWER, 1000, 1500, 2000, UNIT_KW);
    setpoint->allow_within = 500;
    setpoint->allow_because = text_copy("rewound in 2019");
    const struct findings *findings = worksheet_of(&bench);
    assert_near(findings->items[0].allow_within, 0.5);
    assert_string_equal(findings->items[0].allow_because, "rewound in 2019");
    bench_free(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_parameter_with_a_setpoint_is_listed_in_the_order_of_the_map),
        cmocka_unit_test(a_means_in_two_sets_is_listed_twice),
        cmocka_unit_test(what_no_parameter_holds_comes_last_in_its_own_unit),
        cmocka_unit_test(what_cannot_be_computed_says_why),
        cmocka_unit_test(a_step_that_the_drive_decides_is_announced),
        cmocka_unit_test(an_allowance_shows_here_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
