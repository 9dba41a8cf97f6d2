/* SPDX-License-Identifier: MIT */
/* Showing the motor in the live registers: numbers by their means, states by their words and bits. */
#include "sim/live.h"

#include "motor/quantity.h"
#include "sim/scaling.h"
#include "sim/terminals.h"

#include <math.h>
#include <string.h>

/* Sets of states, one bit a state. */
#define IN(state)   (1U << (unsigned)(state))
#define WITH_OUTPUT (IN(MOTOR_STARTING) | IN(MOTOR_RUNNING) | IN(MOTOR_STOPPING))

/* What there is to show. */
struct shown {
    struct drive_live live;
    bool run_command, enable;
};

/* Is the thing of that name the case? Names that the simulator does not know never are. `present`: what a bare
 * "present" speaks of. */
static bool word_holds(const char *word, const struct shown *shown, bool present)
{
    static const struct {
        const char *word;
        unsigned states;
    } rows[] = {
        {"running", WITH_OUTPUT},         {"starting", IN(MOTOR_STARTING)},     {"accelerating", IN(MOTOR_STARTING)},
        {"stopping", IN(MOTOR_STOPPING)}, {"decelerating", IN(MOTOR_STOPPING)}, {"stopped", IN(MOTOR_STOPPED)},
        {"ready", IN(MOTOR_STOPPED)},     {"tripped", IN(MOTOR_TRIPPED)},
    };
    const struct {
        const char *word;
        bool holds;
    } others[] = {
        {"at_speed", shown->live.at_speed},
        {"run", shown->run_command},
        {"forward", shown->run_command},
        {"run_command", shown->run_command},
        {"enable", shown->enable},
        {"enabled", shown->enable},
        {"present", present},
        {"on", present},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (strcmp(word, rows[i].word) == 0)
            return (rows[i].states & IN(shown->live.state)) != 0;
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (strcmp(word, others[i].word) == 0)
            return others[i].holds;
    return false;
}

static uint32_t raw_of_bits(const struct parameter *parameter, const struct shown *shown, bool present)
{
    uint32_t raw = 0;
    for (size_t i = 0; i < parameter->bits.count; i++)
        if (word_holds(parameter->bits.items[i].word, shown, present))
            raw |= UINT32_C(1) << parameter->bits.items[i].raw;
    return raw;
}

static bool raw_of_word(const struct named_raws *list, const char *word, uint32_t *raw)
{
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->items[i].word, word) == 0) {
            *raw = list->items[i].raw;
            return true;
        }
    return false;
}

/* The choice that says most: of a state its own word, else the first that holds, else one that denies a run. */
static bool raw_of_choice(const struct parameter *parameter, const struct shown *shown, bool present, uint32_t *raw)
{
    static const char *const idle[] = {"stop", "absent", "off", "none", "disabled"};
    const struct named_raws *choices = &parameter->choices;
    if (parameter->means == MEANS_LIVE_STATE && raw_of_word(choices, motor_state_word(shown->live.state), raw))
        return true;
    for (size_t i = 0; i < choices->count; i++)
        if (word_holds(choices->items[i].word, shown, present)) {
            *raw = choices->items[i].raw;
            return true;
        }
    for (size_t i = 0; i < choices->count; i++)
        for (size_t j = 0; j < sizeof idle / sizeof *idle; j++)
            if (strcmp(choices->items[i].word, idle[j]) == 0) {
                *raw = choices->items[i].raw;
                return true;
            }
    return false;
}

/* A trip has a code other than 0; with choices, the first of those. */
static uint32_t raw_of_trip(const struct parameter *parameter, const struct drive_live *live)
{
    if (live->state != MOTOR_TRIPPED)
        return 0;
    for (size_t i = 0; i < parameter->choices.count; i++)
        if (parameter->choices.items[i].raw != 0)
            return parameter->choices.items[i].raw;
    return 1;
}

