/* SPDX-License-Identifier: MIT */
/* The simulated power stage with its motor: state, ramp, V/f, what can be read of it. Pure state and numbers; time is
 * the caller's. */
#ifndef ASLEFT_SIM_DRIVE_MODEL_H
#define ASLEFT_SIM_DRIVE_MODEL_H

#include "sim/motor_point.h"

#include <stdbool.h>
#include <stdint.h>

enum motor_state { MOTOR_STOPPED, MOTOR_STARTING, MOTOR_RUNNING, MOTOR_STOPPING, MOTOR_TRIPPED };

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
    bool has_circuit;
    struct circuit circuit; /* of `motor`, where it has one */
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

/* Takes the output away at once, as an opened enable does. False where there is none. */
bool drive_model_coast(struct drive_model *model);

/* Where the ramp is heading for while started: the command within minimum and maximum. */
double drive_model_target_hz(const struct drive_model *model, const struct drive_settings *settings);

/* The operating point on the present output frequency: V/f voltage, raised by what the stator's resistance loses, and
 * what motor and load do on it (sim/motor_point.h). */
struct drive_live drive_model_live(const struct drive_model *model, const struct drive_settings *settings);

/* "stopped", "starting", "running", "stopping", "tripped". */
const char *motor_state_word(enum motor_state state);

#endif
