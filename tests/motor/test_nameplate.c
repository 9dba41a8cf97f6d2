/* SPDX-License-Identifier: MIT */
/* What follows from a plate, against published figures. Textbook figures were read in a volunteer's worked
 * transcription of the named book's example, not in the printed book. */
#include "sheets.h"

#include "motor/nameplate.h"

/* Source: 120 f / poles, any text. */
static void synchronous_speeds(void **state)
{
    (void)state;
    static const double at_50_hz[] = {3000, 1500, 1000, 750, 600, 500};
    static const double at_60_hz[] = {3600, 1800, 1200, 900, 720, 600};
    for (unsigned i = 0; i < 6; i++) {
        assert_near(synchronous_speed_rpm(50, 2 * (i + 1)), at_50_hz[i], 1e-9);
        assert_near(synchronous_speed_rpm(60, 2 * (i + 1)), at_60_hz[i], 1e-9);
    }
    assert_near(synchronous_speed_rpm(0.85 * 60, 6), 1020, 1e-9); /* Hubert, Electric Machines, Ex 4.1 */
}

struct pole_row {
    double speed_rpm, frequency_hz;
    unsigned poles;
    double slip_percent; /* 0: the source does not say */
    const char *source;
};

static const struct pole_row pole_rows[] = {
    {1755, 60, 4, 2.5, "Guru and Hiziroglu, Electric Machinery and Transformers 3e, Ex 9.1"},
    {3502, 60, 2, 2.722, "Fitzgerald, Kingsley, Umans, Electric Machinery 6e, Ex 6.1"},
    {1164, 60, 6, 3.0, "Hubert Ex 4.3"},
    {1185, 60, 6, 1.25, "Hubert Ex 5.2"},
    {1175, 60, 6, 2.083, "Hubert Ex 5.5"},
    {1770, 60, 4, 0, "Hubert Ex 5.6"},
    {591.1, 60, 12, 1.483, "Hubert Ex 5.9"},
    {950, 50, 6, 0, "Dubey, Fundamentals of Electrical Drives 2e, Ex 6.1"},
    {735, 50, 8, 2.0, "Dubey Ex 6.2"},
    {1370, 50, 4, 8.667, "Dubey Ex 6.8"},
    {1440, 50, 4, 0, "Bhattacharya Ex 4.2"},
    {940, 50, 6, 0, "Bhattacharya Ex 4.2"},
};

static void poles_and_slip_from_speed(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof pole_rows / sizeof pole_rows[0]; i++) {
        const struct pole_row *row = &pole_rows[i];
        assert_int_equal(poles_by_slip(row->frequency_hz, row->speed_rpm), row->poles);
        char speed[32];
        char frequency[32];
        (void)snprintf(speed, sizeof speed, "%g rpm", row->speed_rpm);
        (void)snprintf(frequency, sizeof frequency, "%g Hz", row->frequency_hz);
        struct plate_text plate = {.speed = speed, .frequency = frequency};
        struct job *job = job_of(&plate, 1, 0);
        job_compute(job);
        assert_int_equal(job->setpoints.derived.poles, row->poles);
        if (row->slip_percent > 0)
            assert_near(100 * job->setpoints.derived.slip, row->slip_percent, 0.001 * row->slip_percent);
        assert_plausible(job);
        job_free(job);
    }
}

/* Source: Guru and Hiziroglu Ex 9.1: slip 0.025, rotor frequency 1.5 Hz. */
static void rotor_frequency(void **state)
{
    (void)state;
    struct plate_text plate = {.speed = "1755 rpm", .frequency = "60 Hz"};
    struct job *job = job_of(&plate, 1, 0);
    job_compute(job);
    assert_near(job->setpoints.derived.slip, 0.025, 1e-12);
    assert_near(job->setpoints.derived.slip_hz, 1.5, 1e-12);
    job_free(job);
}

