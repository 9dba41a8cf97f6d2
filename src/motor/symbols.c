/* SPDX-License-Identifier: MIT */
/* The symbols in which the worksheet writes its formulas. */
#include "motor/symbols.h"

#include <stddef.h>
#include <string.h>

static const char *const symbols[MEANS_COUNT] = {
    [MEANS_MOTOR_RATED_POWER] = "P_N",
    [MEANS_MOTOR_RATED_VOLTAGE] = "U_N",
    [MEANS_MOTOR_RATED_CURRENT] = "I_N",
    [MEANS_MOTOR_RATED_FREQUENCY] = "f_N",
    [MEANS_MOTOR_RATED_SPEED] = "n_N",
    [MEANS_MOTOR_POLES] = "p",
    [MEANS_MOTOR_POWER_FACTOR] = "cos phi",
    [MEANS_MOTOR_EFFICIENCY] = "eta",
    [MEANS_MOTOR_NO_LOAD_CURRENT] = "I_0",
    [MEANS_MOTOR_RATED_SLIP] = "f_slip",
    [MEANS_MOTOR_OVERLOAD_CURRENT] = "I_r",
    [MEANS_OUTPUT_BASE_FREQUENCY] = "f_b",
    [MEANS_OUTPUT_BASE_VOLTAGE] = "U_b",
    [MEANS_OUTPUT_VOLTAGE_BOOST] = "U_boost",
    [MEANS_OUTPUT_CARRIER_FREQUENCY] = "f_c",
    [MEANS_LIMIT_MAXIMUM_FREQUENCY] = "f_max",
    [MEANS_LIMIT_MINIMUM_FREQUENCY] = "f_min",
    [MEANS_LIMIT_CURRENT] = "I_max",
    [MEANS_LIMIT_CURRENT_MOTORING] = "I_mot",
    [MEANS_LIMIT_CURRENT_BRAKING] = "I_brake",
    [MEANS_LIMIT_SKIP_BAND] = "f_skip",
    [MEANS_RAMP_ACCELERATION_TIME] = "t_acc",
    [MEANS_RAMP_DECELERATION_TIME] = "t_dec",
    [MEANS_RAMP_SHAPE_TIME] = "t_shape",
    [MEANS_ANALOG_LOW_FREQUENCY] = "f_low",
    [MEANS_ANALOG_HIGH_FREQUENCY] = "f_high",
    [MEANS_SUPPLY_VOLTAGE] = "U_L",
    [MEANS_SUPPLY_PHASES] = "m",
    [MEANS_DRIVE_RATED_CURRENT] = "I_D",
    [MEANS_DRIVE_RATED_POWER] = "P_D",
    [MEANS_LOSS_NETWORK_TIME] = "t_loss",
    [MEANS_LIVE_OUTPUT_FREQUENCY] = "f",
    [MEANS_LIVE_FREQUENCY_COMMAND] = "f_ref",
    [MEANS_LIVE_OUTPUT_VOLTAGE] = "U",
    [MEANS_LIVE_OUTPUT_CURRENT] = "I",
    [MEANS_LIVE_OUTPUT_POWER] = "P",
    [MEANS_LIVE_SPEED] = "n",
    [MEANS_LIVE_TORQUE] = "T",
    [MEANS_LIVE_DC_BUS_VOLTAGE] = "U_dc",
    [MEANS_LIVE_HEATSINK_TEMPERATURE] = "theta",
    [MEANS_LIVE_HOURS_RUN] = "t_run",
};

const char *symbol_of(enum means means)
{
    return symbols[means];
}

const char *symbol_named(const char *means)
{
    for (enum means row = MEANS_NONE + 1; means != NULL && row < MEANS_COUNT; row++)
        if (strcmp(means_table[row].name, means) == 0)
            return symbols[row];
    return NULL;
}
