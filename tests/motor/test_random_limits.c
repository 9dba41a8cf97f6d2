/* SPDX-License-Identifier: MIT */
/* A hundred thousand plausible motors from a seed, each with a drive, a supply and a load that fit: what limits them
 * keeps the order that physics gives it, and none is doubted. */
#include "motor/dc_bus.h"
#include "motor/frequency_limits.h"
#include "motor/running.h"
#include "motor/voltage.h"
#include "random_plates.h"

/* The whole number is run without sanitizers: see tests/CMakeLists.txt. */
#ifndef ASLEFT_TRIALS
#define ASLEFT_TRIALS 10000
#endif
enum { MOTORS = ASLEFT_TRIALS, DEFAULT_SEED = 20260214 };

struct trial {
    struct job job;
    double power_w, voltage_v, current_a, frequency_hz, efficiency, power_factor;
    double load_share;
};

/* A system whose usual motor has that voltage, or the voltage itself. */
static double system_v(double motor_v)
{
    static const double pairs[][2] = {{200, 208}, {230, 240}, {460, 480}, {575, 600}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        if (pairs[i][0] == motor_v)
            return pairs[i][1];
    return motor_v;
}

static struct quantity written(double value, enum unit unit)
{
    return (struct quantity){.given = true, .value = value, .unit = unit};
}

static void add_frequency(struct sheet *sheet, enum means means, double hz)
{
    struct setting *setting = sheet_add_setting(sheet, means, SETTING_QUANTITY, NULL, NULL);
    setting->low = setting->high = written(hz, UNIT_HZ);
}

static void draw_sheet(uint64_t *random, const struct random_plate *plate, struct trial *trial)
{
    static const enum load_torque loads[] = {LOAD_SQUARE, LOAD_CONSTANT};
    struct sheet *sheet = &trial->job.sheet;
    struct plate_text text = {plate->power, plate->voltage,    plate->current,     plate->frequency,
                              plate->speed, plate->efficiency, plate->power_factor};
    sheet_add_column(sheet, &text);
    const struct plate_column *column = &sheet->motor.columns[0];
    trial->power_w = quantity_base(&column->power);
    trial->voltage_v = column->voltage_low.value;
    trial->current_a = column->current.value;
    trial->frequency_hz = column->frequency.value;
    trial->efficiency = quantity_base(&column->efficiency);
    trial->power_factor = column->power_factor.value;
    trial->load_share = between(random, 0.2, 0.95);

    double torque_nm = shaft_torque_nm(trial->power_w, column->speed.value);
    sheet->motor.cooling = COOLING_SELF;
    sheet->supply = (struct supply){.given = true, .voltage = written(system_v(trial->voltage_v), UNIT_V), .phases = 3};
    sheet->drive.rated_current = written(trial->current_a * between(random, 1.0, 2.0), UNIT_A);
    sheet->drive.overload = written(150, UNIT_PERCENT);
    sheet->load = (struct load){.given = true,
                                .torque = loads[choose(random, 2)],
                                .torque_at_rated_speed = written(trial->load_share * torque_nm, UNIT_NM)};
    add_frequency(sheet, MEANS_LIMIT_MINIMUM_FREQUENCY, trial->frequency_hz * between(random, 0.25, 0.6));
    add_frequency(sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, trial->frequency_hz);
}

/* Equal power at a higher voltage takes less current, and the formula gives the plate's own within its rounding. */
static void check_current(const struct trial *trial)
{
    double same =
        line_current_a(MOTOR_INDUCTION, trial->power_w, trial->voltage_v, trial->efficiency, trial->power_factor);
    double higher =
        line_current_a(MOTOR_INDUCTION, trial->power_w, trial->voltage_v * 1.1, trial->efficiency, trial->power_factor);
    assert_true(higher < same);
    assert_near(same / trial->current_a, 1, 0.03);
}

static void check_bus(uint64_t *random, const struct trial *trial)
{
    const struct derived *derived = &trial->job.setpoints.derived;
    struct band range = dc_bus_range_v(&trial->job.sheet.supply, FRONT_RECTIFIER);
    assert_true(derived->dc_bus_loaded_v < derived->dc_bus_v);
    assert_true(range.low < derived->dc_bus_loaded_v && derived->dc_bus_v < range.high);
    struct band supply = supply_of_dc_bus_v(between(random, derived->dc_bus_loaded_v, derived->dc_bus_v));
    double volts = trial->job.sheet.supply.voltage.value;
    assert_true(supply.low <= volts * 1.000001 && volts <= supply.high * 1.000001);
}

/* A lighter load may turn faster; none that fits at rated frequency is limited below it; a lower supply lowers all. */
static void check_frequencies(uint64_t *random, const struct trial *trial)
{
    static const enum load_torque kinds[] = {LOAD_SQUARE, LOAD_CONSTANT};
    double rated_hz = trial->frequency_hz;
    double low_v = trial->voltage_v * between(random, 0.5, 0.99);
    double base_hz = base_frequency_on_supply_hz(trial->voltage_v, rated_hz, low_v);
    assert_near(flux_share(low_v, base_hz, trial->voltage_v, rated_hz), 1, 1e-12);
    for (size_t i = 0; i < 2; i++) {
        struct load_curve load = {.shape = kinds[i], .rated_torque_nm = trial->load_share, .rated_speed_rpm = rated_hz};
        double hz = highest_frequency_by_torque_hz(&load, 1, rated_hz, rated_hz);
        double low_hz = highest_frequency_by_torque_hz(&load, 1, rated_hz, base_hz);
        double stall_hz = highest_frequency_by_breakdown_hz(&load, 2.5, rated_hz, rated_hz);
        double weaker_hz = highest_frequency_by_breakdown_hz(&load, 2.0, rated_hz, rated_hz);
        load.rated_torque_nm *= 0.9;
        double lighter_hz = highest_frequency_by_torque_hz(&load, 1, rated_hz, rated_hz);
        assert_true(hz > rated_hz && lighter_hz > hz && low_hz < hz);
        assert_true(stall_hz > weaker_hz && weaker_hz > rated_hz);
    }
    assert_true(torque_share_at(rated_hz * 1.2, base_hz) < torque_share_at(rated_hz, base_hz));
    assert_true(breakdown_share_at(rated_hz, base_hz) < torque_share_at(rated_hz, base_hz));
}

/* The voltage that a running drive is expected to give has the plate's volts a hertz up to base frequency. */
static void check_running(uint64_t *random, const struct trial *trial)
{
    double hz = trial->frequency_hz * between(random, 0.02, 1.5);
    struct setpoint voltage;
    assert_true(running_voltage(&trial->job.setpoints.running, hz, &voltage));
    assert_near(voltage.nominal, trial->voltage_v * fmin(1, hz / trial->frequency_hz), 1e-6);
    assert_true(voltage.low < voltage.nominal && voltage.nominal < voltage.high);
    assert_int_equal(voltage.source, SOURCE_ESTIMATE);
    free(voltage.basis);
}

static void check_judgement(const struct trial *trial)
{
    const struct setpoints *setpoints = &trial->job.setpoints;
    const struct findings *told = setpoints->implausible.count > 0 ? &setpoints->implausible : &setpoints->doubts;
    if (told->count > 0)
        fail_msg("%s: %s", told->items[0].means, told->items[0].basis);
    const struct setpoint *boost = setpoints_find(setpoints, MEANS_OUTPUT_VOLTAGE_BOOST);
    assert_non_null(boost);
    assert_int_equal(boost->source, SOURCE_ESTIMATE);
}

static void limits_keep_their_order(void **state)
{
    (void)state;
    uint64_t random = seed_or(DEFAULT_SEED);
    struct map map = {0};
    (void)map_add(&map, "boost", MEANS_OUTPUT_VOLTAGE_BOOST);
    (void)map_add(&map, "carrier", MEANS_OUTPUT_CARRIER_FREQUENCY);
    for (int i = 0; i < MOTORS; i++) {
        struct random_plate plate;
        struct trial trial = {0};
        invent(&random, &plate);
        draw_sheet(&random, &plate, &trial);
        setpoints_compute(&trial.job.sheet, &map, &trial.job.setpoints);
        check_current(&trial);
        check_bus(&random, &trial);
        check_frequencies(&random, &trial);
        check_running(&random, &trial);
        check_judgement(&trial);
        setpoints_free(&trial.job.setpoints);
        sheet_free(&trial.job.sheet);
    }
    map_free(&map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(limits_keep_their_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
