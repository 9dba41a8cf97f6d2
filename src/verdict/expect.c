/* SPDX-License-Identifier: MIT */
/* What a setpoint is in the terms of one register: its unit, its ramp's meaning, half of its step. */
#include "verdict/expect.h"

#include "bus/decode.h"
#include "motor/quantity.h"
#include "motor/ramp.h"

#include <math.h>
#include <stdlib.h>

/* One end of a band, or its middle, on its way from the setpoint's base unit to the register's unit. */
typedef double (*conversion)(double value, const void *how);

double setpoint_base(const struct setpoint *setpoint, double value)
{
    return means_table[setpoint->means].dimension == DIMENSION_NONE ? unit_to_base(value, setpoint->unit) : value;
}

static const struct setpoint *setpoint_of(const struct parameter *parameter, const struct setpoints *setpoints)
{
    const struct setpoint *named = setpoints_find_parameter(setpoints, parameter->name);
    return named != NULL ? named : setpoints_find(setpoints, parameter->means);
}

static bool is_ramp(enum means means)
{
    return means == MEANS_RAMP_ACCELERATION_TIME || means == MEANS_RAMP_DECELERATION_TIME;
}

static double rpm_per_hz(const struct derived *derived)
{
    return derived->synchronous_speed_rpm / derived->rated_frequency_hz;
}

struct ramp_terms {
    enum ramp_kind kind;
    double from_hz, to_hz, span_hz, rpm_per_hz;
    enum unit unit;
};

static double ramp_end(double time_s, const void *how)
{
    const struct ramp_terms *terms = how;
    bool is_rate = terms->kind == RAMP_RATE || terms->kind == RAMP_SPEED_RATE;
    if (is_rate && time_s <= 0) /* in no time at all is at any rate */
        return INFINITY;
    if (isinf(time_s)) /* an endless ramp is a rate of nothing */
        return is_rate ? 0 : time_s;
    double value =
        ramp_register_value(terms->kind, time_s, terms->from_hz, terms->to_hz, terms->span_hz, terms->rpm_per_hz);
    return unit_from_base(value, terms->unit);
}

/* What one base unit of the setpoint is in the base unit of the register. */
struct plain_terms {
    double factor;
    enum unit unit;
    const struct setpoint *setpoint;
};

static double plain_end(double value, const void *how)
{
    const struct plain_terms *terms = how;
    return unit_from_base(setpoint_base(terms->setpoint, value) * terms->factor, terms->unit);
}

static void no_expectation(struct expectation *expectation, char *reason)
{
    expectation->expected.kind = EXPECTED_NOTHING;
    expectation->reason = reason;
}

static void take_band(struct expectation *expectation, conversion convert, const void *how)
{
    const struct setpoint *setpoint = expectation->setpoint;
    double a = convert(setpoint->low, how), b = convert(setpoint->high, how);
    if (isnan(a) || isnan(b)) {
        no_expectation(expectation, text_copy("the sheet lacks what converts this into the register's unit"));
        return;
    }
    expectation->expected.kind = EXPECTED_RANGE;
    expectation->expected.nominal = convert(setpoint->nominal, how);
    expectation->expected.low = fmin(a, b) - expectation->step / 2;
    expectation->expected.high = fmax(a, b) + expectation->step / 2;
    double at = isfinite(setpoint->nominal) ? setpoint->nominal : isinf(setpoint->low) ? setpoint->high : setpoint->low;
    if (setpoint->allow_because != NULL)
        expectation->allow_within = fabs(convert(at + setpoint->allow_within, how) - convert(at, how));
}

