/* SPDX-License-Identifier: MIT */
/* Settings that hurt people together, though each may be right alone. Pure functions. */
#ifndef ASLEFT_MOTOR_HAZARDS_H
#define ASLEFT_MOTOR_HAZARDS_H

#include "motor/installation.h"

/* Adds an implausible finding, people at stake, for each combination that the job asks for; a doubt where an estimate
 * says so; and where the load drives the motor and the job does not say how to stop, an open setpoint that says so. */
void hazards_check(const struct installation *installation, struct setpoints *setpoints);

#endif
