/* SPDX-License-Identifier: MIT */
/* Power-off, factory settings and exchange. */
#include "sim/power.h"

#include "sim/assign.h"
#include "sim/fill.h"
#include "sim/keeping.h"
#include "sim/terminals.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

/* At once, and out of a trip. */
static void come_to_rest(struct drive *drive)
{
    (void)drive_model_coast(&drive->model);
    (void)drive_model_reset(&drive->model);
    drive->shown_state = NULL;
}

void power_cycle(struct drive *drive, int64_t off_us)
{
    come_to_rest(drive);
    keeping_lose(drive);
    terminals_settle(drive);
    drive->off_until_us = drive->model.last_us + off_us;
}

static void reset_settings(struct drive *drive)
{
    for (size_t i = 0; i < drive->coming_back_count; i++)
        free(drive->coming_back[i].words);
    drive->coming_back_count = 0;
    keeping_lose(drive);
    fill_settable(drive);
    terminals_settle(drive);
}

bool power_factory_reset(struct drive *drive)
{
    if (drive->model.state != MOTOR_STOPPED && drive->model.state != MOTOR_TRIPPED)
        return false;
    reset_settings(drive);
    return true;
}

static bool put_serial(struct drive *drive, const char *serial, struct error *error)
{
    const size_t parameter = map_find_means(drive->map, MEANS_DRIVE_SERIAL_NUMBER, 0);
    if (parameter == PARAMETER_NOT_FOUND)
        return error_set(error, ERROR_USE, "the map has no drive.serial_number, so nobody could tell another drive");
    return assign_value(drive, parameter, serial, error) ||
           error_context(error, "%s", drive->map->parameters[parameter].name);
}

bool power_exchange(struct drive *drive, const char *serial, struct error *error)
{
    if (!put_serial(drive, serial, error))
        return false;
    come_to_rest(drive);
    reset_settings(drive);
    drive->wear = (struct wear){0};
    return true;
}

bool power_can_exchange(struct drive *drive, const char *serial, struct error *error)
{
    const size_t parameter = map_find_means(drive->map, MEANS_DRIVE_SERIAL_NUMBER, 0);
    if (parameter == PARAMETER_NOT_FOUND)
        return put_serial(drive, serial, error);
    const size_t count = drive->map->parameters[parameter].words;
    uint16_t *words = memory_new(count, sizeof *words);
    memcpy(words, drive_words(drive, parameter), count * sizeof *words);
    const bool good = put_serial(drive, serial, error);
    drive_put_words(drive, parameter, words);
    free(words);
    return good;
}
