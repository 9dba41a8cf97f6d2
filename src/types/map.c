/* SPDX-License-Identifier: MIT */
/* Looking up and freeing of maps. */
#include "types/map.h"

#include <stdlib.h>
#include <string.h>

size_t map_find(const struct map *map, const char *name)
{
    for (size_t i = 0; i < map->count; i++)
        if (strcmp(map->parameters[i].name, name) == 0)
            return i;
    return PARAMETER_NOT_FOUND;
}

size_t map_find_means(const struct map *map, enum means means, unsigned set)
{
    for (size_t i = 0; i < map->count; i++) {
        const struct parameter *parameter = &map->parameters[i];
        if (parameter->means == means && (set == 0 || parameter->set == 0 || parameter->set == set))
            return i;
    }
    return PARAMETER_NOT_FOUND;
}

static void named_raws_free(struct named_raws *list)
{
    for (size_t i = 0; i < list->count; i++)
        free(list->items[i].word);
    free(list->items);
}

static void conditions_free(struct conditions *list)
{
    for (size_t i = 0; i < list->count; i++)
        free(list->items[i].raws.items);
    free(list->items);
}

static void parameter_free(struct parameter *parameter)
{
    free(parameter->name);
    free(parameter->default_word);
    named_raws_free(&parameter->choices);
    named_raws_free(&parameter->bits);
    named_raws_free(&parameter->special);
    free(parameter->no_value.items);
    conditions_free(&parameter->applies_when);
    conditions_free(&parameter->locked_by);
    free(parameter->unit_by.rows);
    free(parameter->scale_by.rows);
    free(parameter->ramp_span.by.rows);
    free(parameter->writing_changes);
}

void map_free(struct map *map)
{
    for (size_t i = 0; i < map->count; i++)
        parameter_free(&map->parameters[i]);
    free(map->parameters);
    for (size_t i = 0; i < map->identity_count; i++)
        free(map->identity[i].text);
    free(map->identity);
    free(map->modbus.closed);
    free(map->set_in_force.rows);
    free(map->path);
    free(map->name);
    free(map->about);
    *map = (struct map){0};
}
