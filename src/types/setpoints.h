/* SPDX-License-Identifier: MIT */
/* What the nameplate and the job ask of the drive, as motor/ computes it from a sheet. */
#ifndef ASLEFT_TYPES_SETPOINTS_H
#define ASLEFT_TYPES_SETPOINTS_H

#include "types/finding.h"
#include "types/means.h"
#include "types/quantity.h"
#include "types/sheet.h"

#include <stdbool.h>
#include <stddef.h>

enum setpoint_kind {
    SETPOINT_RANGE,   /* low, nominal, high */
    SETPOINT_WORD,    /* `word` */
    SETPOINT_MISSING, /* cannot be computed: `basis` says what the sheet lacks */
};

struct setpoint {
    enum means means;
    char *parameter; /* owned; the map's parameter where the job names one that has no means, else NULL */
    enum setpoint_kind kind;
    /* In the base unit of its dimension (types/quantity.h); for DIMENSION_NONE and for a parameter without means the
     * number as written, whose unit is `unit`. The band is the plate's own rounding, carried through the formula, the
     * usual hp/kW pair, and a sheet's allowance; half a step of the register is added by who compares.
     * -INFINITY and INFINITY are open ends; nominal is NAN where only bounds are given. */
    double low, nominal, high;
    enum unit unit;                  /* as a person wrote it: for showing */
    char *word;                      /* owned */
    double ramp_from_hz, ramp_to_hz; /* for ramp.acceleration_time and ramp.deceleration_time: what the time spans */
    char *basis;                     /* owned; the formula with the numbers put in, or the sheet's key */
    const char *formula;             /* static; in symbols (motor/symbols.h), of N motors; NULL: copied, not computed */
    enum source source;
    enum stake stake;
    double allow_within; /* already in the band; base unit; 0: none */
    char *allow_because; /* owned */
};

/* What follows from the nameplate besides setpoints. NAN where it cannot be computed; poles 0. */
struct derived {
    unsigned poles;
    double synchronous_speed_rpm;
    double slip; /* per unit */
    double slip_hz;
    double rated_torque_nm;
    double volts_per_hertz;
    double efficiency_pf; /* eta * cos(phi) that the plate's power, voltage and current imply */
    double rated_power_w, rated_voltage_v, rated_current_a, rated_frequency_hz, rated_speed_rpm; /* connected column */
    double dc_bus_v;        /* expected without load, from the supply and a rectifier front end */
    double dc_bus_loaded_v; /* its mean under load */
    /* Over the job's ramps, on the safe side; INFINITY where it never gets there. `straight`: at a constant rate that
     * stays out of the limits, as drives count; `shortest`: with all the torque that is left over all the way. */
    double shortest_acceleration_s, straight_acceleration_s;
    double shortest_deceleration_s, straight_deceleration_s;
};

/* A motor's plate in numbers, of one motor and in base units; NAN for what it does not say. */
struct motor_plate {
    double power_w, voltage_v, current_a, frequency_hz, speed_rpm;
    double power_factor, efficiency; /* per unit */
    double no_load_current_a;
    double breakdown; /* breakdown torque over rated torque */
    unsigned poles;   /* 0: not known */
};

/* How one figure of `derived` comes about: symbol = formula = numbers. */
struct derivation {
    const char *of; /* static, as the members of `derived` are called */
    const char *symbol, *formula;
    char *numbers; /* owned; the formula with the numbers put in */
};

/* What live values should be while the motor turns: nothing that a register is set to. */
struct running {
    struct setpoint *items; /* of live.* */
    size_t count;
    double base_voltage_v, base_frequency_hz; /* where the V/f curve ends; NAN where it is not known */
    bool is_square;                           /* the curve may be, or the load's torque is */
    /* For a model of the motor, one of `motors` that are loaded alike. Without poles there is none. */
    struct motor_plate plate;
    unsigned motors;
    enum load_torque load_shape; /* LOAD_UNSAID: the load is not known */
    double load_share;           /* of one motor's rated torque, at rated speed */
    double static_share;
};

struct setpoints {
    struct setpoint *items;
    size_t count;
    struct derived derived;
    struct derivation *derivations;
    size_t derivation_count;
    struct running running;
    char *acceleration_basis, *deceleration_basis; /* owned; how the shortest times come about, or why they do not */
    struct findings open;        /* VERDICT_UNCHECKED: what the sheet does not say although people are at stake */
    struct findings implausible; /* VERDICT_IMPLAUSIBLE: the sheet contradicts itself or physics */
    struct findings doubts;      /* VERDICT_UNCHECKED: an estimate or common practice speaks against the sheet */
};

/* The setpoint with that means, or NULL. */
const struct setpoint *setpoints_find(const struct setpoints *setpoints, enum means means);

/* How that figure of `derived` comes about, or NULL. */
const struct derivation *setpoints_derivation(const struct setpoints *setpoints, const char *of);

/* The setpoint for that parameter name, or NULL. */
const struct setpoint *setpoints_find_parameter(const struct setpoints *setpoints, const char *parameter);

void setpoints_free(struct setpoints *setpoints);

#endif
