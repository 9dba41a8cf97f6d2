/* SPDX-License-Identifier: MIT */
/* Shortest ramps from a sheet, and what is said of a job that asks for less. */
#include "sheets.h"

#include "motor/acceleration.h"
#include "motor/constants.h"

/* 2 hp, 1745 rpm: 8.162 N.m at 3.0 A. The drive gives 4.2 A, or 6.3 A for 60 s; the pump takes 6.5 N.m. */
static struct job *driven_pump(void)
{
    struct job *job = pump_job();
    job->sheet.drive.rated_current = quantity_of("4.2 A");
    job->sheet.drive.overload = quantity_of("150 %");
    job->sheet.drive.overload_time = quantity_of("60 s");
    job->sheet.drive.has_resistor = ANSWER_NO;
    job->sheet.supply = (struct supply){.given = true, .voltage = quantity_of("480 V"), .phases = 3};
    job->sheet.motor.inertia = quantity_of("0.006 kg.m2");
    job->sheet.load = (struct load){.given = true,
                                    .torque = LOAD_SQUARE,
                                    .torque_at_rated_speed = quantity_of("6.5 N.m"),
                                    .inertia = quantity_of("0.02 kg.m2")};
    return job;
}

static double rated_nm(void)
{
    return 2 * WATTS_PER_HORSEPOWER / angular_speed(1745);
}

/* Time of a square load against a constant torque: J w / M artanh(r) / r with r = sqrt(load / M). */
static double square_s(double motor_nm, double load_nm, double inertia_kgm2, double speed_rpm)
{
    double ratio = sqrt(load_nm / motor_nm);
    return inertia_kgm2 * angular_speed(speed_rpm) / motor_nm * atanh(ratio) / ratio;
}

static void assert_says(const char *text, const char *says)
{
    if (text == NULL || strstr(text, says) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", text == NULL ? "(nothing)" : text, says);
}

static void a_run_up_follows_from_the_drives_overload(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job->sheet.motor.breakdown_torque = quantity_of("300 %");
    job_compute(job);
    const struct derived *derived = &job->setpoints.derived;
    double most_nm = 2.1 * rated_nm(); /* 6.3 A / 3.0 A */
    assert_near(derived->shortest_acceleration_s, square_s(most_nm, 6.5, 0.026, 1745), 1e-6);
    assert_near(derived->straight_acceleration_s, 0.026 * angular_speed(1745) / (most_nm - 6.5), 1e-6);
    assert_says(job->setpoints.acceleration_basis, "0.006 kg.m2 of the motor + 0.02 kg.m2 of the load = 0.026 kg.m2");
    assert_says(job->setpoints.acceleration_basis, "6.3 A of the drive give 6.3 A / 3 A x 8.162 N.m = 17.14 N.m");
    assert_plausible(job);
    job_free(job);
}

static void without_a_breakdown_torque_the_least_usual_one_counts(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job_compute(job);
    assert_near(job->setpoints.derived.straight_acceleration_s, 0.026 * angular_speed(1745) / (1.6 * rated_nm() - 6.5),
                1e-6);
    assert_says(job->setpoints.acceleration_basis, "held at the breakdown torque");
    job_free(job);
}

static void the_jobs_current_limit_counts(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_CURRENT, SETTING_AT_MOST, NULL, "4.5 A");
    job_compute(job);
    double most_nm = 1.5 * rated_nm();
    assert_near(job->setpoints.derived.straight_acceleration_s, 0.026 * angular_speed(1745) / (most_nm - 6.5), 1e-6);
    assert_says(job->setpoints.acceleration_basis, "4.5 A of limit.current");
    job_free(job);
}

static void a_ramp_spans_what_the_job_says(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job->sheet.load.torque = LOAD_CONSTANT;
    job_compute(job);
    double whole_s = job->setpoints.derived.shortest_acceleration_s;
    struct setting *ramp = sheet_add_setting(&job->sheet, MEANS_RAMP_ACCELERATION_TIME, SETTING_RAMP, "10 s", "10 s");
    ramp->ramp_from = quantity_of("20 Hz");
    ramp->ramp_to = quantity_of("45 Hz");
    job_compute(job);
    assert_near(job->setpoints.derived.shortest_acceleration_s, whole_s * 25 / 60, 1e-6 * whole_s);
    job_free(job);
}

