/* SPDX-License-Identifier: MIT */
/* The torque that a motor gives at a current, and the power that its losses take when it brakes. Neither stands on a
 * plate; each is known only between two assumptions, and who uses it says which one. Pure functions. */
#ifndef ASLEFT_MOTOR_MOTOR_TORQUE_H
#define ASLEFT_MOTOR_MOTOR_TORQUE_H

/* What is not known may be taken on the safe side (what a ramp can count on) or in the drive's favour (what no drive
 * exceeds). Only what fails even with every doubt in its favour is called impossible. */
enum doubt { DOUBT_SAFE, DOUBT_FAVOURABLE };
enum { DOUBTS = 2 };

struct motor_torque {
    double rated_torque_nm, rated_current_a; /* > 0 */
    double magnetising_a;                    /* 0 <= it < rated_current_a; 0 for motors with magnets */
    double weakening_rpm;                    /* up to this speed the drive gives the motor its full volts a hertz */
    double breakdown[DOUBTS];                /* over rated torque; INFINITY where there is none */
};

/* Torque in N.m that `current_a` >= 0 gives at `speed_rpm` >= 0.
 * Of the two relations
 *     I / I_N                                    torque in proportion to current, and
 *     sqrt((I^2 - I_0^2) / (I_N^2 - I_0^2))      torque in proportion to what is left of it beside the magnetising
 * current the smaller is on the safe side, the larger in favour: the plain proportion is the smaller one above rated
 * current. Proportion: common practice, no source. The second: the two parts of the current at right angles, constant
 * flux. Above weakening_rpm the flux, and the torque with it, falls as 1 / n, and the breakdown torque as 1 / n^2
 * (constant voltage; textbook theory). */
double motor_torque_nm(const struct motor_torque *motor, enum doubt doubt, double current_a, double speed_rpm);

/* What the losses of a motor take while it brakes, in W: rated_loss_w is P / efficiency - P. On the safe side half of
 * it, in proportion to speed; in favour twice of it, at every speed (drives with a function that heats the motor).
 * Common practice, no source. */
double braking_loss_w(double rated_loss_w, double rated_speed_rpm, enum doubt doubt, double speed_rpm);

#endif
