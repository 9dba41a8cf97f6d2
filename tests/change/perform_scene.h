/* SPDX-License-Identifier: MIT */
/* A drive that can be written to at the end of a faulty line on a virtual clock, and a list for it. Which store stands
 * behind it is the program's choice. */
#ifndef ASLEFT_TESTS_CHANGE_PERFORM_SCENE_H
#define ASLEFT_TESTS_CHANGE_PERFORM_SCENE_H

#include "bus/decode.h"
#include "bus/faulty_drive.h"
#include "bus/line_fake.h"
#include "bus/map_builder.h"
#include "change/perform.h"
#include "change/slave.h"

#include <math.h>

/* The parameters of the scene's map, in its order. */
enum {
    P_MODEL,
    P_SERIAL,
    P_STATE,
    P_RUN,
    P_ENABLE,
    P_SELECTOR,
    P_CURRENT, /* the first that can be set */
    P_SPEED,
    P_SCALED,   /* its scale is the selector's */
    P_RAMP,     /* 32 bits */
    P_TRIM,     /* a float */
    P_OPTIONS,  /* bits */
    P_STARTER,  /* could start the shaft */
    P_LASTING,  /* written at another address than it is read at */
    P_DELAYED,  /* counts from the next power cycle on */
    P_SWITCH,   /* a coil */
    P_BESIDE,   /* settable, and never on a list */
    P_BESIDE_2, /* likewise; writing P_CURRENT is known to change it */
    P_COUNT,
    P_SETTABLES = P_SWITCH - P_CURRENT + 1,
};

struct scene {
    struct map map;
    struct sheet sheet;
    struct setpoints setpoints;
    struct readings readings;
    struct slave slave, before; /* the drive, and what it was when the list was made */
    struct faulty_drive faulty;
    struct line_fake *line;
    struct recorder recorder;
    struct change_order change;
    struct change_list list;
    struct perform_order order;
    bool lose_request, lose_reply; /* of one write, that after so many others */
    unsigned lose_after;
    bool dies_once_written; /* the first write is acknowledged, and then there is silence */
    unsigned stop_every;    /* requests, after which the loop is stopped as by a signal; 0: never */
    bool returned;
    enum performed performed;
    struct error error;
};

static inline void scene_say(void *user, int64_t at_us, const uint8_t *bytes, size_t length, bool close)
{
    fake_deliver(user, at_us, bytes, length, close);
}

static inline void scene_hear(struct line_fake *line, const uint8_t *frame, size_t length)
{
    struct scene *scene = line->user;
    struct slave *slave = &scene->slave;
    if (scene->stop_every > 0 && slave->requests % scene->stop_every == 0)
        loop_stop(line->loop);
    if (scene->dies_once_written && slave->log_count > 0)
        return;
    const uint8_t *asked = frame + (line->tcp ? 7 : 1);
    if (!slave_hears(slave, frame[line->tcp ? 6 : 0]))
        return;
    if (asked[0] > 4 && (scene->lose_request || scene->lose_reply) && scene->lose_after-- == 0) {
        if (scene->lose_reply)
            (void)slave_answer(slave, slave->unit, asked, length - (line->tcp ? 7 : 3));
        scene->lose_request = scene->lose_reply = false;
        return;
    }
    faulty_hear(&scene->faulty, line->now_us, frame, length);
}

static inline struct parameter *scene_add(struct scene *scene, struct dice *dice, unsigned *at, const char *name,
                                          enum value_type type)
{
    struct parameter *parameter = map_add(&scene->map, name, TABLE_HOLDING, *at, type);
    *at += parameter->words + (roll(dice, 3) == 0 ? 1 + roll(dice, 6) : 0);
    parameter->settable = SETTABLE_STOPPED;
    return parameter;
}

