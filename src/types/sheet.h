/* SPDX-License-Identifier: MIT */
/* The commissioning sheet: one installed drive and its motor, as files/ reads it from YAML. */
#ifndef ASLEFT_TYPES_SHEET_H
#define ASLEFT_TYPES_SHEET_H

#include "types/map.h"
#include "types/quantity.h"

#include <stdbool.h>
#include <stddef.h>

enum answer { ANSWER_UNSAID, ANSWER_NO, ANSWER_YES };
enum parity { PARITY_NONE, PARITY_EVEN, PARITY_ODD };
enum rs485 { RS485_NONE, RS485_KERNEL }; /* who switches the transmitter: the port itself, or the system */

struct line {
    char *serial;  /* a port's path, or NULL; owned */
    char *host;    /* a host's name or address, or NULL; owned. Both NULL: a plant file has the line */
    unsigned port; /* TCP, 502 where the sheet does not say */
    unsigned baud;
    enum parity parity;
    unsigned stop_bits; /* 1 or 2 */
    unsigned unit;      /* 1 to 247 on a serial line, 0 to 255 on TCP */
    bool unit_given;
    enum rs485 rs485;
    bool alone; /* no other master can be on this serial line */
};

enum motor_kind { MOTOR_INDUCTION, MOTOR_PERMANENT_MAGNET, MOTOR_SYNCHRONOUS_RELUCTANCE, MOTOR_SINGLE_PHASE };
enum connection { CONNECTION_UNSAID, CONNECTION_STAR, CONNECTION_DELTA };
enum cooling { COOLING_UNSAID, COOLING_SELF, COOLING_SEPARATE };

/* One column of the nameplate. voltage_low == voltage_high unless the plate gives a range (380-420 V).
 * What a plate stamps once for all columns is repeated in each. */
struct plate_column {
    struct quantity voltage_low, voltage_high, frequency, power, current, speed, power_factor, efficiency;
    enum connection connection;
};

struct motor {
    bool given; /* the sheet has a motor at all */
    enum motor_kind kind;
    struct plate_column *columns; /* owned; at least one where `given` */
    size_t column_count;
    size_t connected;     /* index of the column that the motor is connected for */
    bool connected_given; /* false: more than one column and the sheet does not say which */
    struct quantity run_to_voltage, run_to_frequency;
    struct quantity service_factor;           /* bare number, UNIT_NONE or UNIT_PER_UNIT */
    struct quantity constant_torque_turndown; /* bare number: 10 means down to a tenth of rated frequency */
    struct quantity inertia, temperature_rise, breakdown_torque, highest_speed, no_load_current;
    enum cooling cooling;
    enum answer thermistor;
};

struct motors {
    bool given;
    unsigned count; /* 1 where the sheet does not say */
    enum answer own_overloads;
};

enum load_torque { LOAD_UNSAID, LOAD_SQUARE, LOAD_CONSTANT, LOAD_CONSTANT_POWER };

struct load {
    bool given;
    enum load_torque torque;
    struct quantity torque_at_rated_speed, inertia, highest_speed, static_share;
    enum answer overhauling, reverse_harmful;
};

struct supply {
    bool given;
    struct quantity voltage, frequency;
    unsigned phases; /* 0: not said */
};

enum front_end { FRONT_UNSAID, FRONT_RECTIFIER, FRONT_DOUBLER, FRONT_ACTIVE, FRONT_COMMON_BUS };
enum duty { DUTY_UNSAID, DUTY_NORMAL, DUTY_HEAVY };

struct sheet_drive {
    char *map_path; /* resolved against the sheet's folder; owned */
    struct quantity rated_current;
    struct quantity overload, overload_time; /* 150 % for 60 s */
    enum answer has_resistor;                /* ANSWER_NO for `none` */
    struct quantity resistor_resistance, resistor_power;
    enum answer resistor_thermal_switch;
    enum front_end front_end;
    struct quantity bus_trip, chopper_acts_at, chopper_lowest_resistance;
    enum duty duty;
    char *serial_number, *firmware; /* owned, may be NULL */
};

enum cable_filter { FILTER_UNSAID, FILTER_NONE, FILTER_REACTOR, FILTER_SINE };

struct site {
    struct quantity altitude, ambient, cable_length;
    enum cable_filter cable_filter;
};

enum setting_kind {
    SETTING_QUANTITY, /* `low` == `high` */
    SETTING_WORD,     /* a choice's word */
    SETTING_AT_LEAST, /* `low` */
    SETTING_AT_MOST,  /* `high` */
    SETTING_BETWEEN,
    SETTING_RAMP, /* `low` is the time, over ramp_from to ramp_to */
};

struct setting {
    char *name;       /* as written; owned */
    int line, column; /* where it stands in the sheet */
    enum means means; /* MEANS_NONE where it names a parameter of the map */
    enum setting_kind kind;
    struct quantity low, high;
    char *word; /* owned, or NULL. A bare number is SETTING_QUANTITY with UNIT_NONE */
    struct quantity ramp_from, ramp_to;
};

/* A tolerance that somebody widened, with the reason. */
struct allowance {
    enum means means;
    char *parameter; /* owned; NULL where `means` is set */
    struct quantity within;
    char *because; /* owned */
};

struct by_hand {
    char *check, *found, *by, *at; /* owned; all but check may be NULL */
};

struct sheet {
    char *path;
    char *tag;
    char *service; /* may be NULL */
    char sha256[65];
    bool watchdog_known;
    struct sheet_drive drive;
    struct line line;
    struct supply supply;
    struct motor motor;
    struct motors motors;
    struct load load;
    struct site site;
    struct setting *settings;
    size_t setting_count;
    struct allowance *allow;
    size_t allow_count;
    struct by_hand *by_hand;
    size_t by_hand_count;
};

/* The setting for that means, or NULL. */
const struct setting *sheet_setting(const struct sheet *sheet, enum means means);

void line_free(struct line *line);
struct line line_copy(const struct line *line);
void sheet_free(struct sheet *sheet);

/* A plant: lines and the drives on them. */
struct plant_line {
    char *name;
    struct line line; /* no unit: the sheets have it */
    char **sheets;    /* paths, patterns expanded and resolved against the plant's folder; owned */
    size_t sheet_count;
};

struct plant {
    char *path;
    char *name;
    struct plant_line *lines;
    size_t count;
};

void plant_free(struct plant *plant);

#endif
