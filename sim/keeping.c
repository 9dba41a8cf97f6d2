/* SPDX-License-Identifier: MIT */
/* Working and lasting memory, and the save command between them. */
#include "sim/keeping.h"

#include "types/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool is_same(struct address one, struct address other)
{
    return one.table == other.table && one.at == other.at;
}

static void let_last(struct drive *drive, size_t parameter)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    memory_keep(&drive->memory, row->at, row->words);
    if (row->write_at_given)
        memory_keep(&drive->memory, row->write_at, row->words);
    drive->wear.values++;
}

static bool lasts_at_once(const struct map *map)
{
    return map->keeps == KEEPS_UNSAID || map->keeps == KEEPS_AT_ONCE;
}

/* Does the motor go by a value of that kind now? */
static bool acts_now(const struct drive *drive, enum takes_effect effect)
{
    switch (effect) {
    case EFFECT_AT_ONCE:
        return true;
    case EFFECT_AT_STOP:
        return drive->model.state == MOTOR_STOPPED || drive->model.state == MOTOR_TRIPPED;
    case EFFECT_POWER_CYCLE:
        break;
    }
    return false;
}

void keeping_store(struct drive *drive, size_t parameter, struct address where, const uint16_t *words)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const size_t size = row->words * sizeof *words;
    const bool is_lasting_address = row->write_at_given && is_same(where, row->write_at);
    memcpy(memory_at(&drive->memory, row->at), words, size);
    if (is_lasting_address)
        memcpy(memory_at(&drive->memory, row->write_at), words, size);
    if (is_lasting_address || (!row->write_at_given && lasts_at_once(drive->map)))
        let_last(drive, parameter);
    if (acts_now(drive, row->takes_effect))
        memory_act(&drive->memory, row->at, row->words);
}

/* What the command's register holds while nothing is being saved. */
static void put_idle(struct drive *drive)
{
    const struct save_command *save = &drive->map->save;
    *memory_at(&drive->memory, save->at) = save->done_given ? save->done_when : 0;
    memory_keep(&drive->memory, save->at, 1);
}

void keeping_init(struct drive *drive)
{
    if (drive->map->save.given)
        put_idle(drive);
}

void keeping_save(struct drive *drive)
{
    enum { LONGEST_US = 500000 };
    const struct save_command *save = &drive->map->save;
    const double wanted_us = fmin(save->within_s / 4 * 1e6, LONGEST_US);
    drive->saves = true;
    drive->saved_us = drive->model.last_us + (int64_t)wanted_us;
    const bool looks_done = save->done_given && save->write == save->done_when;
    *memory_at(&drive->memory, save->at) = looks_done ? (uint16_t)(save->write ^ 1U) : save->write;
}

static void end_save(struct drive *drive)
{
    const struct map *map = drive->map;
    drive->saves = false;
    drive->wear.saves++;
    put_idle(drive);
    for (size_t i = 0; i < map->count; i++) {
        const struct parameter *row = &map->parameters[i];
        if (parameter_is_live(row) || memory_is_kept(&drive->memory, row->at, row->words))
            continue;
        if (row->write_at_given)
            memcpy(memory_at(&drive->memory, row->write_at), memory_at(&drive->memory, row->at),
                   row->words * sizeof(uint16_t));
        let_last(drive, i);
    }
}

void keeping_bring_back(struct drive *drive, size_t parameter, int64_t after_us)
{
    const size_t count = drive->map->parameters[parameter].words;
    struct coming_back coming = {.parameter = parameter, .due_us = drive->model.last_us + after_us};
    coming.words = memory_new(count, sizeof *coming.words);
    memcpy(coming.words, drive_words(drive, parameter), count * sizeof *coming.words);
    drive->coming_back = memory_grow(drive->coming_back, drive->coming_back_count, sizeof coming);
    drive->coming_back[drive->coming_back_count++] = coming;
}

static void bring_back_due(struct drive *drive)
{
    size_t left = 0;
    for (size_t i = 0; i < drive->coming_back_count; i++) {
        const struct coming_back coming = drive->coming_back[i];
        if (drive->model.last_us < coming.due_us) {
            drive->coming_back[left++] = coming;
            continue;
        }
        drive_put_words(drive, coming.parameter, coming.words);
        free(coming.words);
    }
    drive->coming_back_count = left;
}

void keeping_refresh(struct drive *drive)
{
    if (drive->saves && drive->model.last_us >= drive->saved_us)
        end_save(drive);
    bring_back_due(drive);
    for (size_t i = 0; i < drive->map->count; i++) {
        const struct parameter *row = &drive->map->parameters[i];
        if (row->takes_effect == EFFECT_AT_STOP && acts_now(drive, EFFECT_AT_STOP))
            memory_act(&drive->memory, row->at, row->words);
    }
}

void keeping_lose(struct drive *drive)
{
    memory_recall(&drive->memory);
    drive->saves = false;
    for (size_t i = 0; i < drive->map->count; i++)
        drive->half[i].given = false;
}
