/* SPDX-License-Identifier: MIT */
/* What one drive held when it was visited: one reading a parameter of the map, in the map's order. */
#ifndef ASLEFT_TYPES_READINGS_H
#define ASLEFT_TYPES_READINGS_H

#include "types/quantity.h"
#include "types/symptom.h"
#include "types/traffic.h"
#include "types/value.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct reading {
    bool asked;             /* somebody wanted it in this visit */
    struct symptom symptom; /* SYMPTOM_NONE: `raw` holds what the drive sent */
    uint16_t *raw;          /* the words as travelled, owned; one word of 0 or 1 for a coil or discrete input */
    size_t raw_count;       /* 0 until it is read */
    struct value value;     /* decoded; VALUE_NOTHING where it is unread */
    enum unit unit;         /* of value.number: the map's, the one a selector chose, or that of a percentage's base */
    double step;            /* what one raw step is worth in `unit`, >= 0; for f32 the distance to the next float */
    bool in_force;          /* false: applies_when or the set in force says that it does not count now */
    char *remark; /* owned, may be NULL: "75.0 % of 4.00 A", "not in force: motor_set is 1", "raise the level" */
};

struct readings {
    struct reading *items; /* index = index in map.parameters */
    size_t count;
    struct traffic traffic;
    int64_t began_ms, ended_ms; /* UTC, since 1970 */
};

/* All readings unasked and empty. */
void readings_init(struct readings *readings, size_t count);

/* Forgets value, unit, step and remark of every reading, and keeps the raw words: before decoding anew. */
void readings_forget_values(struct readings *readings);

/* Do both hold the same words? Also where neither was read. */
bool reading_same(const struct reading *a, const struct reading *b);

void readings_free(struct readings *readings);

#endif
