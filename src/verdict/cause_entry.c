/* SPDX-License-Identifier: MIT */
/* Causes in how a value was entered, or that it never was. */
#include "verdict/cause_parts.h"

#include "bus/decode.h"
#include "motor/quantity.h"

#include <math.h>
#include <string.h>

static const struct parameter *parameter_of(const struct question *question)
{
    return &question->evidence->map->parameters[question->parameter];
}

void cause_identification(const struct question *question, struct guesses *guesses)
{
    if (!means_is_individual(question->means))
        return;
    const struct setpoint *setpoint = setpoints_find(question->evidence->setpoints, question->means);
    const char *sheet = setpoint == NULL || setpoint->word == NULL ? "" : setpoint->word;
    struct figure found = question_found(question);
    if (question->means == MEANS_DRIVE_SERIAL_NUMBER)
        guesses_add(guesses, CAUSE_DRIVE_EXCHANGED, 0, FIT_EXACT,
                    text_format("the sheet is for serial number %s, this drive has %s: it was exchanged, or the line "
                                "leads to another drive",
                                sheet, found.text));
    else
        guesses_add(guesses, CAUSE_FIRMWARE_CHANGED, 0, FIT_EXACT,
                    text_format("the sheet is for firmware %s, this drive has %s", sheet, found.text));
}

static bool is_default(const struct question *question, const struct parameter *parameter)
{
    const struct value *found = &question->finding->found;
    uint32_t raw = 0;
    if (parameter->default_word != NULL && found->kind == VALUE_WORD)
        return strcmp(found->text, parameter->default_word) == 0;
    if (!parameter->default_value.given)
        return false;
    if (found->kind == VALUE_BOOL)
        return found->truth == (parameter->default_value.value != 0);
    if (found->kind == VALUE_WORD && parameter->default_value.unit == UNIT_NONE)
        return reading_raw(question->evidence->map, question->evidence->readings, question->parameter, &raw) &&
               raw == parameter->default_value.value;
    return question_fit(question, band_exact(question_of_parameter(question, &parameter->default_value))) == FIT_EXACT;
}

void cause_default(const struct question *question, struct guesses *guesses)
{
    if (!means_is_individual(question->means) && is_default(question, parameter_of(question)))
        guesses_add(guesses, CAUSE_FACTORY_DEFAULT, 0, FIT_EXACT,
                    text_format("%s is the factory default", question_found(question).text));
}

/* Nothing, or all bits, in a register whose default the map does not tell. */
void cause_never_set(const struct question *question, struct guesses *guesses)
{
    const struct parameter *parameter = parameter_of(question);
    bool is_word = question->finding->found.kind == VALUE_WORD && parameter->choices.count > 0;
    uint32_t raw = 0;
    if (parameter->default_value.given || parameter->default_word != NULL || means_is_individual(question->means) ||
        (!is_word && isnan(question->found)) ||
        !reading_raw(question->evidence->map, question->evidence->readings, question->parameter, &raw))
        return;
    uint32_t all_ones = parameter->words == 2 ? UINT32_MAX : UINT16_MAX;
    if (raw == 0 || raw == all_ones)
        guesses_add(guesses, CAUSE_NEVER_SET, 0, FIT_EXACT,
                    text_format("%s is what a register holds that was never set (%s)", question_found(question).text,
                                raw == 0 ? "nothing" : "all bits"));
}

/* Two limits that belong together. */
struct pair {
    enum means low, high;
};

static const struct pair pairs[] = {
    {MEANS_LIMIT_MINIMUM_FREQUENCY, MEANS_LIMIT_MAXIMUM_FREQUENCY},
    {MEANS_ANALOG_LOW_FREQUENCY, MEANS_ANALOG_HIGH_FREQUENCY},
    {MEANS_ANALOG_LOW_SIGNAL, MEANS_ANALOG_HIGH_SIGNAL},
    {MEANS_LIMIT_CURRENT_BRAKING, MEANS_LIMIT_CURRENT_MOTORING},
};

/* What the other register should hold, as it would show in this one. */
static struct band in_unit_of(const struct question *question, const struct question *other)
{
    enum unit to = question->finding->unit, from = other->finding->unit;
    struct band due = other->expected;
    if (unit_dimension(to) != unit_dimension(from))
        return band_unknown();
    return (struct band){unit_from_base(unit_to_base(due.low, from), to),
                         unit_from_base(unit_to_base(due.nominal, from), to),
                         unit_from_base(unit_to_base(due.high, from), to)};
}

static void try_pair(const struct question *question, enum means partner, struct guesses *guesses)
{
    const struct evidence *evidence = question->evidence;
    size_t index = map_find_means(evidence->map, partner, parameter_of(question)->set);
    if (index == PARAMETER_NOT_FOUND || evidence->of_parameter[index] == NULL)
        return;
    struct question other = question_start(evidence, evidence->of_parameter[index], index);
    if (!question_has_band(&other))
        return;
    enum fit here = question_fit(question, in_unit_of(question, &other));
    enum fit there = question_fit(&other, in_unit_of(&other, question));
    enum fit fit = here < there ? here : there;
    if (fit != FIT_NONE)
        guesses_add(guesses, CAUSE_LIMITS_EXCHANGED, (int)partner, fit,
                    text_format("%s belongs in %s, which holds %s: the two are exchanged",
                                question_found(question).text, evidence->map->parameters[index].name,
                                question_found(&other).text));
}

