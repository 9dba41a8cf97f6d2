/* SPDX-License-Identifier: MIT */
/* Live values of a running drive against what they should be then. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "verdict/bench.h"
#include "verdict/live.h"

enum { STATE, FREQUENCY, VOLTAGE, CURRENT, BUS, SPEED };

static void expect_live(struct bench *bench, enum means means, double low, double high, enum unit unit,
                        enum source source)
{
    struct running *running = &bench->setpoints.running;
    running->items = memory_grow(running->items, running->count, sizeof *running->items);
    running->items[running->count++] = (struct setpoint){.means = means,
                                                         .kind = SETPOINT_RANGE,
                                                         .low = low,
                                                         .nominal = NAN,
                                                         .high = high,
                                                         .unit = unit,
                                                         .basis = text_copy("running"),
                                                         .source = source,
                                                         .stake = STAKE_EQUIPMENT};
}

/* A 460 V 60 Hz motor of 3.0 A at 45 Hz, 345 V, 2.5 A, on a bus of 660 V; job maximum 60 Hz. */
static struct bench live_map(void)
{
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_LIVE_STATE, TYPE_BITS, 1, UNIT_NONE)->settable = SETTABLE_NEVER;
    names_add(&bench.map.parameters[STATE].bits, 0, "running");
    bench_register(&bench, MEANS_LIVE_OUTPUT_FREQUENCY, TYPE_U16, 0.1, UNIT_HZ)->settable = SETTABLE_NEVER;
    bench_register(&bench, MEANS_LIVE_OUTPUT_VOLTAGE, TYPE_U16, 1, UNIT_V)->settable = SETTABLE_NEVER;
    bench_register(&bench, MEANS_LIVE_OUTPUT_CURRENT, TYPE_U16, 0.01, UNIT_A)->settable = SETTABLE_NEVER;
    bench_register(&bench, MEANS_LIVE_DC_BUS_VOLTAGE, TYPE_U16, 1, UNIT_V)->settable = SETTABLE_NEVER;
    expect_live(&bench, MEANS_LIVE_OUTPUT_FREQUENCY, -INFINITY, 61.8, UNIT_HZ, SOURCE_JOB);
    expect_live(&bench, MEANS_LIVE_OUTPUT_CURRENT, -INFINITY, 3.05, UNIT_A, SOURCE_ESTIMATE);
    expect_live(&bench, MEANS_LIVE_DC_BUS_VOLTAGE, 583, 747, UNIT_V, SOURCE_ESTIMATE);
    bench.setpoints.running.base_voltage_v = 460;
    bench.setpoints.running.base_frequency_hz = 60;
    return bench;
}

static void live_answer(struct bench *bench)
{
    static const uint32_t answers[] = {1, 450, 345, 250, 660};
    for (size_t i = 0; i < sizeof answers / sizeof answers[0]; i++)
        bench_answer(bench, i, answers[i]);
}

static struct bench live_bench(void)
{
    struct bench bench = live_map();
    live_answer(&bench);
    return bench;
}

static void a_running_drive_is_judged(void **state)
{
    (void)state;
    struct bench bench = live_bench();
    const struct finding *findings = bench_judge(&bench);
    assert_int_equal(bench.findings.count, 4);
    assert_string_equal(findings[0].means, "live.output_frequency");
    assert_int_equal(findings[0].verdict, VERDICT_AGREES);
    for (size_t i = 1; i < 4; i++)
        assert_int_equal(findings[i].verdict, VERDICT_UNCHECKED);
    assert_string_equal(findings[1].means, "live.output_voltage");
    assert_near(findings[1].expected.nominal, 345);
    assert_non_null(strstr(findings[1].basis, "460 V x 45 / 60 Hz = 345 V"));
    bench_free(&bench);
}

static void a_drive_at_rest_is_not(void **state)
{
    (void)state;
    struct bench bench = live_bench();
    bench_answer(&bench, STATE, 0);
    (void)bench_judge(&bench);
    assert_int_equal(bench.findings.count, 0);
    bench_fail(&bench, STATE, (struct symptom){.kind = SYMPTOM_NO_REPLY});
    (void)bench_judge(&bench);
    assert_int_equal(bench.findings.count, 0);
    bench_free(&bench);
}

