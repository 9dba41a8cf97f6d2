/* SPDX-License-Identifier: MIT */
/* Drive, motor and machine as one shaft, in the numbers that a ramp follows from. Pure functions. */
#ifndef ASLEFT_MOTOR_DRIVETRAIN_H
#define ASLEFT_MOTOR_DRIVETRAIN_H

#include "motor/acceleration.h"
#include "motor/load_curve.h"
#include "motor/motor_torque.h"
#include "motor/nameplate.h"
#include "types/setpoints.h"
#include "types/sheet.h"

#include <stdbool.h>

/* The most current in A: the drive's with its overload, and no more than the job's limits. */
struct most_current {
    double ampere;
    enum means limited_by; /* MEANS_NONE, or the setting that keeps it down */
};

/* Of one motor. Where several share the drive, each has its part of the drive's current and resistor, and the sheet's
 * load is what one motor's shaft sees. */
struct drivetrain {
    unsigned motors;
    double motor_inertia_kgm2; /* NAN where the sheet does not say: then the run takes at least what comes out */
    double load_inertia_kgm2;
    struct load_curve load;
    bool is_overhauling; /* the load drives the motor while it slows down: the worst case counts */
    struct motor_torque motor;
    double rpm_per_hz; /* rated speed over rated frequency: slip is left out */
    double rated_a;    /* the drive's */
    double overload_s; /* how long more than rated_a may flow; INFINITY where the sheet does not say */
    struct most_current speeding_up, slowing_down;
    char *braking_reason; /* why the rest is not known (owned), or NULL */
    bool feeds_back;      /* the front end takes what the motor gives */
    double rated_loss_w;  /* P / efficiency - P */
    double chopper_v[DOUBTS];
    double resistance_ohm;     /* NAN: no braking resistor */
    double resistor_w[DOUBTS]; /* V^2 / R: what the resistor takes while the chopper is on */
};

/* Reads them. NULL, or the reason why there is none (owned): then nothing is to be freed. */
char *drivetrain_read(const struct sheet *sheet, const struct nameplate *plate, const struct setpoints *setpoints,
                      struct drivetrain *drivetrain);

void drivetrain_free(struct drivetrain *drivetrain);

double drivetrain_inertia_kgm2(const struct drivetrain *drivetrain);

/* What torque is left over is a question of which current flows and on which side the doubts fall. */
struct case_of {
    const struct drivetrain *drivetrain;
    enum doubt doubt;
    double current_a;
};

/* torque_functions of a struct case_of. Upwards: what the current gives less the load. Downwards: what the current and
 * the power that the drive can get rid of allow, plus the load, which helps to slow down (minus it where it overhauls).
 * Source: balance of torques and of powers. */
double torque_upwards_nm(const void *machine, double speed_rpm);
double torque_downwards_nm(const void *machine, double speed_rpm);

/* What the drive can get rid of at that speed, in W: losses and resistor; INFINITY where the front end feeds back. */
double braking_power_w(const struct drivetrain *drivetrain, enum doubt doubt, double speed_rpm);

/* The energy in J that one stop from `to_rpm` down to `from_rpm` in `straight_s` puts into the resistor: what the shaft
 * gives less what load and losses (on the safe side) take. Simpson's rule over 200 stretches. */
double resistor_energy_j(const struct drivetrain *drivetrain, double from_rpm, double to_rpm, double straight_s);

#endif
