/* SPDX-License-Identifier: MIT */
/* Register words as the simulated drive sends them: integers, floats, texts, word order. Pure functions.
 * Written apart from the client's codec on purpose: a fault that both ends shared would cancel out. */
#ifndef ASLEFT_SIM_REGISTERS_H
#define ASLEFT_SIM_REGISTERS_H

#include "types/map.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* How many bits of a raw value count: 1 (TYPE_BOOL), 16 or 32; 0 for a text. A TYPE_BITS of two registers has 32. */
unsigned registers_width(const struct parameter *parameter);

/* The raw value as the words that travel, and back. Not for texts. `words` has room for parameter->words. */
void registers_from_raw(const struct parameter *parameter, enum word_order order, uint32_t raw, uint16_t *words);
uint32_t registers_to_raw(const struct parameter *parameter, enum word_order order, const uint16_t *words);

/* The number that a raw value stands for, before scale and offset: signed where the type is, IEEE 754 for f32. */
double registers_number(const struct parameter *parameter, uint32_t raw);

/* The raw value nearest to `number`. False where the type cannot hold it (too large, negative, not a number). */
bool registers_nearest_raw(const struct parameter *parameter, double number, uint32_t *raw);

/* A text, two bytes a register, high byte first, filled up with zero bytes; cut where it is too long. */
void registers_from_text(const char *text, uint16_t *words, size_t count);

/* The text up to the first zero byte. `text` has room for 2 * count + 1 bytes. */
void registers_to_text(const uint16_t *words, size_t count, char *text);

#endif