/* Source: logic. Exactly synchronous still counts poles; speeds that fit none do not. */
static void poles_at_the_edges(void **state)
{
    (void)state;
    assert_int_equal(poles_by_slip(50, 1500), 4);
    assert_int_equal(poles_by_slip(86.6, 2598), 4); /* 60 x 86.6 / 2598 is exactly 2 */
    assert_int_equal(poles_by_slip(50, 3001), 0);
    assert_int_equal(poles_by_slip(60, 0), 0);
    assert_int_equal(poles_by_nearest(50, 1501), 4);
    assert_int_equal(poles_by_nearest(50, 9000), 2);
}

static void poles_of_an_implausible_speed_are_unknown(void **state)
{
    (void)state;
    static const char *const speeds[] = {"1805 rpm", "3605 rpm", "1000 rpm"};
    for (size_t i = 0; i < sizeof speeds / sizeof speeds[0]; i++) {
        struct plate_text plate = {.power = "10 hp", .speed = speeds[i], .frequency = "60 Hz"};
        struct job *job = job_of(&plate, 1, 0);
        job_compute(job);
        assert_int_equal(job->setpoints.derived.poles, 0);
        assert_true(isnan(job->setpoints.derived.slip));
        assert_missing(job_setpoint(job, MEANS_MOTOR_POLES), "fits no number of poles");
        job_free(job);
    }
}

static void synchronous_motors_have_the_poles_of_their_speed(void **state)
{
    (void)state;
    static const struct {
        const char *speed, *frequency;
        unsigned poles;
    } rows[] = {
        {"1500 rpm", "50 Hz", 4}, {"3000 rpm", "150 Hz", 6}, {"2200 rpm", "73.3 Hz", 4}, {"1800 rpm", "90 Hz", 6}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct plate_text plate = {.speed = rows[i].speed, .frequency = rows[i].frequency};
        struct job *job = job_of(&plate, 1, 0);
        job->sheet.motor.kind = i % 2 == 0 ? MOTOR_PERMANENT_MAGNET : MOTOR_SYNCHRONOUS_RELUCTANCE;
        job_compute(job);
        assert_plausible(job);
        assert_int_equal(job->setpoints.derived.poles, rows[i].poles);
        job_free(job);
    }
}

/* Sources: metric torque article; J. B. Gupta, Elements of Electric Drives, Ex 22; Hubert Ex 4.6. The constants
 * 9549.297 and 5252.113 follow from the definitions of kW and hp. */
static void shaft_torques(void **state)
{
    (void)state;
    assert_near(shaft_torque_nm(1000, 1), 9549.297, 0.001);
    double one_hp_lbft = unit_from_base(shaft_torque_nm(unit_to_base(1, UNIT_HP), 1), UNIT_LBFT);
    assert_near(one_hp_lbft, 5252.113, 0.001);
    assert_near(shaft_torque_nm(7500, 1440), 49.7, 0.1);
    assert_near(shaft_torque_nm(37500, 500), 716.2, 0.7);
    double hubert_lbft = unit_from_base(shaft_torque_nm(unit_to_base(100, UNIT_HP), 1176.01), UNIT_LBFT);
    assert_near(hubert_lbft, 446.6, 0.2);
}

/* Source: arithmetic. */
static void volts_per_hertz(void **state)
{
    (void)state;
    static const struct {
        const char *voltage, *frequency;
        double ratio;
    } rows[] = {{"460 V", "60 Hz", 7.667}, {"230 V", "60 Hz", 3.833}, {"575 V", "60 Hz", 9.583},
                {"400 V", "50 Hz", 8.000}, {"480 V", "60 Hz", 8.000}, {"230 V", "50 Hz", 4.600}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct plate_text plate = {.voltage = rows[i].voltage, .frequency = rows[i].frequency};
        struct job *job = job_of(&plate, 1, 0);
        job_compute(job);
        assert_near(job->setpoints.derived.volts_per_hertz, rows[i].ratio, 0.001);
        job_free(job);
    }
}

