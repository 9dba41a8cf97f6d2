/* SPDX-License-Identifier: MIT */
/* The job's frequency limits, judged against what motor and load stand. Pure functions. */
#ifndef ASLEFT_MOTOR_FREQUENCY_CHECK_H
#define ASLEFT_MOTOR_FREQUENCY_CHECK_H

#include "motor/installation.h"

/* What follows from figures of the sheet contradicts a job that asks for more; what is an estimate only raises a doubt.
 * Where the job leaves a limit open, the nearest one becomes its setpoint: the motor's or the load's highest speed as
 * derived, all else as an estimate. */
void highest_frequency_check(const struct installation *installation, struct setpoints *setpoints);
void lowest_frequency_check(const struct installation *installation, struct setpoints *setpoints);

#endif
