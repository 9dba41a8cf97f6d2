/* SPDX-License-Identifier: MIT */
/* The equivalent circuit of a three-phase induction motor: what it draws and gives at a voltage and a frequency.
 *
 * The exact T circuit, one phase: stator resistance and leakage in series with the magnetising branch (reactance and
 * core resistance side by side), beside which lie rotor resistance over slip and rotor leakage. Rotor values are
 * referred to the stator. Reactances go with frequency, resistances do not: no skin effect, no saturation, sine supply.
 * Source: any text on electric machines; examples that it is checked against are in docs/check-values.md (EQ-*).
 * Pure functions. */
#ifndef ASLEFT_MOTOR_CIRCUIT_H
#define ASLEFT_MOTOR_CIRCUIT_H

#include <stdbool.h>

/* One winding's values in ohm; all > 0 where nothing else is said. */
struct circuit {
    unsigned poles;
    bool is_delta;       /* the windings are connected in delta, else in star */
    double frequency_hz; /* where the reactances have these values */
    double stator_ohm, stator_leakage_ohm;
    double rotor_ohm, rotor_leakage_ohm;
    double magnetising_ohm; /* INFINITY: the branch is left out */
    double core_ohm;        /* INFINITY: no core loss, or counted with the rotational loss */
    /* Friction and windage, and whatever else a test lumps with it, in W, all three phases: >= 0. At other speeds it
     * goes with the square of speed; common practice, no source. */
    double rotational_loss_w, rotational_loss_rpm;
};

/* What the motor's terminals get: line to line in V, and Hz. Both > 0. */
struct terminals {
    double voltage_v, frequency_hz;
};

/* One steady state; all three phases together. */
struct operating_point {
    double slip, speed_rpm;
    double line_current_a, winding_current_a, rotor_current_a; /* of a winding, the rotor's referred to the stator */
    double power_factor;                                       /* input power over V A: below 0 while it generates */
    double input_power_w, stator_loss_w, core_loss_w, air_gap_power_w, rotor_loss_w;
    double converted_power_w, rotational_loss_w, output_power_w;
    double torque_nm;       /* in the air gap */
    double shaft_torque_nm; /* less what the rotational loss takes */
    double efficiency;      /* output over input; NAN unless both are above 0 */
};

/* 120 f / poles at the terminals' frequency, in rpm. */
double circuit_synchronous_rpm(const struct circuit *circuit, double frequency_hz);

/* The state at a slip (1: standstill; below 0: generating) or at a speed in rpm. */
struct operating_point circuit_at_slip(const struct circuit *circuit, const struct terminals *terminals, double slip);
struct operating_point circuit_at_speed(const struct circuit *circuit, const struct terminals *terminals, double rpm);

/* The state of highest air-gap torque, motoring or braking (torque below 0).
 * Source: slip at maximum torque = R2 / |Z_th + j X2| with the exact source impedance Z_th behind the rotor. */
struct operating_point circuit_breakdown(const struct circuit *circuit, const struct terminals *terminals);
struct operating_point circuit_breakdown_braking(const struct circuit *circuit, const struct terminals *terminals);

/* The stable state that gives this torque at the shaft (below 0: braking). False where it is more than breakdown gives;
 * `point` is the breakdown then. */
bool circuit_at_torque(const struct circuit *circuit, const struct terminals *terminals, double shaft_torque_nm,
                       struct operating_point *point);

/* Torque in N.m that a machine asks at `speed_rpm` >= 0. */
typedef double load_function(const void *load, double speed_rpm);

/* Where motor and load come to rest, coming from synchronous speed. False where the load stalls the motor: `point` is
 * standstill then. For loads that do not drive the shaft (torque >= 0). */
bool circuit_against_load(const struct circuit *circuit, const struct terminals *terminals, load_function *load_nm,
                          const void *load, struct operating_point *point);

/* The same motor as its terminals show it, described in star or in delta: impedances of a delta are three times those
 * of the star. Source: star-delta transformation. (The same windings connected the other way are another `is_delta`.)
 */
struct circuit circuit_seen_as(const struct circuit *circuit, bool is_delta);

/* The circuit as a drive meets it that makes up for a share (0 to 1) of the voltage which the stator's resistance
 * loses: to its V/f voltage that share of the resistance is gone. The second function tells what it really gives in
 * such a `point`, line to line in V: the V/f voltage of `terminals` and, in phase with the current, what it adds. */
struct circuit circuit_compensated(const struct circuit *circuit, double share);
double circuit_compensated_voltage_v(const struct circuit *circuit, double share, const struct terminals *terminals,
                                     const struct operating_point *point);

#endif
