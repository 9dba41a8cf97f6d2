/* SPDX-License-Identifier: MIT */
/* Sets of a map's parameters, and their closure under "decides". */
#include "visit/wanted.h"

#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

bool wanted_has(const struct wanted *wanted, size_t parameter)
{
    for (size_t i = 0; i < wanted->count; i++)
        if (wanted->items[i] == parameter)
            return true;
    return false;
}

void wanted_add(struct wanted *wanted, size_t parameter)
{
    if (wanted_has(wanted, parameter))
        return;
    wanted->items = memory_grow(wanted->items, wanted->count, sizeof *wanted->items);
    size_t at = wanted->count++;
    for (; at > 0 && wanted->items[at - 1] > parameter; at--)
        wanted->items[at] = wanted->items[at - 1];
    wanted->items[at] = parameter;
}

void wanted_add_values(struct wanted *wanted, const struct map *map)
{
    for (size_t i = 0; i < map->count; i++)
        if (map->parameters[i].kind != KIND_COMMAND)
            wanted_add(wanted, i);
}

void wanted_free(struct wanted *wanted)
{
    free(wanted->items);
    *wanted = (struct wanted){0};
}

static void add_conditions(struct wanted *wanted, const struct conditions *conditions)
{
    for (size_t i = 0; i < conditions->count; i++)
        wanted_add(wanted, conditions->items[i].parameter);
}

static void add_selector(struct wanted *wanted, const struct selector *selector)
{
    if (selector->given)
        wanted_add(wanted, selector->parameter);
}

/* All that may hold that means for the parameter: which of them is in force is known only once they are read. */
static void add_sources(struct wanted *wanted, const struct map *map, const struct parameter *parameter,
                        enum means means)
{
    for (size_t i = 0; i < map->count && means != MEANS_NONE; i++) {
        const struct parameter *other = &map->parameters[i];
        bool same_set = parameter->set == 0 || other->set == 0 || other->set == parameter->set;
        if (other->means == means && same_set)
            wanted_add(wanted, i);
    }
}

static void add_deciders(struct wanted *wanted, const struct map *map, const struct parameter *parameter)
{
    add_selector(wanted, &parameter->unit_by);
    add_selector(wanted, &parameter->scale_by);
    add_selector(wanted, &parameter->ramp_span.by);
    add_conditions(wanted, &parameter->applies_when);
    add_conditions(wanted, &parameter->locked_by);
    if (parameter->set != 0 && map->set_in_force.given)
        wanted_add(wanted, map->set_in_force.parameter);
    if (parameter->is_percent && parameter->base == BASE_REGISTER)
        add_sources(wanted, map, parameter, parameter->percent_of);
    for (size_t i = 0; i < parameter->special.count; i++)
        add_sources(wanted, map, parameter, parameter->special.items[i].same_as);
}

void wanted_close(struct wanted *wanted, const struct map *map)
{
    for (size_t before = 0; before != wanted->count;) {
        before = wanted->count;
        struct wanted now = {.items = memory_new(before, sizeof *now.items), .count = before};
        memcpy(now.items, wanted->items, before * sizeof *now.items);
        for (size_t i = 0; i < now.count; i++)
            add_deciders(wanted, map, &map->parameters[now.items[i]]);
        wanted_free(&now);
    }
}
