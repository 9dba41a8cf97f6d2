/* SPDX-License-Identifier: MIT */
/* Start, reset and freeing of readings. */
#include "types/readings.h"

#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

void readings_init(struct readings *readings, size_t count)
{
    *readings = (struct readings){.items = memory_new(count, sizeof *readings->items), .count = count};
}

void readings_forget_values(struct readings *readings)
{
    for (size_t i = 0; i < readings->count; i++) {
        struct reading *reading = &readings->items[i];
        value_free(&reading->value);
        free(reading->remark);
        reading->remark = NULL;
        reading->unit = UNIT_NONE;
        reading->step = 0;
        reading->in_force = false;
    }
}

void readings_free(struct readings *readings)
{
    readings_forget_values(readings);
    for (size_t i = 0; i < readings->count; i++)
        free(readings->items[i].raw);
    free(readings->items);
    *readings = (struct readings){0};
}

bool reading_same(const struct reading *a, const struct reading *b)
{
    return a->raw_count == b->raw_count &&
           (a->raw_count == 0 || memcmp(a->raw, b->raw, a->raw_count * sizeof *a->raw) == 0);
}
