/* SPDX-License-Identifier: MIT */
/* The words of a register that hold a setpoint. */
#include "bus/codec.h"
#include "change/list_parts.h"
#include "motor/show.h"
#include "verdict/expect.h"
#include "verdict/judge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A band's ends are products and quotients of decimals. */
static const double ARITHMETIC = 1e-9;

/* One parameter on its way to a new raw value. */
struct target {
    struct listing *listing;
    const struct parameter *parameter;
    size_t index;
    double scale, offset;   /* of its numbers as decoded: selectors and a percentage's base are in them */
    double low, high, goal; /* in `unit`, without the register's own half step */
    bool has_nominal;
    enum unit unit;
    double step;
};

static const struct reading *try_raw(const struct target *target, uint32_t raw)
{
    uint16_t words[2];
    codec_words(raw, target->parameter->words, target->listing->order->map->modbus.word_order, words);
    return trial_put(&target->listing->trial, target->index, words, target->parameter->words);
}

/* A raw value that stands for a number on the register's line, and for nothing else. */
static const struct reading *try_number(const struct target *target, uint32_t raw)
{
    if (codec_find(&target->parameter->special, raw) != NULL)
        return NULL;
    const struct reading *reading = try_raw(target, raw);
    bool is_number = reading->symptom.kind == SYMPTOM_NONE && reading->value.kind == VALUE_NUMBER;
    return is_number ? reading : NULL;
}

/* The first count from `from` on whose raw value stands for a number. */
static const struct reading *first_number(const struct target *target, double from, double *count)
{
    size_t most = target->parameter->special.count + target->parameter->no_value.count;
    const struct reading *reading = NULL;
    for (size_t i = 0; i <= most && reading == NULL; i++) {
        uint32_t raw = 0;
        *count = from + (double)i;
        if (codec_encode(target->parameter->type, *count, 1, 0, &raw))
            reading = try_number(target, raw);
    }
    return reading;
}

/* Two numbers tell the line that a register's counts lie on: scale, offset, selectors and a percentage's base at once,
 * as decoding has them. Leaves the trial at a number. */
static bool find_line(struct target *target)
{
    bool is_wide = target->parameter->words == 2 && target->parameter->type != TYPE_F32;
    double far = 0, near = 0;
    const struct reading *reading = first_number(target, is_wide ? 1e9 : 1e4, &far);
    if (reading == NULL)
        return false;
    double far_number = reading->value.number;
    reading = first_number(target, 1, &near);
    if (reading == NULL)
        return false;
    target->scale = (far_number - reading->value.number) / (far - near);
    target->offset = reading->value.number - target->scale * near;
    return target->scale != 0;
}

/* The number to come near to: the nominal one, else the band's end that is nearest to what the register holds now. */
static bool find_goal(struct target *target, const struct expectation *expectation, const struct reading *now)
{
    const struct expected *expected = &expectation->expected;
    target->unit = expectation->unit;
    target->step = expectation->step;
    target->low = expected->low + expectation->step / 2;
    target->high = expected->high - expectation->step / 2;
    target->has_nominal = isfinite(expected->nominal);
    bool is_number = now->value.kind == VALUE_NUMBER && now->unit == expectation->unit;
    if (target->has_nominal)
        target->goal = expected->nominal;
    else if (is_number)
        target->goal = fmin(fmax(now->value.number, target->low), target->high);
    else
        target->goal = isinf(target->high) ? target->low : target->high;
    return target->has_nominal || is_number || isinf(target->low) || isinf(target->high);
}

static bool is_inside(const struct target *target, double number)
{
    double slack = ARITHMETIC * fabs(number);
    return number >= target->low - slack && number <= target->high + slack;
}

