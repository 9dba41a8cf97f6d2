/* SPDX-License-Identifier: MIT */
/* Questions: what was due and what was found, and whether a mistake fits; and the list of guesses. */
#include "verdict/cause_parts.h"

#include "bus/codec.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Candidates are products and quotients of decimals: this much is arithmetic. */
static const double ARITHMETIC = 1e-9;

static struct band band_due(const struct finding *finding, double step)
{
    const struct expected *expected = &finding->expected;
    if (expected->kind != EXPECTED_RANGE)
        return band_unknown();
    double widened = step / 2 + finding->allow_within;
    double low = expected->low + widened, high = expected->high - widened;
    if (isfinite(low) && isfinite(high))
        return (struct band){fmin(low, high), expected->nominal, fmax(low, high)};
    double bound = isfinite(expected->nominal) ? expected->nominal : isfinite(low) ? low : high;
    return isfinite(bound) ? band_exact(bound) : band_unknown();
}

/* "sheet.motor.rated_speed", "sheet.settings.limit.current" and "motor.rated_speed" by the means in them. */
static enum means means_of(const char *name)
{
    static const char sheet[] = "sheet.", settings[] = "settings.";
    if (name == NULL)
        return MEANS_NONE;
    if (strncmp(name, sheet, strlen(sheet)) == 0)
        name += strlen(sheet);
    if (strncmp(name, settings, strlen(settings)) == 0)
        name += strlen(settings);
    for (int means = MEANS_NONE + 1; means < MEANS_COUNT; means++)
        if (strcmp(means_table[means].name, name) == 0)
            return (enum means)means;
    return MEANS_NONE;
}

struct question question_start(const struct evidence *evidence, const struct finding *finding, size_t parameter)
{
    bool of_sheet = parameter == PARAMETER_NOT_FOUND;
    double step = of_sheet ? 0 : finding->step;
    return (struct question){
        .evidence = evidence,
        .finding = finding,
        .parameter = parameter,
        .means = of_sheet ? means_of(finding->means) : evidence->map->parameters[parameter].means,
        .expected = band_due(finding, step),
        .found = finding->found.kind == VALUE_NUMBER ? finding->found.number : NAN,
        .step = step,
    };
}

bool question_has_band(const struct question *question)
{
    return !isnan(question->expected.low) && !isnan(question->expected.high) && !isnan(question->found);
}

static double half_step(double step, double value)
{
    return step / 2 + ARITHMETIC * fabs(value);
}

enum fit question_fit(const struct question *question, struct band candidate)
{
    double found = question->found, half = half_step(question->step, found);
    if (fabs(found - candidate.nominal) <= half)
        return FIT_EXACT;
    return found >= candidate.low - half && found <= candidate.high + half ? FIT_ROUNDED : FIT_NONE;
}

bool question_is_vague(const struct question *question, double factor)
{
    double a = fabs(question->expected.low), b = fabs(question->expected.high);
    return !(fmax(a, b) < sqrt(factor) * fmin(a, b));
}

struct band question_scaled(const struct question *question, double factor)
{
    struct band due = question->expected;
    double a = due.low * factor, b = due.high * factor;
    return (struct band){fmin(a, b), due.nominal * factor, fmax(a, b)};
}

struct figure question_shown(const struct question *question, double value)
{
    struct figure shown;
    char number[32];
    enum unit unit = question->finding->unit;
    const struct parameter *parameters = question->evidence->map->parameters;
    /* the step of a float has more digits than anybody typed in */
    bool is_float = question->parameter != PARAMETER_NOT_FOUND && parameters[question->parameter].type == TYPE_F32;
    double step = is_float ? 0 : question->finding->step;
    (void)snprintf(shown.text, sizeof shown.text, "%s%s%s", number_format(value, step, number, sizeof number),
                   unit == UNIT_NONE ? "" : " ", unit_name(unit));
    return shown;
}

struct figure question_found(const struct question *question)
{
    struct figure shown;
    const struct value *found = &question->finding->found;
    if (found->kind == VALUE_NUMBER)
        return question_shown(question, found->number);
    const char *word = found->kind == VALUE_BOOL ? (found->truth ? "true" : "false") : found->text;
    (void)snprintf(shown.text, sizeof shown.text, "%.40s", word == NULL ? "" : word);
    return shown;
}

