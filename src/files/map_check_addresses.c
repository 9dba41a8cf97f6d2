/* SPDX-License-Identifier: MIT */
/* Do the parameters of a map fit into the drive's tables, beside each other and into one request? */
#include "files/map_reader.h"
#include "types/memory.h"

#include <stdlib.h>

static unsigned last_of(const struct parameter *parameter)
{
    return parameter->at.at + parameter->words - 1;
}

/* One reason is enough for a parameter that runs over the end of its table. */
static void check_one(const struct map_reader *reader, size_t index)
{
    const struct parameter *parameter = &reader->map->parameters[index];
    const struct modbus_habits *modbus = &reader->map->modbus;
    if (last_of(parameter) > UINT16_MAX)
        faults_error(reader->faults, map_place(reader, index, "at"),
                     "at: %s has %u registers and would end behind the last address; expected %u at most",
                     parameter->name, parameter->words, 65536 - parameter->words + modbus->count_from);
    if (parameter->write_at_given && parameter->write_at.at + parameter->words - 1 > UINT16_MAX)
        faults_error(reader->faults, map_place(reader, index, "write_at"),
                     "write_at: %s has %u registers and would end behind the last address; expected %u at most",
                     parameter->name, parameter->words, 65536 - parameter->words + modbus->count_from);
    if (parameter->words > modbus->longest_read)
        faults_error(reader->faults, map_place(reader, index, "type"),
                     "type: %s has %u registers, but longest_read is %u; expected longest_read %u or more",
                     parameter->name, parameter->words, modbus->longest_read, parameter->words);
    for (size_t i = 0; i < modbus->closed_count; i++) {
        const struct address_range *closed = &modbus->closed[i];
        if (closed->table != parameter->at.table || last_of(parameter) < closed->first ||
            parameter->at.at > closed->last)
            continue;
        faults_error(reader->faults, map_place(reader, index, "at"),
                     "at: %s lies in a range that modbus says is closed; expected another address, or a narrower range",
                     parameter->name);
        break;
    }
}

static int by_address(const void *left_item, const void *right_item)
{
    const struct parameter *left = *(const struct parameter *const *)left_item;
    const struct parameter *right = *(const struct parameter *const *)right_item;
    if (left->at.table != right->at.table)
        return left->at.table < right->at.table ? -1 : 1;
    if (left->at.at != right->at.at)
        return left->at.at < right->at.at ? -1 : 1;
    if (left->words != right->words)
        return left->words > right->words ? -1 : 1;
    return left < right ? -1 : left > right;
}

/* Two views of the same registers are fine; sharing only some of them is a slip. */
static void check_overlap(const struct map_reader *reader)
{
    const struct map *map = reader->map;
    const struct parameter **sorted = memory_new(map->count, sizeof(const struct parameter *));
    size_t count = 0;
    for (size_t i = 0; i < map->count; i++)
        if (reader->sources[i].placed)
            sorted[count++] = &map->parameters[i];
    qsort(sorted, count, sizeof(const struct parameter *), by_address);
    const struct parameter *widest = NULL; /* the one that reaches furthest so far */
    for (size_t i = 0; i < count; i++) {
        const struct parameter *now = sorted[i];
        bool meets = widest != NULL && widest->at.table == now->at.table && now->at.at <= last_of(widest);
        bool same = meets && widest->at.at == now->at.at && widest->words == now->words;
        if (meets && !same) {
            const struct parameter *later = widest->line > now->line ? widest : now;
            const struct parameter *earlier = later == now ? widest : now;
            faults_error(reader->faults, map_place(reader, (size_t)(later - map->parameters), "at"),
                         "at: %s shares registers with %s at line %d; expected registers of its own, or all of them "
                         "shared",
                         later->name, earlier->name, earlier->line);
        }
        if (widest == NULL || widest->at.table != now->at.table || last_of(now) > last_of(widest))
            widest = now;
    }
    free(sorted);
}

static void check_word_order(const struct map_reader *reader)
{
    const struct map *map = reader->map;
    const struct node *modbus = node_get(reader->root, "modbus");
    if (modbus == NULL || modbus->kind != NODE_MAPPING || node_get(modbus, "word_order") != NULL)
        return;
    for (size_t i = 0; i < map->count; i++) {
        if (!reader->sources[i].placed || map->parameters[i].words != 2 || map->parameters[i].type == TYPE_TEXT)
            continue;
        faults_error(reader->faults, modbus->key_place,
                     "modbus lacks word_order, and %s has two registers; expected high-first or low-first",
                     map->parameters[i].name);
        return;
    }
}

void map_check_addresses(const struct map_reader *reader)
{
    for (size_t i = 0; i < reader->map->count; i++)
        if (reader->sources[i].placed)
            check_one(reader, i);
    check_overlap(reader);
    check_word_order(reader);
}
