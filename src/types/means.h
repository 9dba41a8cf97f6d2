/* SPDX-License-Identifier: MIT */
/* The quantities that this program knows by name, and what is at stake where one is wrong. */
#ifndef ASLEFT_TYPES_MEANS_H
#define ASLEFT_TYPES_MEANS_H

#include "types/quantity.h"

#include <stdbool.h>

enum stake { STAKE_PROCESS, STAKE_EQUIPMENT, STAKE_PEOPLE };

/* One row a means: identifier, name as written in maps, sheets and results, dimension, stake.
 * DIMENSION_NONE is a word (a choice), a count or a text. */
#define ASLEFT_MEANS(ROW)                                                                                              \
    ROW(MOTOR_RATED_POWER, "motor.rated_power", DIMENSION_POWER, STAKE_EQUIPMENT)                                      \
    ROW(MOTOR_RATED_VOLTAGE, "motor.rated_voltage", DIMENSION_VOLTAGE, STAKE_EQUIPMENT)                                \
    ROW(MOTOR_RATED_CURRENT, "motor.rated_current", DIMENSION_CURRENT, STAKE_EQUIPMENT)                                \
    ROW(MOTOR_RATED_FREQUENCY, "motor.rated_frequency", DIMENSION_FREQUENCY, STAKE_EQUIPMENT)                          \
    ROW(MOTOR_RATED_SPEED, "motor.rated_speed", DIMENSION_SPEED, STAKE_EQUIPMENT)                                      \
    ROW(MOTOR_POLES, "motor.poles", DIMENSION_NONE, STAKE_EQUIPMENT)                                                   \
    ROW(MOTOR_POWER_FACTOR, "motor.power_factor", DIMENSION_RATIO, STAKE_EQUIPMENT)                                    \
    ROW(MOTOR_EFFICIENCY, "motor.efficiency", DIMENSION_RATIO, STAKE_EQUIPMENT)                                        \
    ROW(MOTOR_NO_LOAD_CURRENT, "motor.no_load_current", DIMENSION_CURRENT, STAKE_EQUIPMENT)                            \
    ROW(MOTOR_RATED_SLIP, "motor.rated_slip", DIMENSION_FREQUENCY, STAKE_EQUIPMENT)                                    \
    ROW(MOTOR_OVERLOAD_CURRENT, "motor.overload_current", DIMENSION_CURRENT, STAKE_PEOPLE)                             \
    ROW(MOTOR_OVERLOAD_ACTION, "motor.overload_action", DIMENSION_NONE, STAKE_PEOPLE)                                  \
    ROW(MOTOR_OVERLOAD_CURVE, "motor.overload_curve", DIMENSION_NONE, STAKE_EQUIPMENT)                                 \
    ROW(OUTPUT_BASE_FREQUENCY, "output.base_frequency", DIMENSION_FREQUENCY, STAKE_EQUIPMENT)                          \
    ROW(OUTPUT_BASE_VOLTAGE, "output.base_voltage", DIMENSION_VOLTAGE, STAKE_EQUIPMENT)                                \
    ROW(OUTPUT_VOLTAGE_BOOST, "output.voltage_boost", DIMENSION_RATIO, STAKE_EQUIPMENT)                                \
    ROW(OUTPUT_CARRIER_FREQUENCY, "output.carrier_frequency", DIMENSION_FREQUENCY, STAKE_EQUIPMENT)                    \
    ROW(LIMIT_MAXIMUM_FREQUENCY, "limit.maximum_frequency", DIMENSION_FREQUENCY, STAKE_EQUIPMENT)                      \
    ROW(LIMIT_MINIMUM_FREQUENCY, "limit.minimum_frequency", DIMENSION_FREQUENCY, STAKE_EQUIPMENT)                      \
    ROW(LIMIT_CURRENT, "limit.current", DIMENSION_CURRENT, STAKE_EQUIPMENT)                                            \
    ROW(LIMIT_CURRENT_MOTORING, "limit.current_motoring", DIMENSION_CURRENT, STAKE_EQUIPMENT)                          \
    ROW(LIMIT_CURRENT_BRAKING, "limit.current_braking", DIMENSION_CURRENT, STAKE_EQUIPMENT)                            \
    ROW(LIMIT_SKIP_BAND, "limit.skip_band", DIMENSION_FREQUENCY, STAKE_EQUIPMENT)                                      \
    ROW(RAMP_ACCELERATION_TIME, "ramp.acceleration_time", DIMENSION_TIME, STAKE_PROCESS)                               \
    ROW(RAMP_DECELERATION_TIME, "ramp.deceleration_time", DIMENSION_TIME, STAKE_PROCESS)                               \
    ROW(RAMP_SHAPE_TIME, "ramp.shape_time", DIMENSION_TIME, STAKE_PROCESS)                                             \
    ROW(RAMP_STRETCH, "ramp.stretch", DIMENSION_NONE, STAKE_PROCESS)                                                   \
    ROW(RAMP_IN_FORCE, "ramp.in_force", DIMENSION_NONE, STAKE_PROCESS)                                                 \
    ROW(CONTROL_START_SOURCE, "control.start_source", DIMENSION_NONE, STAKE_PEOPLE)                                    \
    ROW(CONTROL_FREQUENCY_SOURCE, "control.frequency_source", DIMENSION_NONE, STAKE_PROCESS)                           \
    ROW(CONTROL_STOP_METHOD, "control.stop_method", DIMENSION_NONE, STAKE_PROCESS)                                     \
    ROW(CONTROL_DIRECTION_LOCK, "control.direction_lock", DIMENSION_NONE, STAKE_PEOPLE)                                \
    ROW(CONTROL_BRAKING_RESISTOR, "control.braking_resistor", DIMENSION_NONE, STAKE_EQUIPMENT)                         \
    ROW(CONTROL_MOTOR_CONTROL, "control.motor_control", DIMENSION_NONE, STAKE_PROCESS)                                 \
    ROW(CONTROL_VF_SHAPE, "control.vf_shape", DIMENSION_NONE, STAKE_EQUIPMENT)                                         \
    ROW(ANALOG_LOW_SIGNAL, "analog.low_signal", DIMENSION_NONE, STAKE_PROCESS)                                         \
    ROW(ANALOG_HIGH_SIGNAL, "analog.high_signal", DIMENSION_NONE, STAKE_PROCESS)                                       \
    ROW(ANALOG_LOW_FREQUENCY, "analog.low_frequency", DIMENSION_FREQUENCY, STAKE_PROCESS)                              \
    ROW(ANALOG_HIGH_FREQUENCY, "analog.high_frequency", DIMENSION_FREQUENCY, STAKE_PROCESS)                            \
    ROW(SUPPLY_VOLTAGE, "supply.voltage", DIMENSION_VOLTAGE, STAKE_EQUIPMENT)                                          \
    ROW(SUPPLY_PHASES, "supply.phases", DIMENSION_NONE, STAKE_EQUIPMENT)                                               \
    ROW(DRIVE_MODEL, "drive.model", DIMENSION_NONE, STAKE_EQUIPMENT)                                                   \
    ROW(DRIVE_RATED_CURRENT, "drive.rated_current", DIMENSION_CURRENT, STAKE_EQUIPMENT)                                \
    ROW(DRIVE_RATED_POWER, "drive.rated_power", DIMENSION_POWER, STAKE_EQUIPMENT)                                      \
    ROW(DRIVE_SERIAL_NUMBER, "drive.serial_number", DIMENSION_NONE, STAKE_PROCESS)                                     \
    ROW(DRIVE_FIRMWARE, "drive.firmware", DIMENSION_NONE, STAKE_PROCESS)                                               \
    ROW(DRIVE_DUTY, "drive.duty", DIMENSION_NONE, STAKE_EQUIPMENT)                                                     \
    ROW(RESTART_AFTER_TRIP, "restart.after_trip", DIMENSION_NONE, STAKE_PEOPLE)                                        \
    ROW(RESTART_AFTER_POWER_RETURN, "restart.after_power_return", DIMENSION_NONE, STAKE_PEOPLE)                        \
    ROW(RESTART_RUN_HELD_AT_POWER_UP, "restart.run_held_at_power_up", DIMENSION_NONE, STAKE_PEOPLE)                    \
    ROW(RESTART_CATCH_SPINNING, "restart.catch_spinning", DIMENSION_NONE, STAKE_PEOPLE)                                \
    ROW(PROTECT_MOTOR_THERMISTOR, "protect.motor_thermistor", DIMENSION_NONE, STAKE_PEOPLE)                            \
    ROW(PROTECT_INPUT_PHASE_LOSS, "protect.input_phase_loss", DIMENSION_NONE, STAKE_EQUIPMENT)                         \
    ROW(PROTECT_OUTPUT_PHASE_LOSS, "protect.output_phase_loss", DIMENSION_NONE, STAKE_EQUIPMENT)                       \
    ROW(PROTECT_EARTH_FAULT, "protect.earth_fault", DIMENSION_NONE, STAKE_EQUIPMENT)                                   \
    ROW(PROTECT_UNDERLOAD, "protect.underload", DIMENSION_NONE, STAKE_EQUIPMENT)                                       \
    ROW(LOSS_SIGNAL_ACTION, "loss.signal_action", DIMENSION_NONE, STAKE_PEOPLE)                                        \
    ROW(LOSS_NETWORK_ACTION, "loss.network_action", DIMENSION_NONE, STAKE_PEOPLE)                                      \
    ROW(LOSS_NETWORK_TIME, "loss.network_time", DIMENSION_TIME, STAKE_PROCESS)                                         \
    ROW(LIVE_STATE, "live.state", DIMENSION_NONE, STAKE_PROCESS)                                                       \
    ROW(LIVE_RUN_COMMAND, "live.run_command", DIMENSION_NONE, STAKE_PROCESS)                                           \
    ROW(LIVE_ENABLE, "live.enable", DIMENSION_NONE, STAKE_PROCESS)                                                     \
    ROW(LIVE_OUTPUT_FREQUENCY, "live.output_frequency", DIMENSION_FREQUENCY, STAKE_PROCESS)                            \
    ROW(LIVE_FREQUENCY_COMMAND, "live.frequency_command", DIMENSION_FREQUENCY, STAKE_PROCESS)                          \
    ROW(LIVE_OUTPUT_VOLTAGE, "live.output_voltage", DIMENSION_VOLTAGE, STAKE_PROCESS)                                  \
    ROW(LIVE_OUTPUT_CURRENT, "live.output_current", DIMENSION_CURRENT, STAKE_PROCESS)                                  \
    ROW(LIVE_OUTPUT_POWER, "live.output_power", DIMENSION_POWER, STAKE_PROCESS)                                        \
    ROW(LIVE_SPEED, "live.speed", DIMENSION_SPEED, STAKE_PROCESS)                                                      \
    ROW(LIVE_TORQUE, "live.torque", DIMENSION_RATIO, STAKE_PROCESS)                                                    \
    ROW(LIVE_DC_BUS_VOLTAGE, "live.dc_bus_voltage", DIMENSION_VOLTAGE, STAKE_PROCESS)                                  \
    ROW(LIVE_HEATSINK_TEMPERATURE, "live.heatsink_temperature", DIMENSION_TEMPERATURE, STAKE_PROCESS)                  \
    ROW(LIVE_TRIP_CODE, "live.trip_code", DIMENSION_NONE, STAKE_PROCESS)                                               \
    ROW(LIVE_HOURS_RUN, "live.hours_run", DIMENSION_TIME, STAKE_PROCESS)

enum means {
    MEANS_NONE,
#define ASLEFT_MEANS_ID(id, name, dimension, stake) MEANS_##id,
    ASLEFT_MEANS(ASLEFT_MEANS_ID)
#undef ASLEFT_MEANS_ID
        MEANS_COUNT, /* how many there are, MEANS_NONE included */
};

struct means_row {
    const char *name;
    enum dimension dimension;
    enum stake stake;
};

/* Indexed by enum means; row 0 has the name "". */
extern const struct means_row means_table[MEANS_COUNT];

/* Does it tell what the drive does now ("live.")? */
bool means_is_live(enum means means);

/* Does it tell one drive from others of its model: serial number, firmware? */
bool means_is_individual(enum means means);

/* Is it the motor's nameplate, on the strength of which a drive tunes itself? */
bool means_is_nameplate(enum means means);

#endif
