/* SPDX-License-Identifier: MIT */
/* Register words to numbers, words and texts, and numbers back to register words. */
#include "bus/codec.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

_Static_assert(sizeof(float) == sizeof(uint32_t) && FLT_MANT_DIG == 24, "f32 is read as IEEE 754 binary32");

/* Up to here every whole number is a double. */
static const double exact_limit = 9007199254740992.0;

uint32_t codec_raw(const uint16_t *words, size_t count, enum word_order order)
{
    if (count < 2)
        return count == 0 ? 0 : words[0];
    bool low_first = order == ORDER_LOW_FIRST;
    uint32_t high = words[low_first ? 1 : 0];
    uint32_t low = words[low_first ? 0 : 1];
    return high << 16 | low;
}

void codec_words(uint32_t raw, size_t count, enum word_order order, uint16_t *words)
{
    uint16_t high = (uint16_t)(raw >> 16);
    uint16_t low = (uint16_t)(raw & 0xffff);
    if (count == 1) {
        words[0] = low;
    } else if (count == 2) {
        words[0] = order == ORDER_LOW_FIRST ? low : high;
        words[1] = order == ORDER_LOW_FIRST ? high : low;
    }
}

static float raw_float(uint32_t raw)
{
    float number = 0;
    memcpy(&number, &raw, sizeof number);
    return number;
}

static double raw_count(enum value_type type, uint32_t raw)
{
    switch (type) {
    case TYPE_S16:
        return raw & 0x8000 ? (double)(raw & 0xffff) - 65536 : (double)(raw & 0xffff);
    case TYPE_S32:
        return raw & 0x80000000 ? (double)raw - 4294967296.0 : (double)raw;
    case TYPE_F32:
        return (double)raw_float(raw);
    case TYPE_U16:
    case TYPE_U32:
    case TYPE_BITS:
    case TYPE_TEXT:
    case TYPE_BOOL:
        break;
    }
    return raw;
}

/* A number as a person writes it: mantissa / 10^places, both whole. */
struct decimal {
    double mantissa;
    unsigned places;
};

static const double power_of_ten[] = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};
enum { MOST_PLACES = sizeof power_of_ten / sizeof *power_of_ten - 1 };

/* False where `number` is no decimal of at most MOST_PLACES places. */
static bool decimal_of(double number, struct decimal *decimal)
{
    for (unsigned places = 0; places <= MOST_PLACES; places++) {
        double shifted = number * power_of_ten[places];
        double whole = round(shifted);
        if (fabs(whole) > exact_limit)
            return false;
        if (fabs(shifted - whole) <= fabs(shifted) * 4 * DBL_EPSILON) {
            *decimal = (struct decimal){whole, places};
            return true;
        }
    }
    return false;
}

/* count * scale + offset with one rounding only, at the end, wherever whole numbers can carry it. */
static double scaled(double count, double scale, double offset)
{
    struct decimal factor, shift;
    if (!decimal_of(scale, &factor) || !decimal_of(offset, &shift))
        return count * scale + offset;
    unsigned places = factor.places > shift.places ? factor.places : shift.places;
    double product = count * factor.mantissa * power_of_ten[places - factor.places];
    return (product + shift.mantissa * power_of_ten[places - shift.places]) / power_of_ten[places];
}

bool codec_number(enum value_type type, uint32_t raw, double scale, double offset, double *number)
{
    double count = raw_count(type, raw);
    if (!isfinite(count)) {
        *number = NAN;
        return false;
    }
    *number = type == TYPE_F32 ? count * scale + offset : scaled(count, scale, offset);
    return true;
}

static double float_step(uint32_t raw)
{
    float size = fabsf(raw_float(raw));
    if (!isfinite(size))
        return 0;
    float next = nextafterf(size, INFINITY);
    /* The largest float has only a smaller neighbour. */
    return isfinite(next) ? (double)next - (double)size : (double)size - (double)nextafterf(size, 0);
}

double codec_step(enum value_type type, uint32_t raw, double scale)
{
    switch (type) {
    case TYPE_U16:
    case TYPE_S16:
    case TYPE_U32:
    case TYPE_S32:
        return fabs(scale);
    case TYPE_F32:
        return float_step(raw) * fabs(scale);
    case TYPE_BITS:
    case TYPE_TEXT:
    case TYPE_BOOL:
        break;
    }
    return 0;
}

static bool encode_whole(double count, double lowest, double highest, uint32_t *raw)
{
    double nearest = round(count);
    if (!(nearest >= lowest && nearest <= highest))
        return false;
    uint32_t mask = highest - lowest > 65535 ? 0xffffffff : 0xffff;
    *raw = (uint32_t)(int64_t)nearest & mask;
    return true;
}

