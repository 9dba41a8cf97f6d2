/* SPDX-License-Identifier: MIT */
/* Judging and storing writes, parameter by parameter. */
#include "sim/access_write.h"

#include "sim/registers.h"
#include "sim/scaling.h"

#include <math.h>
#include <modbus/modbus.h>

/* The words of one request. */
struct block {
    struct address address;
    const uint16_t *words;
    size_t count;
};

static struct address written_at(const struct parameter *parameter)
{
    return parameter->write_at_given ? parameter->write_at : parameter->at;
}

/* The parameter that a write to this address goes to, one in force before others; PARAMETER_NOT_FOUND where none is
 * written there. */
static size_t owner_of(const struct drive *drive, struct address address)
{
    size_t owner = PARAMETER_NOT_FOUND;
    for (size_t i = 0; i < drive->map->count; i++) {
        const struct parameter *row = &drive->map->parameters[i];
        const struct address at = written_at(row);
        if (at.table != address.table || address.at < at.at || address.at - at.at >= (int)row->words)
            continue;
        if (drive_is_in_force(drive, i))
            return i;
        if (owner == PARAMETER_NOT_FOUND)
            owner = i;
    }
    return owner;
}

/* One end of `accepts` as a number in the register's unit; NAN where it is open or not known. */
static double bound_number(const struct drive *drive, size_t parameter, const struct bound *bound)
{
    uint32_t raw = 0;
    bool known = false;
    switch (bound->kind) {
    case BOUND_NONE:
        break;
    case BOUND_VALUE:
        known = scaling_raw_of_quantity(drive, parameter, &bound->value, &raw);
        break;
    case BOUND_MEANS:
        known = scaling_raw_of_value(drive, parameter, scaling_means(drive, bound->means), &raw);
        break;
    }
    /* Through the register, so that a bound between two steps is the nearest step. */
    return known ? scaling_number_of_raw(drive, parameter, raw) : NAN;
}

static bool has_raw(const struct named_raws *list, uint32_t raw)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].raw == raw)
            return true;
    return false;
}

static bool accepts(const struct drive *drive, size_t parameter, uint32_t raw)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    if (has_raw(&row->special, raw))
        return true;
    if (row->choices.count > 0)
        return has_raw(&row->choices, raw);
    const double number = scaling_number_of_raw(drive, parameter, raw);
    const double low = bound_number(drive, parameter, &row->accepts_low);
    const double high = bound_number(drive, parameter, &row->accepts_high);
    return !isnan(number) && (isnan(low) || number >= low) && (isnan(high) || number <= high);
}

/* May this parameter be written at all, now? */
static uint8_t judge_permission(const struct drive *drive, size_t parameter)
{
    switch (drive->map->parameters[parameter].settable) {
    case SETTABLE_NEVER:
        return MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS;
    case SETTABLE_STOPPED:
        if (drive->model.state != MOTOR_STOPPED)
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

/* The words of the block that go to `parameter`, from its word `offset` on. */
struct share {
    size_t parameter;
    size_t offset;
    const uint16_t *words;
    size_t count;
};

/* The next share of the block from its word `done` on. */
static struct share next_share(const struct drive *drive, const struct block *block, size_t done)
{
    const struct address address = {.table = block->address.table, .at = (uint16_t)(block->address.at + done)};
    struct share share = {.parameter = owner_of(drive, address), .words = block->words + done, .count = 1};
    if (share.parameter == PARAMETER_NOT_FOUND)
        return share;
    const struct parameter *row = &drive->map->parameters[share.parameter];
    share.offset = (size_t)(address.at - written_at(row).at);
    const size_t left = block->count - done;
    share.count = row->words - share.offset < left ? row->words - share.offset : left;
    return share;
}

/* Judges one share, and where `store` is set, stores it. */
static uint8_t write_share(struct drive *drive, const struct share *share, bool store)
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
            if (store)
                drive->half[parameter] = (struct half_written){.given = true, .word = share->words[0]};
            return 0;
        }
        words = completed;
    }
    if (row->type != TYPE_TEXT &&
        !accepts(drive, parameter, registers_to_raw(row, drive->map->modbus.word_order, words)))
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    if (store) {
        drive_put_words(drive, parameter, words);
        drive->half[parameter].given = false;
        drive_take_command(drive, parameter);
    }
    return 0;
}

static uint8_t write_shares(struct drive *drive, const struct block *block, bool store)
{
    for (size_t done = 0; done < block->count;) {
        const struct share share = next_share(drive, block, done);
        const uint8_t exception = share.parameter == PARAMETER_NOT_FOUND ? MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS
                                                                         : write_share(drive, &share, store);
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
    return exception != 0 || drive->forgetful ? exception : write_shares(drive, &block, true);
}
