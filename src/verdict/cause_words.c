/* SPDX-License-Identifier: MIT */
/* Causes in how the words travelled: their order, their bytes, their sign, their address. */
#include "verdict/cause_parts.h"

#include "bus/codec.h"
#include "bus/decode.h"

#include <math.h>

/* A neighbour's value below this is too common to tell anything: choices, counts of poles, switches. */
enum { TELLING_RAW = 16 };

static const struct parameter *parameter_of(const struct question *question)
{
    return &question->evidence->map->parameters[question->parameter];
}

static bool raw_of(const struct question *question, uint32_t *raw)
{
    return reading_raw(question->evidence->map, question->evidence->readings, question->parameter, raw);
}

static uint32_t swap_words(uint32_t raw)
{
    return raw << 16 | raw >> 16;
}

static uint32_t swap_bytes(uint32_t raw)
{
    return (raw & 0x00ff00ffU) << 8 | (raw >> 8 & 0x00ff00ffU);
}

/* What these words would say: "3.00 A", or what is due where they are a choice. */
static struct figure shown_as(const struct question *question, enum value_type type, uint32_t raw)
{
    double scale, offset, number;
    if (question->finding->expected.kind == EXPECTED_RANGE && question_line(question, &scale, &offset) &&
        codec_number(type, raw, scale, offset, &number))
        return question_shown(question, number);
    const struct named_raw *row = codec_find(&parameter_of(question)->choices, raw);
    struct figure shown = {""};
    for (size_t i = 0; row != NULL && row->word != NULL && row->word[i] != '\0' && i + 1 < sizeof shown.text; i++)
        shown.text[i] = row->word[i];
    return shown;
}

void cause_words(const struct question *question, struct guesses *guesses)
{
    const struct parameter *parameter = parameter_of(question);
    uint32_t raw = 0;
    if (parameter->words != 2 || !raw_of(question, &raw))
        return;
    enum fit fit = question_fit_raw(question, swap_words(raw));
    if (fit != FIT_NONE)
        guesses_add(guesses, CAUSE_WORDS_SWAPPED, 0, fit,
                    text_format("with its two words exchanged it is %s: look at word_order in the map",
                                shown_as(question, parameter->type, swap_words(raw)).text));
}

void cause_bytes(const struct question *question, struct guesses *guesses)
{
    const struct parameter *parameter = parameter_of(question);
    uint32_t raw = 0;
    bool is_register = parameter->at.table == TABLE_INPUT || parameter->at.table == TABLE_HOLDING;
    if (!is_register || !raw_of(question, &raw))
        return;
    uint32_t bytes = swap_bytes(raw);
    enum fit fit = question_fit_raw(question, bytes);
    if (fit != FIT_NONE)
        guesses_add(guesses, CAUSE_BYTES_SWAPPED, 0, fit,
                    text_format("with the bytes of each word exchanged it is %s: look at the gateway or whatever "
                                "fills the register",
                                shown_as(question, parameter->type, bytes).text));
    if (parameter->words != 2)
        return;
    fit = question_fit_raw(question, swap_words(bytes));
    if (fit != FIT_NONE)
        guesses_add(guesses, CAUSE_BYTES_SWAPPED, 1, fit,
                    text_format("with its four bytes in reverse it is %s: look at the gateway, and at word_order in "
                                "the map",
                                shown_as(question, parameter->type, swap_words(bytes)).text));
}

/* The other reading of the same bits; f32 and the rest have none. */
static bool other_sign(enum value_type type, enum value_type *other)
{
    switch (type) {
    case TYPE_U16:
        *other = TYPE_S16;
        return true;
    case TYPE_S16:
        *other = TYPE_U16;
        return true;
    case TYPE_U32:
        *other = TYPE_S32;
        return true;
    case TYPE_S32:
        *other = TYPE_U32;
        return true;
    case TYPE_F32:
    case TYPE_BITS:
    case TYPE_TEXT:
    case TYPE_BOOL:
        break;
    }
    return false;
}

