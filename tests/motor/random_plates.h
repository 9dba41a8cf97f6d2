/* SPDX-License-Identifier: MIT */
/* Plausible motors from a seed, the same on every machine. */
#ifndef ASLEFT_TESTS_MOTOR_RANDOM_PLATES_H
#define ASLEFT_TESTS_MOTOR_RANDOM_PLATES_H

#include "sheets.h"

/* xorshift64* */
static inline uint64_t next_random(uint64_t *random)
{
    *random ^= *random >> 12;
    *random ^= *random << 25;
    *random ^= *random >> 27;
    return *random * UINT64_C(2685821657736338717);
}

/* Evenly from `low` to `high`. */
static inline double between(uint64_t *random, double low, double high)
{
    return low + (high - low) * ((double)(next_random(random) >> 11) / 9007199254740992.0);
}

static inline size_t choose(uint64_t *random, size_t count)
{
    return (size_t)(next_random(random) % count);
}

/* The texts of one plate. */
struct random_plate {
    char power[24], voltage[24], current[24], frequency[24], speed[24], efficiency[24], power_factor[24];
};

/* ASLEFT_SEED, or `usual`; never 0. */
static inline uint64_t seed_or(uint64_t usual)
{
    const char *given = getenv("ASLEFT_SEED");
    uint64_t seed = given == NULL ? usual : strtoull(given, NULL, 10);
    print_message("seed %llu (set ASLEFT_SEED for another)\n", (unsigned long long)seed);
    return seed == 0 ? 1 : seed;
}

/* Text with three significant digits, as plates have them. */
static inline void stamp(char text[24], double value, const char *unit)
{
    int decimals = value < 1 ? 3 : value < 10 ? 2 : value < 100 ? 1 : 0;
    (void)snprintf(text, 24, "%.*f %s", decimals, value, unit);
}

/* A motor as catalogues have them: losses, magnetising current and slip shrink as size grows. Common practice, no
 * source; on purpose not the tables of the code under test. */
static inline void invent(uint64_t *random, struct random_plate *plate)
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

#endif