static void expect_ramp(const struct map *map, const struct parameter *parameter, const struct setpoints *setpoints,
                        const struct readings *readings, struct expectation *expectation)
{
    const struct ramp_span *span = &parameter->ramp_span;
    if (parameter->ramp_kind == RAMP_TIME && !span->given) {
        no_expectation(expectation, text_copy("the map does not say what this time spans (ramp_span)"));
        return;
    }
    struct ramp_terms terms = {.kind = parameter->ramp_kind,
                               .from_hz = expectation->setpoint->ramp_from_hz,
                               .to_hz = expectation->setpoint->ramp_to_hz,
                               .rpm_per_hz = rpm_per_hz(&setpoints->derived),
                               .unit = expectation->unit};
    if (parameter->ramp_kind == RAMP_TIME) {
        uint32_t raw = 0;
        bool known = span->by.given && readings != NULL && reading_raw(map, readings, span->by.parameter, &raw);
        terms.span_hz = ramp_span_hz(span, setpoints, known, raw);
        if (isnan(terms.span_hz)) {
            no_expectation(expectation, span->by.given
                                            ? text_format("what this time spans is selected by %s, which is not known",
                                                          map->parameters[span->by.parameter].name)
                                            : text_copy("the sheet lacks what this time spans"));
            return;
        }
    }
    take_band(expectation, ramp_end, &terms);
}

static bool word_is_number(const char *word, double number)
{
    double value, rounding;
    return number_parse(word, false, &value, &rounding, NULL) && value == number;
}

/* A number that is due in a register of choices: the choice whose word is that number, else the choice of that raw
 * value. */
static void expect_choice_number(const struct parameter *parameter, struct expectation *expectation)
{
    double number = expectation->setpoint->nominal;
    const struct named_raws *choices = &parameter->choices;
    expectation->expected.kind = EXPECTED_ONE_OF;
    if (isnan(number)) {
        no_expectation(expectation, text_copy("a range is asked for, and the register holds a choice"));
        return;
    }
    for (size_t i = 0; i < choices->count; i++)
        if (word_is_number(choices->items[i].word, number)) {
            texts_add(&expectation->expected.one_of, text_copy(choices->items[i].word));
            return;
        }
    for (size_t i = 0; i < choices->count && expectation->setpoint->source == SOURCE_JOB; i++)
        if ((double)choices->items[i].raw == number) {
            texts_add(&expectation->expected.one_of, text_copy(choices->items[i].word));
            return;
        }
    char shown[32];
    no_expectation(expectation,
                   text_format("none of its choices stands for %s", number_format(number, 0, shown, sizeof shown)));
}

/* The word or number that a job gives for a register of one bit. */
static void expect_bool(struct expectation *expectation)
{
    static const char *const yes[] = {"true", "yes", "on", NULL}, *const no[] = {"false", "no", "off", NULL};
    const struct setpoint *setpoint = expectation->setpoint;
    bool is_word = setpoint->kind == SETPOINT_WORD;
    bool truth = is_word ? text_is_one_of(setpoint->word, yes) : setpoint->nominal == 1;
    if (!truth && !(is_word ? text_is_one_of(setpoint->word, no) : setpoint->nominal == 0)) {
        no_expectation(expectation, text_copy("the register holds one bit, which is asked for as true or false"));
        return;
    }
    expectation->expected.kind = EXPECTED_ONE_OF;
    texts_add(&expectation->expected.one_of, text_copy(truth ? "true" : "false"));
}

/* The unit and step that the register has now: those of the number that was read, else what the map alone says. */
static void take_unit(const struct map *map, size_t index, const struct readings *readings,
                      struct expectation *expectation)
{
    const struct parameter *parameter = &map->parameters[index];
    if (readings != NULL && readings->items[index].value.kind == VALUE_NUMBER) {
        expectation->unit = readings->items[index].unit;
        expectation->step = readings->items[index].step;
    } else if (parameter->unit_by.given || parameter->scale_by.given || parameter->is_percent) {
        expectation->unit =
            parameter->unit_by.given || parameter->is_percent ? expectation->setpoint->unit : parameter->unit;
    } else {
        expectation->unit = parameter->unit;
        expectation->step = parameter->type == TYPE_F32 ? 0 : fabs(parameter->scale);
    }
}

