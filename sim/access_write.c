/* SPDX-License-Identifier: MIT */
/* Judging and storing writes, parameter by parameter. */
#include "sim/access_write.h"

#include "sim/keeping.h"
#include "sim/own_changes.h"
#include "sim/range.h"
#include "sim/registers.h"
#include "sim/scaling.h"

#include <modbus/modbus.h>
#include <string.h>

/* The words of one request. */
struct block {
    struct address address;
    const uint16_t *words;
    size_t count;
};

static bool is_within(struct address address, struct address at, size_t count)
{
    return address.table == at.table && address.at >= at.at && (size_t)(address.at - at.at) < count;
}

/* Where a write to this address begins in the parameter: at its lasting address, or at the one where it is read. False
 * where the address is no part of it. */
static bool writes_at(const struct parameter *parameter, struct address address, struct address *at)
{
    *at = parameter->write_at_given && is_within(address, parameter->write_at, parameter->words) ? parameter->write_at
                                                                                                 : parameter->at;
    return is_within(address, *at, parameter->words);
}

/* The parameter that a write to this address goes to, one in force before others; PARAMETER_NOT_FOUND where none is
 * written there. */
static size_t owner_of(const struct drive *drive, struct address address)
{
    size_t owner = PARAMETER_NOT_FOUND;
    struct address at;
    for (size_t i = 0; i < drive->map->count; i++) {
        if (!writes_at(&drive->map->parameters[i], address, &at))
            continue;
        if (drive_is_in_force(drive, i))
            return i;
        if (owner == PARAMETER_NOT_FOUND)
            owner = i;
    }
    return owner;
}

/* May this parameter be written at all, now? */
static uint8_t judge_permission(const struct drive *drive, size_t parameter)
{
    switch (drive->map->parameters[parameter].settable) {
    case SETTABLE_NEVER:
        return MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS;
    case SETTABLE_STOPPED:
        if (!drive_is_stopped(drive))
            return MODBUS_EXCEPTION_SLAVE_OR_SERVER_FAILURE;
        break;
    case SETTABLE_ALWAYS:
        break;
    }
    return drive_is_locked(drive, parameter) ? MODBUS_EXCEPTION_SLAVE_OR_SERVER_FAILURE : 0;
}

/* The part of a 32-bit value that comes first where it takes two writes. */
static bool is_first_half(const struct drive *drive, const struct parameter *parameter, size_t offset)
{
    const bool offset_is_low = (drive->map->modbus.word_order == ORDER_LOW_FIRST) == (offset == 0);
    return offset_is_low == (parameter->write_words == WRITE_LOW_FIRST);
}

/* Half of a 32-bit value: the first half waits, the second completes it into `words`. Sets `waits`. */
static uint8_t take_half(const struct drive *drive, size_t parameter, size_t offset, uint16_t word, uint16_t *words,
                         bool *waits)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const struct half_written *half = &drive->half[parameter];
    if (row->words != 2 || row->write_words == WRITE_TOGETHER)
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    *waits = is_first_half(drive, row, offset);
    if (!*waits && !half->given)
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    words[offset] = word;
    words[1 - offset] = *waits ? 0 : half->word;
    return 0;
}

/* The words of the block that go to one place. */
struct share {
    size_t parameter;  /* PARAMETER_NOT_FOUND: nowhere, or to the save command */
    bool saves;        /* it is the save command */
    struct address at; /* where the parameter begins */
    size_t offset;     /* from there */
    const uint16_t *words;
    size_t count;
};

/* The next share of the block from its word `done` on. */
static struct share next_share(const struct drive *drive, const struct block *block, size_t done)
{
    const struct save_command *save = &drive->map->save;
    const struct address address = {.table = block->address.table, .at = (uint16_t)(block->address.at + done)};
    struct share share = {.parameter = PARAMETER_NOT_FOUND, .words = block->words + done, .count = 1};
    share.saves = save->given && is_within(address, save->at, 1) && *share.words == save->write;
    if (share.saves)
        return share;
    share.parameter = owner_of(drive, address);
    if (share.parameter == PARAMETER_NOT_FOUND)
        return share;
    const struct parameter *row = &drive->map->parameters[share.parameter];
    (void)writes_at(row, address, &share.at);
    share.offset = (size_t)(address.at - share.at.at);
    const size_t left = block->count - done;
    share.count = row->words - share.offset < left ? row->words - share.offset : left;
    return share;
}

