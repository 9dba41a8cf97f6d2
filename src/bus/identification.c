/* SPDX-License-Identifier: MIT */
/* What a device says about itself: parsing the replies to functions 43/14 and 17. */
#include "bus/identification.h"

#include "bus/frame.h"
#include "types/memory.h"

#include <string.h>

enum { MEI_DEVICE_IDENTIFICATION = 0x0e, HEADER_BYTES = 7, HEX_DIGITS_OF_A_BYTE = 4 };

/* Bytes as text; those that `plain` refuses become \xNN. What pads the end goes. */
static char *text_of(const uint8_t *bytes, size_t length, bool (*plain)(uint8_t))
{
    static const char digits[] = "0123456789ABCDEF";
    while (length > 0 && (bytes[length - 1] == '\0' || bytes[length - 1] == ' '))
        length--;
    char *text = memory_new(length * HEX_DIGITS_OF_A_BYTE + 1, 1);
    size_t at = 0;
    for (size_t i = 0; i < length; i++) {
        if (plain(bytes[i])) {
            text[at++] = (char)bytes[i];
            continue;
        }
        text[at++] = '\\';
        text[at++] = 'x';
        text[at++] = digits[bytes[i] >> 4];
        text[at++] = digits[bytes[i] & 0x0f];
    }
    return text;
}

/* The standard says ASCII; who writes something else gets it shown, by the rules of each format. */
static bool is_character(uint8_t byte)
{
    return byte != 0;
}

static bool is_printable(uint8_t byte)
{
    return byte >= 0x20 && byte < 0x7f && byte != '\\';
}

static void add_object(struct device_identification *device, uint8_t id, const uint8_t *bytes, size_t length)
{
    for (size_t i = 0; i < device->count; i++)
        if (device->objects[i].id == id)
            return;
    device->objects = memory_grow(device->objects, device->count, sizeof *device->objects);
    device->objects[device->count++] = (struct device_object){.id = id, .text = text_of(bytes, length, is_character)};
}

bool identification_take(const uint8_t *pdu, size_t length, struct device_identification *device,
                         struct identification_part *part)
{
    if (length < HEADER_BYTES || pdu[0] != FUNCTION_DEVICE_IDENTIFICATION || pdu[1] != MEI_DEVICE_IDENTIFICATION)
        return false;
    /* conformity: 0x80 says that single objects may be asked for too */
    *part = (struct identification_part){.goes_to = pdu[3] & 0x7f, .more = pdu[4] == 0xff, .next = pdu[5]};
    size_t at = HEADER_BYTES;
    for (unsigned objects = pdu[6]; objects > 0 && at + 2 <= length && at + 2 + pdu[at + 1] <= length; objects--) {
        add_object(device, pdu[at], pdu + at + 2, pdu[at + 1]);
        at += 2U + pdu[at + 1];
    }
    return true;
}

char *server_id_text(const uint8_t *pdu, size_t length)
{
    if (length < 3 || pdu[0] != FUNCTION_REPORT_SERVER_ID || pdu[1] == 0)
        return NULL;
    size_t said = pdu[1], there = length - 2;
    char *text = text_of(pdu + 2, said < there ? said : there, is_printable);
    return text;
}
