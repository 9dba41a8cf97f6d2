/* SPDX-License-Identifier: MIT */
/* Twenty thousand plausible motors from a seed: none is doubted, and every band holds its nominal value. */
#include "sheets.h"

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

static size_t choose(uint64_t *random, size_t count)
{
    return (size_t)(next_random(random) % count);
}

/* The texts of one plate. */
struct random_plate {
    char power[24], voltage[24], current[24], frequency[24], speed[24], efficiency[24], power_factor[24];
};

/* Text with three significant digits, as plates have them. */
static void stamp(char text[24], double value, const char *unit)
{
    int decimals = value < 1 ? 3 : value < 10 ? 2 : value < 100 ? 1 : 0;
    (void)snprintf(text, 24, "%.*f %s", decimals, value, unit);
}

/* A motor as catalogues have them: losses, magnetising current and slip shrink as size grows. Common practice, no
 * source; on purpose not the tables of the code under test. */
static void invent(uint64_t *random, struct random_plate *plate)
{
    static const double volts[] = {200, 230, 380, 400, 415, 460, 575, 690};
    static const double hertz[] = {50, 60};
    double frequency_hz = hertz[choose(random, 2)];
    double voltage_v = volts[choose(random, sizeof volts / sizeof volts[0])];
    unsigned poles = 2 * (unsigned)(1 + choose(random, 4));
    double power_kw = pow(10, between(random, log10(0.12), log10(400)));
    double size = log10(power_kw / 0.12) / log10(400 / 0.12); /* 0 for the smallest, 1 for the largest */
    double efficiency = 0.58 + 0.37 * pow(size, 0.55) + between(random, -0.02, 0.02);
    double power_factor = 0.62 + 0.25 * size - 0.015 * poles + between(random, -0.03, 0.05);
    double slip = fmin(0.07 * pow(power_kw / 0.12, -0.33), 0.07) * between(random, 0.7, 1.3);
    double current_a = 1000 * power_kw / (sqrt(3) * voltage_v * efficiency * power_factor);

    if (choose(random, 2) == 0)
        stamp(plate->power, power_kw, "kW");
    else
        stamp(plate->power, power_kw * 1000 / 745.69987158, "hp");
    (void)snprintf(plate->voltage, sizeof plate->voltage, "%.0f V", voltage_v);
    stamp(plate->current, current_a * between(random, 0.985, 1.015), "A");
    (void)snprintf(plate->frequency, sizeof plate->frequency, "%.0f Hz", frequency_hz);
    (void)snprintf(plate->speed, sizeof plate->speed, "%.0f rpm", 120 * frequency_hz / poles * (1 - slip));
    (void)snprintf(plate->efficiency, sizeof plate->efficiency, "%.1f %%", 100 * efficiency);
    (void)snprintf(plate->power_factor, sizeof plate->power_factor, "%.2f per unit", power_factor);
}

static void check_motor(uint64_t *random)
{
    struct random_plate plate;
    invent(random, &plate);
    struct plate_text text = {plate.power, plate.voltage,    plate.current,     plate.frequency,
                              plate.speed, plate.efficiency, plate.power_factor};
    size_t said = choose(random, 4);
    if (said % 2 == 0)
        text.efficiency = NULL;
    if (said / 2 == 0)
        text.power_factor = NULL;

    struct job job = {0};
    sheet_add_column(&job.sheet, &text);
    map_add_all(&job.map);
    map_parameter(&job.map, MEANS_MOTOR_OVERLOAD_CURRENT)->overload_is = OVERLOAD_REFERENCE;
    setpoints_compute(&job.sheet, &job.map, &job.setpoints);
    if (job.setpoints.implausible.count > 0)
        fail_msg("%s %s %s %s %s %s %s: %s", plate.power, plate.voltage, plate.current, plate.frequency, plate.speed,
                 plate.efficiency, plate.power_factor, job.setpoints.implausible.items[0].basis);
    assert_int_equal(job_setpoint(&job, MEANS_MOTOR_RATED_SLIP)->kind, SETPOINT_RANGE);
    for (size_t i = 0; i < job.setpoints.count; i++) {
        const struct setpoint *setpoint = &job.setpoints.items[i];
        bool holds = setpoint->low <= setpoint->nominal && setpoint->nominal <= setpoint->high;
        if (setpoint->kind == SETPOINT_RANGE && !holds)
            fail_msg("%s: %g to %g does not hold %g", setpoint->basis, setpoint->low, setpoint->high,
                     setpoint->nominal);
    }
    setpoints_free(&job.setpoints);
    map_free(&job.map);
    sheet_free(&job.sheet);
}

static void plausible_motors_are_not_doubted(void **state)
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
        cmocka_unit_test(plausible_motors_are_not_doubted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
