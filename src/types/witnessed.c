/* SPDX-License-Identifier: MIT */
/* What a witnessed run shows: its phases, what was measured in them, and the verdict on each. */
#include "types/witnessed.h"

#include <stdlib.h>
#include <string.h>

const char *phase_word(enum phase_kind kind)
{
    static const char *const words[PHASE_KINDS] = {
        [PHASE_REST] = "rest",           [PHASE_RAMP_UP] = "ramp-up", [PHASE_STEADY] = "steady",
        [PHASE_RAMP_DOWN] = "ramp-down", [PHASE_BRAKING] = "braking", [PHASE_COASTING] = "coasting",
        [PHASE_TRIPPED] = "tripped",     [PHASE_GAP] = "gap",
    };
    return words[kind];
}

const struct measure *witnessed_find(const struct witnessed *witnessed, const char *name)
{
    for (size_t i = 0; i < witnessed->measure_count; i++)
        if (strcmp(witnessed->measures[i].name, name) == 0)
            return &witnessed->measures[i];
    return NULL;
}

void witnessed_free(struct witnessed *witnessed)
{
    for (size_t i = 0; i < witnessed->measure_count; i++) {
        free(witnessed->measures[i].name);
        free(witnessed->measures[i].basis);
        texts_free(&witnessed->measures[i].expected.one_of);
    }
    free(witnessed->phases);
    free(witnessed->measures);
    texts_free(&witnessed->remarks);
    *witnessed = (struct witnessed){0};
}
