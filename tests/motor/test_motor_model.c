/* SPDX-License-Identifier: MIT */
/* A circuit from a nameplate: it goes through the plate's point, says what it assumed, and refuses what cannot be. */
#include "circuits.h"

#include "motor/motor_model.h"

/* A plate that says all, consistently: 7.5 kW, 400 V, MOT-9's current. */
static const struct motor_plate whole_plate = {
    .power_w = 7500,
    .voltage_v = 400,
    .current_a = 14.088,
    .frequency_hz = 50,
    .speed_rpm = 1460,
    .power_factor = 0.85,
    .efficiency = 0.904,
    .no_load_current_a = NAN,
    .breakdown = NAN,
    .poles = 4,
};

static struct motor_model model_of(const struct motor_plate *plate)
{
    struct motor_model model;
    if (!motor_model_estimate(plate, &model))
        fail_msg("no model: %s", model.reason);
    return model;
}

static void assert_refused(const struct motor_plate *plate, const char *says)
{
    struct motor_model model;
    assert_false(motor_model_estimate(plate, &model));
    if (strstr(model.reason, says) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", model.reason, says);
}

static void plate_comes_back(void **state)
{
    (void)state;
    const struct motor_model model = model_of(&whole_plate);
    const struct operating_point point = motor_model_rated(&model);
    assert_share(point.line_current_a, 14.088, 1e-9);
    assert_share(point.power_factor, 0.85, 1e-9);
    assert_share(point.output_power_w, 7500, 1e-9);
    assert_share(point.speed_rpm, 1460, 1e-9);
    assert_share(point.efficiency, 0.904, 1e-4); /* 14.088 A is rounded */
}

static void breakdown_torque_is_the_usual_one_where_nothing_is_said(void **state)
{
    (void)state;
    const struct motor_model model = model_of(&whole_plate);
    assert_share(model.plate.breakdown, 2.7, 0.001);
    assert_false(model.keeps_breakdown);
    assert_true(model.plate.no_load_current_a > 0.25 * 14.088);
    assert_true(model.plate.no_load_current_a < 0.6 * 14.088);
}

static void breakdown_torque_of_the_plate_is_kept(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.breakdown = 3.2;
    const struct motor_model model = model_of(&plate);
    assert_share(model.plate.breakdown, 3.2, 0.001);
    assert_true(model.keeps_breakdown);
    const struct operating_point most = circuit_breakdown(&model.circuit, &(struct terminals){400, 50});
    assert_share(most.shaft_torque_nm, 3.2 * 7500 / (2 * M_PI * 1460 / 60), 0.001);
}

static void no_load_current_of_the_plate_is_kept(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.no_load_current_a = 6.0;
    const struct motor_model model = model_of(&plate);
    assert_true(model.keeps_no_load);
    struct operating_point idle;
    assert_true(circuit_at_torque(&model.circuit, &(struct terminals){400, 50}, 0, &idle));
    assert_share(idle.line_current_a, 6.0, 0.001);
}

static void efficiency_follows_from_power_factor(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.efficiency = NAN;
    const struct motor_model model = model_of(&plate);
    assert_share(model.plate.efficiency, 0.904, 1e-4);
    assert_int_equal(model.origin[FIELD_EFFICIENCY], ORIGIN_BALANCE);
    assert_int_equal(model.origin[FIELD_POWER_FACTOR], ORIGIN_PLATE);
}

static void power_factor_follows_from_efficiency(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.power_factor = NAN;
    const struct motor_model model = model_of(&plate);
    assert_share(motor_model_rated(&model).power_factor, 0.85, 1e-4);
    assert_int_equal(model.origin[FIELD_POWER_FACTOR], ORIGIN_BALANCE);
}

static void current_follows_from_power(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.current_a = NAN;
    const struct motor_model model = model_of(&plate);
    assert_share(motor_model_rated(&model).line_current_a, 14.088, 1e-4);
    assert_int_equal(model.origin[FIELD_CURRENT], ORIGIN_BALANCE);
}

static void power_follows_from_current(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.power_w = NAN;
    const struct motor_model model = model_of(&plate);
    assert_share(motor_model_rated(&model).output_power_w, 7500, 1e-4);
}

/* Neither factor: the efficiency is a guess by size, and the current still comes back exactly. */
static void factors_that_nobody_stamped_are_usual_ones(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.power_factor = plate.efficiency = NAN;
    const struct motor_model model = model_of(&plate);
    assert_int_equal(model.origin[FIELD_EFFICIENCY], ORIGIN_SIZE);
    assert_in_range((int)(100 * model.plate.efficiency), 83, 93);
    assert_share(motor_model_rated(&model).line_current_a, 14.088, 1e-9);
    assert_share(motor_model_rated(&model).output_power_w, 7500, 1e-9);
}

static void basis_says_what_was_assumed(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.power_factor = plate.efficiency = NAN;
    const struct motor_model model = model_of(&plate);
    char *basis = motor_model_basis(&model);
    assert_string_equal(basis, "equivalent circuit estimated from the plate, power factor 0.8832 per unit by power "
                               "balance, efficiency 87 % as usual for the size, breakdown torque 2.7 x rated");
    free(basis);
}

/* The sheet of the demonstration whose efficiency has its digits exchanged: power factor and current still fit. */
static void misread_efficiency_gives_way(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.efficiency = 0.67;
    const struct motor_model model = model_of(&plate);
    assert_share(model.plate.efficiency, 0.904, 1e-4);
}

static void misread_power_factor_gives_way_where_it_leaves_no_efficiency(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.power_factor = 0.58;
    const struct motor_model model = model_of(&plate);
    assert_share(model.plate.power_factor, 0.85, 1e-4);
    assert_share(model.plate.efficiency, 0.904, 1e-9);
}

static void impossible_plates_are_refused(void **state)
{
    (void)state;
    struct motor_plate plate = whole_plate;
    plate.current_a = 9; /* more out than in */
    assert_refused(&plate, "efficiency");
    plate = whole_plate;
    plate.speed_rpm = 1500;
    assert_refused(&plate, "leaves no slip");
    plate = whole_plate;
    plate.speed_rpm = 1300; /* 13 % slip at 90 % efficiency */
    assert_refused(&plate, "the slip alone");
    plate = whole_plate;
    plate.poles = 0;
    assert_refused(&plate, "poles");
    plate = whole_plate;
    plate.voltage_v = NAN;
    assert_refused(&plate, "no voltage");
    plate = whole_plate;
    plate.power_w = plate.current_a = NAN;
    assert_refused(&plate, "neither power nor current");
}

/* EQ-17: the published motor's plate would say 5221.6 W, 220 V, 18.78 A, 1176 rpm, 0.8456 and, by EQ-3, a breakdown
 * torque of about 4.1 times rated. Away from that point the estimate comes near the published circuit. */
static void estimate_comes_near_a_published_circuit(void **state)
{
    (void)state;
    const struct operating_point rated = circuit_at_slip(&fitzgerald, &fitzgerald_terminals, 0.02);
    const double breakdown =
        circuit_breakdown(&fitzgerald, &fitzgerald_terminals).shaft_torque_nm / rated.shaft_torque_nm;
    const struct motor_plate plate = {
        .power_w = rated.output_power_w,
        .voltage_v = 220,
        .current_a = rated.line_current_a,
        .frequency_hz = 60,
        .speed_rpm = 1176,
        .power_factor = rated.power_factor,
        .efficiency = rated.efficiency,
        .no_load_current_a = NAN,
        .breakdown = breakdown,
        .poles = 6,
    };
    const struct motor_model model = model_of(&plate);
    static const double loads[] = {0, 0.25, 0.5, 0.75, 1, 1.25, 1.5};
    for (size_t i = 0; i < sizeof loads / sizeof loads[0]; i++) {
        struct operating_point is;
        struct operating_point estimated;
        const double torque_nm = loads[i] * rated.shaft_torque_nm;
        assert_true(circuit_at_torque(&fitzgerald, &fitzgerald_terminals, torque_nm, &is));
        assert_true(circuit_at_torque(&model.circuit, &fitzgerald_terminals, torque_nm, &estimated));
        assert_share(estimated.line_current_a, is.line_current_a, 0.035);
        assert_near(estimated.speed_rpm, is.speed_rpm, 1);
    }
}

/* EQ-18: the same for the motor of EQ-6, whose breakdown torque the plate does not say. */
static void estimate_without_breakdown_torque_comes_near(void **state)
{
    (void)state;
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
    const struct motor_model model = model_of(&plate);
    for (int quarters = 0; quarters <= 5; quarters++) {
        struct operating_point is;
        struct operating_point estimated;
        const double torque_nm = quarters * rated.shaft_torque_nm / 4;
        assert_true(circuit_at_torque(&chapman, &chapman_terminals, torque_nm, &is));
        assert_true(circuit_at_torque(&model.circuit, &chapman_terminals, torque_nm, &estimated));
        assert_share(estimated.line_current_a, is.line_current_a, 0.07);
        assert_near(estimated.speed_rpm, is.speed_rpm, 2.5);
    }
}

/* EQ-14: printed 1004 rpm, 29.0 Hz, -19.52 N.m. Dubey, example 6.12: slip speed in proportion to torque. */
static void slip_rule_while_braking(void **state)
{
    (void)state;
    const double rated_slip_rpm = 1500 - 1370;
    assert_close(speed_by_slip_rule_rpm(4, 30, rated_slip_rpm, -0.8), 1004);
    assert_close(speed_by_slip_rule_rpm(4, 29, rated_slip_rpm, -1), 1000);
    const double rated_nm = circuit_at_speed(&dubey, &(struct terminals){400, 50}, 1370).torque_nm;
    assert_close(speed_by_slip_rule_rpm(4, 40, rated_slip_rpm, -19.52 / rated_nm), 1300);
}

/* DRV-4: 850 rpm at 30 Hz and full load, 900 without; the model, whose stator resistance the drive makes up for, agrees
 * within 2 rpm: friction, which is less at half speed, is part of its torque. */
static void slip_rule_and_model_agree(void **state)
{
    (void)state;
    assert_near(speed_by_slip_rule_rpm(4, 30, 50, 1), 850, 1e-9);
    assert_near(speed_by_slip_rule_rpm(4, 30, 50, 0), 900, 1e-9);
    const struct motor_plate plate = {
        .power_w = 1500,
        .voltage_v = 460,
        .current_a = 3.0,
        .frequency_hz = 60,
        .speed_rpm = 1750,
        .power_factor = 0.75,
        .efficiency = NAN,
        .no_load_current_a = NAN,
        .breakdown = NAN,
        .poles = 4,
    };
    const struct motor_model model = model_of(&plate);
    const struct circuit held = circuit_compensated(&model.circuit, 0.5);
    struct operating_point point;
    assert_true(circuit_at_torque(&held, &(struct terminals){230, 30}, 1500 / (2 * M_PI * 1750 / 60), &point));
    assert_near(point.speed_rpm, 850, 2);
    assert_true(circuit_at_torque(&held, &(struct terminals){230, 30}, 0, &point));
    assert_near(point.speed_rpm, 900, 2);
}

/* MOT-22: a delta for 230 V 50 Hz run to 400 V 86.6 Hz keeps current, torque and slip speed. */
static void delta_run_to_86_hz_keeps_its_slip_speed(void **state)
{
    (void)state;
    const struct motor_plate plate = {
        .power_w = 3000,
        .voltage_v = 230,
        .current_a = 10.6,
        .frequency_hz = 50,
        .speed_rpm = 1430,
        .power_factor = 0.82,
        .efficiency = NAN,
        .no_load_current_a = NAN,
        .breakdown = NAN,
        .poles = 4,
    };
    const struct motor_model model = model_of(&plate);
    struct operating_point point;
    const double rated_nm = 3000 / (2 * M_PI * 1430 / 60);
    assert_true(circuit_at_torque(&model.circuit, &(struct terminals){400, 86.6}, rated_nm, &point));
    assert_near(point.speed_rpm, 2528, 8);
    assert_share(point.line_current_a, 10.6, 0.03);
    assert_share(point.output_power_w, 3000 * 1.768, 0.01);
}

/* The plate of the sheet, in horsepower, and its further keys. */
static void plate_comes_from_the_sheet(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.motor.breakdown_torque = quantity_of("290 %");
    job->sheet.motor.no_load_current = quantity_of("1.6 A");
    struct nameplate nameplate;
    nameplate_read(&job->sheet.motor, &nameplate);
    const struct motor_plate plate = motor_plate_of(&nameplate, &job->sheet.motor);
    assert_share(plate.power_w, 2 * 745.69987, 1e-6);
    assert_near(plate.voltage_v, 460, 0);
    assert_near(plate.current_a, 3.0, 0);
    assert_near(plate.power_factor, 0.72, 1e-12);
    assert_near(plate.breakdown, 2.9, 1e-12);
    assert_near(plate.no_load_current_a, 1.6, 1e-12);
    assert_int_equal(plate.poles, 4);
    const struct motor_model model = model_of(&plate);
    assert_share(motor_model_rated(&model).speed_rpm, 1745, 1e-9);
    job_free(job);
}

static void motors_without_slip_have_no_model(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.motor.kind = MOTOR_PERMANENT_MAGNET;
    struct nameplate nameplate;
    nameplate_read(&job->sheet.motor, &nameplate);
    const struct motor_plate plate = motor_plate_of(&nameplate, &job->sheet.motor);
    assert_refused(&plate, "poles");
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plate_comes_back),
        cmocka_unit_test(breakdown_torque_is_the_usual_one_where_nothing_is_said),
        cmocka_unit_test(breakdown_torque_of_the_plate_is_kept),
        cmocka_unit_test(no_load_current_of_the_plate_is_kept),
        cmocka_unit_test(efficiency_follows_from_power_factor),
        cmocka_unit_test(power_factor_follows_from_efficiency),
        cmocka_unit_test(current_follows_from_power),
        cmocka_unit_test(power_follows_from_current),
        cmocka_unit_test(factors_that_nobody_stamped_are_usual_ones),
        cmocka_unit_test(basis_says_what_was_assumed),
        cmocka_unit_test(misread_efficiency_gives_way),
        cmocka_unit_test(misread_power_factor_gives_way_where_it_leaves_no_efficiency),
        cmocka_unit_test(impossible_plates_are_refused),
        cmocka_unit_test(estimate_comes_near_a_published_circuit),
        cmocka_unit_test(estimate_without_breakdown_torque_comes_near),
        cmocka_unit_test(slip_rule_while_braking),
        cmocka_unit_test(slip_rule_and_model_agree),
        cmocka_unit_test(delta_run_to_86_hz_keeps_its_slip_speed),
        cmocka_unit_test(plate_comes_from_the_sheet),
        cmocka_unit_test(motors_without_slip_have_no_model),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
