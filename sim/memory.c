/* SPDX-License-Identifier: MIT */
/* Laying out the register tables of a map. */
#include "sim/memory.h"

#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

/* Calls `visit` for every run of addresses that the map's parameters and its save command take. */
static void each_run(const struct map *map, void (*visit)(struct memory_table *, struct address, size_t),
                     struct memory *memory)
{
    for (size_t i = 0; i < map->count; i++) {
        const struct parameter *parameter = &map->parameters[i];
        visit(&memory->tables[parameter->at.table], parameter->at, parameter->words);
        if (parameter->write_at_given)
            visit(&memory->tables[parameter->write_at.table], parameter->write_at, parameter->words);
    }
    if (map->save.given)
        visit(&memory->tables[map->save.at.table], map->save.at, 1);
}

static void widen(struct memory_table *table, struct address address, size_t count)
{
    const size_t end = (size_t)address.at + count;
    if (table->count == 0) {
        table->first = address.at;
        table->count = count;
        return;
    }
    const size_t old_end = table->first + table->count;
    table->first = address.at < table->first ? address.at : table->first;
    table->count = (end > old_end ? end : old_end) - table->first;
}

static void mark(struct memory_table *table, struct address address, size_t count)
{
    for (size_t i = 0; i < count; i++)
        table->exists[(size_t)address.at - table->first + i] = true;
}

void memory_init(struct memory *memory, const struct map *map)
{
    *memory = (struct memory){0};
    each_run(map, widen, memory);
    for (size_t i = 0; i < TABLES; i++) {
        struct memory_table *table = &memory->tables[i];
        table->stored = memory_new(table->count, sizeof *table->stored);
        table->acting = memory_new(table->count, sizeof *table->acting);
        table->lasting = memory_new(table->count, sizeof *table->lasting);
        table->exists = memory_new(table->count, sizeof *table->exists);
    }
    each_run(map, mark, memory);

    const struct memory_table *tables = memory->tables;
    memory->shown = modbus_mapping_new_start_address(
        tables[TABLE_COIL].first, (unsigned)tables[TABLE_COIL].count, tables[TABLE_DISCRETE].first,
        (unsigned)tables[TABLE_DISCRETE].count, tables[TABLE_HOLDING].first, (unsigned)tables[TABLE_HOLDING].count,
        tables[TABLE_INPUT].first, (unsigned)tables[TABLE_INPUT].count);
    if (memory->shown == NULL)
        abort(); /* out of memory, as types/memory.h has it */
}

void memory_free(struct memory *memory)
{
    for (size_t i = 0; i < TABLES; i++) {
        free(memory->tables[i].stored);
        free(memory->tables[i].acting);
        free(memory->tables[i].lasting);
        free(memory->tables[i].exists);
    }
    if (memory->shown != NULL)
        modbus_mapping_free(memory->shown);
    *memory = (struct memory){0};
}

bool memory_has(const struct memory *memory, struct address address, size_t count)
{
    const struct memory_table *table = &memory->tables[address.table];
    if (address.at < table->first || (size_t)address.at + count > table->first + table->count)
        return false;
    for (size_t i = 0; i < count; i++)
        if (!table->exists[(size_t)address.at - table->first + i])
            return false;
    return true;
}

uint16_t *memory_at(const struct memory *memory, struct address address)
{
    const struct memory_table *table = &memory->tables[address.table];
    return &table->stored[address.at - table->first];
}

void memory_act(struct memory *memory, struct address address, size_t count)
{
    const struct memory_table *table = &memory->tables[address.table];
    const size_t offset = (size_t)(address.at - table->first);
    memcpy(table->acting + offset, table->stored + offset, count * sizeof *table->stored);
}

void memory_keep(struct memory *memory, struct address address, size_t count)
{
    const struct memory_table *table = &memory->tables[address.table];
    const size_t offset = (size_t)(address.at - table->first);
    memcpy(table->lasting + offset, table->stored + offset, count * sizeof *table->stored);
}

bool memory_is_kept(const struct memory *memory, struct address address, size_t count)
{
    const struct memory_table *table = &memory->tables[address.table];
    const size_t offset = (size_t)(address.at - table->first);
    return memcmp(table->lasting + offset, table->stored + offset, count * sizeof *table->stored) == 0;
}

void memory_recall(struct memory *memory)
{
    for (size_t i = 0; i < TABLES; i++) {
        const struct memory_table *table = &memory->tables[i];
        for (size_t at = 0; at < table->count; at++)
            table->stored[at] = table->acting[at] = table->lasting[at];
    }
}

static void show_bits(uint8_t *shown, const uint16_t *words, size_t count)
{
    for (size_t i = 0; i < count; i++)
        shown[i] = words[i] != 0;
}

void memory_show(struct memory *memory, struct address address, const uint16_t *words, size_t count)
{
    const size_t offset = (size_t)(address.at - memory->tables[address.table].first);
    switch (address.table) {
    case TABLE_COIL:
        show_bits(memory->shown->tab_bits + offset, words, count);
        break;
    case TABLE_DISCRETE:
        show_bits(memory->shown->tab_input_bits + offset, words, count);
        break;
    case TABLE_INPUT:
        memcpy(memory->shown->tab_input_registers + offset, words, count * sizeof *words);
        break;
    case TABLE_HOLDING:
        memcpy(memory->shown->tab_registers + offset, words, count * sizeof *words);
        break;
    }
}

uint16_t memory_shown(const struct memory *memory, struct address address, size_t offset)
{
    const size_t at = (size_t)(address.at - memory->tables[address.table].first) + offset;
    switch (address.table) {
    case TABLE_COIL:
        return memory->shown->tab_bits[at];
    case TABLE_DISCRETE:
        return memory->shown->tab_input_bits[at];
    case TABLE_INPUT:
        return memory->shown->tab_input_registers[at];
    case TABLE_HOLDING:
        break;
    }
    return memory->shown->tab_registers[at];
}