static inline void scene_map_of_drive(struct scene *scene, struct dice *dice, unsigned *at)
{
    scene->map = map_start(roll(dice, 2) == 0 ? ORDER_HIGH_FIRST : ORDER_LOW_FIRST);
    scene_add(scene, dice, at, "model", TYPE_U16)->settable = SETTABLE_NEVER;
    struct parameter *parameter = scene_add(scene, dice, at, "serial", TYPE_U16);
    parameter->settable = SETTABLE_NEVER;
    parameter->means = MEANS_DRIVE_SERIAL_NUMBER;
    parameter = scene_add(scene, dice, at, "state", TYPE_BITS);
    parameter->settable = SETTABLE_NEVER;
    parameter->means = MEANS_LIVE_STATE;
    names_add(&parameter->bits, 0, "running");
    names_add(&parameter->bits, 7, "tripped");
    parameter = scene_add(scene, dice, at, "run", TYPE_BITS);
    parameter->settable = SETTABLE_NEVER;
    parameter->means = MEANS_LIVE_RUN_COMMAND;
    names_add(&parameter->bits, 0, "given");
    parameter = scene_add(scene, dice, at, "enable", TYPE_BITS);
    parameter->settable = SETTABLE_NEVER;
    parameter->means = MEANS_LIVE_ENABLE;
    names_add(&parameter->bits, 0, "given");
    scene_add(scene, dice, at, "selector", TYPE_U16)->settable = SETTABLE_NEVER;
    scene->map.identity = memory_new(1, sizeof *scene->map.identity);
    scene->map.identity[0] = (struct identity){.parameter = P_MODEL, .raw = 0x5143};
    scene->map.identity_count = 1;
}

static inline void scene_map_of_settables(struct scene *scene, struct dice *dice, unsigned *at)
{
    static const enum write_words halves[] = {WRITE_LOW_FIRST, WRITE_HIGH_FIRST};
    bool together = roll(dice, 2) == 0;
    scene->map.modbus.longest_write = together ? 2 + roll(dice, 8) : 1;
    struct parameter *parameter = scene_add(scene, dice, at, "current", TYPE_U16);
    parameter->means = MEANS_MOTOR_RATED_CURRENT;
    parameter->scale = 0.01;
    parameter->unit = UNIT_A;
    parameter->accepts_high =
        (struct bound){.kind = BOUND_VALUE, .value = {.given = true, .value = 9.9, .unit = UNIT_A}};
    parameter->writing_changes = memory_new(1, sizeof *parameter->writing_changes);
    parameter->writing_changes[0] = P_BESIDE_2;
    parameter->writing_changes_count = 1;
    scene_add(scene, dice, at, "speed", TYPE_U16)->means = MEANS_MOTOR_RATED_SPEED;
    parameter = scene_add(scene, dice, at, "scaled", TYPE_U16);
    row_add(&parameter->scale_by, P_SELECTOR, (struct choice_row){.raw = 1, .scale = 0.01});
    row_add(&parameter->scale_by, P_SELECTOR, (struct choice_row){.raw = 2, .scale = 0.1});
    scene_add(scene, dice, at, "ramp", TYPE_U32)->write_words = together ? WRITE_TOGETHER : halves[roll(dice, 2)];
    scene_add(scene, dice, at, "trim", TYPE_F32)->write_words = together ? WRITE_TOGETHER : halves[roll(dice, 2)];
    (void)scene_add(scene, dice, at, "options", TYPE_BITS);
    scene_add(scene, dice, at, "starter", TYPE_U16)->could_start = true;
    parameter = scene_add(scene, dice, at, "lasting", TYPE_U16);
    parameter->write_at_given = true;
    parameter->write_at = (struct address){TABLE_HOLDING, (uint16_t)(*at)++};
    scene_add(scene, dice, at, "delayed", TYPE_U16)->takes_effect = EFFECT_POWER_CYCLE;
    scene_add(scene, dice, at, "switch", TYPE_BOOL)->at.table = TABLE_COIL;
    (void)scene_add(scene, dice, at, "beside", TYPE_U16);
    (void)scene_add(scene, dice, at, "beside_2", TYPE_U16);
}

/* Where its first word is kept, and where it is written. */
static inline uint16_t scene_at(const struct scene *scene, size_t parameter)
{
    return scene->map.parameters[parameter].at.at;
}