void cause_limits(const struct question *question, struct guesses *guesses)
{
    if (!question_has_band(question))
        return;
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        if (question->means == pairs[i].low)
            try_pair(question, pairs[i].high, guesses);
        else if (question->means == pairs[i].high)
            try_pair(question, pairs[i].low, guesses);
}

/* A point that slipped. */
struct shift {
    double factor;
    const char *word;
};

static const struct shift shifts[] = {
    {10, "ten times"},        {0.1, "a tenth of"},  {100, "a hundred times"},
    {0.01, "a hundredth of"}, {1000, "1000 times"}, {0.001, "a thousandth of"},
};

void cause_decimal(const struct question *question, struct guesses *guesses)
{
    if (!question_has_band(question) || question->found == 0 || means_is_individual(question->means) ||
        question_is_vague(question, 10))
        return;
    for (size_t i = 0; i < sizeof shifts / sizeof shifts[0]; i++) {
        enum fit fit = question_fit(question, question_scaled(question, shifts[i].factor));
        if (fit != FIT_NONE)
            guesses_add(guesses, CAUSE_DECIMAL_SHIFT, 0, fit,
                        text_format("%s is %s %s: the decimal point slipped", question_found(question).text,
                                    shifts[i].word, question_due(question).text));
    }
}

/* The number of a bound in the finding's unit; NAN where there is none, or it is not known. */
static double bound_number(const struct question *question, const struct bound *bound)
{
    const struct evidence *evidence = question->evidence;
    size_t index = PARAMETER_NOT_FOUND;
    switch (bound->kind) {
    case BOUND_NONE:
        return NAN;
    case BOUND_VALUE:
        return question_of_parameter(question, &bound->value);
    case BOUND_MEANS:
        index = map_find_means(evidence->map, bound->means, parameter_of(question)->set);
        break;
    }
    if (index == PARAMETER_NOT_FOUND)
        return NAN;
    const struct reading *reading = &evidence->readings->items[index];
    enum unit unit = question->finding->unit;
    if (reading->value.kind != VALUE_NUMBER || unit_dimension(reading->unit) != unit_dimension(unit))
        return NAN;
    return unit_from_base(unit_to_base(reading->value.number, reading->unit), unit);
}

static void truncated_at(const struct question *question, double end, bool is_high, struct guesses *guesses)
{
    bool beyond = is_high ? question->expected.low > end : question->expected.high < end;
    if (beyond && question_fit(question, band_exact(end)) == FIT_EXACT)
        guesses_add(guesses, CAUSE_TRUNCATED_TO_RANGE, 0, FIT_EXACT,
                    text_format("%s is the %s that the register takes; %s lies beyond", question_found(question).text,
                                is_high ? "most" : "least", question_due(question).text));
}

/* The largest and smallest count of a type, and where a count that is too large wraps around. */
struct type_range {
    double least, most;
    uint32_t mask;
};

static struct type_range range_of(enum value_type type)
{
    switch (type) {
    case TYPE_U16:
        return (struct type_range){0, UINT16_MAX, UINT16_MAX};
    case TYPE_S16:
        return (struct type_range){INT16_MIN, INT16_MAX, UINT16_MAX};
    case TYPE_U32:
    case TYPE_S32:
        return (struct type_range){type == TYPE_U32 ? 0 : INT32_MIN, type == TYPE_U32 ? UINT32_MAX : INT32_MAX,
                                   UINT16_MAX};
    case TYPE_F32:
    case TYPE_BITS:
    case TYPE_TEXT:
    case TYPE_BOOL:
        break;
    }
    return (struct type_range){-INFINITY, INFINITY, 0};
}

/* 70000 in 16 bits is 4464; a 32-bit value of which only the low word was written is the same. */
static void wrapped(const struct question *question, double count, uint32_t mask, struct guesses *guesses)
{
    uint32_t raw = 0;
    if (isnan(count) || count <= UINT16_MAX || count > UINT32_MAX || mask == 0 ||
        !reading_raw(question->evidence->map, question->evidence->readings, question->parameter, &raw) ||
        raw != ((uint32_t)llround(count) & mask))
        return;
    guesses_add(guesses, CAUSE_TRUNCATED_TO_RANGE, 0, FIT_EXACT,
                text_format("%s is what the low 16 bits hold of %s: its count of %.0f does not fit into one word",
                            question_found(question).text, question_due(question).text, round(count)));
}

void cause_truncated(const struct question *question, struct guesses *guesses)
{
    const struct parameter *parameter = parameter_of(question);
    double scale, offset;
    if (!question_has_band(question) || means_is_individual(question->means) || parameter->choices.count > 0)
        return;
    truncated_at(question, bound_number(question, &parameter->accepts_high), true, guesses);
    truncated_at(question, bound_number(question, &parameter->accepts_low), false, guesses);
    if (!question_line(question, &scale, &offset) || scale <= 0)
        return;
    struct type_range range = range_of(parameter->type);
    truncated_at(question, range.most * scale + offset, true, guesses);
    truncated_at(question, range.least * scale + offset, false, guesses);
    wrapped(question, (question->expected.nominal - offset) / scale, range.mask, guesses);
}
