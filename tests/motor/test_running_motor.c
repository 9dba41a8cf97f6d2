/* SPDX-License-Identifier: MIT */
/* Estimates for a running motor, from the sheet to their words. */
#include "sheets.h"

#include "motor/running_motor.h"

/* What the sheet of the pump lets expect. */
struct outlook {
    struct job *job;
    struct setpoint items[RUNNING_MOTOR_MOST];
    size_t count;
};

static struct job *loaded_pump(void)
{
    struct job *job = pump_job();
    job->sheet.load.given = true;
    job->sheet.load.torque = LOAD_SQUARE;
    job->sheet.load.torque_at_rated_speed = quantity_of("6.5 N.m");
    return job;
}

static struct outlook outlook_at(struct job *job, double frequency_hz)
{
    job_compute(job);
    struct outlook outlook = {.job = job};
    outlook.count = running_motor(&job->setpoints.running, frequency_hz, outlook.items);
    return outlook;
}

static const struct setpoint *item_of(const struct outlook *outlook, enum means means)
{
    for (size_t i = 0; i < outlook->count; i++)
        if (outlook->items[i].means == means)
            return &outlook->items[i];
    fail_msg("nothing is expected of %s", means_table[means].name);
    return NULL;
}

static void outlook_free(struct outlook *outlook)
{
    for (size_t i = 0; i < outlook->count; i++)
        free(outlook->items[i].basis);
    job_free(outlook->job);
}

/* 6.5 of the motor's 8.16 N.m, at rated speed. */
static void pump_at_60_hz(void **state)
{
    (void)state;
    struct outlook outlook = outlook_at(loaded_pump(), 60);
    assert_int_equal(outlook.count, 4);
    const struct setpoint *current = item_of(&outlook, MEANS_LIVE_OUTPUT_CURRENT);
    assert_int_equal(current->source, SOURCE_ESTIMATE);
    assert_near(current->nominal, 2.7, 0.15);
    assert_true(current->low > 1.8 && current->low < 2.4);
    assert_true(current->high > 3.0 && current->high < 3.7);
    const struct setpoint *speed = item_of(&outlook, MEANS_LIVE_SPEED);
    assert_near(speed->nominal, 1757, 3);
    assert_near(speed->high, 1800, 1e-9);
    assert_near(item_of(&outlook, MEANS_LIVE_TORQUE)->nominal, 0.80, 0.02);
    assert_near(item_of(&outlook, MEANS_LIVE_OUTPUT_POWER)->nominal, 1390, 40);
    assert_non_null(strstr(current->basis, "running at 60 Hz, load 81 % of rated torque there: about 2.6"));
    assert_non_null(strstr(current->basis, "by the motor model; more while it accelerates"));
    outlook_free(&outlook);
}

static void pump_at_half_speed_asks_a_quarter(void **state)
{
    (void)state;
    struct outlook outlook = outlook_at(loaded_pump(), 30);
    assert_near(item_of(&outlook, MEANS_LIVE_TORQUE)->nominal, 0.21, 0.01);
    assert_near(item_of(&outlook, MEANS_LIVE_SPEED)->nominal, 892, 4);
    outlook_free(&outlook);
}

static void without_a_load_all_from_idle_to_rated_is_likely(void **state)
{
    (void)state;
    struct outlook outlook = outlook_at(pump_job(), 60);
    const struct setpoint *current = item_of(&outlook, MEANS_LIVE_OUTPUT_CURRENT);
    assert_true(isnan(current->nominal));
    assert_true(current->high > 3.0);
    assert_true(current->low < 2.0);
    assert_string_equal(current->basis, "running at 60 Hz, from no load to rated load: by the motor model; more while "
                                        "it accelerates");
    outlook_free(&outlook);
}

static void currents_of_several_motors_add_up(void **state)
{
    (void)state;
    struct outlook one = outlook_at(loaded_pump(), 60);
    struct job *job = loaded_pump();
    job->sheet.motors.given = true;
    job->sheet.motors.count = 2;
    struct outlook two = outlook_at(job, 60);
    assert_int_equal(two.count, 2);
    assert_near(item_of(&two, MEANS_LIVE_OUTPUT_CURRENT)->nominal,
                2 * item_of(&one, MEANS_LIVE_OUTPUT_CURRENT)->nominal, 1e-6);
    outlook_free(&one);
    outlook_free(&two);
}

static void backwards_only_current_and_power_are_expected(void **state)
{
    (void)state;
    struct outlook outlook = outlook_at(loaded_pump(), -60);
    assert_int_equal(outlook.count, 2);
    outlook_free(&outlook);
}

static void assert_nothing(struct job *job, double frequency_hz)
{
    struct outlook outlook = outlook_at(job, frequency_hz);
    assert_int_equal(outlook.count, 0);
    outlook_free(&outlook);
}

static void nothing_is_expected_where_nothing_can_be_said(void **state)
{
    (void)state;
    assert_nothing(loaded_pump(), 0);
    struct job *job = loaded_pump();
    job->sheet.load.overhauling = ANSWER_YES;
    assert_nothing(job, 60);
    job = loaded_pump();
    job->sheet.motor.kind = MOTOR_PERMANENT_MAGNET;
    assert_nothing(job, 60);
    job = loaded_pump();
    job->sheet.motor.columns[1].speed = (struct quantity){0};
    assert_nothing(job, 60);
    job = loaded_pump(); /* a load that the motor cannot carry */
    job->sheet.load.torque = LOAD_CONSTANT;
    job->sheet.load.torque_at_rated_speed = quantity_of("40 N.m");
    assert_nothing(job, 60);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pump_at_60_hz),
        cmocka_unit_test(pump_at_half_speed_asks_a_quarter),
        cmocka_unit_test(without_a_load_all_from_idle_to_rated_is_likely),
        cmocka_unit_test(currents_of_several_motors_add_up),
        cmocka_unit_test(backwards_only_current_and_power_are_expected),
        cmocka_unit_test(nothing_is_expected_where_nothing_can_be_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
