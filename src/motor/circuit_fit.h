/* SPDX-License-Identifier: MIT */
/* Finding an equivalent circuit: from one point of operation, and from a test bench's three tests. Pure functions. */
#ifndef ASLEFT_MOTOR_CIRCUIT_FIT_H
#define ASLEFT_MOTOR_CIRCUIT_FIT_H

#include "motor/circuit.h"

/* What is known of one point of operation, and what has to be assumed so that one circuit fits it. Star. */
struct known_point {
    unsigned poles;
    double voltage_v, frequency_hz;        /* at the terminals */
    double line_current_a, power_factor;   /* 0 < power_factor < 1 */
    double slip;                           /* 0 < slip < 1 */
    double stator_ohm, leakage_ohm[2];     /* stator's and rotor's leakage reactance */
    double core_loss_w, rotational_loss_w; /* >= 0 */
};

/* The circuit that draws that current at that power factor and slip: in closed form, rotor resistance from the power
 * that crosses the air gap and the magnetising reactance from the reactive power that the leakages leave. False where
 * none does: the leakages take all reactive power, or more power than the air gap can carry through them.
 * Source: balance of active and reactive power in the T circuit. */
bool circuit_of_point(const struct known_point *known, struct circuit *circuit);

/* Readings of the three tests, star: line to line V, A, W of all phases. */
struct bench_test {
    unsigned poles;
    double rated_frequency_hz;
    double dc_voltage_v, dc_current_a; /* between two terminals */
    double blocked_voltage_v, blocked_current_a, blocked_power_w, blocked_frequency_hz;
    double idle_voltage_v, idle_current_a, idle_power_w, idle_frequency_hz; /* without load */
    double stator_share; /* of the leakage: 0.5 for most designs, 0.4 for NEMA design B, 0.3 for C */
};

/* Stator resistance from direct current, rotor resistance and leakage from the blocked rotor, magnetising reactance and
 * rotational loss (with the core's) from running idle, where the rotor counts as open.
 * Source: the usual evaluation; checked against Hubert, Electric Machines, example 5.16. */
struct circuit circuit_of_tests(const struct bench_test *test);

#endif
