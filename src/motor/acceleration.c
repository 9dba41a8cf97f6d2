/* SPDX-License-Identifier: MIT */
/* How long a shaft takes between two speeds, for any torque over speed. */
#include "motor/acceleration.h"

#include "motor/constants.h"

#include <math.h>
#include <stddef.h>

double angular_speed(double speed_rpm)
{
    return speed_rpm * 2 * PI / 60;
}

double kinetic_energy_j(double inertia_kgm2, double from_rpm, double to_rpm)
{
    double from = angular_speed(from_rpm);
    double to = angular_speed(to_rpm);
    return inertia_kgm2 * (to * to - from * from) / 2;
}

static double torque_at(const struct run *run, double speed_rpm)
{
    return run->torque_nm(run->machine, speed_rpm);
}

/* Closes in on a minimum between two speeds by the golden section. */
static double close_in(const struct run *run, double low_rpm, double high_rpm, double *at_rpm)
{
    enum { STEPS = 30 }; /* each leaves 0.618 of the width: half a millionth in the end */
    const double golden = 0.6180339887498949;
    double a = high_rpm - golden * (high_rpm - low_rpm);
    double b = low_rpm + golden * (high_rpm - low_rpm);
    double at_a = torque_at(run, a);
    double at_b = torque_at(run, b);
    for (int i = 0; i < STEPS; i++) {
        if (at_a < at_b) {
            high_rpm = b;
            b = a;
            at_b = at_a;
            a = high_rpm - golden * (high_rpm - low_rpm);
            at_a = torque_at(run, a);
        } else {
            low_rpm = a;
            a = b;
            at_a = at_b;
            b = low_rpm + golden * (high_rpm - low_rpm);
            at_b = torque_at(run, b);
        }
    }
    *at_rpm = at_a < at_b ? a : b;
    return fmin(at_a, at_b);
}

double run_least_torque_nm(const struct run *run, double *at_rpm)
{
    enum { PLACES = 64 };
    double step_rpm = (run->to_rpm - run->from_rpm) / PLACES;
    double least_nm = torque_at(run, run->to_rpm);
    double least_rpm = run->to_rpm;
    for (int i = 0; i < PLACES; i++) {
        double speed_rpm = run->from_rpm + i * step_rpm;
        double torque_nm = torque_at(run, speed_rpm);
        if (torque_nm < least_nm) {
            least_nm = torque_nm;
            least_rpm = speed_rpm;
        }
    }
    double inner_rpm;
    double inner_nm =
        close_in(run, fmax(least_rpm - step_rpm, run->from_rpm), fmin(least_rpm + step_rpm, run->to_rpm), &inner_rpm);
    if (inner_nm < least_nm) {
        least_nm = inner_nm;
        least_rpm = inner_rpm;
    }
    if (at_rpm != NULL)
        *at_rpm = least_rpm;
    return least_nm;
}

/* One stretch of the integral of 1 / torque over speed, with the integrand at its ends and middle. */
struct stretch {
    double low_rpm, high_rpm;
    double at_low, at_middle, at_high;
};

static double simpson(const struct stretch *stretch)
{
    return (stretch->high_rpm - stretch->low_rpm) / 6 * (stretch->at_low + 4 * stretch->at_middle + stretch->at_high);
}

static double refined(const struct run *run, struct stretch whole, double tolerance, int depth)
{
    double middle_rpm = (whole.low_rpm + whole.high_rpm) / 2;
    struct stretch lower = {whole.low_rpm, middle_rpm, whole.at_low, 0, whole.at_middle};
    struct stretch upper = {middle_rpm, whole.high_rpm, whole.at_middle, 0, whole.at_high};
    lower.at_middle = 1 / torque_at(run, (lower.low_rpm + lower.high_rpm) / 2);
    upper.at_middle = 1 / torque_at(run, (upper.low_rpm + upper.high_rpm) / 2);
    double halves = simpson(&lower) + simpson(&upper);
    double error = (halves - simpson(&whole)) / 15; /* of Simpson's rule: its fourth order */
    if (depth == 0 || fabs(error) <= tolerance)
        return halves + error;
    return refined(run, lower, tolerance / 2, depth - 1) + refined(run, upper, tolerance / 2, depth - 1);
}

double run_time_s(const struct run *run)
{
    enum { STRETCHES = 4, DEEPEST = 24 };
    const double accuracy = 1e-7;
    double least_nm = run_least_torque_nm(run, NULL);
    double width_rpm = (run->to_rpm - run->from_rpm) / STRETCHES;
    double integral = 0;
    if (!(least_nm > 0))
        return INFINITY;
    for (int i = 0; i < STRETCHES; i++) {
        double low_rpm = run->from_rpm + i * width_rpm;
        struct stretch stretch = {.low_rpm = low_rpm,
                                  .high_rpm = low_rpm + width_rpm,
                                  .at_low = 1 / torque_at(run, low_rpm),
                                  .at_middle = 1 / torque_at(run, low_rpm + width_rpm / 2),
                                  .at_high = 1 / torque_at(run, low_rpm + width_rpm)};
        integral += refined(run, stretch, accuracy * simpson(&stretch), DEEPEST);
    }
    return run->inertia_kgm2 * angular_speed(integral);
}

double run_straight_s(const struct run *run)
{
    double least_nm = run_least_torque_nm(run, NULL);
    if (!(least_nm > 0))
        return INFINITY;
    return run->inertia_kgm2 * angular_speed(run->to_rpm - run->from_rpm) / least_nm;
}

double run_seconds_short_s(const struct run *run, double straight_s)
{
    enum { PLACES = 1000 };
    double needed_nm = run->inertia_kgm2 * angular_speed(run->to_rpm - run->from_rpm) / straight_s;
    double step_rpm = (run->to_rpm - run->from_rpm) / PLACES;
    int places_short = 0;
    for (int i = 0; i < PLACES; i++)
        places_short += needed_nm > torque_at(run, run->from_rpm + (i + 0.5) * step_rpm);
    return straight_s * places_short / PLACES;
}

double run_time_with_overload_s(const struct run *run, const struct run *lasting, double seconds)
{
    enum { STEPS = 40 };
    struct run first = *run;
    struct run rest = *lasting;
    double whole_s = run_time_s(run);
    if (whole_s <= seconds || isinf(whole_s))
        return whole_s;
    double low_rpm = run->from_rpm;
    double high_rpm = run->to_rpm;
    for (int i = 0; i < STEPS; i++) { /* until the overload's seconds are used up */
        first.to_rpm = (low_rpm + high_rpm) / 2;
        if (run_time_s(&first) < seconds)
            low_rpm = first.to_rpm;
        else
            high_rpm = first.to_rpm;
    }
    rest.from_rpm = (low_rpm + high_rpm) / 2;
    return seconds + run_time_s(&rest);
}