static void a_state_that_is_one_word(void **state)
{
    (void)state;
    struct bench bench = live_bench();
    bench.map.parameters[STATE].type = TYPE_U16;
    names_add(&bench.map.parameters[STATE].choices, 1, "running");
    names_add(&bench.map.parameters[STATE].choices, 2, "stopping");
    (void)bench_judge(&bench);
    assert_int_equal(bench.findings.count, 4);
    bench_answer(&bench, STATE, 2);
    (void)bench_judge(&bench);
    assert_int_equal(bench.findings.count, 0);
    bench_free(&bench);
}

static void only_the_frequency_can_differ(void **state)
{
    (void)state;
    struct bench bench = live_bench();
    static const uint32_t wrong[] = {1, 700, 20, 900, 300};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        bench_answer(&bench, i, wrong[i]);
    const struct finding *findings = bench_judge(&bench);
    assert_int_equal(findings[0].verdict, VERDICT_DIFFERS);
    assert_near(findings[0].found.number, 70);
    assert_int_equal(findings_count(&bench.findings, VERDICT_UNCHECKED), 3);
    bench_free(&bench);
}

static void without_a_frequency_no_voltage_is_expected(void **state)
{
    (void)state;
    struct bench bench = live_bench();
    bench_fail(&bench, FREQUENCY, (struct symptom){.kind = SYMPTOM_NO_REPLY});
    (void)bench_judge(&bench);
    assert_int_equal(bench.findings.count, 2);
    bench_free(&bench);
}

/* With the plate and the load known, current, power, speed and torque are expected at the frequency that was read. */
static void a_motor_model_tells_more_than_the_plates_current(void **state)
{
    (void)state;
    struct bench bench = live_map();
    bench_register(&bench, MEANS_LIVE_SPEED, TYPE_U16, 1, UNIT_RPM)->settable = SETTABLE_NEVER;
    live_answer(&bench);
    bench_answer(&bench, SPEED, 1200);
    struct running *running = &bench.setpoints.running;
    running->plate = (struct motor_plate){.power_w = 1491,
                                          .voltage_v = 460,
                                          .current_a = 3.0,
                                          .frequency_hz = 60,
                                          .speed_rpm = 1745,
                                          .power_factor = 0.72,
                                          .efficiency = NAN,
                                          .no_load_current_a = NAN,
                                          .breakdown = NAN,
                                          .poles = 4};
    running->motors = 1;
    running->load_shape = LOAD_SQUARE;
    running->load_share = 0.8;
    const struct finding *findings = bench_judge(&bench);
    assert_int_equal(bench.findings.count, 5);
    assert_string_equal(findings[2].means, "live.output_current");
    assert_true(findings[2].expected.nominal > 1.8 && findings[2].expected.nominal < 2.5);
    assert_non_null(strstr(findings[2].basis, "an estimate only: running at 45 Hz, load 46 %"));
    assert_string_equal(findings[4].means, "live.speed");
    assert_int_equal(findings[4].verdict, VERDICT_UNCHECKED);
    assert_true(findings[4].expected.low > 1300 && findings[4].expected.high < 1351);
    bench_free(&bench);
}

static void a_doubt_of_the_sheet_is_told_unchecked(void **state)
{
    (void)state;
    struct bench bench = bench_start();
    bench_register(&bench, MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A);
    bench_answer(&bench, 0, 300);
    struct finding *doubt = findings_add(&bench.setpoints.doubts);
    doubt->means = text_copy("sheet.cable.length");
    doubt->verdict = VERDICT_UNCHECKED;
    doubt->basis = text_copy("rule of thumb");
    const struct finding *findings = bench_judge(&bench);
    assert_int_equal(bench.findings.count, 2);
    assert_int_equal(findings[1].verdict, VERDICT_UNCHECKED);
    assert_string_equal(findings[1].means, "sheet.cable.length");
    bench_free(&bench);
}

static void what_is_read_for_it(void **state)
{
    (void)state;
    struct parameter live = {.means = MEANS_LIVE_DC_BUS_VOLTAGE}, hours = {.means = MEANS_LIVE_HOURS_RUN};
    const struct setpoints none = {0};
    assert_true(judge_reads(&live, &none) && !judge_wants(&live));
    assert_false(judge_reads(&hours, &none));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_running_drive_is_judged),
        cmocka_unit_test(a_drive_at_rest_is_not),
        cmocka_unit_test(a_state_that_is_one_word),
        cmocka_unit_test(only_the_frequency_can_differ),
        cmocka_unit_test(without_a_frequency_no_voltage_is_expected),
        cmocka_unit_test(a_motor_model_tells_more_than_the_plates_current),
        cmocka_unit_test(a_doubt_of_the_sheet_is_told_unchecked),
        cmocka_unit_test(what_is_read_for_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
