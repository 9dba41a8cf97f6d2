/* SPDX-License-Identifier: MIT */
/* The highest and the lowest frequency at which motor and load may run for long. */
#include "motor/frequency_limits.h"

#include <math.h>
#include <stdbool.h>

double load_torque_share(enum load_torque kind, double speed_share)
{
    switch (kind) {
    case LOAD_UNSAID:
        return NAN;
    case LOAD_SQUARE:
        return speed_share * speed_share;
    case LOAD_CONSTANT:
        return 1;
    case LOAD_CONSTANT_POWER:
        return 1 / speed_share;
    }
    return NAN;
}

double load_power_share(enum load_torque kind, double speed_share)
{
    return load_torque_share(kind, speed_share) * speed_share;
}

/* Where load torque meets `most` (in rated torques) below base frequency, where the motor's torque does not change. */
static double meets_below_base_hz(enum load_torque kind, double load_share, double most, double rated_hz)
{
    switch (kind) {
    case LOAD_UNSAID:
        return NAN;
    case LOAD_SQUARE:
        return rated_hz * sqrt(most / load_share);
    case LOAD_CONSTANT:
    case LOAD_CONSTANT_POWER: /* asks the more the slower it turns */
        return 0;
    }
    return NAN;
}

/* Where load torque meets most x (base / f)^falls above base frequency. */
static double meets_above_base_hz(enum load_torque kind, double load_share, double most, int falls, double rated_hz,
                                  double base_hz)
{
    double motor = most * pow(base_hz, falls); /* its torque is this over f^falls */
    switch (kind) {
    case LOAD_UNSAID:
        return NAN;
    case LOAD_SQUARE:
        return pow(motor * rated_hz * rated_hz / load_share, 1.0 / (2 + falls));
    case LOAD_CONSTANT:
        return pow(motor / load_share, 1.0 / falls);
    case LOAD_CONSTANT_POWER:
        return falls == 1 ? INFINITY : motor / (load_share * rated_hz);
    }
    return NAN;
}

static double meets_hz(enum load_torque kind, double load_share, double most, int falls, double rated_hz,
                       double base_hz)
{
    if (isnan(load_share) || isnan(most) || isnan(rated_hz) || isnan(base_hz))
        return NAN;
    bool fits_at_base = load_share * load_torque_share(kind, base_hz / rated_hz) <= most;
    return fits_at_base ? meets_above_base_hz(kind, load_share, most, falls, rated_hz, base_hz)
                        : meets_below_base_hz(kind, load_share, most, rated_hz);
}

double highest_frequency_by_torque_hz(enum load_torque kind, double load_share, double rated_hz, double base_hz)
{
    return kind == LOAD_UNSAID ? NAN : meets_hz(kind, load_share, 1, 1, rated_hz, base_hz);
}

double highest_frequency_by_breakdown_hz(enum load_torque kind, double load_share, double breakdown, double rated_hz,
                                         double base_hz)
{
    return kind == LOAD_UNSAID ? NAN : meets_hz(kind, load_share, breakdown, 2, rated_hz, base_hz);
}

double lowest_frequency_by_cooling_hz(double rated_hz, double turndown)
{
    return rated_hz / turndown;
}

double lowest_frequency_by_torque_hz(enum load_torque kind, double load_share, double rated_hz)
{
    return kind == LOAD_CONSTANT_POWER ? load_share * rated_hz : 0;
}

struct band lowest_frequency_by_static_head_hz(double rated_hz, double static_share)
{
    const double most_head_without_flow = 1.3;
    return (struct band){rated_hz * sqrt(static_share / most_head_without_flow), NAN, rated_hz * sqrt(static_share)};
}