/* Source: peak of a sine; 400 V gives 565.6 V in secondary texts too. */
static void bus_voltage_without_load(void **state)
{
    (void)state;
    static const double rows[][2] = {{208, 294.2}, {230, 325.3}, {240, 339.4}, {380, 537.4}, {400, 565.7}, {415, 586.9},
                                     {460, 650.5}, {480, 678.8}, {575, 813.2}, {600, 848.5}, {690, 975.8}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct supply supply = {.given = true, .voltage = {.given = true, .value = rows[i][0], .unit = UNIT_V}};
        supply.phases = i % 2 == 0 ? 3 : 1;
        assert_near(dc_bus_voltage_v(&supply, FRONT_UNSAID), rows[i][1], 0.1);
        assert_near(dc_bus_voltage_v(&supply, FRONT_RECTIFIER), rows[i][1], 0.1);
        assert_near(dc_bus_voltage_v(&supply, FRONT_DOUBLER), 2 * rows[i][1], 0.2);
        assert_true(isnan(dc_bus_voltage_v(&supply, FRONT_ACTIVE)));
        assert_true(isnan(dc_bus_voltage_v(&supply, FRONT_COMMON_BUS)));
    }
    struct supply unsaid = {0};
    assert_true(isnan(dc_bus_voltage_v(&unsaid, FRONT_RECTIFIER)));
}

/* Source: Hubert Ex 4.6: input 81.98 kW, so efficiency x power factor = 0.910 x 0.8298. */
static void efficiency_and_power_factor_that_a_plate_implies(void **state)
{
    (void)state;
    struct plate_text plate = {"74.6 kW", "230 V", "248 A", NULL, NULL, NULL, NULL};
    struct job *job = job_of(&plate, 1, 0);
    job_compute(job);
    assert_near(job->setpoints.derived.efficiency_pf, 0.910 * 0.8298, 0.0008);
    job_free(job);
}

static void the_whole_example_plate(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.supply = (struct supply){.given = true, .voltage = quantity_of("480 V"), .phases = 3};
    job_compute(job);
    const struct derived *derived = &job->setpoints.derived;
    assert_int_equal(derived->poles, 4);
    assert_near(derived->synchronous_speed_rpm, 1800, 1e-9);
    assert_near(derived->slip, 55.0 / 1800, 1e-12);
    assert_near(derived->rated_torque_nm, 8.161, 0.001);
    assert_near(derived->rated_voltage_v, 460, 0);
    assert_near(derived->rated_current_a, 3, 0);
    assert_near(derived->rated_power_w, 1491.3997, 0.0001);
    assert_near(derived->dc_bus_v, 678.8, 0.1);
    job_free(job);
}

static void nothing_follows_from_nothing(void **state)
{
    (void)state;
    struct job *job = memory_new(1, sizeof *job);
    job_compute(job);
    assert_int_equal(job->setpoints.derived.poles, 0);
    assert_true(isnan(job->setpoints.derived.rated_torque_nm));
    assert_true(isnan(job->setpoints.derived.rated_power_w));
    assert_true(isnan(job->setpoints.derived.dc_bus_v));
    assert_int_equal(job->setpoints.count, 0);
    assert_plausible(job);
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(synchronous_speeds),
        cmocka_unit_test(poles_and_slip_from_speed),
        cmocka_unit_test(rotor_frequency),
        cmocka_unit_test(poles_at_the_edges),
        cmocka_unit_test(poles_of_an_implausible_speed_are_unknown),
        cmocka_unit_test(synchronous_motors_have_the_poles_of_their_speed),
        cmocka_unit_test(shaft_torques),
        cmocka_unit_test(volts_per_hertz),
        cmocka_unit_test(bus_voltage_without_load),
        cmocka_unit_test(efficiency_and_power_factor_that_a_plate_implies),
        cmocka_unit_test(the_whole_example_plate),
        cmocka_unit_test(nothing_follows_from_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