static inline uint16_t scene_target(const struct scene *scene, size_t parameter)
{
    const struct parameter *row = &scene->map.parameters[parameter];
    return row->write_at_given ? row->write_at.at : row->at.at;
}

static inline bool scene_is_coil(const struct scene *scene, size_t parameter)
{
    return scene->map.parameters[parameter].at.table == TABLE_COIL;
}

/* What the drive holds there. */
static inline const uint16_t *scene_words(const struct scene *scene, const struct slave *slave, size_t parameter)
{
    uint16_t at = scene_at(scene, parameter);
    return scene_is_coil(scene, parameter) ? &slave->coils[at] : &slave->holding[at];
}

static inline bool scene_holds(const struct scene *scene, size_t parameter, const uint16_t *words)
{
    return memcmp(scene_words(scene, &scene->slave, parameter), words,
                  scene->map.parameters[parameter].words * sizeof *words) == 0;
}

static inline void scene_fill(struct scene *scene, struct dice *dice)
{
    struct slave *slave = &scene->slave;
    for (size_t i = 0; i < SLAVE_PLACES; i++)
        slave->holding[i] = (uint16_t)(1 + roll(dice, 9000));
    slave->coils[scene_at(scene, P_SWITCH)] = (uint16_t)roll(dice, 2);
    slave->holding[scene_at(scene, P_MODEL)] = 0x5143;
    slave->holding[scene_at(scene, P_SELECTOR)] = (uint16_t)(1 + roll(dice, 2));
    slave->state_at = scene_at(scene, P_STATE);
    slave->run_at = scene_at(scene, P_RUN);
    slave->serial_at = scene_at(scene, P_SERIAL);
    slave->holding[slave->state_at] = slave->holding[slave->run_at] = slave->holding[scene_at(scene, P_ENABLE)] = 0;
    slave->mirror_from = scene_at(scene, P_LASTING);
    slave->mirror_to = scene_target(scene, P_LASTING);
    slave->holding[slave->mirror_to] = slave->holding[slave->mirror_from];
}

static inline int64_t scene_now_us(void *clock)
{
    return ((struct line_fake *)clock)->now_us;
}

static inline void scene_line(struct scene *scene, struct dice *dice, enum faulty_line line, unsigned per_mille)
{
    static const unsigned bauds[] = {9600, 19200, 115200};
    struct timing timing = line == LINE_RTU ? timing_serial(bauds[roll(dice, 3)], PARITY_EVEN, 1) : timing_tcp();
    scene->line = fake_new_timed(&timing);
    scene->line->drive = scene_hear;
    scene->line->user = scene;
    scene->map.modbus.answers_within_s = line == LINE_GATEWAY ? 0.150 : 0.030;
    scene->map.modbus.write_answers_within_s = scene->map.modbus.answers_within_s;
    scene->faulty = (struct faulty_drive){
        .seed = dice_next(dice),
        .faulted_per_mille = per_mille,
        .line = line,
        .habit = roll(dice, 3) == 0 ? HABIT_IGNORES : HABIT_QUEUES,
        .gateway = roll(dice, 2) == 0 ? GATEWAY_DROPS : GATEWAY_KEEPS_ONE,
        .mute = roll(dice, 2) == 0,
        .turnaround_us = 500 + (int64_t)roll(dice, 10000),
        .character_ns = timing.character_ns,
        .deadline_us = line == LINE_GATEWAY ? 100000 : 50000,
        .latest_us = per_mille <= 50 ? 120000 : 1000000,
        .say = scene_say,
        .user = scene->line,
        .obey = slave_answer,
        .keeper = &scene->slave,
    };
    scene->slave.now_us = scene_now_us;
    scene->slave.clock = scene->line;
}

/* What was read of the drive when the list was made: all of it, as it is. */
static inline void scene_read(struct scene *scene)
{
    readings_init(&scene->readings, scene->map.count);
    for (size_t i = 0; i < scene->map.count; i++)
        reading_put(&scene->readings, i, scene_words(scene, &scene->slave, i), scene->map.parameters[i].words);
    readings_decode(&scene->map, &scene->setpoints, &scene->readings);
    scene->before = scene->slave;
}

