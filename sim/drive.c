/* SPDX-License-Identifier: MIT */
/* Putting a simulated drive together, and its raw values. */
#include "sim/drive.h"

#include "motor/setpoints.h"
#include "sim/assign.h"
#include "sim/fill.h"
#include "sim/keeping.h"
#include "sim/live.h"
#include "sim/registers.h"
#include "sim/scaling.h"
#include "sim/terminals.h"
#include "types/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool raw_listed(const struct raw_list *list, uint32_t raw)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i] == raw)
            return true;
    return false;
}

bool parameter_is_live(const struct parameter *parameter)
{
    return means_is_live(parameter->means);
}

const uint16_t *drive_words(const struct drive *drive, size_t parameter)
{
    return memory_at(&drive->memory, drive->map->parameters[parameter].at);
}

static void put_words_at(struct drive *drive, struct address at, const uint16_t *words, size_t count)
{
    memcpy(memory_at(&drive->memory, at), words, count * sizeof *words);
    memory_act(&drive->memory, at, count);
    memory_keep(&drive->memory, at, count);
}

void drive_put_words(struct drive *drive, size_t parameter, const uint16_t *words)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    put_words_at(drive, row->at, words, row->words);
    if (row->write_at_given)
        put_words_at(drive, row->write_at, words, row->words);
}

struct drive drive_acting(const struct drive *drive)
{
    struct drive acting = *drive;
    for (size_t i = 0; i < TABLES; i++)
        acting.memory.tables[i].stored = acting.memory.tables[i].acting;
    return acting;
}

bool drive_is_off(const struct drive *drive, int64_t now_us)
{
    return now_us < drive->off_until_us;
}

bool drive_is_stopped(const struct drive *drive)
{
    return drive->model.state == MOTOR_STOPPED &&
           (drive->shown_state == NULL || strcmp(drive->shown_state, motor_state_word(MOTOR_STOPPED)) == 0);
}

uint32_t drive_raw(const struct drive *drive, size_t parameter)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    return registers_to_raw(row, drive->map->modbus.word_order, drive_words(drive, parameter));
}

void drive_put_raw(struct drive *drive, size_t parameter, uint32_t raw)
{
    uint16_t words[2];
    registers_from_raw(&drive->map->parameters[parameter], drive->map->modbus.word_order, raw, words);
    drive_put_words(drive, parameter, words);
}

static bool holds(const struct drive *drive, const struct condition *condition)
{
    return raw_listed(&condition->raws, drive_raw(drive, condition->parameter));
}

bool drive_is_locked(const struct drive *drive, size_t parameter)
{
    const struct conditions *locks = &drive->map->parameters[parameter].locked_by;
    for (size_t i = 0; i < locks->count; i++)
        if (holds(drive, &locks->items[i]))
            return true;
    return false;
}

/* The set that the drive goes by now. Where a terminal chooses, the simulator's terminal is open: the first set. */
static unsigned active_set(const struct drive *drive)
{
    const struct set_in_force *sets = &drive->map->set_in_force;
    if (!sets->given)
        return 0;
    const uint32_t raw = drive_raw(drive, sets->parameter);
    for (size_t i = 0; i < sets->count; i++)
        if (sets->rows[i].raw == raw)
            return sets->rows[i].terminal ? 1 : sets->rows[i].set;
    return raw;
}

static bool is_of_set(const struct parameter *parameter, unsigned set)
{
    return set == 0 || parameter->set == 0 || parameter->set == set;
}

static bool conditions_hold(const struct drive *drive, size_t parameter)
{
    const struct conditions *conditions = &drive->map->parameters[parameter].applies_when;
    for (size_t i = 0; i < conditions->count; i++)
        if (!holds(drive, &conditions->items[i]))
            return false;
    return true;
}

bool drive_is_in_force(const struct drive *drive, size_t parameter)
{
    return conditions_hold(drive, parameter) && is_of_set(&drive->map->parameters[parameter], active_set(drive));
}

size_t drive_find(const struct drive *drive, enum means means, unsigned set)
{
    if (means == MEANS_NONE)
        return PARAMETER_NOT_FOUND;
    const unsigned wanted = set != 0 ? set : active_set(drive);
    size_t best = PARAMETER_NOT_FOUND;
    int best_merit = -1;
    for (size_t i = 0; i < drive->map->count; i++) {
        if (drive->map->parameters[i].means != means)
            continue;
        const int merit = 2 * is_of_set(&drive->map->parameters[i], wanted) + conditions_hold(drive, i);
        if (merit > best_merit) {
            best = i;
            best_merit = merit;
        }
    }
    return best;
}

static void fill(struct drive *drive)
{
    fill_factory(drive);
    if (drive->sheet != NULL)
        fill_right(drive);
}

bool drive_init(struct drive *drive, const struct map *map, const struct sheet *sheet, const char *const *texts,
                size_t text_count, int64_t now_us, struct error *error)
{
    *drive = (struct drive){.map = map, .sheet = sheet, .off_until_us = INT64_MIN};
    memory_init(&drive->memory, map);
    drive->pinned = memory_new(map->count, sizeof *drive->pinned);
    drive->half = memory_new(map->count, sizeof *drive->half);
    if (sheet != NULL)
        setpoints_compute(sheet, map, &drive->setpoints);
    fill(drive);
    /* Twice: a selector that is set changes what the others must hold, and what a quantity is in its register. */
    for (int round = 0; round < 2; round++) {
        for (size_t i = 0; i < text_count; i++)
            if (!assign(drive, texts[i], NULL, error))
                return error_context(error, "--set");
        fill(drive);
    }
    keeping_init(drive);

    const struct motor_data motor = live_motor(drive);
    const struct load_data load = live_load(drive);
    drive_model_init(&drive->model, &motor, &load, motor.rated_frequency_hz, now_us);
    for (size_t i = 0; i < map->count; i++)
        if (drive->pinned[i])
            drive_take_command(drive, i);
    const double hours = scaling_means(drive, MEANS_LIVE_HOURS_RUN);
    drive->run_before_s = hours > 0 ? hours : 0;
    live_show(drive);
    return true;
}

void drive_free(struct drive *drive)
{
    setpoints_free(&drive->setpoints);
    memory_free(&drive->memory);
    free(drive->pinned);
    free(drive->half);
    for (size_t i = 0; i < drive->coming_back_count; i++)
        free(drive->coming_back[i].words);
    free(drive->coming_back);
    *drive = (struct drive){0};
}

void drive_take_command(struct drive *drive, size_t parameter)
{
    double command_hz = 0;
    if (drive->map->parameters[parameter].means != MEANS_LIVE_FREQUENCY_COMMAND ||
        !scaling_value(drive, parameter, &command_hz))
        return;
    drive->model.command_hz = command_hz;
}

void drive_refresh(struct drive *drive, int64_t now_us)
{
    const struct drive_settings settings = live_settings(drive);
    drive_model_advance(&drive->model, &settings, now_us);
    keeping_refresh(drive);
    terminals_act(drive);
    live_show(drive);
}
