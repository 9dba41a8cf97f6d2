/* SPDX-License-Identifier: MIT */
/* From a signal at the drive's terminals to a frequency. Pure functions. */
#ifndef ASLEFT_MOTOR_ANALOG_H
#define ASLEFT_MOTOR_ANALOG_H

#include "motor/installation.h"

/* Two points of a straight line; the signals in one unit, V, A or per unit, and not equal. */
struct analog_scale {
    double low_signal, high_signal;
    double low_hz, high_hz;
};

/* The frequency that a signal asks for; outside the two points that of the nearer one. Source: straight line. */
double analog_frequency_hz(const struct analog_scale *scale, double signal);

/* The signal that asks for a frequency within the scale; low_hz and high_hz not equal. */
double analog_signal_for(const struct analog_scale *scale, double frequency_hz);

/* What a potentiometer of `track_ohm` > 0 with an input of `input_ohm` > 0 at its wiper draws at most from its supply,
 * in A: at full position the input lies across the whole track. Source: Ohm's law. */
double potentiometer_current_a(double supply_v, double track_ohm, double input_ohm);

/* The wiper's voltage over the supply's at `position` 0 to 1, with the input's load. Source: voltage divider. */
double potentiometer_share(double position, double track_ohm, double input_ohm);

/* The smallest track in ohm that a supply of `supply_v` can feed with `most_a`. */
double potentiometer_least_ohm(double supply_v, double most_a);

/* What a 4-20 mA loop's current says. Source: NAMUR NE 43 as three articles give it: 3.8 to 20.5 mA is a value, below
 * 3.6 and from 21 mA a failure. */
enum loop_state { LOOP_VALUE, LOOP_DOUBTFUL, LOOP_FAILED };
enum loop_state loop_state_of(double current_a);

/* Checks the job's scaling against itself, its maximum frequency and what is to happen when the signal is lost. */
void analog_check(const struct installation *installation, struct setpoints *setpoints);

#endif
