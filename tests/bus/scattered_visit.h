/* SPDX-License-Identifier: MIT */
/* Visits of a scattered drive: by our reader, and by a plain client that asks for the same in the same blocks. */
#ifndef ASLEFT_TESTS_BUS_SCATTERED_VISIT_H
#define ASLEFT_TESTS_BUS_SCATTERED_VISIT_H

#include "bus/plan.h"
#include "bus/reader.h"
#include "bus/scattered.h"

/* ---- ours ---- */

struct visit {
    const struct faulty_drive *drive;
    const struct map *map;
    uint8_t unit;
    struct readings readings;
    struct reader *reader;
    struct dice dice;
    size_t wanted[SCATTERED_PARAMETERS];
    size_t wanted_count;
    unsigned pass;
    struct tally *tally;
};

/* What a visit wants follows from the drive's seed too. */
static inline struct dice visit_dice(const struct faulty_drive *drive, uint8_t unit)
{
    return dice_for(drive->seed, 1000000U + unit);
}

static inline void visit_pass(struct visit *visit);

static inline void visit_pass_done(void *user)
{
    struct visit *visit = user;
    scattered_judge(visit->map, &visit->readings, visit->wanted, visit->wanted_count, visit->unit, visit->drive,
                    visit->tally);
    if (++visit->pass < PASSES)
        visit_pass(visit);
}

static inline void visit_pass(struct visit *visit)
{
    visit->wanted_count = scattered_wanted(&visit->dice, visit->map, visit->pass, visit->wanted);
    reader_read(visit->reader, visit->wanted, visit->wanted_count, visit_pass_done, visit);
}

static inline void visit_start(struct visit *visit, struct link *link, const struct map *map, uint8_t unit,
                               const struct faulty_drive *drive, struct tally *tally)
{
    *visit = (struct visit){.drive = drive, .map = map, .unit = unit, .dice = visit_dice(drive, unit), .tally = tally};
    readings_init(&visit->readings, map->count);
    visit->reader = reader_new(link, map, unit, &visit->readings);
    visit_pass(visit);
}

static inline bool visit_over(const struct visit *visit)
{
    return visit->pass == PASSES;
}

static inline void visit_free(struct visit *visit)
{
    reader_free(visit->reader);
    readings_free(&visit->readings);
}

/* ---- a plain client ---- */

/* Reads `count` registers; false: given up. */
typedef bool (*plain_read)(void *user, uint8_t unit, uint8_t function, uint16_t address, uint16_t count,
                           uint16_t *words);

static inline const struct parameter *plain_parameter(const struct map *map, const struct plan_item *item)
{
    const struct parameter *parameter = map->parameters;
    while (parameter->at.table != item->table || parameter->at.at != item->first)
        parameter++;
    return parameter;
}

static inline void plain_pass(const struct map *map, const size_t *wanted, size_t count, uint8_t unit, plain_read read,
                              void *user, struct tally *tally)
{
    struct plan_item items[SCATTERED_PARAMETERS];
    for (size_t i = 0; i < count; i++) {
        const struct parameter *parameter = &map->parameters[wanted[i]];
        unsigned last = parameter->at.at + parameter->words - 1;
        items[i] = (struct plan_item){parameter->at.table, parameter->at.at, last};
    }
    unsigned longest = map->modbus.longest_read;
    const struct plan_limits limits = {
        .longest = {0, 0, longest, longest}, .request_cost = 10, .place_cost = {1, 1, 1, 1}};
    struct plan plan;
    plan_make(items, plan_sort(items, count), &limits, &plan);
    for (size_t i = 0; i < plan.count; i++) {
        const struct plan_block *block = &plan.blocks[i];
        uint16_t words[READ_REGISTERS];
        if (!read(user, unit, scattered_function(block->table), block->first, block->count, words))
            continue;
        for (size_t k = block->begin; k < block->end; k++) {
            const struct parameter *parameter = plain_parameter(map, &items[k]);
            bool right = scattered_right(parameter, unit, words + (items[k].first - block->first));
            tally->right += right ? 1 : 0;
            tally->wrong += right ? 0 : 1;
        }
    }
    plan_free(&plan);
}

/* All passes over drives with units from 1, in turn. */
static inline void plain_visit(const struct faulty_drive *drive, const struct map *maps, unsigned units,
                               plain_read read, void *user, struct tally *tally)
{
    struct dice dice[FAULTY_UNITS];
    for (unsigned i = 0; i < units; i++)
        dice[i] = visit_dice(drive, (uint8_t)(i + 1));
    for (unsigned pass = 0; pass < PASSES; pass++) {
        for (unsigned i = 0; i < units; i++) {
            size_t wanted[SCATTERED_PARAMETERS];
            size_t count = scattered_wanted(&dice[i], &maps[i], pass, wanted);
            plain_pass(&maps[i], wanted, count, (uint8_t)(i + 1), read, user, tally);
        }
    }
}

#endif
