/* SPDX-License-Identifier: MIT */
/* What was read of a running drive, over and over: one series a live parameter. */
#include "types/samples.h"

#include "types/memory.h"

#include <stdlib.h>

const char *const run_state_words[RUN_STATES] = {"running", "starting",   "stopping",       "stopped",
                                                 "tripped", "dc_braking", "sleeping",       "local",
                                                 "reverse", "at_speed",   "restart_pending"};

const struct series *samples_find(const struct samples *samples, enum means means)
{
    for (size_t i = 0; i < samples->count; i++)
        if (samples->items[i].means == means)
            return &samples->items[i];
    return NULL;
}

void series_add(struct series *series, const struct sample *sample)
{
    series->items = memory_grow(series->items, series->count, sizeof *series->items);
    series->items[series->count++] = *sample;
}

void samples_free(struct samples *samples)
{
    for (size_t i = 0; i < samples->count; i++) {
        free(samples->items[i].parameter);
        free(samples->items[i].items);
    }
    free(samples->items);
    *samples = (struct samples){0};
}
