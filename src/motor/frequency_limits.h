/* SPDX-License-Identifier: MIT */
/* The highest and the lowest frequency at which motor and load may run for long. Pure functions.
 *
 * A load's torque over frequency is that of its kind through its torque at rated frequency: (f / rated)^2 for square,
 * 1 for constant, rated / f for constant power. `load_share` is its torque at rated speed over the motor's rated
 * torque. Slip is left out: it changes a limit by less than a percent or two. */
#ifndef ASLEFT_MOTOR_FREQUENCY_LIMITS_H
#define ASLEFT_MOTOR_FREQUENCY_LIMITS_H

#include "motor/band.h"
#include "types/sheet.h"

/* The load's torque at `speed_share` (> 0) of rated speed, over that at rated speed. LOAD_UNSAID: NAN.
 * Source: affinity laws of fans and pumps for the square; definitions for the others. */
double load_torque_share(enum load_torque kind, double speed_share);

/* The load's power there, over that at rated speed: the cube, for a square torque. */
double load_power_share(enum load_torque kind, double speed_share);

/* Up to here the load asks no more than the torque that the motor gives for long, 1 up to base frequency and base / f
 * above; 0 where it does at no frequency, INFINITY where it always does. NAN for LOAD_UNSAID or an unknown share. */
double highest_frequency_by_torque_hz(enum load_torque kind, double load_share, double rated_hz, double base_hz);

/* Up to here the load asks no more than breakdown torque, `breakdown` times rated torque up to base frequency and
 * falling as (base / f)^2 above: there the motor stalls. NAN as above. */
double highest_frequency_by_breakdown_hz(enum load_torque kind, double load_share, double breakdown, double rated_hz,
                                         double base_hz);

/* Down to here a motor that cools itself stands constant torque: rated / turndown. Source: meaning of the ratio. */
double lowest_frequency_by_cooling_hz(double rated_hz, double turndown);

/* Below this a load of constant power asks more than rated torque; 0 for the other kinds. */
double lowest_frequency_by_torque_hz(enum load_torque kind, double load_share, double rated_hz);

/* A pump that lifts against a static head, `static_share` of its head at rated speed, delivers nothing below some
 * frequency of this range: head goes with the square of speed, and without flow it is 1 to 1.3 times that at the rated
 * point. Source: affinity laws; the 1.3 is common practice, no source. */
struct band lowest_frequency_by_static_head_hz(double rated_hz, double static_share);

#endif
