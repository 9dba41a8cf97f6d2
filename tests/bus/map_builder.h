/* SPDX-License-Identifier: MIT */
/* Maps and readings built by hand, for the tests of decoding and reading. */
#ifndef ASLEFT_TESTS_BUS_MAP_BUILDER_H
#define ASLEFT_TESTS_BUS_MAP_BUILDER_H

#include "types/map.h"
#include "types/memory.h"
#include "types/readings.h"

#include <stdlib.h>
#include <string.h>

static inline struct map map_start(enum word_order order)
{
    return (struct map){.modbus = {.word_order = order,
                                   .longest_read = 125,
                                   .longest_write = 1,
                                   .answers_within_s = 0.5,
                                   .rest_between_s = 0}};
}

/* Adds a parameter with scale 1 and the words of its type (text: 1); the pointer holds until the next one is added. */
static inline struct parameter *map_add(struct map *map, const char *name, enum table table, unsigned at,
                                        enum value_type type)
{
    map->parameters = memory_grow(map->parameters, map->count, sizeof *map->parameters);
    struct parameter *parameter = &map->parameters[map->count++];
    bool is_wide = type == TYPE_U32 || type == TYPE_S32 || type == TYPE_F32;
    *parameter = (struct parameter){
        .name = text_copy(name), .at = {table, (uint16_t)at}, .type = type, .words = is_wide ? 2 : 1, .scale = 1};
    return parameter;
}

static inline void map_close(struct map *map, enum table table, unsigned first, unsigned last)
{
    struct modbus_habits *habits = &map->modbus;
    habits->closed = memory_grow(habits->closed, habits->closed_count, sizeof *habits->closed);
    habits->closed[habits->closed_count++] = (struct address_range){table, (uint16_t)first, (uint16_t)last};
}

static inline void raws_add(struct raw_list *list, uint32_t raw)
{
    list->items = memory_grow(list->items, list->count, sizeof *list->items);
    list->items[list->count++] = raw;
}

static inline void names_add(struct named_raws *list, uint32_t raw, const char *word)
{
    list->items = memory_grow(list->items, list->count, sizeof *list->items);
    list->items[list->count++] = (struct named_raw){.raw = raw, .word = text_copy(word)};
}

static inline void same_as_add(struct named_raws *list, uint32_t raw, enum means means)
{
    list->items = memory_grow(list->items, list->count, sizeof *list->items);
    list->items[list->count++] = (struct named_raw){.raw = raw, .same_as = means};
}

static inline void condition_add(struct conditions *list, size_t parameter, uint32_t raw)
{
    list->items = memory_grow(list->items, list->count, sizeof *list->items);
    list->items[list->count] = (struct condition){.parameter = parameter};
    raws_add(&list->items[list->count++].raws, raw);
}

static inline void row_add(struct selector *selector, size_t parameter, struct choice_row row)
{
    selector->given = true;
    selector->parameter = parameter;
    selector->rows = memory_grow(selector->rows, selector->count, sizeof *selector->rows);
    selector->rows[selector->count++] = row;
}

static inline void set_row_add(struct set_in_force *force, size_t parameter, struct set_row row)
{
    force->given = true;
    force->parameter = parameter;
    force->rows = memory_grow(force->rows, force->count, sizeof *force->rows);
    force->rows[force->count++] = row;
}

/* Puts words into a reading, as if the drive had sent them. */
static inline void reading_put(struct readings *readings, size_t parameter, const uint16_t *words, size_t count)
{
    struct reading *reading = &readings->items[parameter];
    free(reading->raw);
    reading->raw = memory_new(count, sizeof *reading->raw);
    memcpy(reading->raw, words, count * sizeof *words);
    reading->raw_count = count;
    reading->symptom = (struct symptom){0};
    reading->asked = true;
}

static inline void reading_put_word(struct readings *readings, size_t parameter, unsigned word)
{
    uint16_t words[] = {(uint16_t)word};
    reading_put(readings, parameter, words, 1);
}

#endif
