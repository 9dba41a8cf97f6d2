/* SPDX-License-Identifier: MIT */
/* The torque that a motor gives at a current, and what its losses take when it brakes. */
#include "motor/motor_torque.h"

#include <math.h>

/* The larger of two figures where the doubt is in the drive's favour, else the smaller. */
static double chosen(enum doubt doubt, double a, double b)
{
    return doubt == DOUBT_FAVOURABLE ? fmax(a, b) : fmin(a, b);
}

static double square(double value)
{
    return value * value;
}

/* 1 up to where the drive runs out of volts, then falling with speed. */
static double flux(const struct motor_torque *motor, double speed_rpm)
{
    return speed_rpm > motor->weakening_rpm ? motor->weakening_rpm / speed_rpm : 1;
}

double motor_torque_nm(const struct motor_torque *motor, enum doubt doubt, double current_a, double speed_rpm)
{
    double beside = square(current_a) - square(motor->magnetising_a);
    double beside_rated = square(motor->rated_current_a) - square(motor->magnetising_a);
    double share = chosen(doubt, current_a / motor->rated_current_a, sqrt(fmax(beside, 0) / beside_rated));
    double weakened = flux(motor, speed_rpm);
    return motor->rated_torque_nm * fmin(share * weakened, motor->breakdown[doubt] * square(weakened));
}

double braking_loss_w(double rated_loss_w, double rated_speed_rpm, enum doubt doubt, double speed_rpm)
{
    const double safe_share = 0.5;
    const double favourable_share = 2;
    return doubt == DOUBT_SAFE ? safe_share * rated_loss_w * speed_rpm / rated_speed_rpm
                               : favourable_share * rated_loss_w;
}