/* What a drive keeps that clamps: as far from the old value to the new one as its habit is, within the range, and where
 * that is not all the way, never the new one. The old one where there is nothing between. */
static void clamp(const struct drive *drive, size_t parameter, const uint16_t *words, uint16_t *kept)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const enum word_order order = drive->map->modbus.word_order;
    const uint32_t old = drive_raw(drive, parameter);
    const uint32_t wanted = registers_to_raw(row, order, words);
    const double from = scaling_number_of_raw(drive, parameter, old);
    const double to = scaling_number_of_raw(drive, parameter, wanted);
    const bool whole_way = drive->habit.clamps_percent == 100;
    uint32_t raw = old;
    if (!range_nearest(drive, parameter, whole_way ? to : from + (to - from) * drive->habit.clamps_percent / 100, &raw))
        raw = whole_way && range_accepts(drive, parameter, wanted) ? wanted : old;
    registers_from_raw(row, order, !whole_way && raw == wanted ? old : raw, kept);
}

/* Stores what the drive makes of the words, and changes what the map says that it changes then. */
static void store(struct drive *drive, const struct share *share, const uint16_t *words)
{
    const size_t parameter = share->parameter;
    const struct parameter *row = &drive->map->parameters[parameter];
    const size_t size = row->words * sizeof *words;
    uint16_t kept[2];
    if (drive->habit.clamps_percent > 0 && row->type != TYPE_TEXT) {
        clamp(drive, parameter, words, kept);
        words = kept;
    }
    const bool is_equal = memcmp(memory_at(&drive->memory, share->at), words, size) == 0;
    if (is_equal)
        drive->wear.equal++;
    if (drive->habit.returns_after_us > 0)
        keeping_bring_back(drive, parameter, drive->habit.returns_after_us);
    struct own_changes before = {0};
    own_changes_note(drive, parameter, &before);
    keeping_store(drive, parameter, share->at, words);
    own_changes_make(drive, parameter, &before, !is_equal);
    drive->half[parameter].given = false;
    drive_take_command(drive, parameter);
}

/* Judges one share of a parameter, and where `stores` is set, stores it. */
static uint8_t write_parameter(struct drive *drive, const struct share *share, bool stores)
{
    const size_t parameter = share->parameter;
    const struct parameter *row = &drive->map->parameters[parameter];
    uint8_t exception = judge_permission(drive, parameter);
    if (exception != 0)
        return exception;
    const uint16_t *words = share->words;
    uint16_t completed[2];
    if (share->count < row->words) {
        bool waits = false;
        exception = take_half(drive, parameter, share->offset, share->words[0], completed, &waits);
        if (exception != 0)
            return exception;
        if (waits) {
            if (stores)
                drive->half[parameter] = (struct half_written){.given = true, .word = share->words[0]};
            return 0;
        }
        words = completed;
    }
    if (row->type != TYPE_TEXT && drive->habit.clamps_percent == 0 &&
        !range_accepts(drive, parameter, registers_to_raw(row, drive->map->modbus.word_order, words)))
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    if (stores)
        store(drive, share, words);
    return 0;
}

static uint8_t write_share(struct drive *drive, const struct share *share, bool stores)
{
    if (share->parameter != PARAMETER_NOT_FOUND)
        return write_parameter(drive, share, stores);
    if (!share->saves) /* the one address that is no parameter's is the save command's */
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    if (drive->saves)
        return MODBUS_EXCEPTION_SLAVE_OR_SERVER_BUSY;
    if (stores)
        keeping_save(drive);
    return 0;
}

static uint8_t write_shares(struct drive *drive, const struct block *block, bool stores)
{
    for (size_t done = 0; done < block->count;) {
        const struct share share = next_share(drive, block, done);
        const uint8_t exception = write_share(drive, &share, stores);
        if (exception != 0)
            return exception;
        done += share.count;
    }
    return 0;
}

uint8_t access_write(struct drive *drive, struct address address, const uint16_t *words, size_t count)
{
    const struct block block = {.address = address, .words = words, .count = count};
    if (!memory_has(&drive->memory, address, count))
        return MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS;
    const uint8_t exception = write_shares(drive, &block, false);
    return exception != 0 || drive->habit.forgets ? exception : write_shares(drive, &block, true);
}