/* The state that somebody chose to have shown, where this register has a word for it. */
static bool raw_of_shown_state(const struct parameter *parameter, const char *word, uint32_t *raw)
{
    if (word == NULL || parameter->means != MEANS_LIVE_STATE)
        return false;
    if (parameter->type != TYPE_BITS)
        return raw_of_word(&parameter->choices, word, raw);
    if (!raw_of_word(&parameter->bits, word, raw))
        return false;
    *raw = UINT32_C(1) << *raw;
    return true;
}

static bool raw_of_state(const struct drive *drive, const struct parameter *parameter, const struct drive_live *live,
                         uint32_t *raw)
{
    const struct shown shown = {*live, terminals_show_run_command(drive), terminals_show_enable(drive)};
    const bool present = parameter->means == MEANS_LIVE_ENABLE ? shown.enable : shown.run_command;
    if (raw_of_shown_state(parameter, drive->shown_state, raw))
        return true;
    if (parameter->type == TYPE_BITS) {
        *raw = raw_of_bits(parameter, &shown, present);
        return true;
    }
    if (parameter->choices.count > 0)
        return raw_of_choice(parameter, &shown, present, raw);
    *raw = word_holds(parameter->means == MEANS_LIVE_STATE ? "running" : "present", &shown, present);
    return true;
}

/* A live torque is a share of rated torque, or in newton metres. */
static double live_torque(const struct drive *drive, size_t parameter, const struct drive_live *live)
{
    const struct motor_data *motor = &drive->model.motor;
    const double rated_torque_nm = motor->rated_power_w / (2 * M_PI * motor->rated_speed_rpm / 60);
    const bool in_nm = scaling_dimension(drive, parameter) == DIMENSION_TORQUE;
    return in_nm ? live->torque * rated_torque_nm : live->torque;
}

/* In the base unit of the register's dimension. */
static double live_number(const struct drive *drive, size_t parameter, const struct drive_live *live)
{
    switch ((int)drive->map->parameters[parameter].means) {
    case MEANS_LIVE_OUTPUT_FREQUENCY:
        return live->output_frequency_hz;
    case MEANS_LIVE_FREQUENCY_COMMAND:
        return live->frequency_command_hz;
    case MEANS_LIVE_OUTPUT_VOLTAGE:
        return live->output_voltage_v;
    case MEANS_LIVE_OUTPUT_CURRENT:
        return live->output_current_a;
    case MEANS_LIVE_OUTPUT_POWER:
        return live->output_power_w;
    case MEANS_LIVE_SPEED:
        return live->speed_rpm;
    case MEANS_LIVE_TORQUE:
        return live_torque(drive, parameter, live);
    case MEANS_LIVE_DC_BUS_VOLTAGE:
        return live->dc_bus_v;
    case MEANS_LIVE_HEATSINK_TEMPERATURE:
        return live->heatsink_degc;
    case MEANS_LIVE_HOURS_RUN:
        return drive->run_before_s + live->run_s;
    default:
        return 0;
    }
}

static bool raw_of_live(const struct drive *drive, size_t parameter, const struct drive_live *live, uint32_t *raw)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    switch ((int)row->means) {
    case MEANS_LIVE_STATE:
    case MEANS_LIVE_RUN_COMMAND:
    case MEANS_LIVE_ENABLE:
        return raw_of_state(drive, row, live, raw);
    case MEANS_LIVE_TRIP_CODE:
        *raw = raw_of_trip(row, live);
        return true;
    default:
        return scaling_raw_of_value(drive, parameter, live_number(drive, parameter, live), raw);
    }
}

void live_show(struct drive *drive)
{
    const struct drive_settings settings = live_settings(drive);
    const struct drive_live live = drive_model_live(&drive->model, &settings);
    for (size_t i = 0; i < drive->map->count; i++) {
        const struct parameter *row = &drive->map->parameters[i];
        uint32_t raw = 0;
        /* A command that somebody set is with the motor already. */
        const bool pinned = drive->pinned[i] && row->means != MEANS_LIVE_FREQUENCY_COMMAND;
        if (!parameter_is_live(row) || pinned || row->type == TYPE_TEXT)
            continue;
        if (raw_of_live(drive, i, &live, &raw))
            drive_put_raw(drive, i, raw);
    }
}
