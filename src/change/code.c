/* SPDX-License-Identifier: MIT */
/* The code that confirms a list of writes. */
#include "change/code.h"

#include "visit/recorded.h"

#include <sha2.h>
#include <stdlib.h>
#include <string.h>

/* Base 32 by D. Crockford: digits and capitals without I, L, O and U; what is typed for 1 and 0 is taken as such.
 * Source: https://www.crockford.com/base32.html */
static const char digits[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

enum { DIGITS = 8, HALF = 4, SLOT_MS = 10000, SLOTS = 90 }; /* 90 slots of 10 s: 15 minutes, and not a second more */

/* Each field goes in behind its length, so that no two lists have the same bytes. */
static void add_bytes(SHA2_CTX *context, const void *bytes, size_t length)
{
    uint8_t prefix[8];
    for (size_t i = 0; i < sizeof prefix; i++)
        prefix[i] = (uint8_t)((uint64_t)length >> (8 * i));
    SHA256Update(context, prefix, sizeof prefix);
    SHA256Update(context, bytes, length);
}

static void add_number(SHA2_CTX *context, uint64_t number)
{
    uint8_t bytes[8];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (uint8_t)(number >> (8 * i));
    add_bytes(context, bytes, sizeof bytes);
}

/* NULL is another thing than "". */
static void add_text(SHA2_CTX *context, const char *text)
{
    add_number(context, text != NULL);
    add_bytes(context, text == NULL ? "" : text, text == NULL ? 0 : strlen(text));
}

static void add_words(SHA2_CTX *context, const uint16_t *words, size_t count)
{
    add_number(context, count);
    for (size_t i = 0; i < count; i++)
        add_number(context, words[i]);
}

static void add_means(SHA2_CTX *context, const struct change_order *order, enum means means)
{
    char *text = recorded_means(order->map, order->readings, means);
    add_text(context, text);
    free(text);
}

static void add_drive(SHA2_CTX *context, const struct change_order *order, const char *line)
{
    add_text(context, order->sheet->tag);
    add_text(context, line);
    add_number(context, order->unit);
    add_means(context, order, MEANS_DRIVE_SERIAL_NUMBER);
    add_means(context, order, MEANS_DRIVE_FIRMWARE);
    add_text(context, order->map->sha256);
    add_text(context, order->sheet->sha256);
    add_text(context, order->replacement);
}

/* What can be set as the drive holds it; a live value would change the code from call to call. */
static void add_present(SHA2_CTX *context, const struct change_order *order)
{
    for (size_t i = 0; i < order->map->count; i++) {
        const struct parameter *parameter = &order->map->parameters[i];
        if (parameter->settable == SETTABLE_NEVER || parameter->kind == KIND_COMMAND || means_is_live(parameter->means))
            continue;
        add_text(context, parameter->name);
        add_words(context, order->readings->items[i].raw, order->readings->items[i].raw_count);
    }
}

static void add_list(SHA2_CTX *context, const struct change_order *order, const struct change_list *list)
{
    const struct save_command *save = &order->map->save;
    add_number(context, list->restores);
    add_bytes(context, list->from.bytes, sizeof list->from.bytes);
    add_number(context, list->count);
    for (size_t i = 0; i < list->count; i++) {
        const struct change *change = &list->items[i];
        add_text(context, order->map->parameters[change->parameter].name);
        add_words(context, change->now, change->words);
        add_words(context, change->to, change->words);
    }
    bool saves = list->save != SAVE_NONE;
    add_number(context, saves);
    add_number(context, saves ? (uint64_t)save->at.table : 0);
    add_number(context, saves ? save->at.at : 0);
    add_number(context, saves ? save->write : 0);
}

typedef uint8_t digest[SHA256_DIGEST_LENGTH];

static void digest_list(const struct change_order *order, const char *line, const struct change_list *list,
                        digest result)
{
    SHA2_CTX context;
    SHA256Init(&context);
    add_text(&context, "list of writes, 1");
    add_drive(&context, order, line);
    add_present(&context, order);
    add_list(&context, order, list);
    SHA256Final(result, &context);
}

/* The digits of that list in one slot of time; no dash. */
static void slot_digits(const digest list, int64_t slot, uint8_t values[DIGITS])
{
    SHA2_CTX context;
    digest result;
    SHA256Init(&context);
    add_bytes(&context, list, SHA256_DIGEST_LENGTH);
    add_number(&context, (uint64_t)slot);
    SHA256Final(result, &context);
    for (size_t i = 0; i < DIGITS; i++)
        values[i] = result[i] & 31;
}

static int64_t slot_of(int64_t ms)
{
    return ms / SLOT_MS;
}

static bool is_writable(const struct change_list *list)
{
    return list->count > 0 && list->refusal_count == 0;
}

void code_make(const struct change_order *order, const char *line, struct change_list *list, int64_t now_ms)
{
    list->code[0] = '\0';
    if (!is_writable(list))
        return;
    digest whole;
    uint8_t values[DIGITS];
    digest_list(order, line, list, whole);
    slot_digits(whole, slot_of(now_ms), values);
    char *next = list->code;
    for (size_t i = 0; i < DIGITS; i++) {
        if (i == HALF)
            *next++ = '-';
        *next++ = digits[values[i]];
    }
    *next = '\0';
}

/* 32 and more: no digit. */
static uint8_t value_of(char letter)
{
    if (letter >= 'a' && letter <= 'z')
        letter = (char)(letter - 'a' + 'A');
    if (letter == 'I' || letter == 'L')
        letter = '1';
    if (letter == 'O')
        letter = '0';
    size_t value = UINT8_MAX;
    for (size_t i = 0; i < sizeof digits - 1; i++)
        value = digits[i] == letter ? i : value;
    return (uint8_t)value;
}

/* Where `given` has not the form of a code, the values are such that none fits. */
static void read_code(const char *given, uint8_t values[DIGITS])
{
    size_t length = strlen(given);
    bool has_dash = length == DIGITS + 1 && given[HALF] == '-';
    memset(values, UINT8_MAX, DIGITS);
    for (size_t i = 0; i < DIGITS && (length == DIGITS || has_dash); i++)
        values[i] = value_of(given[i + (has_dash && i >= HALF)]);
}

bool code_fits(const struct change_order *order, const char *line, const struct change_list *list, int64_t now_ms,
               const char *given)
{
    if (!is_writable(list))
        return false;
    digest whole;
    uint8_t asked[DIGITS], values[DIGITS];
    read_code(given, asked);
    digest_list(order, line, list, whole);
    unsigned fitting = 0;
    for (int64_t back = 0; back < SLOTS; back++) {
        unsigned different = 0;
        slot_digits(whole, slot_of(now_ms) - back, values);
        for (size_t i = 0; i < DIGITS; i++)
            different |= (unsigned)(values[i] ^ asked[i]);
        fitting += different == 0; /* no way out in the middle: the time tells nothing of how near a guess was */
    }
    return fitting > 0;
}
