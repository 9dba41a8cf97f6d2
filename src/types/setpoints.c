/* SPDX-License-Identifier: MIT */
/* Looking up and freeing of setpoints. */
#include "types/setpoints.h"

#include <stdlib.h>
#include <string.h>

const struct setpoint *setpoints_find(const struct setpoints *setpoints, enum means means)
{
    for (size_t i = 0; i < setpoints->count; i++)
        if (means != MEANS_NONE && setpoints->items[i].means == means)
            return &setpoints->items[i];
    return NULL;
}

const struct setpoint *setpoints_find_parameter(const struct setpoints *setpoints, const char *parameter)
{
    for (size_t i = 0; i < setpoints->count; i++)
        if (setpoints->items[i].parameter != NULL && strcmp(setpoints->items[i].parameter, parameter) == 0)
            return &setpoints->items[i];
    return NULL;
}

const struct derivation *setpoints_derivation(const struct setpoints *setpoints, const char *of)
{
    for (size_t i = 0; i < setpoints->derivation_count; i++)
        if (strcmp(setpoints->derivations[i].of, of) == 0)
            return &setpoints->derivations[i];
    return NULL;
}

static void items_free(struct setpoint *items, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        free(items[i].parameter);
        free(items[i].word);
        free(items[i].basis);
        free(items[i].allow_because);
    }
    free(items);
}

void setpoints_free(struct setpoints *setpoints)
{
    items_free(setpoints->items, setpoints->count);
    items_free(setpoints->running.items, setpoints->running.count);
    for (size_t i = 0; i < setpoints->derivation_count; i++)
        free(setpoints->derivations[i].numbers);
    free(setpoints->derivations);
    free(setpoints->acceleration_basis);
    free(setpoints->deceleration_basis);
    findings_free(&setpoints->open);
    findings_free(&setpoints->implausible);
    findings_free(&setpoints->doubts);
    *setpoints = (struct setpoints){0};
}
