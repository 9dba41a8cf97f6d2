/* SPDX-License-Identifier: MIT */
/* Live values of a drive whose motor turns, against what they should be then. */
#include "verdict/live.h"

#include "motor/quantity.h"
#include "motor/running.h"
#include "motor/running_motor.h"
#include "verdict/judge.h"

#include <stdlib.h>
#include <string.h>

static const enum means wanted[] = {MEANS_LIVE_STATE,          MEANS_LIVE_OUTPUT_FREQUENCY, MEANS_LIVE_OUTPUT_VOLTAGE,
                                    MEANS_LIVE_OUTPUT_CURRENT, MEANS_LIVE_OUTPUT_POWER,     MEANS_LIVE_SPEED,
                                    MEANS_LIVE_TORQUE,         MEANS_LIVE_DC_BUS_VOLTAGE};

bool running_wants(enum means means)
{
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        if (wanted[i] == means)
            return true;
    return false;
}

static bool says_running(const struct value *state)
{
    static const char running[] = "running";
    if (state->kind == VALUE_WORD)
        return strcmp(state->text, running) == 0;
    for (size_t i = 0; state->kind == VALUE_BITS && i < state->words.count; i++)
        if (strcmp(state->words.items[i], running) == 0)
            return true;
    return false;
}

/* The reading of that means that counts now, or NULL. What could not be read has no value. */
static const struct reading *reading_of(const struct map *map, const struct readings *readings, enum means means)
{
    for (size_t i = 0; i < map->count; i++) {
        const struct reading *reading = &readings->items[i];
        if (map->parameters[i].means == means && reading->asked && reading->in_force)
            return reading;
    }
    return NULL;
}

/* What follows from the frequency of the same pass. */
enum { AT_FREQUENCY_MOST = 1 + RUNNING_MOTOR_MOST };

static size_t expect_at_frequency(const struct map *map, const struct setpoints *setpoints,
                                  const struct readings *readings, struct setpoint items[AT_FREQUENCY_MOST])
{
    const struct reading *frequency = reading_of(map, readings, MEANS_LIVE_OUTPUT_FREQUENCY);
    if (frequency == NULL || frequency->value.kind != VALUE_NUMBER ||
        unit_dimension(frequency->unit) != DIMENSION_FREQUENCY)
        return 0;
    double frequency_hz = unit_to_base(frequency->value.number, frequency->unit);
    size_t count = running_motor(&setpoints->running, frequency_hz, items);
    return count + (running_voltage(&setpoints->running, frequency_hz, &items[count]) ? 1 : 0);
}

static bool judge_live(const struct map *map, size_t index, struct setpoint *items, size_t count,
                       const struct setpoints *setpoints, const struct readings *readings, struct findings *findings)
{
    const struct setpoints live = {.items = items, .count = count, .derived = setpoints->derived};
    if (setpoints_find(&live, map->parameters[index].means) == NULL)
        return false;
    judge_parameter(map, index, &live, readings, findings_add(findings));
    return true;
}

void judge_running(const struct map *map, const struct setpoints *setpoints, const struct readings *readings,
                   struct findings *findings)
{
    const struct running *running = &setpoints->running;
    const struct reading *state = reading_of(map, readings, MEANS_LIVE_STATE);
    if (state == NULL || !says_running(&state->value))
        return;
    struct setpoint items[AT_FREQUENCY_MOST];
    size_t count = expect_at_frequency(map, setpoints, readings, items);
    for (size_t i = 0; i < map->count; i++) {
        const struct reading *reading = &readings->items[i];
        if (!reading->asked || reading->symptom.kind != SYMPTOM_NONE)
            continue;
        /* What follows from the frequency tells more than what holds at any. */
        if (!judge_live(map, i, items, count, setpoints, readings, findings))
            (void)judge_live(map, i, running->items, running->count, setpoints, readings, findings);
    }
    for (size_t i = 0; i < count; i++)
        free(items[i].basis);
}
