/* SPDX-License-Identifier: MIT */
/* What current, power, speed and torque of a running motor should be, by its model. Pure functions. */
#ifndef ASLEFT_MOTOR_RUNNING_MOTOR_H
#define ASLEFT_MOTOR_RUNNING_MOTOR_H

#include "motor/installation.h"

/* live.output_current, live.output_power, live.speed, live.torque */
enum { RUNNING_MOTOR_MOST = 4 };

/* Fills what running_motor needs. No plate where the shaft may drive the motor (an overhauling load), or where the kind
 * of motor has no model. */
void running_motor_prepare(const struct installation *installation, struct running *running);

/* Estimates for the output frequency that was read (below 0: backwards): as many `items` as are returned; each basis is
 * the caller's to free. None at standstill, where there is no model or no V/f curve, or where the load would stall the
 * motor. Speed and torque only of one motor that turns forwards: what several share, and signs, drives show in many
 * ways. */
size_t running_motor(const struct running *running, double frequency_hz, struct setpoint items[RUNNING_MOTOR_MOST]);

#endif
