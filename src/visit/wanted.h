/* SPDX-License-Identifier: MIT */
/* Sets of a map's parameters: which are wanted, which decide them, which are read. */
#ifndef ASLEFT_VISIT_WANTED_H
#define ASLEFT_VISIT_WANTED_H

#include "types/map.h"

#include <stdbool.h>
#include <stddef.h>

/* Indexes into a map's parameters, ascending, without doubles. Zero it to start. */
struct wanted {
    size_t *items;
    size_t count;
};

void wanted_add(struct wanted *wanted, size_t parameter);
bool wanted_has(const struct wanted *wanted, size_t parameter);
void wanted_free(struct wanted *wanted);

/* Adds everything that is a value: all but commands. */
void wanted_add_values(struct wanted *wanted, const struct map *map);

/* Adds what decides the wanted ones, and what decides that: units, scales, spans, bases, conditions, locks, the set in
 * force, and what a special value points at. */
void wanted_close(struct wanted *wanted, const struct map *map);

#endif
