/* SPDX-License-Identifier: MIT */
/* What a running drive should show, by the motor's model: an estimate with its range. Pure functions. */
#ifndef ASLEFT_MOTOR_LIVE_EXPECTATION_H
#define ASLEFT_MOTOR_LIVE_EXPECTATION_H

#include "motor/band.h"
#include "motor/load_curve.h"
#include "motor/motor_model.h"

/* How the drive feeds the motor. */
struct feed {
    double frequency_hz;           /* what it gives now; > 0 */
    double base_v, base_hz;        /* > 0: full voltage is reached there */
    double highest_v;              /* what its supply allows; INFINITY: not known */
    const struct load_curve *load; /* NULL: nothing is known of the load */
};

/* Low and high are the ends of what is likely, nominal lies between; NAN where nothing is known of the load. */
struct live_expectation {
    struct band output_voltage_v, output_current_a, output_power_w; /* between drive and motor */
    struct band speed_rpm, slip_hz;
    struct band torque; /* at the shaft, over rated torque */
    bool stalls;        /* the load that is expected stops the motor at this frequency and voltage */
};

/* What is likely. It covers a drive that makes up for the stator's resistance and one that does not, one that makes up
 * for slip (speed up to synchronous), a load of 0.8 to 1.2 times what is said of it, or, where nothing is, of none to
 * rated torque, and what the model itself may be wrong by: 15 % of current and power, 30 % of slip and 5 % of rated
 * slip besides. The shares are common practice, no source. For loads that do not drive the shaft. */
struct live_expectation live_expectation(const struct motor_model *model, const struct feed *feed);

/* The frequency that the shaft lags behind the output, from a speed reading: f - p n / 120. */
double slip_from_speed_hz(unsigned poles, double frequency_hz, double speed_rpm);

#endif