/* Slip is computed in Hz; registers also hold it as rpm, or as a share of synchronous speed. NAN: not to be converted.
 */
static double factor_between(enum means means, enum dimension from, enum dimension to, const struct derived *derived)
{
    if (from == to)
        return 1;
    if (means == MEANS_MOTOR_RATED_SLIP && to == DIMENSION_SPEED)
        return rpm_per_hz(derived);
    if (means == MEANS_MOTOR_RATED_SLIP && to == DIMENSION_RATIO)
        return 1 / derived->rated_frequency_hz;
    return NAN;
}

static void expect_number(const struct map *map, const struct parameter *parameter, const struct setpoints *setpoints,
                          const struct readings *readings, struct expectation *expectation)
{
    const struct setpoint *setpoint = expectation->setpoint;
    enum dimension from = means_table[setpoint->means].dimension;
    if (from == DIMENSION_NONE)
        from = unit_dimension(setpoint->unit);
    enum dimension to = unit_dimension(expectation->unit);
    struct plain_terms terms = {.factor = factor_between(setpoint->means, from, to, &setpoints->derived),
                                .unit = expectation->unit,
                                .setpoint = setpoint};
    if (is_ramp(setpoint->means))
        expect_ramp(map, parameter, setpoints, readings, expectation);
    else
        take_band(expectation, plain_end, &terms);
}

static bool holds_number(const struct parameter *parameter)
{
    bool is_number = parameter->type != TYPE_TEXT && parameter->type != TYPE_BOOL && parameter->type != TYPE_BITS;
    return is_number && parameter->choices.count == 0;
}

/* A serial number or firmware as stamped, for a register that holds a number: zeros in front are not in it. */
static void expect_digits(struct expectation *expectation)
{
    const char *word = expectation->setpoint->word;
    double number, rounding;
    while (word[0] == '0' && word[1] >= '0' && word[1] <= '9')
        word++;
    if (!number_parse(word, false, &number, &rounding, NULL)) {
        no_expectation(expectation, text_format("the sheet says '%s', and the register holds a number",
                                                expectation->setpoint->word));
        return;
    }
    expectation->expected = (struct expected){.kind = EXPECTED_RANGE,
                                              .low = number - expectation->step / 2,
                                              .nominal = number,
                                              .high = number + expectation->step / 2};
}

void expect_parameter(const struct map *map, size_t index, const struct setpoints *setpoints,
                      const struct readings *readings, struct expectation *expectation)
{
    const struct parameter *parameter = &map->parameters[index];
    *expectation = (struct expectation){.setpoint = setpoint_of(parameter, setpoints)};
    const struct setpoint *setpoint = expectation->setpoint;
    if (setpoint == NULL)
        return;
    take_unit(map, index, readings, expectation);
    if (setpoint->kind == SETPOINT_MISSING)
        no_expectation(expectation, text_copy(setpoint->basis));
    else if (parameter->type == TYPE_BITS)
        no_expectation(expectation, text_copy("the register holds a set of bits, which no setpoint asks for"));
    else if (parameter->type == TYPE_BOOL && parameter->choices.count == 0)
        expect_bool(expectation);
    else if (setpoint->kind == SETPOINT_WORD && means_is_individual(setpoint->means) && holds_number(parameter))
        expect_digits(expectation);
    else if (setpoint->kind == SETPOINT_WORD) {
        expectation->expected.kind = EXPECTED_ONE_OF;
        texts_add(&expectation->expected.one_of, text_copy(setpoint->word));
    } else if (parameter->choices.count > 0)
        expect_choice_number(parameter, expectation);
    else if (parameter->type == TYPE_TEXT)
        no_expectation(expectation, text_copy("a number is asked for, and the register holds a text"));
    else
        expect_number(map, parameter, setpoints, readings, expectation);
}

void expectation_free(struct expectation *expectation)
{
    texts_free(&expectation->expected.one_of);
    free(expectation->reason);
    *expectation = (struct expectation){0};
}
