/* SPDX-License-Identifier: MIT */
/* The simulated motor and its load: what they do on the voltage and frequency that the drive gives. Pure numbers. */
#ifndef ASLEFT_SIM_MOTOR_POINT_H
#define ASLEFT_SIM_MOTOR_POINT_H

#include "motor/circuit.h"
#include "types/sheet.h"

#include <stdbool.h>

/* The motor that is bolted to the drive, whatever the drive's registers say. All > 0, but no_load_current_a. */
struct motor_data {
    double rated_power_w, rated_voltage_v, rated_current_a, rated_frequency_hz, rated_speed_rpm, synchronous_speed_rpm;
    double power_factor;      /* at rated load, 0 to 1 */
    double efficiency;        /* at rated load, 0 to 1 */
    double no_load_current_a; /* 0: not known */
};

/* What the motor drives. Torques are shares of the motor's rated torque. */
struct load_data {
    enum load_torque law; /* LOAD_UNSAID counts as LOAD_SQUARE */
    double torque_at_rated_speed;
    double static_share; /* of that torque, at every speed: 0 to 1, square law only */
};

/* What the drive gives: V/f voltage, line to line, which it raises by what the stator's resistance loses. */
struct drive_output {
    double frequency_hz, voltage_v; /* >= 0 */
    double base_hz;                 /* > 0; from there on nothing is raised */
};

/* `torque` is a share of rated torque; voltage and power are those between drive and motor. */
struct motor_point {
    double speed_rpm, torque, current_a, voltage_v, power_w;
};

/* The equivalent circuit of the motor by motor/motor_model.h. Figures that contradict the others are left out until one
 * fits. False for a motor without slip: it has none. */
bool motor_circuit(const struct motor_data *motor, struct circuit *circuit);

/* Where motor and load come to rest on `output`. A load that is too heavy stalls the motor: speed 0, the current of a
 * locked rotor. `circuit` NULL: a motor without one turns at synchronous speed, and its current is the magnetising part
 * and the torque part at right angles, by flux. */
struct motor_point motor_point(const struct motor_data *motor, const struct circuit *circuit,
                               const struct load_data *load, const struct drive_output *output);

/* The current without load at rated voltage and frequency. */
double motor_no_load_a(const struct motor_data *motor);

#endif
