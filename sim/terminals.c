/* SPDX-License-Identifier: MIT */
/* Wires on terminals. */
#include "sim/terminals.h"

#include <string.h>

static bool starts_from_terminals(const struct drive *drive)
{
    const size_t parameter = drive_find(drive, MEANS_CONTROL_START_SOURCE, 0);
    if (parameter == PARAMETER_NOT_FOUND)
        return false;
    const struct parameter *row = &drive->map->parameters[parameter];
    if (row->type == TYPE_TEXT)
        return false;
    const uint32_t raw = drive_raw(drive, parameter);
    for (size_t i = 0; i < row->choices.count; i++)
        if (row->choices.items[i].raw == raw)
            return strcmp(row->choices.items[i].word, "terminals") == 0;
    return false;
}

static bool ask(const struct drive *drive)
{
    const struct drive acting = drive_acting(drive);
    return drive->terminals.run_command && drive->terminals.enable && starts_from_terminals(&acting);
}

void terminals_settle(struct drive *drive)
{
    drive->terminals.asked = ask(drive);
}

void terminals_act(struct drive *drive)
{
    const bool asked = ask(drive);
    if (asked == drive->terminals.asked)
        return;
    drive->terminals.asked = asked;
    if (drive_is_off(drive, drive->model.last_us))
        return;
    if (asked)
        (void)drive_model_start(&drive->model);
    else
        (void)drive_model_stop(&drive->model);
}

void terminals_run_command(struct drive *drive, bool on)
{
    drive->terminals.run_command = on;
    terminals_act(drive);
}

void terminals_enable(struct drive *drive, bool on)
{
    drive->terminals.enable = on;
    if (!on)
        (void)drive_model_coast(&drive->model);
    terminals_act(drive);
}

static bool is_commanded(const struct drive *drive)
{
    return drive->model.state == MOTOR_STARTING || drive->model.state == MOTOR_RUNNING;
}

bool terminals_show_run_command(const struct drive *drive)
{
    return drive->terminals.run_command || is_commanded(drive);
}

bool terminals_show_enable(const struct drive *drive)
{
    return drive->terminals.enable || is_commanded(drive);
}
