/* SPDX-License-Identifier: MIT */
/* The shortest times in which a drive can bring its machine up to speed and down again, and whether the job asks for
 * less. Pure functions.
 *
 * Each ramp has three times. `shortest`: all the torque of the highest current all the way, overload only for its
 * seconds. `straight`: the shortest ramp at a constant rate, which is how drives count, that stays out of the limits.
 * Both are on the safe side, and are what a person can count on. `possible` is the straight one with every doubt in the
 * drive's favour: what the job asks for below it is implausible. In between nothing is proved. */
#ifndef ASLEFT_MOTOR_DYNAMICS_H
#define ASLEFT_MOTOR_DYNAMICS_H

#include "motor/drivetrain.h"
#include "motor/nameplate.h"
#include "types/setpoints.h"
#include "types/sheet.h"

enum direction { SPEEDING_UP, SLOWING_DOWN };
enum { DIRECTIONS = 2 };

struct ramp_times {
    double from_hz, to_hz;                     /* from_hz <= to_hz, in both directions */
    double from_rpm, to_rpm;                   /* the same at the shaft */
    double shortest_s, straight_s, possible_s; /* INFINITY: never */
    double unhurried_s;                        /* straight at the drive's rated current, on the safe side */
    double least_nm[DOUBTS];                   /* left over where it is least, at the highest current */
    double least_at_rpm[DOUBTS];
};

/* Times of a ramp between two frequencies, in either order and different. */
void ramp_times_compute(const struct drivetrain *drivetrain, enum direction direction, double from_hz, double to_hz,
                        struct ramp_times *times);

/* The run behind them, for one doubt and current; `at` is filled and must outlive it. */
struct run ramp_run(const struct drivetrain *drivetrain, enum direction direction, const struct ramp_times *times,
                    enum doubt doubt, double current_a, struct case_of *at);

/* The highest current in that direction, and what of it the drive may give for ever. */
double ramp_most_a(const struct drivetrain *drivetrain, enum direction direction);
double ramp_lasting_a(const struct drivetrain *drivetrain, enum direction direction);

/* How `times` come about, with the numbers put in, as a person would follow them; owned. */
char *ramp_basis(const struct drivetrain *drivetrain, enum direction direction, const struct ramp_times *times);

/* Appends what is implausible about the ramp that the job asks for, and about how the machine can be stopped at all.
 * `times` are of that ramp. */
void ramp_judge(const struct sheet *sheet, const struct drivetrain *drivetrain, enum direction direction,
                const struct ramp_times *times, struct setpoints *setpoints);

/* Fills the shortest times of `setpoints->derived` and their bases, and appends findings. The setpoints of what the job
 * asks for are there already. */
void dynamics_compute(const struct sheet *sheet, const struct nameplate *plate, struct setpoints *setpoints);

#endif
