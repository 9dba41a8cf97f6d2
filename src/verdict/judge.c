/* SPDX-License-Identifier: MIT */
/* Setpoints against readings: what agrees, what differs, what is not known. */
#include "verdict/judge.h"

#include "motor/quantity.h"
#include "verdict/expect.h"
#include "verdict/live.h"

#include <math.h>
#include <string.h>

/* A band's ends are products and quotients of decimals: this much is arithmetic, not disagreement. */
static const double ARITHMETIC = 1e-9;

static bool is_identification(enum means means)
{
    return means == MEANS_DRIVE_MODEL || means_is_individual(means);
}

bool judge_wants(const struct parameter *parameter)
{
    if (parameter->kind == KIND_COMMAND || means_is_live(parameter->means) || is_identification(parameter->means))
        return false;
    return parameter->means != MEANS_NONE || parameter->settable != SETTABLE_NEVER;
}

bool judge_includes(const struct parameter *parameter, const struct setpoints *setpoints)
{
    return judge_wants(parameter) ||
           (is_identification(parameter->means) && setpoints_find(setpoints, parameter->means) != NULL);
}

bool judge_reads(const struct parameter *parameter, const struct setpoints *setpoints)
{
    return judge_includes(parameter, setpoints) || running_wants(parameter->means);
}

static bool within(const struct expected *expected, double found)
{
    double low = isinf(expected->low) ? 0 : fabs(expected->low); /* an open end has no size */
    double high = isinf(expected->high) ? 0 : fabs(expected->high);
    double slack = ARITHMETIC * fmax(low, high);
    return found >= expected->low - slack && found <= expected->high + slack;
}

/* The found value as the word that a choice is compared by. */
static const char *found_word(const struct value *found)
{
    switch (found->kind) {
    case VALUE_WORD:
    case VALUE_TEXT:
        return found->text;
    case VALUE_BOOL:
        return found->truth ? "true" : "false";
    case VALUE_NOTHING:
    case VALUE_NUMBER:
    case VALUE_BITS:
        return NULL;
    }
    return NULL;
}

static bool agrees(const struct expected *expected, const struct value *found)
{
    if (expected->kind == EXPECTED_RANGE)
        return found->kind == VALUE_NUMBER && within(expected, found->number);
    const char *word = found_word(found);
    for (size_t i = 0; word != NULL && i < expected->one_of.count; i++)
        if (strcmp(expected->one_of.items[i], word) == 0)
            return true;
    return false;
}

static void say(struct finding *finding, enum verdict verdict, char *basis)
{
    finding->verdict = verdict;
    finding->basis = basis;
}

/* The remark, which tells what stands against it, is the reason. */
static void say_not_in_force(struct finding *finding)
{
    char *reason = finding->remark;
    finding->remark = NULL;
    say(finding, VERDICT_UNCHECKED, reason);
}

/* What is at stake where the sheet says nothing: the means' own, and the process for a parameter without one. */
static void describe(struct finding *finding, const struct parameter *parameter, const struct reading *reading)
{
    finding->parameter = text_copy(parameter->name);
    if (parameter->means != MEANS_NONE)
        finding->means = text_copy(means_table[parameter->means].name);
    finding->stake = means_table[parameter->means].stake;
    finding->found = value_copy(&reading->value);
    finding->unit = reading->unit;
    finding->step = reading->step;
    finding->remark = text_copy(reading->remark);
    finding->symptom = reading->symptom;
    finding->raw_count = reading->raw_count;
    if (reading->raw_count > 0) {
        finding->raw = memory_new(reading->raw_count, sizeof *finding->raw);
        memcpy(finding->raw, reading->raw, reading->raw_count * sizeof *finding->raw);
    }
}

static void take_expectation(struct finding *finding, struct expectation *expectation)
{
    const struct setpoint *setpoint = expectation->setpoint;
    finding->expected = expectation->expected; /* its words move over */
    expectation->expected = (struct expected){0};
    finding->unit = expectation->unit;
    finding->step = expectation->step;
    finding->source = setpoint->kind == SETPOINT_MISSING ? SOURCE_NONE : setpoint->source;
    finding->stake = setpoint->stake;
    finding->allow_because = text_copy(setpoint->allow_because);
    finding->allow_within = expectation->allow_within;
}

void judge_parameter(const struct map *map, size_t index, const struct setpoints *setpoints,
                     const struct readings *readings, struct finding *finding)
{
    const struct parameter *parameter = &map->parameters[index];
    const struct reading *reading = &readings->items[index];
    describe(finding, parameter, reading);

    struct expectation expectation;
    expect_parameter(map, index, setpoints, readings, &expectation);
    if (expectation.setpoint != NULL)
        take_expectation(finding, &expectation);
    const char *basis = expectation.setpoint == NULL ? NULL : expectation.setpoint->basis;

    if (reading->symptom.kind != SYMPTOM_NONE)
        say(finding, VERDICT_UNREAD, text_copy(basis));
    else if (!reading->in_force)
        say_not_in_force(finding);
    else if (expectation.setpoint == NULL)
        say(finding, VERDICT_UNCHECKED, text_copy("the sheet does not say"));
    else if (finding->expected.kind == EXPECTED_NOTHING)
        say(finding, VERDICT_UNCHECKED, text_copy(expectation.reason));
    else if (parameter->tuned)
        say(finding, VERDICT_UNCHECKED, text_format("the drive finds it itself; %s", basis));
    else if (expectation.setpoint->source == SOURCE_ESTIMATE)
        say(finding, VERDICT_UNCHECKED, text_format("an estimate only: %s", basis));
    else
        say(finding, agrees(&finding->expected, &finding->found) ? VERDICT_AGREES : VERDICT_DIFFERS, text_copy(basis));
    expectation_free(&expectation);
}

static void copy_sheet_finding(struct finding *copy, const struct finding *finding)
{
    *copy = (struct finding){.verdict = finding->verdict,
                             .stake = finding->stake,
                             .expected = finding->expected,
                             .unit = finding->unit,
                             .step = finding->step,
                             .source = finding->source};
    copy->expected.one_of = (struct texts){0};
    for (size_t i = 0; i < finding->expected.one_of.count; i++)
        texts_add(&copy->expected.one_of, text_copy(finding->expected.one_of.items[i]));
    copy->means = text_copy(finding->means);
    copy->found = value_copy(&finding->found);
    copy->basis = text_copy(finding->basis);
    copy->remark = text_copy(finding->remark);
}

void judge(const struct map *map, const struct setpoints *setpoints, const struct readings *readings,
           struct findings *findings)
{
    for (size_t i = 0; i < map->count; i++)
        if (readings->items[i].asked && judge_includes(&map->parameters[i], setpoints))
            judge_parameter(map, i, setpoints, readings, findings_add(findings));
    judge_running(map, setpoints, readings, findings);
    for (size_t i = 0; i < setpoints->implausible.count; i++)
        copy_sheet_finding(findings_add(findings), &setpoints->implausible.items[i]);
    for (size_t i = 0; i < setpoints->open.count; i++)
        copy_sheet_finding(findings_add(findings), &setpoints->open.items[i]);
    for (size_t i = 0; i < setpoints->doubts.count; i++)
        copy_sheet_finding(findings_add(findings), &setpoints->doubts.items[i]);
}
