/* SPDX-License-Identifier: MIT */
/* Twenty thousand plausible motors from a seed: each model goes through its plate's point, and what it says elsewhere
 * is finite, ordered and in a plausible range. */
#include "circuits.h"

#include "motor/motor_model.h"

enum { MOTORS = 20000, DEFAULT_SEED = 20260131 };

/* xorshift64*: the same motors on every machine. */
static uint64_t next_random(uint64_t *random)
{
    *random ^= *random >> 12;
    *random ^= *random << 25;
    *random ^= *random >> 27;
    return *random * UINT64_C(2685821657736338717);
}

/* Evenly from `low` to `high`. */
static double between(uint64_t *random, double low, double high)
{
    return low + (high - low) * ((double)(next_random(random) >> 11) / 9007199254740992.0);
}

/* A value with three significant digits, as plates have them. */
static double stamped(double value)
{
    const double digit = pow(10, floor(log10(value)) - 2);
    return round(value / digit) * digit;
}

/* A motor as catalogues have them: losses, magnetising current and slip shrink as size grows. Common practice, no
 * source; on purpose not the tables of the code under test. */
static struct motor_plate invent(uint64_t *random)
{
    static const double volts[] = {200, 230, 380, 400, 415, 460, 575, 690};
    const double power_kw = pow(10, between(random, log10(0.12), log10(400)));
    const double size = log10(power_kw / 0.12) / log10(400 / 0.12); /* 0 for the smallest, 1 for the largest */
    struct motor_plate plate = {
        .power_w = 1000 * stamped(power_kw),
        .voltage_v = volts[next_random(random) % 8],
        .frequency_hz = next_random(random) % 2 == 0 ? 50 : 60,
        .poles = 2 * (unsigned)(1 + next_random(random) % 4),
        .no_load_current_a = NAN,
        .breakdown = NAN,
    };
    plate.efficiency = 0.58 + 0.37 * pow(size, 0.55) + between(random, -0.02, 0.02);
    plate.power_factor = 0.62 + 0.25 * size - 0.015 * plate.poles + between(random, -0.03, 0.05);
    const double slip = fmin(0.07 * pow(power_kw / 0.12, -0.33), 0.07) * between(random, 0.7, 1.3);
    plate.speed_rpm = round(120 * plate.frequency_hz / plate.poles * (1 - slip));
    plate.current_a = stamped(plate.power_w / (sqrt(3) * plate.voltage_v * plate.efficiency * plate.power_factor) *
                              between(random, 0.985, 1.015));
    plate.efficiency = round(plate.efficiency * 1000) / 1000;
    plate.power_factor = round(plate.power_factor * 100) / 100;
    return plate;
}

/* Leaves out what plates leave out. */
static void forget(uint64_t *random, struct motor_plate *plate)
{
    const uint64_t said = next_random(random);
    if (said % 2 == 0)
        plate->efficiency = NAN;
    if (said / 2 % 2 == 0)
        plate->power_factor = NAN;
    if (said / 4 % 16 == 0)
        plate->current_a = NAN;
}

static void fail_for(const struct motor_plate *plate, const char *what, double value)
{
    fail_msg("%.4g kW %g V %.4g A %g Hz %g rpm cos %.3g eta %.3g: %s %g", plate->power_w / 1000, plate->voltage_v,
             plate->current_a, plate->frequency_hz, plate->speed_rpm, plate->power_factor, plate->efficiency, what,
             value);
}

static void check_within(const struct motor_plate *plate, const char *what, double value, double low, double high)
{
    if (!(value >= low && value <= high))
        fail_for(plate, what, value);
}

static void check_circuit(const struct motor_plate *plate, const struct circuit *circuit)
{
    const double parts[] = {circuit->stator_ohm,        circuit->stator_leakage_ohm, circuit->rotor_ohm,
                            circuit->rotor_leakage_ohm, circuit->magnetising_ohm,    circuit->core_ohm};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        if (!(parts[i] > 0) || !isfinite(parts[i]))
            fail_for(plate, "an impedance of", parts[i]);
}

/* Speed falls and current rises with load, at rated frequency and at half of it. */
static void check_over_load(const struct motor_plate *plate, const struct motor_model *model)
{
    const double rated_nm = model->plate.power_w / (2 * M_PI * model->plate.speed_rpm / 60);
    for (double share = 0.5; share <= 1; share += 0.5) {
        const struct circuit held = circuit_compensated(&model->circuit, 1 - share);
        const struct terminals terminals = {plate->voltage_v * share, plate->frequency_hz * share};
        struct operating_point before;
        assert_true(circuit_at_torque(&held, &terminals, 0, &before));
        for (double load = 0.25; load < 1.3; load += 0.25) {
            struct operating_point point;
            if (!circuit_at_torque(&held, &terminals, load * rated_nm, &point))
                fail_for(plate, "stalls at", load);
            if (!(point.speed_rpm < before.speed_rpm && point.line_current_a > before.line_current_a))
                fail_for(plate, "does not slow down or draw more at load", load);
            before = point;
        }
    }
}

static void check_motor(uint64_t *random)
{
    struct motor_plate plate = invent(random);
    forget(random, &plate);
    struct motor_model model;
    if (!motor_model_estimate(&plate, &model))
        fail_for(&plate, model.reason, 0);

    const double tolerance = 1e-9;
    const struct operating_point point = motor_model_rated(&model);
    check_within(&plate, "power comes back as", point.output_power_w / plate.power_w, 1 - tolerance, 1 + tolerance);
    check_within(&plate, "speed comes back as", point.speed_rpm / plate.speed_rpm, 1 - tolerance, 1 + tolerance);
    if (!isnan(plate.current_a))
        check_within(&plate, "current comes back as", point.line_current_a / plate.current_a, 1 - tolerance,
                     1 + tolerance);
    if (!isnan(plate.power_factor))
        check_within(&plate, "power factor comes back as", point.power_factor / plate.power_factor, 1 - tolerance,
                     1 + tolerance);
    check_within(&plate, "efficiency comes out as", point.efficiency, 0.5, 0.99);
    if (!isnan(plate.efficiency) && !isnan(plate.power_factor)) /* the current is up to 1.5 % off, and all is rounded */
        check_within(&plate, "efficiency comes back as", point.efficiency / plate.efficiency, 0.965, 1.035);
    check_within(&plate, "a breakdown torque of", model.plate.breakdown, 1.6, 4.5);
    /* Small motors of many poles draw nearly as much without load as with it. */
    check_within(&plate, "a no-load current of", model.plate.no_load_current_a / point.line_current_a, 0.15, 0.97);
    check_circuit(&plate, &model.circuit);
    check_over_load(&plate, &model);
}

static void models_go_through_their_plates(void **state)
{
    (void)state;
    const char *given = getenv("ASLEFT_SEED");
    uint64_t random = given == NULL ? DEFAULT_SEED : strtoull(given, NULL, 10);
    print_message("seed %llu (set ASLEFT_SEED for another)\n", (unsigned long long)random);
    for (int i = 0; i < MOTORS; i++)
        check_motor(&random);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(models_go_through_their_plates),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
