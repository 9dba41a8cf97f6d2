/* SPDX-License-Identifier: MIT */
/* What live values should be while the motor turns. Pure functions. */
#ifndef ASLEFT_MOTOR_RUNNING_H
#define ASLEFT_MOTOR_RUNNING_H

#include "motor/installation.h"

/* Fills setpoints->running: output frequency up to the job's maximum, output current up to the plate's, the bus within
 * its range. All but the frequency are estimates. */
void running_expect(const struct installation *installation, struct setpoints *setpoints);

/* The output voltage that fits `frequency_hz`, an estimate. False where the V/f curve is not known or the frequency is
 * not above zero. `setpoint->basis` is the caller's to free. */
bool running_voltage(const struct running *running, double frequency_hz, struct setpoint *setpoint);

#endif
