/* SPDX-License-Identifier: MIT */
/* The setpoints in the terms of a map's registers, before any drive is asked. */
#include "verdict/worksheet.h"

#include "motor/quantity.h"
#include "verdict/expect.h"

#include <stdlib.h>

static void describe(struct finding *finding, const struct setpoint *setpoint)
{
    finding->verdict = VERDICT_UNCHECKED;
    finding->stake = setpoint->stake;
    finding->source = setpoint->kind == SETPOINT_MISSING ? SOURCE_NONE : setpoint->source;
    finding->allow_because = text_copy(setpoint->allow_because);
    if (setpoint->means != MEANS_NONE)
        finding->means = text_copy(means_table[setpoint->means].name);
}

static void of_parameter(const struct map *map, size_t index, struct expectation *expectation,
                         struct findings *findings)
{
    const struct parameter *parameter = &map->parameters[index];
    struct finding *finding = findings_add(findings);
    describe(finding, expectation->setpoint);
    finding->parameter = text_copy(parameter->name);
    finding->expected = expectation->expected; /* its words move over */
    expectation->expected = (struct expected){0};
    finding->unit = expectation->unit;
    finding->step = expectation->step;
    finding->allow_within = expectation->allow_within;
    bool missing = finding->expected.kind == EXPECTED_NOTHING;
    finding->basis = text_copy(missing ? expectation->reason : expectation->setpoint->basis);
    if (parameter->unit_by.given || parameter->scale_by.given || parameter->is_percent)
        finding->remark = text_copy("half a step of the register is added once the drive says how large it is");
}

static double as_written(const struct setpoint *setpoint, double value)
{
    return unit_from_base(setpoint_base(setpoint, value), setpoint->unit);
}

static void of_nobody(const struct setpoint *setpoint, struct findings *findings)
{
    struct finding *finding = findings_add(findings);
    describe(finding, setpoint);
    finding->unit = setpoint->unit;
    finding->basis = text_copy(setpoint->basis);
    finding->remark = text_copy("no parameter of the map holds it");
    if (setpoint->kind == SETPOINT_RANGE) {
        finding->expected = (struct expected){.kind = EXPECTED_RANGE,
                                              .low = as_written(setpoint, setpoint->low),
                                              .nominal = as_written(setpoint, setpoint->nominal),
                                              .high = as_written(setpoint, setpoint->high)};
        finding->allow_within = as_written(setpoint, setpoint->allow_within);
    } else if (setpoint->kind == SETPOINT_WORD) {
        finding->expected.kind = EXPECTED_ONE_OF;
        texts_add(&finding->expected.one_of, text_copy(setpoint->word));
    }
}

void worksheet(const struct map *map, const struct setpoints *setpoints, struct findings *findings)
{
    for (size_t i = 0; i < map->count; i++) {
        struct expectation expectation;
        expect_parameter(map, i, setpoints, NULL, &expectation);
        if (expectation.setpoint != NULL)
            of_parameter(map, i, &expectation, findings);
        expectation_free(&expectation);
    }
    for (size_t i = 0; i < setpoints->count; i++) {
        const struct setpoint *setpoint = &setpoints->items[i];
        if (setpoint->parameter == NULL && map_find_means(map, setpoint->means, 0) == PARAMETER_NOT_FOUND)
            of_nobody(setpoint, findings);
    }
}
