/* SPDX-License-Identifier: MIT */
/* What a motor's plate says and what follows from it. Pure functions. */
#ifndef ASLEFT_MOTOR_NAMEPLATE_H
#define ASLEFT_MOTOR_NAMEPLATE_H

#include "motor/band.h"
#include "types/setpoints.h"
#include "types/sheet.h"

/* The figures of a column of the plate. */
enum plate_field {
    FIELD_POWER,
    FIELD_VOLTAGE,
    FIELD_CURRENT,
    FIELD_FREQUENCY,
    FIELD_SPEED,
    FIELD_POWER_FACTOR,
    FIELD_EFFICIENCY,
};
enum { FIELD_COUNT = 7 };

struct nameplate {
    const char *reason; /* why no column counts ("the sheet has no motor"), or NULL */
    const struct plate_column *column;
    enum motor_kind kind;
    char label[64]; /* "" for a plate of one column, else " in the 460 V column" */
    /* In base units, of one motor. Unknown where the plate does not say or says nothing above zero. */
    struct band bands[FIELD_COUNT];
    struct quantity written[FIELD_COUNT]; /* of a range of voltages the low end */
    double power_partner_w;               /* the usual rating in the other unit, or NAN */
    unsigned poles;                       /* 0 where speed and frequency do not tell */
};

/* The column that the motor is connected for. Fields of an unknown column are unknown. */
void nameplate_read(const struct motor *motor, struct nameplate *plate);

/* Any one column of the plate, for comparing columns. `column` < column_count. */
void nameplate_read_column(const struct motor *motor, size_t column, struct nameplate *plate);

/* The key of a sheet for a field ("rated_power") and the word for sentences ("power"). */
const char *plate_field_key(enum plate_field field);
const char *plate_field_word(enum plate_field field);

/* The frequency for formulas. 50 and 60 Hz name a supply system and are exact; any other frequency was rounded. */
struct band nameplate_formula_frequency(const struct nameplate *plate);

/* The plate's figures when the motor runs to a higher voltage and frequency at the same ratio: same current, same slip
 * speed, power by frequency. False where the sheet has no run_to. Source: constant flux, hence constant torque. */
bool nameplate_extend(const struct motor *motor, const struct nameplate *plate, struct nameplate *extended);

/* Fills all but dc_bus_v with nominal values; NAN (poles 0) where the plate does not tell. */
void nameplate_derive(const struct nameplate *plate, struct derived *derived);

/* The largest even number of poles whose synchronous speed is not below `speed_rpm` > 0: 2 * floor(60 f / n); 0 where
 * even two poles are slower. Source: synchronous speed = 120 f / poles. */
unsigned poles_by_slip(double frequency_hz, double speed_rpm);

/* The even number of poles whose synchronous speed is nearest; at least 2. */
unsigned poles_by_nearest(double frequency_hz, double speed_rpm);

/* 120 f / poles, in rpm; poles > 0. */
double synchronous_speed_rpm(double frequency_hz, unsigned poles);

/* Shaft torque in N.m: power / angular speed; speed > 0. Source: definition. */
double shaft_torque_nm(double power_w, double speed_rpm);

/* sqrt(3) for a three-phase motor, 1 for a single-phase one: input VA = factor * V * A. */
double phase_factor(enum motor_kind kind);

/* Voltage of an unloaded bus for the supply's line voltage: sqrt(2) V behind a rectifier (three or one phases),
 * 2 sqrt(2) V behind a doubler; NAN for what regulates its bus, or where the sheet does not say the voltage.
 * Source: peak of a sine. */
double dc_bus_voltage_v(const struct supply *supply, enum front_end front_end);

/* Slip at rated load, per unit, that motors of that size have. `power_w` may be NAN: the widest range.
 * Common practice, no source; wide on purpose. */
struct band usual_slip(double power_w);

/* Does the speed fit the plate's poles? For the kinds that run at synchronous speed: within the rounding. */
bool synchronous_speed_fits(const struct nameplate *plate, unsigned poles);

#endif
