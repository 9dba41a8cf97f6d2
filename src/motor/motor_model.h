/* SPDX-License-Identifier: MIT */
/* A motor's equivalent circuit, estimated from its nameplate. Pure functions.
 *
 * A plate gives one point of operation. The circuit of a model goes through that point exactly; what a plate does not
 * tell (how losses and leakage are divided) is assumed, so away from the point the model is an estimate, the better the
 * nearer. docs/manual/motor-model.md says what it is worth. Three-phase induction motors only. */
#ifndef ASLEFT_MOTOR_MOTOR_MODEL_H
#define ASLEFT_MOTOR_MOTOR_MODEL_H

#include "motor/circuit.h"
#include "motor/nameplate.h"

enum plate_origin {
    ORIGIN_PLATE,
    ORIGIN_BALANCE, /* follows from the others by P = sqrt(3) V I cos eta */
    ORIGIN_SIZE,    /* what motors of that power usually have; common practice, no source */
};

struct motor_model {
    const char *reason; /* why there is no model, or NULL */
    struct circuit circuit;
    struct motor_plate
        plate; /* complete: what was not said is filled in. breakdown and no-load current: the circuit's */
    enum plate_origin origin[FIELD_COUNT];
    bool keeps_breakdown; /* the plate's breakdown torque was given, and the circuit has it */
    bool keeps_no_load;   /* the same for the no-load current */
};

/* The plate's figures for a model; `motor` adds no-load current and breakdown torque. No poles for other kinds. */
struct motor_plate motor_plate_of(const struct nameplate *plate, const struct motor *motor);

/* Estimates the circuit. Needed are voltage, frequency, number of poles, and power or current; speed, power, current,
 * power factor and efficiency are filled in where the plate lacks them. Where all five that P = sqrt(3) V I cos eta
 * binds are given, the efficiency gives way, and where that leaves none, the power factor.
 * The motor's losses less the rotor's, which slip tells, are divided half to the stator's resistance, a quarter each to
 * core and to friction, windage and stray losses; leakage is the same in stator and rotor. Leakage follows from the
 * breakdown torque, or the no-load current, or a breakdown torque of 2.7 times rated. All of this paragraph is common
 * practice, no source.
 * False, and the reason in `model`, where something needed is missing or no circuit fits the figures. */
bool motor_model_estimate(const struct motor_plate *plate, struct motor_model *model);

/* What the model says at the plate's voltage, frequency and torque. */
struct operating_point motor_model_rated(const struct motor_model *model);

/* Speed in rpm by the rule of constant slip speed: what a person calculates at the panel. `rated_slip_rpm` is the
 * plate's, `torque` a share of rated torque (below 0: braking). Source: the straight part of the torque curve at
 * constant flux. */
double speed_by_slip_rule_rpm(unsigned poles, double frequency_hz, double rated_slip_rpm, double torque);

/* One sentence on where the circuit comes from and what in it was assumed; owned by the caller. */
char *motor_model_basis(const struct motor_model *model);

#endif
