/* SPDX-License-Identifier: MIT */
/* The torque that a machine asks of the shaft, over speed. */
#include "motor/load_curve.h"

#include <math.h>

double load_torque_nm(const struct load_curve *load, double speed_rpm)
{
    double ratio = speed_rpm / load->rated_speed_rpm;
    switch (load->shape) {
    case LOAD_UNSAID:
        return NAN;
    case LOAD_SQUARE:
        return load->rated_torque_nm * (load->static_share + (1 - load->static_share) * ratio * ratio);
    case LOAD_CONSTANT:
        return load->rated_torque_nm;
    case LOAD_CONSTANT_POWER:
        return ratio > 1 ? load->rated_torque_nm / ratio : load->rated_torque_nm;
    }
    return NAN;
}
