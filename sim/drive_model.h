/* SPDX-License-Identifier: MIT */
/* The simulated power stage, motor and load: ramp, V/f, slip, current. Pure state and numbers; time is the caller's. */
#ifndef ASLEFT_SIM_DRIVE_MODEL_H
#define ASLEFT_SIM_DRIVE_MODEL_H

#include "types/sheet.h"

#include <stdbool.h>
#include <stdint.h>

enum motor_state { MOTOR_STOPPED, MOTOR_STARTING, MOTOR_RUNNING, MOTOR_STOPPING, MOTOR_TRIPPED };

/* The motor that is bolted to the drive, whatever the drive's registers say. All > 0, but no_load_current_a. */
struct motor_data {
    double rated_power_w, rated_voltage_v, rated_current_a, rated_frequency_hz, rated_speed_rpm, synchronous_speed_rpm;
    double power_factor;      /* at rated load, 0 to 1 */
    double efficiency;        /* at rated load, 0 to 1 */
    double no_load_current_a; /* 0: taken from the power factor */
};

/* What the motor drives. Torques are shares of the motor's rated torque. */
struct load_data {
    enum load_torque law; /* LOAD_UNSAID counts as LOAD_SQUARE */
    double torque_at_rated_speed;
    double static_share; /* of that torque, at every speed: 0 to 1, square law only */
};

/* What the drive's registers ask for now. */
struct drive_settings {
    double acceleration_hz_per_s, deceleration_hz_per_s; /* > 0; INFINITY: at once */
    double minimum_hz, maximum_hz;                       /* maximum 0: none */
    double base_hz, base_v;                              /* > 0: full voltage is reached there */
    double supply_v;                                     /* line to line */
    double bus_per_supply_volt;                          /* 1.4142 for a rectifier; 0: no bus reading */
    bool coasts;                                         /* `stop` takes the output away at once */
};

struct drive_model {
    struct motor_data motor;
    struct load_data load;
    enum motor_state state;
    double command_hz; /* as asked for; limits are applied when it is used */
    double output_hz;
    double run_s; /* time with an output, since the simulator began */
    int64_t last_us;
};

/* What a technician would measure or read at the drive now. */
struct drive_live {
    enum motor_state state;
    bool at_speed;
    double frequency_command_hz, output_frequency_hz, output_voltage_v, output_current_a, output_power_w;
    double speed_rpm, torque; /* share of rated torque */
    double dc_bus_v, heatsink_degc, run_s;
};

/* Stopped, with a frequency command of `command_hz`. `now_us` is any monotonic time. */
void drive_model_init(struct drive_model *model, const struct motor_data *motor, const struct load_data *load,
                      double command_hz, int64_t now_us);

/* Moves the output along its ramp up to `now_us`, by `settings` as they are now: call it before they change. */
void drive_model_advance(struct drive_model *model, const struct drive_settings *settings, int64_t now_us);

/* What a keypad does. False where the state does not allow it: start while tripped or started already, stop while
 * stopped or tripped, trip while tripped, reset while not tripped. */
bool drive_model_start(struct drive_model *model);
bool drive_model_stop(struct drive_model *model);
bool drive_model_trip(struct drive_model *model);
bool drive_model_reset(struct drive_model *model);

/* Where the ramp is heading for while started: the command within minimum and maximum. */
double drive_model_target_hz(const struct drive_model *model, const struct drive_settings *settings);

/* The operating point on the present output frequency.
 * Slip speed is that of the plate times the load's torque, over the square of the flux; current is the magnetising
 * part by flux and the torque part by torque over flux. Source: the usual approximation of the induction motor's
 * straight part of its torque curve at constant V/f. */
struct drive_live drive_model_live(const struct drive_model *model, const struct drive_settings *settings);

/* The current that makes the flux at rated voltage and frequency. */
double motor_magnetising_a(const struct motor_data *motor);

/* "stopped", "starting", "running", "stopping", "tripped". */
const char *motor_state_word(enum motor_state state);

#endif
