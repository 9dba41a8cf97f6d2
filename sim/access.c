/* SPDX-License-Identifier: MIT */
/* Judging requests: what is read from where, in which length. Writes are in access_write.c. */
#include "sim/access.h"

#include "sim/access_write.h"
#include "types/memory.h"

#include <modbus/modbus.h>
#include <stdlib.h>
#include <string.h>

static unsigned word_at(const uint8_t *bytes)
{
    return (unsigned)bytes[0] << 8 | bytes[1];
}

static unsigned bit_at(const uint8_t *bytes, size_t bit)
{
    return (unsigned)bytes[bit / 8] >> (bit % 8) & 1U;
}

/* Copies the block to where libmodbus replies from, as a reader sees it: locked parameters read as 0xFFFF. */
static void show_block(struct drive *drive, struct address address, size_t count)
{
    uint16_t *words = memory_new(count, sizeof *words);
    memcpy(words, memory_at(&drive->memory, address), count * sizeof *words);
    for (size_t i = 0; i < drive->map->count; i++) {
        const struct parameter *row = &drive->map->parameters[i];
        if (row->locked_by.count == 0 || row->at.table != address.table || !drive_is_locked(drive, i))
            continue;
        for (size_t at = row->at.at; at < (size_t)row->at.at + row->words; at++)
            if (at >= address.at && at < address.at + count)
                words[at - address.at] = 0xffff;
    }
    memory_show(&drive->memory, address, words, count);
    free(words);
}

static uint8_t serve_read(struct drive *drive, enum table table, const uint8_t *pdu, size_t length)
{
    if (drive->memory.tables[table].count == 0)
        return MODBUS_EXCEPTION_ILLEGAL_FUNCTION;
    if (length != 5)
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    const struct address address = {.table = table, .at = (uint16_t)word_at(pdu + 1)};
    const size_t count = word_at(pdu + 3);
    const bool is_bits = table == TABLE_COIL || table == TABLE_DISCRETE;
    if (count == 0 || count > (is_bits ? MODBUS_MAX_READ_BITS : drive->map->modbus.longest_read))
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    if (!memory_has(&drive->memory, address, count))
        return MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS;
    show_block(drive, address, count);
    return 0;
}

/* Does the map let this drive be written with function 05 or 06 (single), or with 15 or 16? */
static bool has_write(const struct modbus_habits *habits, bool single)
{
    switch (habits->writes_with) {
    case WRITES_SINGLE:
        return single;
    case WRITES_MULTIPLE:
        return !single;
    case WRITES_EITHER:
        return true;
    case WRITES_UNSAID:
        break;
    }
    return single == (habits->longest_write == 1);
}

static uint8_t serve_write_single(struct drive *drive, enum table table, const uint8_t *pdu, size_t length)
{
    if (drive->memory.tables[table].count == 0 || !has_write(&drive->map->modbus, true))
        return MODBUS_EXCEPTION_ILLEGAL_FUNCTION;
    if (length != 5)
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    uint16_t word = (uint16_t)word_at(pdu + 3);
    if (table == TABLE_COIL) {
        if (word != 0x0000 && word != 0xff00)
            return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
        word = word != 0;
    }
    const struct address address = {.table = table, .at = (uint16_t)word_at(pdu + 1)};
    return access_write(drive, address, &word, 1);
}

static uint8_t serve_write_multiple(struct drive *drive, enum table table, const uint8_t *pdu, size_t length)
{
    const bool is_coils = table == TABLE_COIL;
    if (drive->memory.tables[table].count == 0 || !has_write(&drive->map->modbus, false))
        return MODBUS_EXCEPTION_ILLEGAL_FUNCTION;
    if (length < 6)
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    const size_t count = word_at(pdu + 3);
    const size_t bytes = is_coils ? (count + 7) / 8 : 2 * count;
    if (count == 0 || count > (is_coils ? MODBUS_MAX_WRITE_BITS : drive->map->modbus.longest_write) ||
        pdu[5] != bytes || length != 6 + bytes)
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    uint16_t words[MODBUS_MAX_WRITE_BITS];
    for (size_t i = 0; i < count; i++)
        words[i] = (uint16_t)(is_coils ? bit_at(pdu + 6, i) : word_at(pdu + 6 + 2 * i));
    const struct address address = {.table = table, .at = (uint16_t)word_at(pdu + 1)};
    return access_write(drive, address, words, count);
}

uint8_t access_serve(struct drive *drive, const uint8_t *pdu, size_t length)
{
    static const struct {
        uint8_t function;
        enum table table;
        uint8_t (*serve)(struct drive *drive, enum table table, const uint8_t *pdu, size_t length);
    } rows[] = {
        {MODBUS_FC_READ_COILS, TABLE_COIL, serve_read},
        {MODBUS_FC_READ_DISCRETE_INPUTS, TABLE_DISCRETE, serve_read},
        {MODBUS_FC_READ_HOLDING_REGISTERS, TABLE_HOLDING, serve_read},
        {MODBUS_FC_READ_INPUT_REGISTERS, TABLE_INPUT, serve_read},
        {MODBUS_FC_WRITE_SINGLE_COIL, TABLE_COIL, serve_write_single},
        {MODBUS_FC_WRITE_SINGLE_REGISTER, TABLE_HOLDING, serve_write_single},
        {MODBUS_FC_WRITE_MULTIPLE_COILS, TABLE_COIL, serve_write_multiple},
        {MODBUS_FC_WRITE_MULTIPLE_REGISTERS, TABLE_HOLDING, serve_write_multiple},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (length > 0 && rows[i].function == pdu[0])
            return rows[i].serve(drive, rows[i].table, pdu, length);
    return MODBUS_EXCEPTION_ILLEGAL_FUNCTION;
}
