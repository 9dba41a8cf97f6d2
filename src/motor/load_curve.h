/* SPDX-License-Identifier: MIT */
/* The torque that a machine asks of the shaft, over speed. Pure functions. */
#ifndef ASLEFT_MOTOR_LOAD_CURVE_H
#define ASLEFT_MOTOR_LOAD_CURVE_H

#include "types/sheet.h"

struct load_curve {
    enum load_torque shape;
    double rated_torque_nm; /* at rated_speed_rpm, >= 0 */
    double rated_speed_rpm; /* > 0 */
    double static_share;    /* 0 to 1: what of a square load's torque is there at standstill (a static head) */
};

/* Torque in N.m at `speed_rpm` >= 0.
 * square: M x (s + (1 - s) (n / n_r)^2), the affinity laws of fans and pumps above the static share s;
 * constant: M; constant power: M x n_r / n above rated speed, and M below it, since 1 / n has no end at standstill and
 * such machines are loaded at speed (common practice, no source). An unsaid shape has no torque: NAN. */
double load_torque_nm(const struct load_curve *load, double speed_rpm);

#endif