static void what_is_not_known_is_named(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job->sheet.load.inertia = (struct quantity){0};
    job_compute(job);
    assert_true(isnan(job->setpoints.derived.shortest_acceleration_s));
    assert_true(isnan(job->setpoints.derived.straight_deceleration_s));
    assert_says(job->setpoints.acceleration_basis, "load has no inertia");
    job->sheet.load.given = false;
    job_compute(job);
    assert_says(job->setpoints.deceleration_basis, "the sheet has no load");
    job_free(job);

    job = driven_pump();
    job->sheet.drive.has_resistor = ANSWER_UNSAID;
    job_compute(job);
    assert_true(isfinite(job->setpoints.derived.shortest_acceleration_s));
    assert_true(isnan(job->setpoints.derived.shortest_deceleration_s));
    assert_says(job->setpoints.deceleration_basis, "does not say braking_resistor");
    job->sheet.drive.rated_current = (struct quantity){0};
    job_compute(job);
    assert_says(job->setpoints.acceleration_basis, "drive has no rated_current");
    job_free(job);
}

static void a_motor_without_inertia_takes_longer_than_this(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job->sheet.motor.inertia = (struct quantity){0};
    job_compute(job);
    assert_true(isfinite(job->setpoints.derived.shortest_acceleration_s));
    assert_says(job->setpoints.acceleration_basis, "takes longer than this");
    job_free(job);
}

/* Without a resistor the losses brake: half of 2 hp / 86.5 % - 2 hp at 1745 rpm, as a torque at every speed. */
static void losses_and_load_brake_without_a_resistor(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job_compute(job);
    double loss_nm = 0.5 * rated_nm() * (1 / 0.865 - 1);
    double width = angular_speed(1745);
    /* the integral of dx / (a + b x^2) is arctan(x sqrt(b / a)) / sqrt(a b) */
    double ratio = sqrt(6.5 / loss_nm);
    assert_near(job->setpoints.derived.shortest_deceleration_s, 0.026 * width / loss_nm * atan(ratio) / ratio, 1e-5);
    assert_near(job->setpoints.derived.straight_deceleration_s, 0.026 * width / loss_nm, 1e-5);
    assert_says(job->setpoints.deceleration_basis, "only losses and load brake");
    job_free(job);
}

/* Source: P = V^2 / R: 10 kW at 760 V take 57.8 ohm. With no load and hardly any losses the power sets the time:
 * the straight ramp of 2 kg.m2 from 1745 rpm begins with all of it. */
static void a_resistor_takes_the_power_of_its_voltage(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    assert_near(760 * 760 / 10e3, 57.8, 0.05);
    job->sheet.drive.has_resistor = ANSWER_YES;
    job->sheet.drive.resistor_thermal_switch = ANSWER_YES;
    job->sheet.drive.resistor_resistance = quantity_of("577.6 ohm"); /* 1 kW */
    job->sheet.drive.resistor_power = quantity_of("100 W");
    job->sheet.drive.chopper_acts_at = quantity_of("760 V");
    job->sheet.load.torque_at_rated_speed = quantity_of("0 N.m");
    job->sheet.load.inertia = quantity_of("2 kg.m2");
    job_compute(job);
    double loss_w = 0.5 * 2 * WATTS_PER_HORSEPOWER * (1 / 0.865 - 1);
    double rate = (1000 + loss_w) / angular_speed(1745) / 2.006;
    assert_near(job->setpoints.derived.straight_deceleration_s, angular_speed(1745) / rate, 1e-3);
    assert_says(job->setpoints.deceleration_basis, "(760 V)^2 / 577.6 ohm = 1000 W");
    job_free(job);
}

static const struct finding *assert_doubted(const struct job *job, const char *means, const char *says)
{
    const struct finding *finding = assert_one_finding(job, means, says);
    assert_true(finding->source == SOURCE_DERIVED);
    return finding;
}