struct figure question_due(const struct question *question)
{
    struct band due = question->expected;
    double value = !isnan(due.nominal) ? due.nominal : question->found < due.low ? due.low : due.high;
    enum unit unit = question->finding->unit;
    struct figure shown = figure(value);
    if (unit != UNIT_NONE)
        shown = figure_in(unit_to_base(value, unit), unit);
    return shown;
}

bool question_line(const struct question *question, double *scale, double *offset)
{
    const struct parameter *parameter = &question->evidence->map->parameters[question->parameter];
    double step = question->evidence->readings->items[question->parameter].step;
    *scale = parameter->scale;
    *offset = parameter->offset;
    if (parameter->type == TYPE_F32 || step == 0)
        return !parameter->scale_by.given && !parameter->is_percent;
    if (parameter->scale_by.given && parameter->is_percent)
        return false;
    *scale = copysign(step, parameter->scale);
    if (parameter->is_percent)
        *offset = parameter->offset * step / fabs(parameter->scale);
    return true;
}

static bool number_of_raw(const struct question *question, enum value_type type, uint32_t raw, double *number,
                          double *step)
{
    double scale, offset;
    if (!question_line(question, &scale, &offset) || !codec_number(type, raw, scale, offset, number))
        return false;
    *step = codec_step(type, raw, scale);
    return true;
}

static enum fit fit_word(const struct question *question, uint32_t raw)
{
    const struct expected *expected = &question->finding->expected;
    const struct named_raw *row = codec_find(&question->evidence->map->parameters[question->parameter].choices, raw);
    for (size_t i = 0; row != NULL && row->word != NULL && i < expected->one_of.count; i++)
        if (strcmp(expected->one_of.items[i], row->word) == 0)
            return FIT_EXACT;
    return FIT_NONE;
}

enum fit question_fit_raw_as(const struct question *question, enum value_type type, uint32_t raw)
{
    const struct expected *expected = &question->finding->expected;
    double number, step;
    if (expected->kind == EXPECTED_ONE_OF)
        return fit_word(question, raw);
    if (expected->kind != EXPECTED_RANGE || type == TYPE_TEXT || type == TYPE_BITS || type == TYPE_BOOL ||
        !number_of_raw(question, type, raw, &number, &step))
        return FIT_NONE;
    double half = half_step(step, number);
    if (fabs(number - expected->nominal) <= half)
        return FIT_EXACT;
    return number >= question->expected.low - half && number <= question->expected.high + half ? FIT_ROUNDED : FIT_NONE;
}

enum fit question_fit_raw(const struct question *question, uint32_t raw)
{
    return question_fit_raw_as(question, question->evidence->map->parameters[question->parameter].type, raw);
}

double question_of_parameter(const struct question *question, const struct quantity *quantity)
{
    const struct parameter *parameter = &question->evidence->map->parameters[question->parameter];
    enum unit unit = question->finding->unit;
    if (quantity->unit == UNIT_NONE || quantity->unit == unit)
        return quantity->value;
    if (unit_dimension(quantity->unit) == unit_dimension(unit))
        return unit_from_base(quantity_base(quantity), unit);
    double scale, offset; /* of a percentage, in the unit of its base */
    if (parameter->is_percent && unit_dimension(quantity->unit) == DIMENSION_RATIO && !parameter->unit_by.given &&
        question_line(question, &scale, &offset))
        return unit_from_base(quantity_base(quantity), parameter->unit) * scale / parameter->scale;
    return NAN;
}

void guesses_add(struct guesses *guesses, enum cause_kind kind, int key, enum fit fit, char *text)
{
    for (size_t i = 0; i < guesses->count; i++) {
        struct guess *old = &guesses->items[i];
        if (old->kind != kind || old->key != key)
            continue;
        bool better = fit > old->fit;
        free(better ? old->text : text);
        old->text = better ? text : old->text;
        old->fit = better ? fit : old->fit;
        return;
    }
    guesses->items = memory_grow(guesses->items, guesses->count, sizeof *guesses->items);
    guesses->items[guesses->count++] = (struct guess){.kind = kind, .key = key, .fit = fit, .shared = 1, .text = text};
}
