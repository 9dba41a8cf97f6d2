/* SPDX-License-Identifier: MIT */
/* Building Modbus requests and frames, and taking the words out of a reply. */
#include "bus/frame.h"

#include <string.h>

enum { MEI_DEVICE_IDENTIFICATION = 0x0e, SPACE = 65536 };

/* The remainder of each byte for the reflected polynomial 0xA001, by nibbles: two look-ups a byte, 32 bytes of table.
 */
static const uint16_t crc_of_nibble[16] = {0x0000, 0xcc01, 0xd801, 0x1400, 0xf001, 0x3c00, 0x2800, 0xe401,
                                           0xa001, 0x6c00, 0x7800, 0xb401, 0x5000, 0x9c01, 0x8801, 0x4400};

uint16_t crc16(const uint8_t *bytes, size_t length)
{
    unsigned crc = 0xffff;
    for (size_t i = 0; i < length; i++) {
        crc ^= bytes[i];
        crc = (crc >> 4) ^ crc_of_nibble[crc & 0x0f];
        crc = (crc >> 4) ^ crc_of_nibble[crc & 0x0f];
    }
    return (uint16_t)crc;
}

static void put(struct pdu *pdu, unsigned byte)
{
    pdu->bytes[pdu->length++] = (uint8_t)byte;
}

static void put_word(struct pdu *pdu, unsigned word)
{
    put(pdu, word >> 8);
    put(pdu, word & 0xff);
}

static void start(struct pdu *pdu, enum function function)
{
    pdu->length = 0;
    put(pdu, function);
}

static bool in_range(uint16_t address, uint16_t count, unsigned most)
{
    return count >= 1 && count <= most && (unsigned)address + count <= SPACE;
}

static bool reads_bits(uint8_t function)
{
    return function == FUNCTION_READ_COILS || function == FUNCTION_READ_DISCRETE_INPUTS;
}

bool function_writes(uint8_t function)
{
    return function == FUNCTION_WRITE_COIL || function == FUNCTION_WRITE_REGISTER || function == FUNCTION_WRITE_COILS ||
           function == FUNCTION_WRITE_REGISTERS;
}

size_t read_reply_bytes(uint8_t function, uint16_t count)
{
    return reads_bits(function) ? ((size_t)count + 7) / 8 : (size_t)count * 2;
}

bool pdu_read(struct pdu *pdu, uint8_t function, uint16_t address, uint16_t count)
{
    if (function < FUNCTION_READ_COILS || function > FUNCTION_READ_INPUT_REGISTERS ||
        !in_range(address, count, reads_bits(function) ? READ_BITS : READ_REGISTERS))
        return false;
    start(pdu, (enum function)function);
    put_word(pdu, address);
    put_word(pdu, count);
    return true;
}

bool pdu_write_coil(struct pdu *pdu, uint16_t address, bool on)
{
    start(pdu, FUNCTION_WRITE_COIL);
    put_word(pdu, address);
    put_word(pdu, on ? 0xff00 : 0x0000);
    return true;
}

bool pdu_write_register(struct pdu *pdu, uint16_t address, uint16_t value)
{
    start(pdu, FUNCTION_WRITE_REGISTER);
    put_word(pdu, address);
    put_word(pdu, value);
    return true;
}

bool pdu_echo(struct pdu *pdu, uint16_t data)
{
    start(pdu, FUNCTION_DIAGNOSTICS);
    put_word(pdu, 0);
    put_word(pdu, data);
    return true;
}

bool pdu_write_coils(struct pdu *pdu, uint16_t address, const bool *bits, uint16_t count)
{
    if (!in_range(address, count, WRITE_BITS))
        return false;
    start(pdu, FUNCTION_WRITE_COILS);
    put_word(pdu, address);
    put_word(pdu, count);
    put(pdu, ((unsigned)count + 7) / 8);
    for (size_t i = 0; i < count; i += 8) {
        unsigned byte = 0;
        for (size_t bit = 0; bit < 8 && i + bit < count; bit++)
            byte |= (bits[i + bit] ? 1U : 0U) << bit;
        put(pdu, byte);
    }
    return true;
}

bool pdu_write_registers(struct pdu *pdu, uint16_t address, const uint16_t *words, uint16_t count)
{
    if (!in_range(address, count, WRITE_REGISTERS))
        return false;
    start(pdu, FUNCTION_WRITE_REGISTERS);
    put_word(pdu, address);
    put_word(pdu, count);
    put(pdu, count * 2U);
    for (size_t i = 0; i < count; i++)
        put_word(pdu, words[i]);
    return true;
}

bool pdu_report_server_id(struct pdu *pdu)
{
    start(pdu, FUNCTION_REPORT_SERVER_ID);
    return true;
}

bool pdu_device_identification(struct pdu *pdu, uint8_t code, uint8_t object)
{
    if (code < 1 || code > 4)
        return false;
    start(pdu, FUNCTION_DEVICE_IDENTIFICATION);
    put(pdu, MEI_DEVICE_IDENTIFICATION);
    put(pdu, code);
    put(pdu, object);
    return true;
}

size_t rtu_build(uint8_t *frame, uint8_t unit, const struct pdu *pdu)
{
    frame[0] = unit;
    memcpy(frame + 1, pdu->bytes, pdu->length);
    size_t length = pdu->length + 1;
    uint16_t crc = crc16(frame, length);
    frame[length++] = (uint8_t)(crc & 0xff);
    frame[length++] = (uint8_t)(crc >> 8);
    return length;
}

size_t tcp_build(uint8_t *frame, uint16_t transaction, uint8_t unit, const struct pdu *pdu)
{
    size_t follows = pdu->length + 1;
    const uint8_t header[7] = {(uint8_t)(transaction >> 8), (uint8_t)(transaction & 0xff), 0,   0,
                               (uint8_t)(follows >> 8),     (uint8_t)(follows & 0xff),     unit};
    memcpy(frame, header, sizeof header);
    memcpy(frame + sizeof header, pdu->bytes, pdu->length);
    return sizeof header + pdu->length;
}

void reply_words(const uint8_t *pdu, uint8_t function, uint16_t count, uint16_t *words)
{
    const uint8_t *data = pdu + 2;
    for (size_t i = 0; i < count; i++) {
        unsigned word = 0;
        if (reads_bits(function))
            word = ((unsigned)data[i / 8] >> (i % 8)) & 1U;
        else
            word = (unsigned)data[2 * i] << 8 | data[2 * i + 1];
        words[i] = (uint16_t)word;
    }
}
