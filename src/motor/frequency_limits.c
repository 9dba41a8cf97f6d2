/* SPDX-License-Identifier: MIT */
/* The highest and the lowest frequency at which motor and load may run for long. */
#include "motor/frequency_limits.h"

#include "motor/voltage.h"

#include <math.h>

static double load_at_hz(const struct load_curve *load, double frequency_hz, double rated_hz)
{
    return load_torque_nm(load, load->rated_speed_rpm * frequency_hz / rated_hz);
}

double load_power_share(const struct load_curve *load, double frequency_hz, double rated_hz)
{
    double speed_share = frequency_hz / rated_hz;
    return load_at_hz(load, frequency_hz, rated_hz) / load->rated_torque_nm * speed_share;
}

typedef double share_function(double frequency_hz, double base_hz);

/* The share of the motor's torque that a load takes never falls as frequency rises, whatever the shape: so the crossing
 * is found by halving. */
static double crossing_hz(const struct load_curve *load, double motor_nm, share_function *share, double rated_hz,
                          double base_hz)
{
    enum { HALVINGS = 60 };
    const double far = 1000;
    double low_hz = rated_hz / far, high_hz = rated_hz * far;
    if (isnan(load_at_hz(load, rated_hz, rated_hz)) || isnan(motor_nm) || isnan(base_hz))
        return NAN;
    if (load_at_hz(load, low_hz, rated_hz) > motor_nm * share(low_hz, base_hz))
        return 0;
    if (load_at_hz(load, high_hz, rated_hz) <= motor_nm * share(high_hz, base_hz))
        return INFINITY;
    for (int i = 0; i < HALVINGS; i++) {
        double middle_hz = (low_hz + high_hz) / 2;
        bool fits = load_at_hz(load, middle_hz, rated_hz) <= motor_nm * share(middle_hz, base_hz);
        low_hz = fits ? middle_hz : low_hz;
        high_hz = fits ? high_hz : middle_hz;
    }
    return low_hz;
}

double highest_frequency_by_torque_hz(const struct load_curve *load, double motor_nm, double rated_hz, double base_hz)
{
    return crossing_hz(load, motor_nm, torque_share_at, rated_hz, base_hz);
}

double highest_frequency_by_breakdown_hz(const struct load_curve *load, double breakdown_nm, double rated_hz,
                                         double base_hz)
{
    return crossing_hz(load, breakdown_nm, breakdown_share_at, rated_hz, base_hz);
}

double lowest_frequency_by_cooling_hz(double rated_hz, double turndown)
{
    return rated_hz / turndown;
}

struct band lowest_frequency_by_static_head_hz(double rated_hz, double static_share)
{
    const double most_head_without_flow = 1.3;
    return (struct band){rated_hz * sqrt(static_share / most_head_without_flow), NAN, rated_hz * sqrt(static_share)};
}
