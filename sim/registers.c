/* SPDX-License-Identifier: MIT */
/* Encoding and decoding of register words, the simulator's own. */
#include "sim/registers.h"

#include <math.h>
#include <string.h>

unsigned registers_width(const struct parameter *parameter)
{
    switch (parameter->type) {
    case TYPE_U16:
    case TYPE_S16:
        return 16;
    case TYPE_U32:
    case TYPE_S32:
    case TYPE_F32:
        return 32;
    case TYPE_BITS:
        return parameter->words == 2 ? 32 : 16;
    case TYPE_BOOL:
        return 1;
    case TYPE_TEXT:
        return 0;
    }
    return 0;
}

void registers_from_raw(const struct parameter *parameter, enum word_order order, uint32_t raw, uint16_t *words)
{
    const uint16_t high = (uint16_t)(raw >> 16);
    const uint16_t low = (uint16_t)(raw & 0xffffU);
    if (registers_width(parameter) != 32) {
        words[0] = low;
        return;
    }
    words[0] = order == ORDER_LOW_FIRST ? low : high;
    words[1] = order == ORDER_LOW_FIRST ? high : low;
}

uint32_t registers_to_raw(const struct parameter *parameter, enum word_order order, const uint16_t *words)
{
    if (registers_width(parameter) != 32)
        return words[0];
    const uint32_t first = words[0];
    const uint32_t second = words[1];
    return order == ORDER_LOW_FIRST ? (second << 16 | first) : (first << 16 | second);
}

double registers_number(const struct parameter *parameter, uint32_t raw)
{
    float single = 0;
    switch (parameter->type) {
    case TYPE_S16:
        return raw >= 0x8000U ? (double)raw - 65536.0 : (double)raw;
    case TYPE_S32:
        return raw >= 0x80000000U ? (double)raw - 4294967296.0 : (double)raw;
    case TYPE_F32:
        memcpy(&single, &raw, sizeof single);
        return single;
    case TYPE_BOOL:
        return raw != 0;
    case TYPE_U16:
    case TYPE_U32:
    case TYPE_BITS:
    case TYPE_TEXT:
        break;
    }
    return raw;
}

bool registers_nearest_raw(const struct parameter *parameter, double number, uint32_t *raw)
{
    if (!isfinite(number))
        return false;
    if (parameter->type == TYPE_F32) {
        const float single = (float)number;
        memcpy(raw, &single, sizeof single);
        return isfinite(single);
    }
    const bool is_signed = parameter->type == TYPE_S16 || parameter->type == TYPE_S32;
    const double codes = ldexp(1.0, (int)registers_width(parameter));
    const double lowest = is_signed ? -codes / 2 : 0;
    const double highest = is_signed ? codes / 2 - 1 : codes - 1;
    const double whole = round(number);
    if (whole < lowest || whole > highest)
        return false;
    *raw = (uint32_t)(whole < 0 ? whole + codes : whole);
    return true;
}

void registers_from_text(const char *text, uint16_t *words, size_t count)
{
    const size_t length = strlen(text);
    for (size_t i = 0; i < count; i++) {
        const uint8_t high = 2 * i < length ? (uint8_t)text[2 * i] : 0;
        const uint8_t low = 2 * i + 1 < length ? (uint8_t)text[2 * i + 1] : 0;
        words[i] = (uint16_t)(high << 8 | low);
    }
}

void registers_to_text(const uint16_t *words, size_t count, char *text)
{
    for (size_t i = 0; i < count; i++) {
        text[2 * i] = (char)(words[i] >> 8);
        text[2 * i + 1] = (char)(words[i] & 0xff);
    }
    text[2 * count] = '\0';
}
