/* SPDX-License-Identifier: MIT */
/* The drive against its motor: current, overload, what the place and the cable take away. Pure functions.
 * All of it that is a rule of thumb only raises doubts. */
#ifndef ASLEFT_MOTOR_DRIVE_RATING_H
#define ASLEFT_MOTOR_DRIVE_RATING_H

#include "motor/installation.h"

/* What is left of a rating at an altitude: 1 % less each 100 m above 1000 m; never below 0.
 * Source: web summary of IEC 60034-1 for motors; for drives common practice, no source. */
double altitude_share(double altitude_m);

/* What is left at an ambient temperature: 1 % less each degree above 40 degC; never below 0. Source: as above; many
 * drives lose more above 40 or 50 degC. */
double ambient_share(double ambient_degc);

/* What is left of a drive made for three-phase input on one phase: half. Common practice, no source. */
double single_phase_input_share(void);

/* Input current of one phase over that of three, at equal power and voltage: sqrt(3). Source: definition of power. */
double single_phase_input_ratio(void);

/* The peak that a motor's winding may see, in V: an edge of 0.1 us at half the speed of light doubles where the cable
 * is longer than 7.5 m, and rises in proportion below. Source: reflection on a line, with usual figures; common
 * practice. */
double reflected_peak_v(double bus_v, double cable_m);

/* Checks the drive's current where it is used, its overload and duty, asked current limits, carrier and cable; adds a
 * range for the carrier frequency. */
void drive_rating_check(const struct installation *installation, struct setpoints *setpoints);

#endif