static bool encode_float(double count, uint32_t *raw)
{
    if (!(fabs(count) <= (double)FLT_MAX))
        return false;
    float nearest = (float)count;
    memcpy(raw, &nearest, sizeof nearest);
    return true;
}

bool codec_encode(enum value_type type, double number, double scale, double offset, uint32_t *raw)
{
    double count = (number - offset) / scale;
    if (!isfinite(count))
        return false;
    switch (type) {
    case TYPE_U16:
        return encode_whole(count, 0, UINT16_MAX, raw);
    case TYPE_S16:
        return encode_whole(count, INT16_MIN, INT16_MAX, raw);
    case TYPE_U32:
        return encode_whole(count, 0, UINT32_MAX, raw);
    case TYPE_S32:
        return encode_whole(count, INT32_MIN, INT32_MAX, raw);
    case TYPE_F32:
        return encode_float(count, raw);
    case TYPE_BITS:
    case TYPE_TEXT:
    case TYPE_BOOL:
        break;
    }
    return false;
}

const struct named_raw *codec_find(const struct named_raws *list, uint32_t raw)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].raw == raw)
            return &list->items[i];
    return NULL;
}

bool codec_find_word(const struct named_raws *list, const char *word, uint32_t *raw)
{
    for (size_t i = 0; i < list->count; i++) {
        if (list->items[i].word != NULL && strcmp(list->items[i].word, word) == 0) {
            *raw = list->items[i].raw;
            return true;
        }
    }
    return false;
}

void codec_bits(const struct named_raws *list, uint32_t raw, struct texts *words)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].raw < 32 && (raw >> list->items[i].raw & 1) != 0)
            texts_add(words, text_copy(list->items[i].word));
}

/* How many bytes the UTF-8 sequence at `bytes` takes, and its code point; 0 where it is none (RFC 3629: no overlong
 * forms, no surrogates, nothing above U+10FFFF). */
static size_t utf8_sequence(const unsigned char *bytes, size_t left, uint32_t *code)
{
    static const struct {
        unsigned char mask, lead;
        uint32_t lowest;
    } forms[] = {{0x80, 0x00, 0}, {0xe0, 0xc0, 0x80}, {0xf0, 0xe0, 0x800}, {0xf8, 0xf0, 0x10000}};
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        if ((bytes[0] & forms[i].mask) != forms[i].lead)
            continue;
        uint32_t point = bytes[0] & (unsigned char)~forms[i].mask;
        for (size_t k = 1; k <= i; k++) {
            if (k >= left || (bytes[k] & 0xc0) != 0x80)
                return 0;
            point = point << 6 | (bytes[k] & 0x3fU);
        }
        if (point < forms[i].lowest || point > 0x10ffff || (point >= 0xd800 && point <= 0xdfff))
            return 0;
        *code = point;
        return i + 1;
    }
    return 0;
}

/* C0, DEL and C1. */
static bool is_control(uint32_t code)
{
    return code < 0x20 || (code >= 0x7f && code <= 0x9f);
}

/* Writes what the `length` bytes of one character look like in the text; returns how many bytes that took. */
static size_t put_character(char *out, const unsigned char *bytes, size_t length, uint32_t code)
{
    if (is_control(code)) {
        for (size_t i = 0; i < length; i++)
            (void)snprintf(out + 4 * i, 5, "\\x%02x", bytes[i]);
        return 4 * length;
    }
    if (length == 1 && code >= 0x80) {
        out[0] = (char)(0xc0 | code >> 6);
        out[1] = (char)(0x80 | (code & 0x3f));
        return 2;
    }
    memcpy(out, bytes, length);
    return length;
}

char *codec_text(const uint16_t *words, size_t count)
{
    size_t length = 2 * count;
    unsigned char *bytes = memory_new(length, 1);
    for (size_t i = 0; i < count; i++) {
        bytes[2 * i] = (unsigned char)(words[i] >> 8);
        bytes[2 * i + 1] = (unsigned char)(words[i] & 0xff);
    }
    while (length > 0 && (bytes[length - 1] == 0 || bytes[length - 1] == ' '))
        length--;

    char *text = memory_new(4 * length + 1, 1);
    size_t used = 0;
    for (size_t at = 0; at < length;) {
        uint32_t code = bytes[at]; /* as Latin-1, unless it begins a UTF-8 sequence */
        size_t taken = utf8_sequence(bytes + at, length - at, &code);
        if (taken == 0)
            taken = 1;
        used += put_character(text + used, bytes + at, taken, code);
        at += taken;
    }
    free(bytes);
    return text;
}
