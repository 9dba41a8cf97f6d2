/* SPDX-License-Identifier: MIT */
/* Checksums, lengths and wrapping of frames. */
#include "sim/wire.h"

#include <stdbool.h>
#include <string.h>

enum { SHORTEST = 1 + SERIAL_AROUND };

uint16_t wire_crc(const uint8_t *bytes, size_t count)
{
    unsigned crc = 0xffff;
    for (size_t i = 0; i < count; i++) {
        crc ^= bytes[i];
        for (int bit = 0; bit < 8; bit++)
            crc = (crc & 1U) != 0 ? crc >> 1 ^ 0xa001 : crc >> 1;
    }
    return (uint16_t)crc;
}

static bool is_sealed(const uint8_t *frame, size_t length)
{
    return wire_crc(frame, length - 2) == (uint16_t)(frame[length - 2] | frame[length - 1] << 8);
}

/* The length that the function code gives away, or 0 where it does not; `count` >= SHORTEST. */
static size_t length_by_function(const uint8_t *frame, size_t count)
{
    enum { COUNT_AT = 6 }; /* of the bytes behind it, in functions 15 and 16 */
    switch (frame[1]) {
    case 0x01: /* four reads, two single writes: address and count or value */
    case 0x02:
    case 0x03:
    case 0x04:
    case 0x05:
    case 0x06:
        return 5 + SERIAL_AROUND;
    case 0x0f:
    case 0x10:
        return count > COUNT_AT ? COUNT_AT + 1 + (size_t)frame[COUNT_AT] + 2 : COUNT_AT + 2;
    case 0x11:
        return SHORTEST;
    case 0x2b: /* of its types, device identification */
        return frame[2] == 0x0e ? 4 + SERIAL_AROUND : 0;
    default:
        return 0;
    }
}

int wire_request_length(const uint8_t *bytes, size_t count)
{
    if (count < SHORTEST)
        return 0;
    const size_t known = length_by_function(bytes, count);
    if (known > SERIAL_LONGEST)
        return -1;
    if (known > count)
        return 0;
    if (known != 0)
        return is_sealed(bytes, known) ? (int)known : -1;
    for (size_t length = SHORTEST; length <= count && length <= SERIAL_LONGEST; length++)
        if (is_sealed(bytes, length))
            return (int)length;
    return count < SERIAL_LONGEST ? 0 : -1;
}

static void put_word(uint8_t *bytes, unsigned word)
{
    bytes[0] = (uint8_t)(word >> 8);
    bytes[1] = (uint8_t)word;
}

size_t wire_wrap(enum wire wire, uint16_t transaction, uint8_t unit, const uint8_t *pdu, size_t length, uint8_t *frame)
{
    switch (wire) {
    case WIRE_SERIAL:
        break;
    case WIRE_TCP:
        put_word(frame, transaction);
        put_word(frame + 2, 0);
        put_word(frame + 4, (unsigned)(1 + length));
        frame[TCP_HEADER - 1] = unit;
        memcpy(frame + TCP_HEADER, pdu, length);
        return TCP_HEADER + length;
    }
    frame[0] = unit;
    memcpy(frame + 1, pdu, length);
    const unsigned crc = wire_crc(frame, 1 + length);
    frame[1 + length] = (uint8_t)crc;
    frame[2 + length] = (uint8_t)(crc >> 8);
    return length + SERIAL_AROUND;
}