static inline void scene_start(struct scene *scene, struct dice *dice, enum faulty_line line, unsigned per_mille,
                               struct store *store)
{
    unsigned at = roll(dice, 100);
    memset(scene, 0, sizeof *scene);
    scene_map_of_drive(scene, dice, &at);
    scene_map_of_settables(scene, dice, &at);
    scene->map.name = text_copy("invented");
    scene->map.modbus.longest_read = 1U << (1 + roll(dice, 6));
    scene->sheet.tag = text_copy("P-204");
    scene_fill(scene, dice);
    scene_line(scene, dice, line, per_mille);
    scene->slave.unit = 1;
    scene_read(scene);
    scene->recorder = (struct recorder){.who = "somebody", .host = "bench", .tool = "test", .line = "in memory"};
    scene->change = (struct change_order){.map = &scene->map,
                                          .sheet = &scene->sheet,
                                          .setpoints = &scene->setpoints,
                                          .unit = 1,
                                          .readings = &scene->readings};
    memcpy(scene->list.code, "7K4Q-M2XD", sizeof scene->list.code);
    scene->order = (struct perform_order){.change = &scene->change,
                                          .loop = scene->line->loop,
                                          .link = scene->line->link,
                                          .clock = loop_clock(scene->line->loop),
                                          .store = store,
                                          .recorder = &scene->recorder};
}

/* Puts a parameter on the list, to hold `raw` (of two words: both) in place of what it holds. */
static inline struct change *scene_list(struct scene *scene, size_t parameter, uint16_t raw)
{
    size_t words = scene->map.parameters[parameter].words;
    struct change *change = change_list_add(&scene->list);
    change->parameter = parameter;
    change->words = words;
    change->now = memory_new(words, sizeof *change->now);
    change->to = memory_new(words, sizeof *change->to);
    memcpy(change->now, scene_words(scene, &scene->slave, parameter), words * sizeof *change->now);
    for (size_t i = 0; i < words; i++)
        change->to[i] = (uint16_t)(raw + i);
    change->now_number = change->to_number = NAN;
    change->now_shown = text_format("%u", change->now[0]);
    change->to_shown = text_format("%u", change->to[0]);
    change->why = text_copy("as the job has it");
    return change;
}

static inline struct slave_habit *scene_habit(struct scene *scene, size_t parameter, enum slave_habit_kind kind)
{
    if (scene->slave.habit_count == SLAVE_HABITS)
        abort();
    struct slave_habit *habit = &scene->slave.habits[scene->slave.habit_count++];
    *habit = (struct slave_habit){.kind = kind, .at = scene_target(scene, parameter)};
    return habit;
}

static inline void scene_saves(struct scene *scene, bool done_given)
{
    scene->map.keeps = KEEPS_AFTER_SAVE;
    scene->slave.save_at = SLAVE_PLACES - 1;
    scene->slave.save_takes_us = 200000;
    scene->slave.holding[scene->slave.save_at] = 0;
    scene->map.save = (struct save_command){.given = true,
                                            .at = {TABLE_HOLDING, scene->slave.save_at},
                                            .write = 1,
                                            .done_given = done_given,
                                            .done_when = 0,
                                            .within_s = 1};
    scene->list.save = SAVE_PLANNED;
}

static inline void scene_perform(struct scene *scene)
{
    scene->returned = change_perform(&scene->order, &scene->list, &scene->performed, &scene->error);
}

static inline void scene_free(struct scene *scene)
{
    fake_free(scene->line);
    readings_free(&scene->readings);
    change_list_free(&scene->list);
    free(scene->sheet.tag);
    map_free(&scene->map);
}

/* How often anything of that parameter was executed. */
static inline unsigned scene_writes(const struct scene *scene, size_t parameter)
{
    unsigned count = 0, words = scene->map.parameters[parameter].words;
    uint16_t first = scene_target(scene, parameter);
    for (size_t i = 0; i < scene->slave.log_count; i++) {
        const struct slave_write *write = &scene->slave.log[i];
        count += write->coil == scene_is_coil(scene, parameter) && write->at >= first && write->at < first + words;
    }
    return count;
}

#endif
