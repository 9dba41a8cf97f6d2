/* SPDX-License-Identifier: MIT */
/* Scattered maps of 60 parameters, drives that refuse some places of them, and the judgement of what was read. */
#ifndef ASLEFT_TESTS_BUS_SCATTERED_H
#define ASLEFT_TESTS_BUS_SCATTERED_H

#include "bus/faulty_drive.h"
#include "bus/map_builder.h"

enum { SCATTERED_PARAMETERS = 60, PASSES = 4 };

/* What became of parameters that were wanted, however often. */
struct tally {
    uint64_t right, wrong;
    uint64_t unread; /* of those that can be read */
};

static inline uint8_t scattered_function(enum table table)
{
    return table == TABLE_INPUT ? 4 : 3;
}

/* Runs of parameters with gaps between, in both register tables; `longest` registers may be asked for at a time. */
static inline struct map scattered_map(struct dice *dice, unsigned longest, double answers_within_s)
{
    static const enum value_type types[] = {TYPE_U16, TYPE_S16, TYPE_U16, TYPE_BITS, TYPE_U16, TYPE_U32, TYPE_F32};
    struct map map = map_start(ORDER_HIGH_FIRST);
    map.modbus.longest_read = longest;
    map.modbus.answers_within_s = answers_within_s;
    unsigned at = 1 + roll(dice, 40000);
    enum table table = TABLE_HOLDING;
    for (unsigned i = 0; i < SCATTERED_PARAMETERS; i++) {
        unsigned gap = roll(dice, 20);
        at += gap < 12 ? 0 : gap < 18 ? 1 + roll(dice, 16) : 20 + roll(dice, 150);
        if (i == 40)
            table = TABLE_INPUT;
        struct parameter *parameter = map_add(&map, "p", table, at, types[roll(dice, longest < 2 ? 5 : 7)]);
        at += parameter->words;
    }
    return map;
}

static inline bool scattered_overlaps(const struct parameter *parameter, const struct faulty_hole *hole)
{
    return hole->function == scattered_function(parameter->at.table) &&
           hole->first < parameter->at.at + parameter->words && hole->last >= parameter->at.at;
}

/* Up to four refused places behind parameters, mostly in gaps; one drive in three also refuses a parameter. */
static inline void scattered_holes(struct dice *dice, const struct map *map, uint8_t unit, struct faulty_drive *drive)
{
    for (unsigned holes = roll(dice, 5); holes > 0; holes--) {
        const struct parameter *parameter = &map->parameters[roll(dice, (unsigned)map->count - 1)];
        const struct parameter *next = parameter + 1;
        unsigned first = parameter->at.at + parameter->words;
        if (parameter->at.table == next->at.table && first < next->at.at)
            drive->holes[drive->hole_count++] =
                (struct faulty_hole){unit, scattered_function(parameter->at.table), (uint16_t)first, (uint16_t)first};
    }
    if (roll(dice, 3) == 0) {
        const struct address at = map->parameters[roll(dice, (unsigned)map->count)].at;
        drive->holes[drive->hole_count++] = (struct faulty_hole){unit, scattered_function(at.table), at.at, at.at};
    }
}

/* What a visit wants in each of its passes: a few, all, a third, all again. Returns how many; `wanted` holds them all.
 */
static inline size_t scattered_wanted(struct dice *dice, const struct map *map, unsigned pass, size_t *wanted)
{
    size_t count = 0;
    for (size_t i = 0; i < map->count; i++)
        if (pass % 2 == 1 || roll(dice, pass == 0 ? 20 : 3) == 0)
            wanted[count++] = i;
    if (count == 0)
        wanted[count++] = roll(dice, (unsigned)map->count);
    return count;
}

static inline bool scattered_readable(const struct map *map, size_t index, uint8_t unit,
                                      const struct faulty_drive *drive)
{
    const struct parameter *parameter = &map->parameters[index];
    return !faulty_refuses(drive, unit, scattered_function(parameter->at.table), parameter->at.at, parameter->words);
}

/* `words`: of that parameter, as they came. */
static inline bool scattered_right(const struct parameter *parameter, uint8_t unit, const uint16_t *words)
{
    for (unsigned i = 0; i < parameter->words; i++)
        if (words[i] != faulty_word(unit, scattered_function(parameter->at.table), (uint16_t)(parameter->at.at + i)))
            return false;
    return true;
}

static inline void scattered_judge(const struct map *map, const struct readings *readings, const size_t *wanted,
                                   size_t count, uint8_t unit, const struct faulty_drive *drive, struct tally *tally)
{
    for (size_t i = 0; i < count; i++) {
        const struct reading *reading = &readings->items[wanted[i]];
        if (reading->raw_count > 0 && scattered_right(&map->parameters[wanted[i]], unit, reading->raw))
            tally->right++;
        else if (reading->raw_count > 0)
            tally->wrong++;
        else if (scattered_readable(map, wanted[i], unit, drive))
            tally->unread++;
    }
}

#endif