static void a_run_up_that_no_current_gives_is_doubted(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    (void)sheet_add_setting(&job->sheet, MEANS_RAMP_ACCELERATION_TIME, SETTING_QUANTITY, "0.10 s", "0.10 s");
    job_compute(job);
    const struct finding *finding =
        assert_doubted(job, "sheet.settings.ramp.acceleration_time", "run into its current limit");
    assert_int_equal(finding->stake, STAKE_PROCESS);
    assert_near(finding->found.number, 0.1, 1e-12);
    assert_true(finding->expected.low > 0.15 && finding->expected.low < job->setpoints.derived.straight_acceleration_s);
    job_free(job);
}

/* Between the two nothing is proved; the setpoint's basis says so. */
static void a_run_up_in_doubt_is_not_doubted_but_noted(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    (void)sheet_add_setting(&job->sheet, MEANS_RAMP_ACCELERATION_TIME, SETTING_QUANTITY, "0.60 s", "0.60 s");
    job_compute(job);
    assert_plausible(job);
    assert_true(job->setpoints.derived.straight_acceleration_s > 0.60);
    assert_says(job_setpoint(job, MEANS_RAMP_ACCELERATION_TIME)->basis, "on the safe side it takes");
    job_free(job);
}

static void a_stop_that_nothing_brakes_is_doubted(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job->sheet.load.inertia = quantity_of("2 kg.m2");
    (void)sheet_add_setting(&job->sheet, MEANS_RAMP_DECELERATION_TIME, SETTING_AT_LEAST, "5 s", NULL);
    job_compute(job);
    const struct finding *finding =
        assert_doubted(job, "sheet.settings.ramp.deceleration_time", "bus voltage would rise");
    assert_int_equal(finding->stake, STAKE_PROCESS);
    job->sheet.drive.front_end = FRONT_ACTIVE; /* gives it back to the supply: 77 N.m would still be too much */
    job->sheet.drive.rated_current = quantity_of("40 A");
    job->sheet.motor.breakdown_torque = quantity_of("1200 %");
    job_compute(job);
    assert_plausible(job);
    assert_says(job->setpoints.deceleration_basis, "front end takes what comes back");
    job_free(job);
}

