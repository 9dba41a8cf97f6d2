/* SPDX-License-Identifier: MIT */
/* What a frame says, in words. */
#include "bus/describe.h"

#include "bus/frame.h"
#include "types/memory.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { HEADER_BYTES = 7, CRC_BYTES = 2, TEXT_SIZE = 4096 };

/* Text that grows at its end, and is cut where it is full: 2000 bits take half of it. */
struct line_text {
    char text[TEXT_SIZE];
    size_t length;
};

__attribute__((format(printf, 2, 3))) static void add(struct line_text *line, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int written = vsnprintf(line->text + line->length, TEXT_SIZE - line->length, format, arguments);
    va_end(arguments);
    line->length += written > 0 ? (size_t)written : 0;
    if (line->length >= TEXT_SIZE)
        line->length = TEXT_SIZE - 1;
}

/* MODBUS Application Protocol V1.1b3, section 6 and its headings; in lower case. */
static const char *function_name(uint8_t function)
{
    static const struct {
        uint8_t function;
        const char *name;
    } names[] = {
        {0x01, "read coils"},
        {0x02, "read discrete inputs"},
        {0x03, "read holding registers"},
        {0x04, "read input registers"},
        {0x05, "write single coil"},
        {0x06, "write single register"},
        {0x07, "read exception status"},
        {0x08, "diagnostics"},
        {0x0b, "get comm event counter"},
        {0x0c, "get comm event log"},
        {0x0f, "write multiple coils"},
        {0x10, "write multiple registers"},
        {0x11, "report server id"},
        {0x14, "read file record"},
        {0x15, "write file record"},
        {0x16, "mask write register"},
        {0x17, "read/write multiple registers"},
        {0x18, "read fifo queue"},
        {0x2b, "encapsulated interface transport"},
    };
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (names[i].function == function)
            return names[i].name;
    return NULL;
}

const char *exception_name(uint8_t code)
{
    static const char *const names[] = {
        [0x01] = "illegal function",
        [0x02] = "illegal data address",
        [0x03] = "illegal data value",
        [0x04] = "server device failure",
        [0x05] = "acknowledge",
        [0x06] = "server device busy",
        [0x08] = "memory parity error",
        [0x0a] = "gateway path unavailable",
        [0x0b] = "gateway target device failed to respond",
    };
    return code < sizeof names / sizeof names[0] ? names[code] : NULL;
}

static unsigned word_at(const uint8_t *bytes)
{
    return (unsigned)bytes[0] << 8 | bytes[1];
}

static void add_hex(struct line_text *line, const uint8_t *bytes, size_t length)
{
    for (size_t i = 0; i < length; i++)
        add(line, " %02x", bytes[i]);
}

static void add_text(struct line_text *line, const uint8_t *bytes, size_t length)
{
    add(line, "\"");
    for (size_t i = 0; i < length; i++) {
        bool plain = bytes[i] >= 0x20 && bytes[i] < 0x7f && bytes[i] != '"' && bytes[i] != '\\';
        if (plain)
            add(line, "%c", bytes[i]);
        else
            add(line, "\\x%02x", bytes[i]);
    }
    add(line, "\"");
}

/* ---- requests ---- */

static void add_request(struct line_text *line, const uint8_t *pdu, size_t length)
{
    switch (pdu[0]) {
    case FUNCTION_READ_COILS:
    case FUNCTION_READ_DISCRETE_INPUTS:
    case FUNCTION_READ_HOLDING_REGISTERS:
    case FUNCTION_READ_INPUT_REGISTERS:
    case FUNCTION_WRITE_COILS:
    case FUNCTION_WRITE_REGISTERS:
        if (length >= 5)
            add(line, ", %u from 0x%04x", word_at(pdu + 3), word_at(pdu + 1));
        if (length > 6) {
            add(line, ", data");
            add_hex(line, pdu + 6, length - 6);
        }
        return;
    case FUNCTION_WRITE_COIL:
    case FUNCTION_WRITE_REGISTER:
        if (length >= 5)
            add(line, ", 0x%04x to 0x%04x", word_at(pdu + 3), word_at(pdu + 1));
        return;
    case FUNCTION_DEVICE_IDENTIFICATION:
        if (length >= 4)
            add(line, ", device identification, code %u from object %u", pdu[2], pdu[3]);
        return;
    default:
        if (length > 1) {
            add(line, ", data");
            add_hex(line, pdu + 1, length - 1);
        }
    }
}

