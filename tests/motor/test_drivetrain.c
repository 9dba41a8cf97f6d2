/* SPDX-License-Identifier: MIT */
/* What of a sheet the numbers of a drivetrain come from. */
#include "sheets.h"

#include "motor/dynamics.h"

/* 2 hp, 1745 rpm, 460 V, 3.0 A, 86.5 %, 72 % on a 4.2 A drive. */
struct reading_of {
    struct job *job;
    struct nameplate plate;
    struct drivetrain drivetrain;
};

static void start(struct reading_of *reading)
{
    reading->job = pump_job();
    struct sheet *sheet = &reading->job->sheet;
    sheet->drive.rated_current = quantity_of("4.2 A");
    sheet->drive.overload = quantity_of("150 %");
    sheet->drive.overload_time = quantity_of("60 s");
    sheet->drive.has_resistor = ANSWER_NO;
    sheet->supply = (struct supply){.given = true, .voltage = quantity_of("480 V"), .phases = 3};
    sheet->load = (struct load){.given = true,
                                .torque = LOAD_CONSTANT,
                                .torque_at_rated_speed = quantity_of("6.5 N.m"),
                                .inertia = quantity_of("0.02 kg.m2")};
}

static const struct drivetrain *drivetrain_of(struct reading_of *reading)
{
    drivetrain_free(&reading->drivetrain);
    job_compute(reading->job);
    nameplate_read(&reading->job->sheet.motor, &reading->plate);
    assert_null(drivetrain_read(&reading->job->sheet, &reading->plate, &reading->job->setpoints, &reading->drivetrain));
    return &reading->drivetrain;
}

static void finish(struct reading_of *reading)
{
    drivetrain_free(&reading->drivetrain);
    job_free(reading->job);
}

static void magnetising_current_is_the_plates_or_estimated(void **state)
{
    (void)state;
    struct reading_of reading = {0};
    start(&reading);
    assert_near(drivetrain_of(&reading)->motor.magnetising_a, 3 * sqrt(1 - 0.72 * 0.72), 1e-9);
    reading.job->sheet.motor.no_load_current = quantity_of("1.7 A");
    assert_near(drivetrain_of(&reading)->motor.magnetising_a, 1.7, 1e-9);
    reading.job->sheet.motor.no_load_current = (struct quantity){0};
    reading.job->sheet.motor.columns[1].power_factor = (struct quantity){0};
    assert_near(drivetrain_of(&reading)->motor.magnetising_a, 0.6 * 3, 1e-9);
    reading.job->sheet.motor.kind = MOTOR_PERMANENT_MAGNET;
    reading.job->sheet.motor.columns[1].speed = quantity_of("1800 rpm");
    assert_true(drivetrain_of(&reading)->motor.magnetising_a == 0);
    finish(&reading);
}

static void losses_follow_from_efficiency_or_from_volts_and_amperes(void **state)
{
    (void)state;
    struct reading_of reading = {0};
    start(&reading);
    double out_w = unit_to_base(2, UNIT_HP);
    assert_near(drivetrain_of(&reading)->rated_loss_w, out_w / 0.865 - out_w, 1e-6);
    reading.job->sheet.motor.columns[1].efficiency = (struct quantity){0};
    assert_near(drivetrain_of(&reading)->rated_loss_w, sqrt(3) * 460 * 3 * 0.72 - out_w, 1e-6);
    reading.job->sheet.motor.columns[1].power_factor = (struct quantity){0};
    assert_non_null(strstr(drivetrain_of(&reading)->braking_reason, "no efficiency"));
    finish(&reading);
}

static void a_low_supply_weakens_the_motor_earlier(void **state)
{
    (void)state;
    struct reading_of reading = {0};
    start(&reading);
    assert_near(drivetrain_of(&reading)->motor.weakening_rpm, 1745, 1e-9);
    reading.job->sheet.supply.voltage = quantity_of("440 V");
    assert_near(drivetrain_of(&reading)->motor.weakening_rpm, 1745 * 440.0 / 460, 1e-9);
    reading.job->sheet.drive.front_end = FRONT_ACTIVE; /* which boosts */
    assert_near(drivetrain_of(&reading)->motor.weakening_rpm, 1745, 1e-9);
    finish(&reading);
}

/* Delta extended to 87 Hz: full flux up to there. */
static void an_extended_motor_weakens_later(void **state)
{
    (void)state;
    struct reading_of reading = {0};
    start(&reading);
    sheet_connect(&reading.job->sheet, 0);
    reading.job->sheet.motor.run_to_voltage = quantity_of("460 V");
    reading.job->sheet.motor.run_to_frequency = quantity_of("120 Hz");
    assert_near(drivetrain_of(&reading)->motor.weakening_rpm, 2 * 1745, 1e-9);
    finish(&reading);
}