/* 2.0 kg.m2 in 100 s need 3.67 N.m beside the load's 11 N.m: more than 4.2 A give by any reckoning, less than 6.3 A. */
static void a_ramp_that_outlasts_the_overload_is_doubted(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job->sheet.load.torque = LOAD_CONSTANT;
    job->sheet.load.torque_at_rated_speed = quantity_of("11.0 N.m");
    job->sheet.load.inertia = quantity_of("2.0 kg.m2");
    struct setting *ramp =
        sheet_add_setting(&job->sheet, MEANS_RAMP_ACCELERATION_TIME, SETTING_QUANTITY, "100 s", "100 s");
    job_compute(job);
    (void)assert_doubted(job, "sheet.settings.ramp.acceleration_time", "for 100 s, and its overload may last 60 s");
    job->sheet.drive.overload_time = quantity_of("101 s");
    job_compute(job);
    assert_plausible(job);
    job->sheet.drive.overload_time = quantity_of("60 s");
    ramp->low = ramp->high = quantity_of("59 s");
    job->sheet.load.inertia = quantity_of("1.0 kg.m2");
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void a_load_that_never_gets_there_is_doubted(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job->sheet.load.torque_at_rated_speed = quantity_of("65 N.m");
    job_compute(job);
    (void)assert_doubted(job, "sheet.load.torque_at_rated_speed", "it never gets to 60 Hz");
    assert_true(isinf(job->setpoints.derived.shortest_acceleration_s));
    assert_says(job->setpoints.acceleration_basis, "nothing is left over at 1745 rpm");
    job_free(job);
}

static void an_overhauling_load_without_a_resistor_runs_away(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job->sheet.load.torque = LOAD_CONSTANT;
    job->sheet.load.overhauling = ANSWER_YES;
    job_compute(job);
    const struct finding *finding = assert_doubted(job, "sheet.load.overhauling", "without a braking resistor");
    assert_int_equal(finding->stake, STAKE_PEOPLE);
    job->sheet.drive.has_resistor = ANSWER_YES;
    job->sheet.drive.resistor_thermal_switch = ANSWER_YES;
    job->sheet.drive.resistor_resistance = quantity_of("150 ohm");
    job->sheet.drive.resistor_power = quantity_of("600 W");
    job_compute(job);
    assert_plausible(job);
    assert_true(isfinite(job->setpoints.derived.straight_deceleration_s));
    job_free(job);
}

/* 33.58 kJ are in 2.0 kg.m2 at 1750 rpm (E = J w^2 / 2); nearly all of it goes into the resistor. */
static void a_stop_beyond_the_resistors_power_is_doubted(void **state)
{
    (void)state;
    struct job *job = driven_pump();
    job->sheet.drive.has_resistor = ANSWER_YES;
    job->sheet.drive.resistor_thermal_switch = ANSWER_YES;
    job->sheet.drive.resistor_resistance = quantity_of("50 ohm");
    job->sheet.drive.resistor_power = quantity_of("50 W");
    job->sheet.drive.rated_current = quantity_of("40 A");
    job->sheet.motor.breakdown_torque = quantity_of("1200 %");
    job->sheet.load.torque_at_rated_speed = quantity_of("0 N.m");
    job->sheet.load.inertia = quantity_of("2.0 kg.m2");
    (void)sheet_add_setting(&job->sheet, MEANS_RAMP_DECELERATION_TIME, SETTING_QUANTITY, "10 s", "10 s");
    job_compute(job);
    const struct finding *finding =
        assert_doubted(job, "sheet.drive.braking_resistor.continuous_power", "kJ into the braking resistor");
    assert_int_equal(finding->stake, STAKE_PEOPLE);
    job->sheet.drive.resistor_power = quantity_of("500 W");
    job_compute(job);
    assert_plausible(job);
    /* all of 33.49 kJ less what half of the losses take on the way */
    double energy_kj = (kinetic_energy_j(2.006, 0, 1745) - 116.4 * 10 / 2) / 1000;
    char *says = text_format("puts %.2f kJ into the resistor", energy_kj);
    assert_says(job->setpoints.deceleration_basis, says);
    free(says);
    job_free(job);
}

static void several_motors_share_the_current(void **state)
{
    (void)state;
    struct job *one = driven_pump();
    struct job *three = driven_pump();
    three->sheet.motors = (struct motors){.given = true, .count = 3, .own_overloads = ANSWER_YES};
    three->sheet.drive.rated_current = quantity_of("12.6 A");
    job_compute(one);
    job_compute(three);
    assert_near(three->setpoints.derived.shortest_acceleration_s, one->setpoints.derived.shortest_acceleration_s, 1e-9);
    assert_says(three->setpoints.acceleration_basis, "for each motor");
    job_free(one);
    job_free(three);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_run_up_follows_from_the_drives_overload),
        cmocka_unit_test(without_a_breakdown_torque_the_least_usual_one_counts),
        cmocka_unit_test(the_jobs_current_limit_counts),
        cmocka_unit_test(a_ramp_spans_what_the_job_says),
        cmocka_unit_test(what_is_not_known_is_named),
        cmocka_unit_test(a_motor_without_inertia_takes_longer_than_this),
        cmocka_unit_test(losses_and_load_brake_without_a_resistor),
        cmocka_unit_test(a_resistor_takes_the_power_of_its_voltage),
        cmocka_unit_test(a_run_up_that_no_current_gives_is_doubted),
        cmocka_unit_test(a_run_up_in_doubt_is_not_doubted_but_noted),
        cmocka_unit_test(a_stop_that_nothing_brakes_is_doubted),
        cmocka_unit_test(a_ramp_that_outlasts_the_overload_is_doubted),
        cmocka_unit_test(a_load_that_never_gets_there_is_doubted),
        cmocka_unit_test(an_overhauling_load_without_a_resistor_runs_away),
        cmocka_unit_test(a_stop_beyond_the_resistors_power_is_doubted),
        cmocka_unit_test(several_motors_share_the_current),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
