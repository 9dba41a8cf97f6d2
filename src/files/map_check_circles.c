/* SPDX-License-Identifier: MIT */
/* Parameters that need each other to be read: a selector is read before what depends on it, so none may go in circles.
 */
#include "files/map_reader.h"
#include "types/memory.h"

#include <stdlib.h>

enum visit { VISIT_NEW, VISIT_OPEN, VISIT_DONE };

/* The `which`-th parameter that this one needs, counted over all keys that name one; PARAMETER_NOT_FOUND behind the
 * last. */
static size_t needed(const struct map *map, size_t index, size_t which)
{
    const struct parameter *parameter = &map->parameters[index];
    enum { CONDITIONS = 2, SELECTORS = 3 };
    const struct conditions *const conditions[CONDITIONS] = {&parameter->applies_when, &parameter->locked_by};
    const struct selector *const selectors[SELECTORS] = {&parameter->unit_by, &parameter->scale_by,
                                                         &parameter->ramp_span.by};
    for (size_t i = 0; i < CONDITIONS; i++) {
        if (which < conditions[i]->count)
            return conditions[i]->items[which].parameter;
        which -= conditions[i]->count;
    }
    for (size_t i = 0; i < SELECTORS; i++)
        if (selectors[i]->given && which-- == 0)
            return selectors[i]->parameter;
    if (parameter->set != 0 && map->set_in_force.given && which-- == 0)
        return map->set_in_force.parameter;
    if (parameter->is_percent && parameter->base == BASE_REGISTER && which == 0)
        return map_find_means(map, parameter->percent_of, parameter->set);
    return PARAMETER_NOT_FOUND;
}

/* "a needs b needs a", from where the circle begins in the path. */
static void tell(const struct map_reader *reader, const size_t *path, size_t length, size_t again)
{
    const struct map *map = reader->map;
    size_t begin = 0;
    while (path[begin] != again)
        begin++;
    char *circle = text_copy(map->parameters[again].name);
    for (size_t i = begin + 1; i <= length; i++) {
        size_t next = i == length ? again : path[i];
        char *longer = text_format("%s needs %s", circle, map->parameters[next].name);
        free(circle);
        circle = longer;
        if (i - begin == 8 && i < length) { /* a longer circle is no easier to see */
            longer = text_format("%s needs ... needs %s", circle, map->parameters[again].name);
            free(circle);
            circle = longer;
            break;
        }
    }
    faults_error(reader->faults, node_key_place(reader->sources[again].node),
                 "parameters go in a circle: %s; expected a selector that needs nothing", circle);
    free(circle);
}

void map_check_circles(const struct map_reader *reader)
{
    const struct map *map = reader->map;
    /* Depth first with a stack of its own: a hostile file would overflow the program's. */
    enum visit *visits = memory_new(map->count, sizeof *visits);
    size_t *tried = memory_new(map->count, sizeof *tried);
    size_t *path = memory_new(map->count, sizeof *path);
    for (size_t root = 0; root < map->count; root++) {
        size_t length = 0;
        if (visits[root] == VISIT_NEW)
            path[length++] = root;
        while (length > 0) {
            size_t top = path[length - 1];
            visits[top] = VISIT_OPEN;
            size_t next = needed(map, top, tried[top]++);
            if (next == PARAMETER_NOT_FOUND) {
                visits[top] = VISIT_DONE;
                length--;
            } else if (visits[next] == VISIT_OPEN) {
                tell(reader, path, length, next);
            } else if (visits[next] == VISIT_NEW) {
                path[length++] = next;
            }
        }
    }
    free(visits);
    free(tried);
    free(path);
}
