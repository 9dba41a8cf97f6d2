/* SPDX-License-Identifier: MIT */
/* Has a run begun, and has it ended, while its samples still come in. */
#include "witness/phases.h"

#include <math.h>

static bool state_has(const struct series *state, size_t i, unsigned bits)
{
    const double value = state->items[i].value;
    return value >= 0 && value <= 65535 && ((unsigned)value & bits) != 0;
}

/* Less is standstill: what a register may show of none. */
static double still_hz(const struct series *frequency)
{
    return fmax(1.5 * frequency->step, 0.1);
}

static bool has_begun(const struct series *frequency, const struct series *state)
{
    for (size_t i = 0; frequency != NULL && i < frequency->count; i++)
        if (fabs(frequency->items[i].value) > still_hz(frequency))
            return true;
    for (size_t i = 0; frequency == NULL && state != NULL && i < state->count; i++)
        if (state_has(state, i, RUN_RUNNING | RUN_STARTING))
            return true;
    return false;
}

/* For how long nothing came out, up to the last sample, in s. */
static double still_for_s(const struct series *frequency)
{
    size_t i = frequency->count;
    while (i > 0 && fabs(frequency->items[i - 1].value) <= still_hz(frequency))
        i--;
    if (i == frequency->count)
        return -1;
    return (double)(frequency->items[frequency->count - 1].at_us - frequency->items[i].at_us) * 1e-6;
}

struct run_progress phases_progress(const struct samples *samples)
{
    /* With its word for it the drive needs not stand still for long; without, a reversal may pause at zero. */
    const double told_s = 0.5;
    const double untold_s = 3;
    const struct series *frequency = samples_find(samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    const struct series *state = samples_find(samples, MEANS_LIVE_STATE);
    const bool told = state != NULL && state->count > 0;
    const unsigned busy = RUN_RUNNING | RUN_STARTING | RUN_STOPPING | RUN_DC_BRAKING | RUN_RESTART_PENDING;
    struct run_progress progress = {.began = has_begun(frequency, state)};
    progress.tripped = told && state_has(state, state->count - 1, RUN_TRIPPED);
    if (!progress.began)
        return progress;
    const bool idle = told && !state_has(state, state->count - 1, busy);
    if (frequency == NULL || frequency->count == 0) {
        progress.ended = progress.tripped || idle;
        return progress;
    }
    const double still_s = still_for_s(frequency);
    progress.ended = still_s >= 0 && (progress.tripped || (idle ? still_s >= told_s : !told && still_s >= untold_s));
    return progress;
}
