/* SPDX-License-Identifier: MIT */
/* Composing answers. Source: MODBUS Application Protocol Specification V1.1b3, section 6. */
#include "sim/reply.h"

#include "sim/access.h"
#include "sim/identification.h"

#include <modbus/modbus.h>
#include <string.h>

enum { FUNCTION_DIAGNOSTICS = 0x08 };

size_t reply_exception(const uint8_t *request, uint8_t code, uint8_t *reply)
{
    reply[0] = request[0] | 0x80;
    reply[1] = code;
    return 2;
}

static unsigned word_at(const uint8_t *bytes)
{
    return (unsigned)bytes[0] << 8 | bytes[1];
}

static size_t show_bits(const struct drive *drive, struct address address, size_t count, uint8_t *reply)
{
    const size_t bytes = (count + 7) / 8;
    reply[1] = (uint8_t)bytes;
    memset(reply + 2, 0, bytes);
    for (size_t i = 0; i < count; i++)
        if (memory_shown(&drive->memory, address, i) != 0)
            reply[2 + i / 8] |= (uint8_t)(1U << i % 8);
    return 2 + bytes;
}

static size_t show_registers(const struct drive *drive, struct address address, size_t count, uint8_t *reply)
{
    reply[1] = (uint8_t)(2 * count);
    for (size_t i = 0; i < count; i++) {
        const unsigned word = memory_shown(&drive->memory, address, i);
        reply[2 + 2 * i] = (uint8_t)(word >> 8);
        reply[3 + 2 * i] = (uint8_t)word;
    }
    return 2 + 2 * count;
}

/* A request that access_serve took. */
static size_t confirm(const struct drive *drive, const uint8_t *request, uint8_t *reply)
{
    struct address address = {.at = (uint16_t)word_at(request + 1)};
    const size_t count = word_at(request + 3);
    reply[0] = request[0];
    switch (request[0]) {
    case MODBUS_FC_READ_COILS:
        address.table = TABLE_COIL;
        return show_bits(drive, address, count, reply);
    case MODBUS_FC_READ_DISCRETE_INPUTS:
        address.table = TABLE_DISCRETE;
        return show_bits(drive, address, count, reply);
    case MODBUS_FC_READ_HOLDING_REGISTERS:
        address.table = TABLE_HOLDING;
        return show_registers(drive, address, count, reply);
    case MODBUS_FC_READ_INPUT_REGISTERS:
        address.table = TABLE_INPUT;
        return show_registers(drive, address, count, reply);
    default: /* the writes, which echo address and value or count */
        memcpy(reply + 1, request + 1, 4);
        return 5;
    }
}

/* Only sub-function 0000 (return query data): the request comes back as it was. */
static size_t loop_back(const uint8_t *request, size_t length, uint8_t *reply)
{
    if (length < 3)
        return reply_exception(request, MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE, reply);
    if (word_at(request + 1) != 0)
        return reply_exception(request, MODBUS_EXCEPTION_ILLEGAL_FUNCTION, reply);
    memcpy(reply, request, length);
    return length;
}

size_t reply_make(struct drive *drive, unsigned unit, const uint8_t *request, size_t length, uint8_t *reply)
{
    switch (request[0]) {
    case FUNCTION_DIAGNOSTICS:
        return loop_back(request, length, reply);
    case IDENTIFICATION_SERVER_ID:
        return identification_server_id(drive, unit, request, length, reply);
    case IDENTIFICATION_TRANSPORT:
        return identification_objects(drive, request, length, reply);
    default:
        break;
    }
    const uint8_t exception = access_serve(drive, request, length);
    return exception != 0 ? reply_exception(request, exception, reply) : confirm(drive, request, reply);
}