static void each_direction_has_its_current_limit(void **state)
{
    (void)state;
    struct reading_of reading = {0};
    start(&reading);
    struct sheet *sheet = &reading.job->sheet;
    (void)sheet_add_setting(sheet, MEANS_LIMIT_CURRENT_BRAKING, SETTING_AT_MOST, NULL, "3.6 A");
    const struct drivetrain *drivetrain = drivetrain_of(&reading);
    assert_near(drivetrain->speeding_up.ampere, 6.3, 1e-9);
    assert_int_equal(drivetrain->speeding_up.limited_by, MEANS_NONE);
    assert_near(drivetrain->slowing_down.ampere, 3.6, 1e-9);
    assert_int_equal(drivetrain->slowing_down.limited_by, MEANS_LIMIT_CURRENT_BRAKING);
    (void)sheet_add_setting(sheet, MEANS_LIMIT_CURRENT_MOTORING, SETTING_QUANTITY, "4.0 A", "4.0 A");
    assert_near(drivetrain_of(&reading)->speeding_up.ampere, 4.0, 1e-9);
    finish(&reading);
}

static void a_drive_without_overload_has_its_rated_current(void **state)
{
    (void)state;
    struct reading_of reading = {0};
    start(&reading);
    reading.job->sheet.drive.overload = reading.job->sheet.drive.overload_time = (struct quantity){0};
    assert_near(drivetrain_of(&reading)->speeding_up.ampere, 4.2, 1e-9);
    finish(&reading);
}

static void a_chopper_of_unknown_level_acts_above_the_idle_bus(void **state)
{
    (void)state;
    struct reading_of reading = {0};
    start(&reading);
    reading.job->sheet.drive.has_resistor = ANSWER_YES;
    reading.job->sheet.drive.resistor_resistance = quantity_of("100 ohm");
    const struct drivetrain *drivetrain = drivetrain_of(&reading);
    assert_near(drivetrain->chopper_v[DOUBT_SAFE], 1.1 * sqrt(2) * 480, 1e-6);
    assert_near(drivetrain->chopper_v[DOUBT_FAVOURABLE], 1.3 * sqrt(2) * 480, 1e-6);
    assert_near(drivetrain->resistor_w[DOUBT_SAFE], pow(1.1 * sqrt(2) * 480, 2) / 100, 1e-6);
    reading.job->sheet.supply.voltage = (struct quantity){0};
    assert_non_null(strstr(drivetrain_of(&reading)->braking_reason, "no chopper acts_at"));
    reading.job->sheet.drive.resistor_resistance = (struct quantity){0};
    assert_non_null(strstr(drivetrain_of(&reading)->braking_reason, "no resistance"));
    finish(&reading);
}

/* 10 kg.m2 take longer than the 60 s of overload: then the straight ramp is the one at rated current, and the shortest
 * run has overload for 60 s and rated current after that. */
static void a_heavy_machine_outlasts_the_overload(void **state)
{
    (void)state;
    struct reading_of reading = {0};
    struct ramp_times times;
    start(&reading);
    reading.job->sheet.load.inertia = quantity_of("10 kg.m2");
    const struct drivetrain *drivetrain = drivetrain_of(&reading);
    ramp_times_compute(drivetrain, SPEEDING_UP, 0, 60, &times);
    double rated_nm = shaft_torque_nm(unit_to_base(2, UNIT_HP), 1745);
    double width = angular_speed(1745);
    double most_nm = 1.6 * rated_nm - 6.5; /* held at the least breakdown torque */
    double lasting_nm = 1.4 * rated_nm - 6.5;
    assert_true(10 * width / most_nm > 60);
    assert_near(times.straight_s, 10 * width / lasting_nm, 1e-6);
    assert_near(times.unhurried_s, times.straight_s, 1e-9);
    assert_near(times.shortest_s, 60 + (10 * width - 60 * most_nm) / lasting_nm, 1e-3);
    finish(&reading);
}

/* Source: P = V^2 / R and the balance of torques; what goes into the resistor is what comes from the shaft less load
 * and half of the losses: here of a constant load, whose closed form is a triangle of power over time. */
static void energy_of_a_stop_under_load(void **state)
{
    (void)state;
    struct reading_of reading = {0};
    start(&reading);
    reading.job->sheet.load.inertia = quantity_of("2.0 kg.m2");
    const struct drivetrain *drivetrain = drivetrain_of(&reading);
    double loss_nm = 0.5 * drivetrain->rated_loss_w / angular_speed(1745);
    double torque_nm = 2.0 * angular_speed(1745) / 10 - 6.5 - loss_nm;
    assert_near(resistor_energy_j(drivetrain, 0, 1745, 10), torque_nm * angular_speed(1745) * 10 / 2, 1e-6);
    assert_true(resistor_energy_j(drivetrain, 0, 1745, 1000) == 0); /* load and losses take all of it */
    finish(&reading);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(magnetising_current_is_the_plates_or_estimated),
        cmocka_unit_test(losses_follow_from_efficiency_or_from_volts_and_amperes),
        cmocka_unit_test(a_low_supply_weakens_the_motor_earlier),
        cmocka_unit_test(an_extended_motor_weakens_later),
        cmocka_unit_test(each_direction_has_its_current_limit),
        cmocka_unit_test(a_drive_without_overload_has_its_rated_current),
        cmocka_unit_test(a_chopper_of_unknown_level_acts_above_the_idle_bus),
        cmocka_unit_test(a_heavy_machine_outlasts_the_overload),
        cmocka_unit_test(energy_of_a_stop_under_load),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
