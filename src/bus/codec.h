/* SPDX-License-Identifier: MIT */
/* Register words to numbers, words and texts, and numbers back to register words. Pure functions. */
#ifndef ASLEFT_BUS_CODEC_H
#define ASLEFT_BUS_CODEC_H

#include "types/map.h"
#include "types/memory.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The unsigned number that 1 or 2 words hold. A register's own bytes come high first (V1.1b3 s 4.2); the order of two
 * words is the drive's habit. ORDER_UNKNOWN counts as high-first. */
uint32_t codec_raw(const uint16_t *words, size_t count, enum word_order order);

/* The other way; a single word takes the low 16 bits of `raw`. */
void codec_words(uint32_t raw, size_t count, enum word_order order, uint16_t *words);

/* raw * scale + offset. Scale and offset are taken as the decimals that a map writes, so that 600 * 0.01 is the double
 * nearest to 6, not 6.000000000000001. False (and NAN) for an f32 that is not finite. Of bits, text and bool the plain
 * unsigned number. */
bool codec_number(enum value_type type, uint32_t raw, double scale, double offset, double *number);

/* What one count of the raw value is worth, >= 0: |scale|; for f32 the distance to the next float (IEEE 754 binary32)
 * times |scale|; 0 for bits, text, bool and floats that are not finite. */
double codec_step(enum value_type type, uint32_t raw, double scale);

/* The raw value whose number is nearest; a tie goes away from zero. False, and `raw` untouched, where the type cannot
 * hold it, where `number` is not finite, where `scale` is 0, and for bits, text and bool. */
bool codec_encode(enum value_type type, double number, double scale, double offset, uint32_t *raw);

/* The row for that raw value, or NULL. */
const struct named_raw *codec_find(const struct named_raws *list, uint32_t raw);

/* The raw value of that word; false where the list has no such word. */
bool codec_find_word(const struct named_raws *list, const char *word, uint32_t *raw);

/* Appends the names of the bits that are set in `raw`, in the map's order. Bits without a name are left out. */
void codec_bits(const struct named_raws *list, uint32_t raw, struct texts *words);

/* Two bytes a register, high byte first, as owned UTF-8. Trailing NULs and spaces are padding. Bytes that are not valid
 * UTF-8 are taken as Latin-1; control characters come out as \xNN, a pair of them for a two-byte one. */
char *codec_text(const uint16_t *words, size_t count);

#endif