/* ---- replies ---- */

static void add_bits(struct line_text *line, const uint8_t *bytes, size_t length)
{
    add(line, ", bits ");
    for (size_t i = 0; i < 8 * length; i++)
        add(line, "%u", ((unsigned)bytes[i / 8] >> (i % 8)) & 1U);
}

static void add_words(struct line_text *line, const uint8_t *bytes, size_t length)
{
    add(line, ",");
    for (size_t i = 0; i + 1 < length; i += 2)
        add(line, " 0x%04x", word_at(bytes + i));
}

/* Section 6.21: type, code, conformity, more follows, next object, number of objects; each object's id, length, text.
 */
static void add_identification(struct line_text *line, const uint8_t *pdu, size_t length)
{
    if (length < 7)
        return;
    add(line, ", device identification");
    size_t at = 7;
    for (unsigned left = pdu[6]; left > 0 && at + 2 <= length && at + 2 + pdu[at + 1] <= length; left--) {
        add(line, ", %u ", pdu[at]);
        add_text(line, pdu + at + 2, pdu[at + 1]);
        at += 2U + pdu[at + 1];
    }
}

static void add_reply(struct line_text *line, const uint8_t *pdu, size_t length)
{
    size_t counted = length > 2 ? length - 2 : 0;
    switch (pdu[0]) {
    case FUNCTION_READ_COILS:
    case FUNCTION_READ_DISCRETE_INPUTS:
        add_bits(line, pdu + 2, counted);
        return;
    case FUNCTION_READ_HOLDING_REGISTERS:
    case FUNCTION_READ_INPUT_REGISTERS:
        add_words(line, pdu + 2, counted);
        return;
    case FUNCTION_REPORT_SERVER_ID:
        add(line, ", ");
        add_text(line, pdu + 2, counted);
        return;
    case FUNCTION_DEVICE_IDENTIFICATION:
        add_identification(line, pdu, length);
        return;
    default:
        add_request(line, pdu, length); /* the reply to a write repeats its request, or the front of it */
    }
}

/* A frame that stands alone: the reply to a read carries as many bytes as its second one says. */
static bool is_read_request(const uint8_t *pdu, size_t length)
{
    return pdu[0] >= FUNCTION_READ_COILS && pdu[0] <= FUNCTION_READ_INPUT_REGISTERS && length == 5 && pdu[1] != 3;
}

static bool is_request(bool tcp, enum trace_kind kind, const uint8_t *pdu, size_t length)
{
    if (kind == TRACE_SENT)
        return true;
    if (kind != TRACE_FOREIGN || tcp)
        return false;
    return is_read_request(pdu, length) || (pdu[0] == FUNCTION_DEVICE_IDENTIFICATION && length == 4);
}

char *frame_describe(bool tcp, enum trace_kind kind, const uint8_t *bytes, size_t length)
{
    size_t head = tcp ? HEADER_BYTES : 1, tail = tcp ? 0 : CRC_BYTES;
    if (kind == TRACE_JUNK || length <= head + tail)
        return text_format("%zu byte%s that belong%s to no frame", length, length == 1 ? "" : "s",
                           length == 1 ? "s" : "");
    const uint8_t *pdu = bytes + head;
    size_t pdu_length = length - head - tail;
    uint8_t function = pdu[0] & (uint8_t) ~(unsigned)EXCEPTION_BIT;
    const char *name = function_name(function);
    struct line_text *line = memory_new(1, sizeof *line);
    add(line, "unit %u: ", bytes[head - 1]);
    if (name != NULL)
        add(line, "%s", name);
    else
        add(line, "function 0x%02x", function);
    if ((pdu[0] & EXCEPTION_BIT) != 0 && pdu_length >= 2) {
        const char *exception = exception_name(pdu[1]);
        add(line, ", exception %02x%s%s", pdu[1], exception == NULL ? "" : " ", exception == NULL ? "" : exception);
    } else if (is_request(tcp, kind, pdu, pdu_length)) {
        add_request(line, pdu, pdu_length);
    } else {
        add_reply(line, pdu, pdu_length);
    }
    char *text = text_copy(line->text);
    free(line);
    return text;
}