/* The nearest raw value; of a band without nominal one inside goes before a nearer one outside. */
static bool find_nearest(const struct target *target, uint32_t *raw)
{
    static const double steps[] = {0, -1, 1};
    bool found = false, found_inside = false;
    double nearest = INFINITY;
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        uint32_t candidate = 0;
        double near = target->goal + steps[i] * fabs(target->scale);
        if ((target->parameter->type == TYPE_F32 && i > 0) ||
            !codec_encode(target->parameter->type, near, target->scale, target->offset, &candidate))
            continue;
        const struct reading *reading = try_number(target, candidate);
        if (reading == NULL)
            continue;
        double distance = fabs(reading->value.number - target->goal);
        bool inside = target->has_nominal || is_inside(target, reading->value.number);
        if (found && (inside == found_inside ? distance >= nearest : found_inside))
            continue;
        found = true;
        found_inside = inside;
        nearest = distance;
        *raw = candidate;
    }
    return found;
}

static bool encode_number(struct target *target, uint32_t *raw, char **why)
{
    const struct change_order *order = target->listing->order;
    if (!find_line(target)) {
        *why = text_copy("nothing tells what its numbers are worth: set it at the keypad");
        return false;
    }
    struct expectation expectation;
    expect_parameter(order->map, target->index, order->setpoints, &target->listing->trial.readings, &expectation);
    bool fine = find_goal(target, &expectation, &order->readings->items[target->index]) && isfinite(target->goal);
    if (!fine)
        *why = text_copy("the job asks for a range, and nothing tells which number of it: say one in the sheet");
    else if (!(fine = find_nearest(target, raw))) {
        char *shown = show_number(target->goal, target->unit, target->step);
        *why = text_format("the register cannot hold %s: set what it can at the keypad", shown);
        free(shown);
    }
    expectation_free(&expectation);
    return fine;
}

static bool encode_word(const struct target *target, const struct expected *expected, uint32_t *raw, char **why)
{
    const struct parameter *parameter = target->parameter;
    for (size_t i = 0; i < expected->one_of.count; i++) {
        const char *word = expected->one_of.items[i];
        if (codec_find_word(&parameter->choices, word, raw) || codec_find_word(&parameter->special, word, raw))
            return true;
        if (parameter->type != TYPE_BOOL || parameter->choices.count > 0)
            continue;
        *raw = strcmp(word, "true") == 0;
        return true;
    }
    char *words = texts_join(&expected->one_of, ", ");
    *why = text_format("the map has no raw value for '%s': add it to the map, or set it at the keypad", words);
    free(words);
    return false;
}

/* Decoded again, the new words must agree with the setpoint: else a value between two steps, or one that stands for a
 * word, would be written in vain. */
static bool agrees(const struct target *target, uint32_t raw, char **why)
{
    const struct change_order *order = target->listing->order;
    const struct reading *reading = try_raw(target, raw);
    struct finding finding = {0};
    judge_parameter(order->map, target->index, order->setpoints, &target->listing->trial.readings, &finding);
    bool agrees = finding.verdict == VERDICT_AGREES;
    if (!agrees) {
        char *shown = show_value(&reading->value, reading->unit, reading->step);
        *why = text_format("the register cannot hold what is asked for (%s); the nearest that it has is %s",
                           finding.basis == NULL ? "" : finding.basis, shown);
        free(shown);
    }
    finding_free(&finding);
    return agrees;
}

bool listing_encode(struct listing *listing, size_t parameter, uint16_t *words, char **why)
{
    const struct change_order *order = listing->order;
    struct target target = {.listing = listing, .index = parameter, .parameter = listing_parameter(listing, parameter)};
    struct expectation expectation;
    expect_parameter(order->map, parameter, order->setpoints, order->readings, &expectation);
    uint32_t raw = 0;
    bool fine = expectation.expected.kind == EXPECTED_ONE_OF ? encode_word(&target, &expectation.expected, &raw, why)
                                                             : encode_number(&target, &raw, why);
    fine = fine && agrees(&target, raw, why);
    codec_words(raw, target.parameter->words, order->map->modbus.word_order, words);
    expectation_free(&expectation);
    return fine;
}
