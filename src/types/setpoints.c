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

void setpoints_free(struct setpoints *setpoints)
{
    for (size_t i = 0; i < setpoints->count; i++) {
        struct setpoint *setpoint = &setpoints->items[i];
        free(setpoint->parameter);
        free(setpoint->word);
        free(setpoint->basis);
        free(setpoint->allow_because);
    }
    free(setpoints->items);
    free(setpoints->acceleration_basis);
    free(setpoints->deceleration_basis);
    findings_free(&setpoints->open);
    findings_free(&setpoints->implausible);
    *setpoints = (struct setpoints){0};
}
