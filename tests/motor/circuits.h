/* SPDX-License-Identifier: MIT */
/* Motors whose circuits textbooks publish, and how near a figure has to come. */
#ifndef ASLEFT_TESTS_MOTOR_CIRCUITS_H
#define ASLEFT_TESTS_MOTOR_CIRCUITS_H

#include "sheets.h"

#include "motor/circuit.h"

/* Within a share of `expected`: the textbooks' own rounding, 0.1 % where nothing else is said. */
#define assert_share(found, expected, share) share_check((found), (expected), (share), #found, __FILE__, __LINE__)
#define assert_close(found, expected)        assert_share(found, expected, 0.001)

static inline void share_check(double found, double expected, double share, const char *what, const char *file,
                               int line)
{
    if (fabs(found - expected) <= share * fabs(expected))
        return;
    print_error("%s is %.9g, expected %.9g within %g %%\n", what, found, expected, 100 * share);
    _fail(file, line);
}

/* EQ-1: 220 V, 6 poles. Fitzgerald, Kingsley and Umans, Electric Machinery, 6th ed., example 6.2. The loss of 403 W is
 * the core's too. */
static const struct circuit fitzgerald = {
    .poles = 6,
    .frequency_hz = 60,
    .stator_ohm = 0.294,
    .stator_leakage_ohm = 0.503,
    .rotor_ohm = 0.144,
    .rotor_leakage_ohm = 0.209,
    .magnetising_ohm = 13.25,
    .core_ohm = INFINITY,
    .rotational_loss_w = 403,
    .rotational_loss_rpm = 1176,
};
static const struct terminals fitzgerald_terminals = {220, 60};

/* EQ-4: 440 V, 4 poles, in delta. Hambley, Electrical Engineering, example 17.1. */
static const struct circuit hambley = {
    .poles = 4,
    .is_delta = true,
    .frequency_hz = 60,
    .stator_ohm = 1.2,
    .stator_leakage_ohm = 2,
    .rotor_ohm = 0.6,
    .rotor_leakage_ohm = 0.8,
    .magnetising_ohm = 50,
    .core_ohm = INFINITY,
    .rotational_loss_w = 900,
    .rotational_loss_rpm = 1746,
};
static const struct terminals hambley_terminals = {440, 60};

/* EQ-5: 230 V, 6 poles, slip 0.025. Guru and Hiziroglu, Electric Machinery and Transformers, 3rd ed., example 9.2. */
static const struct circuit guru = {
    .poles = 6,
    .frequency_hz = 60,
    .stator_ohm = 0.5,
    .stator_leakage_ohm = 0.75,
    .rotor_ohm = 0.25,
    .rotor_leakage_ohm = 0.5,
    .magnetising_ohm = 100,
    .core_ohm = 500,
    .rotational_loss_w = 150,
    .rotational_loss_rpm = 1170,
};
static const struct terminals guru_terminals = {230, 60};

/* EQ-6: 25 hp, 460 V, 4 poles, slip 0.022. Chapman, Electric Machinery Fundamentals, example 7-3. The loss of 1100 W is
 * the core's too. */
static const struct circuit chapman = {
    .poles = 4,
    .frequency_hz = 60,
    .stator_ohm = 0.641,
    .stator_leakage_ohm = 1.106,
    .rotor_ohm = 0.332,
    .rotor_leakage_ohm = 0.464,
    .magnetising_ohm = 26.3,
    .core_ohm = INFINITY,
    .rotational_loss_w = 1100,
    .rotational_loss_rpm = 1760.4,
};
static const struct terminals chapman_terminals = {460, 60};

/* EQ-8: 40 hp, 460 V, 4 poles, magnetising branch left out. Hubert, Electric Machines, example 5.3. */
static const struct circuit hubert = {
    .poles = 4,
    .frequency_hz = 60,
    .stator_ohm = 0.102,
    .stator_leakage_ohm = 0.409,
    .rotor_ohm = 0.153,
    .rotor_leakage_ohm = 0.613,
    .magnetising_ohm = INFINITY,
    .core_ohm = INFINITY,
};

/* EQ-10 to EQ-13: 400 V, 50 Hz, 4 poles, 1370 rpm, magnetising branch left out. Dubey, Fundamentals of Electrical
 * Drives, 2nd ed., examples 6.9 to 6.13. */
static const struct circuit dubey = {
    .poles = 4,
    .frequency_hz = 50,
    .stator_ohm = 2,
    .stator_leakage_ohm = 3.5,
    .rotor_ohm = 3,
    .rotor_leakage_ohm = 3.5,
    .magnetising_ohm = INFINITY,
    .core_ohm = INFINITY,
};

/* EQ-15: 440 V, 50 Hz, 4 poles, magnetising branch left out. J. B. Gupta, Elements of Electric Drives, example 20. */
static const struct circuit gupta = {
    .poles = 4,
    .frequency_hz = 50,
    .stator_ohm = 2,
    .stator_leakage_ohm = 3,
    .rotor_ohm = 2,
    .rotor_leakage_ohm = 3,
    .magnetising_ohm = INFINITY,
    .core_ohm = INFINITY,
};

#endif
