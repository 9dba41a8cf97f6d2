/* SPDX-License-Identifier: MIT */
/* The highest and the lowest frequency at which motor and load may run for long. Pure functions.
 *
 * A load's torque over frequency is its curve, read at rated speed x f / `rated_hz`: slip is left out, which changes a
 * limit by a percent or two. `base_hz` is where the drive's voltage ends. */
#ifndef ASLEFT_MOTOR_FREQUENCY_LIMITS_H
#define ASLEFT_MOTOR_FREQUENCY_LIMITS_H

#include "motor/band.h"
#include "motor/load_curve.h"

/* The load's power at a frequency, over that at `rated_hz`: the cube of speed for a square torque without static share.
 * Source: power = torque x speed; affinity laws of fans and pumps. */
double load_power_share(const struct load_curve *load, double frequency_hz, double rated_hz);

/* Up to here the load asks no more than `motor_nm`, which the motor gives for long up to base frequency and which falls
 * as base / f above; 0 where it asks more at every frequency, INFINITY where it never does; NAN where something of it
 * is not known. */
double highest_frequency_by_torque_hz(const struct load_curve *load, double motor_nm, double rated_hz, double base_hz);

/* Up to here the load asks no more than the breakdown torque `breakdown_nm`, which falls as (base / f)^2 above base
 * frequency: there the motor stalls. 0, INFINITY and NAN as above. */
double highest_frequency_by_breakdown_hz(const struct load_curve *load, double breakdown_nm, double rated_hz,
                                         double base_hz);

/* Down to here a motor that cools itself stands constant torque: rated / turndown. Source: meaning of the ratio. */
double lowest_frequency_by_cooling_hz(double rated_hz, double turndown);

/* A pump that lifts against a static head, `static_share` of its head at rated speed, delivers nothing below some
 * frequency of this range: head goes with the square of speed, and without flow it is 1 to 1.3 times that at the rated
 * point. Source: affinity laws; the 1.3 is common practice, no source. */
struct band lowest_frequency_by_static_head_hz(double rated_hz, double static_share);

#endif
