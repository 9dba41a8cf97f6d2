/* SPDX-License-Identifier: MIT */
/* How long a shaft takes between two speeds: numerical, for any torque over speed. Pure functions. */
#ifndef ASLEFT_MOTOR_ACCELERATION_H
#define ASLEFT_MOTOR_ACCELERATION_H

/* What is left over at `speed_rpm` to change the speed with, in N.m; <= 0: nothing. */
typedef double torque_function(const void *machine, double speed_rpm);

/* A change of speed, up or down: the time is the same. 0 <= from_rpm <= to_rpm, inertia > 0. */
struct run {
    double inertia_kgm2, from_rpm, to_rpm;
    torque_function *torque_nm;
    const void *machine;
};

/* The least torque left over anywhere in the run, in N.m; `at_rpm` (may be NULL) gets where. It is looked for at 64
 * places and then closed in upon, so a dip narrower than a sixty-fourth of the run can be missed. */
double run_least_torque_nm(const struct run *run, double *at_rpm);

/* Seconds that the run takes when all the torque left over is used all the way: the integral of J dw / M(w), to one
 * part in a million (adaptive Simpson's rule). INFINITY where the least torque is not above zero.
 * Source: Newton's second law for rotation. */
double run_time_s(const struct run *run);

/* Seconds of the shortest run at a constant rate, which is what a drive's ramp asks for: J (w2 - w1) / least torque.
 * INFINITY where the least torque is not above zero. Source: the same. */
double run_straight_s(const struct run *run);

/* Of a run at a constant rate that lasts `straight_s` > 0: the seconds during which it needs more than the torque left
 * over. To a thousandth of straight_s. */
double run_seconds_short_s(const struct run *run, double straight_s);

/* As run_time_s, where `run`'s torque may be used for `seconds` and after that only that of `lasting` (of the same
 * shaft and speeds). */
double run_time_with_overload_s(const struct run *run, const struct run *lasting, double seconds);

/* rad/s of rpm */
double angular_speed(double speed_rpm);

/* Energy in J that leaves the shaft on the way from to_rpm down to from_rpm: J (w2^2 - w1^2) / 2. Source: definition.
 */
double kinetic_energy_j(double inertia_kgm2, double from_rpm, double to_rpm);

#endif
