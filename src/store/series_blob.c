/* SPDX-License-Identifier: MIT */
/* A series' moments and numbers as bytes. */
#include "store/series_blob.h"

#include "types/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* How numbers are kept. Never changed: they are on disks. */
enum form {
    FORM_PLAIN = 0,    /* IEEE 754 binary64 */
    FORM_MULTIPLE = 1, /* k * step */
    FORM_PART = 2,     /* k / (1 / step): 7 * 0.01 is not the double nearest to 0.07, 7 / 100 is */
};

enum { LONGEST_NUMBER = 10, DOUBLE = 8 };

void blob_free(struct blob *blob)
{
    free(blob->bytes);
    *blob = (struct blob){0};
}

static void add_byte(struct blob *blob, unsigned byte)
{
    blob->bytes = memory_grow(blob->bytes, blob->length, 1);
    blob->bytes[blob->length++] = (uint8_t)byte;
}

/* Small numbers of either sign take few bytes: seven bits each, the lowest first, the sign in bit 0. */
static void add_difference(struct blob *blob, int64_t from, int64_t to)
{
    uint64_t difference = (uint64_t)to - (uint64_t)from;
    uint64_t folded = difference >> 63 != 0 ? ~(difference << 1) : difference << 1;
    for (; folded > 127; folded >>= 7)
        add_byte(blob, (unsigned)(folded & 127) | 128);
    add_byte(blob, (unsigned)folded);
}

/* Reads on at *at; false at the end. */
static bool take_difference(const struct blob *blob, size_t *at, int64_t from, int64_t *to)
{
    uint64_t folded = 0;
    for (unsigned i = 0; i < LONGEST_NUMBER; i++) {
        if (*at >= blob->length)
            return false;
        uint64_t byte = blob->bytes[(*at)++];
        folded |= (byte & 127) << (7 * i);
        if (byte < 128) {
            uint64_t difference = (folded & 1) != 0 ? ~(folded >> 1) : folded >> 1;
            *to = (int64_t)((uint64_t)from + difference);
            return true;
        }
    }
    return false;
}

/* ---- moments ---- */

struct blob blob_of_moments(const struct series *series)
{
    struct blob blob = {0};
    int64_t at_us = 0;
    int64_t interval_us = 0;
    int64_t half_us = 0;
    for (size_t i = 0; i < series->count; i++) {
        const struct sample *sample = &series->items[i];
        int64_t before_us = interval_us;
        interval_us = (int64_t)((uint64_t)sample->at_us - (uint64_t)at_us);
        add_difference(&blob, before_us, interval_us);
        add_difference(&blob, half_us, sample->half_us);
        at_us = sample->at_us;
        half_us = sample->half_us;
    }
    return blob;
}

bool blob_to_moments(const struct blob *blob, struct sample *items, size_t count)
{
    size_t at = 0;
    int64_t at_us = 0;
    int64_t interval_us = 0;
    int64_t half_us = 0;
    for (size_t i = 0; i < count; i++) {
        if (!take_difference(blob, &at, interval_us, &interval_us) || !take_difference(blob, &at, half_us, &half_us))
            return false;
        at_us = (int64_t)((uint64_t)at_us + (uint64_t)interval_us);
        items[i].at_us = at_us;
        items[i].half_us = half_us;
    }
    return at == blob->length;
}

/* ---- numbers ---- */

static double number_of(enum form form, int64_t k, double step)
{
    return form == FORM_PART ? (double)k / round(1 / step) : (double)k * step;
}

static uint64_t bits_of(double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

static bool multiple_of(enum form form, double value, double step, int64_t *k)
{
    const double most = 9e15; /* whole numbers are exact below that */
    double whole = form == FORM_PART ? round(value * round(1 / step)) : round(value / step);
    if (!(fabs(whole) < most))
        return false;
    *k = (int64_t)whole;
    return bits_of(number_of(form, *k, step)) == bits_of(value); /* a negative zero is another one */
}

/* States and codes have no step, and are whole. */
static double step_of(double step)
{
    return step > 0 ? step : 1;
}

static bool fits(const struct series *series, enum form form)
{
    int64_t k;
    for (size_t i = 0; i < series->count; i++)
        if (!multiple_of(form, series->items[i].value, step_of(series->step), &k))
            return false;
    return true;
}

static void add_double(struct blob *blob, double value)
{
    uint64_t bits = bits_of(value);
    for (unsigned i = 0; i < DOUBLE; i++)
        add_byte(blob, (unsigned)(bits >> (8 * i)) & 255);
}

struct blob blob_of_numbers(const struct series *series)
{
    struct blob blob = {0};
    enum form form = fits(series, FORM_MULTIPLE) ? FORM_MULTIPLE : fits(series, FORM_PART) ? FORM_PART : FORM_PLAIN;
    int64_t before = 0;
    int64_t k = 0;
    add_byte(&blob, form);
    for (size_t i = 0; i < series->count; i++) {
        if (form == FORM_PLAIN) {
            add_double(&blob, series->items[i].value);
            continue;
        }
        (void)multiple_of(form, series->items[i].value, step_of(series->step), &k);
        add_difference(&blob, before, k);
        before = k;
    }
    return blob;
}

static bool take_doubles(const struct blob *blob, struct sample *items, size_t count)
{
    if (blob->length - 1 != count * DOUBLE)
        return false;
    for (size_t i = 0; i < count; i++) {
        uint64_t bits = 0;
        for (unsigned k = 0; k < DOUBLE; k++)
            bits |= (uint64_t)blob->bytes[1 + i * DOUBLE + k] << (8 * k);
        memcpy(&items[i].value, &bits, sizeof bits);
    }
    return true;
}

bool blob_to_numbers(const struct blob *blob, double step, struct sample *items, size_t count)
{
    if (blob->length == 0 || blob->bytes[0] > FORM_PART)
        return false;
    enum form form = (enum form)blob->bytes[0];
    if (form == FORM_PLAIN)
        return take_doubles(blob, items, count);
    size_t at = 1;
    int64_t k = 0;
    for (size_t i = 0; i < count; i++) {
        if (!take_difference(blob, &at, k, &k))
            return false;
        items[i].value = number_of(form, k, step_of(step));
    }
    return at == blob->length;
}