void cause_sign(const struct question *question, struct guesses *guesses)
{
    enum value_type other;
    uint32_t raw = 0;
    if (!question_has_band(question) || !raw_of(question, &raw) || parameter_of(question)->choices.count > 0)
        return;
    enum fit fit = question->found == 0 ? FIT_NONE : question_fit(question, question_scaled(question, -1));
    if (fit != FIT_NONE)
        guesses_add(
            guesses, CAUSE_SIGN_LOST, 0, fit,
            text_format("%s is %s with the other sign", question_found(question).text, question_due(question).text));
    if (!other_sign(parameter_of(question)->type, &other))
        return;
    fit = question_fit_raw_as(question, other, raw);
    if (fit != FIT_NONE)
        guesses_add(guesses, CAUSE_SIGN_LOST, 0, fit,
                    text_format("read %s a sign it is %s: look at the type in the map",
                                other == TYPE_S16 || other == TYPE_S32 ? "with" : "without",
                                shown_as(question, other, raw).text));
    fit = other == TYPE_U32 && raw <= UINT16_MAX ? question_fit_raw_as(question, TYPE_S16, raw) : FIT_NONE;
    if (fit != FIT_NONE)
        guesses_add(guesses, CAUSE_SIGN_LOST, 0, fit,
                    text_format("its low word alone is %s: the sign did not reach the high word",
                                shown_as(question, TYPE_S16, raw).text));
}

/* The word that was read at that address, as it stands in the drive. */
static bool word_at(const struct evidence *evidence, enum table table, long address, uint16_t *word)
{
    for (size_t i = 0; i < evidence->map->count; i++) {
        const struct address *at = &evidence->map->parameters[i].at;
        const struct reading *reading = &evidence->readings->items[i];
        long offset = address - at->at;
        if (at->table == table && offset >= 0 && offset < (long)reading->raw_count) {
            *word = reading->raw[offset];
            return true;
        }
    }
    return false;
}

/* Do the words beside this register hold what it should? `beside` is how far they are off. */
static enum fit fit_beside(const struct question *question, int beside)
{
    const struct evidence *evidence = question->evidence;
    const struct parameter *parameter = parameter_of(question);
    uint16_t words[2] = {0};
    if (parameter->words > 2)
        return FIT_NONE;
    for (unsigned i = 0; i < parameter->words; i++)
        if (!word_at(evidence, parameter->at.table, (long)parameter->at.at + beside + (long)i, &words[i]))
            return FIT_NONE;
    return question_fit_raw(question, codec_raw(words, parameter->words, evidence->map->modbus.word_order));
}

/* Does this register hold what the one at `next` should? Says which that is. */
static enum fit fit_of_neighbour(const struct question *question, int next, size_t *neighbour)
{
    const struct evidence *evidence = question->evidence;
    const struct parameter *parameter = parameter_of(question);
    uint32_t raw = 0;
    if (parameter->words != 1 || !raw_of(question, &raw))
        return FIT_NONE;
    for (size_t i = 0; i < evidence->map->count; i++) {
        const struct parameter *other = &evidence->map->parameters[i];
        if (other->at.table != parameter->at.table || other->at.at != (long)parameter->at.at + next ||
            other->words != 1 || evidence->of_parameter[i] == NULL)
            continue;
        struct question question_there = question_start(evidence, evidence->of_parameter[i], i);
        *neighbour = i;
        return question_fit_raw(&question_there, raw);
    }
    return FIT_NONE;
}

bool cause_address_is_telling(const struct question *question)
{
    uint32_t raw = 0;
    return raw_of(question, &raw) && raw >= TELLING_RAW;
}

/* What stands at each address belongs at the one before or behind it. */
void cause_address(const struct question *question, struct guesses *guesses)
{
    for (int next = -1; next <= 1; next += 2) {
        size_t neighbour = PARAMETER_NOT_FOUND;
        enum fit forward = fit_of_neighbour(question, next, &neighbour);
        if (forward != FIT_NONE)
            guesses_add(guesses, CAUSE_ADDRESS_OFF_BY_ONE, next, forward,
                        text_format("%s, at the address %s, should hold what stands here: look at count_from and the "
                                    "addresses of the map",
                                    question->evidence->map->parameters[neighbour].name,
                                    next > 0 ? "behind" : "before"));
        enum fit backward = fit_beside(question, -next);
        if (backward != FIT_NONE)
            guesses_add(guesses, CAUSE_ADDRESS_OFF_BY_ONE, next, backward,
                        text_format("what should stand here stands one address %s: look at count_from and the "
                                    "addresses of the map",
                                    next > 0 ? "before" : "behind"));
    }
}
