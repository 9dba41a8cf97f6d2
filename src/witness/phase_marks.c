/* SPDX-License-Identifier: MIT */
/* What state, current and frequency command say of phases that were cut by the frequency. */
#include "witness/phase_marks.h"

#include "witness/ramp_points.h"

#include <math.h>
#include <stdlib.h>

double series_mean(const struct series *series, int64_t from_us, int64_t to_us)
{
    const size_t first = series_at(series, from_us);
    double sum = 0;
    size_t i = first;
    for (; i < series->count && series->items[i].at_us <= to_us; i++)
        sum += series->items[i].value;
    return i > first ? sum / (double)(i - first) : NAN;
}

double series_highest(const struct series *series)
{
    double most = 0;
    for (size_t i = 0; i < series->count; i++)
        most = fmax(most, fabs(series->items[i].value));
    return most;
}

static double frequency_at(const struct phase *phase, int64_t at_us)
{
    const double length = (double)(phase->to_us - phase->from_us);
    if (!(length > 0))
        return phase->from_hz;
    return phase->from_hz + (phase->to_hz - phase->from_hz) * (double)(at_us - phase->from_us) / length;
}

static struct phase part_of(const struct phase *phase, int64_t from_us, int64_t to_us)
{
    struct phase part = *phase;
    part.from_us = from_us;
    part.to_us = to_us;
    part.from_hz = frequency_at(phase, from_us);
    part.to_hz = frequency_at(phase, to_us);
    const bool ramps = phase->kind == PHASE_RAMP_UP || phase->kind == PHASE_RAMP_DOWN;
    if (ramps && (from_us > phase->from_us || to_us < phase->to_us))
        part.is_whole = false;
    return part;
}

void phases_paint(struct witnessed *witnessed, enum phase_kind kind, int64_t from_us, int64_t to_us)
{
    struct phase *old = witnessed->phases;
    const size_t count = witnessed->phase_count;
    struct phase painted = {.kind = kind, .from_us = from_us, .to_us = to_us, .from_hz = NAN, .to_hz = NAN};
    struct phase *kept = memory_new(count + 2, sizeof *kept);
    size_t used = 0;
    for (size_t i = 0; i < count && old[i].from_us < from_us; i++)
        kept[used++] = part_of(&old[i], old[i].from_us, old[i].to_us < from_us ? old[i].to_us : from_us);
    const size_t place = used++;
    for (size_t i = 0; i < count; i++) {
        if (old[i].from_us <= from_us && old[i].to_us >= from_us)
            painted.from_hz = frequency_at(&old[i], from_us);
        if (old[i].from_us <= to_us && old[i].to_us >= to_us)
            painted.to_hz = frequency_at(&old[i], to_us);
        if (old[i].to_us > to_us)
            kept[used++] = part_of(&old[i], old[i].from_us > to_us ? old[i].from_us : to_us, old[i].to_us);
    }
    painted.is_whole = place > 0 && place + 1 < used;
    kept[place] = painted;
    free(old);
    witnessed->phases = kept;
    witnessed->phase_count = used;
}

static unsigned state_of(const struct sample *sample)
{
    return sample->value >= 0 && sample->value <= 65535 ? (unsigned)sample->value : 0;
}

static bool state_at(const struct series *state, int64_t at_us, unsigned *bits)
{
    const size_t next = state == NULL ? 0 : series_at(state, at_us + 1);
    if (next == 0)
        return false;
    *bits = state_of(&state->items[next - 1]);
    return true;
}

/* The last time of the state samples from `from_us` on, without a hole, that have one of the bits. */
static int64_t lasts_until_us(const struct series *state, int64_t from_us, unsigned bits)
{
    int64_t until_us = from_us;
    if (state == NULL)
        return until_us;
    size_t i = series_at(state, from_us);
    if (i < state->count && (state_of(&state->items[i]) & bits) == 0)
        i++; /* the state lags behind the frequency by a sample */
    for (; i < state->count && (state_of(&state->items[i]) & bits) != 0; i++)
        until_us = state->items[i].at_us;
    return until_us;
}

/* The output is off: next to no current, less than any motor takes to be magnetised. */
static const double OFF_SHARE = 0.03;
static const double BRAKING_SHARE = 0.10;

/* Drives brake with direct current for tenths of a second to seconds; common practice, no source. */
enum { SHORTEST_BRAKING_US = 200000 };

static bool is_off_by_current(const struct series *current, double most_a, const struct phase *phase)
{
    if (current == NULL)
        return false;
    /* Not the first tenth: what was read just before, or filtered, still flows. */
    const double mean = series_mean(current, phase->from_us + (phase->to_us - phase->from_us) / 10, phase->to_us);
    return mean <= OFF_SHARE * most_a;
}

/* It falls at once, within two samples: no ramp does that unless it is shorter than what can be seen. */
static bool is_sudden(const struct series *frequency, const struct phase *phase)
{
    const size_t inside = series_at(frequency, phase->to_us) - series_at(frequency, phase->from_us);
    return inside <= 2;
}

static int64_t end_us(const struct witnessed *witnessed)
{
    return witnessed->phases[witnessed->phase_count - 1].to_us;
}

static int64_t not_after(int64_t at_us, const struct witnessed *witnessed)
{
    return at_us < end_us(witnessed) ? at_us : end_us(witnessed);
}

static bool falls_to_rest(const struct witnessed *witnessed, size_t i)
{
    return witnessed->phases[i].kind == PHASE_RAMP_DOWN && i + 1 < witnessed->phase_count &&
           witnessed->phases[i + 1].kind == PHASE_REST;
}

static void mark_coasting(const struct samples *samples, struct witnessed *witnessed)
{
    const struct series *frequency = samples_find(samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    const struct series *current = samples_find(samples, MEANS_LIVE_OUTPUT_CURRENT);
    const struct series *state = samples_find(samples, MEANS_LIVE_STATE);
    const double most_a = current == NULL ? 0 : series_highest(current);
    for (size_t i = 0; i < witnessed->phase_count; i++) {
        const struct phase phase = witnessed->phases[i];
        unsigned bits;
        if (!falls_to_rest(witnessed, i))
            continue;
        const bool off = is_off_by_current(current, most_a, &phase);
        const bool sudden = is_sudden(frequency, &phase);
        const bool flows =
            current != NULL && series_mean(current, phase.to_us, phase.to_us + 1000000) > BRAKING_SHARE * most_a;
        const bool goes_on = state_at(state, phase.to_us, &bits) && (bits & (RUN_RUNNING | RUN_DC_BRAKING)) != 0 &&
                             lasts_until_us(state, phase.to_us, RUN_STOPPING) == phase.to_us;
        if (!off && (!sudden || flows || (goes_on && current == NULL)))
            continue;
        const int64_t until_us = not_after(lasts_until_us(state, phase.to_us, RUN_STOPPING), witnessed);
        phases_paint(witnessed, PHASE_COASTING, phase.from_us, until_us > phase.to_us ? until_us : phase.to_us);
    }
}

/* A direct current at standstill, right behind a ramp. */
static void mark_braking(const struct samples *samples, struct witnessed *witnessed)
{
    const struct series *current = samples_find(samples, MEANS_LIVE_OUTPUT_CURRENT);
    const struct series *state = samples_find(samples, MEANS_LIVE_STATE);
    const double most_a = current == NULL ? 0 : series_highest(current);
    for (size_t i = 0; i + 1 < witnessed->phase_count; i++) {
        if (!falls_to_rest(witnessed, i))
            continue;
        const struct phase rest = witnessed->phases[i + 1];
        int64_t until_us = lasts_until_us(state, rest.from_us, RUN_DC_BRAKING);
        const bool is_told = until_us > rest.from_us;
        if (!is_told && current != NULL) {
            size_t k = series_at(current, rest.from_us + 1);
            for (; k < current->count && fabs(current->items[k].value) > BRAKING_SHARE * most_a; k++)
                until_us = current->items[k].at_us;
        }
        until_us = until_us < rest.to_us ? until_us : rest.to_us;
        /* A sample or two, and a blink of fast ones, are a current that has not died down yet. */
        const size_t seen = current == NULL ? 3 : series_at(current, until_us) - series_at(current, rest.from_us);
        const int64_t least_us = is_told ? 0 : SHORTEST_BRAKING_US;
        if (until_us > rest.from_us + least_us && seen >= 3)
            phases_paint(witnessed, PHASE_BRAKING, rest.from_us, until_us);
    }
}

/* The frequency had fallen, or begun to, before the state told of the trip. */
static int64_t trip_began_us(const struct witnessed *witnessed, int64_t told_us, int64_t lag_us)
{
    for (size_t i = 0; i < witnessed->phase_count; i++) {
        const struct phase *phase = &witnessed->phases[i];
        const bool falls = phase->kind == PHASE_COASTING || phase->kind == PHASE_RAMP_DOWN;
        if (falls && phase->from_us <= told_us && phase->from_us >= told_us - lag_us)
            return phase->from_us;
    }
    return told_us;
}

static void mark_tripped(const struct samples *samples, struct witnessed *witnessed)
{
    const struct series *state = samples_find(samples, MEANS_LIVE_STATE);
    if (state == NULL || state->count < 2)
        return;
    const int64_t lag_us = (int64_t)(3e6 * series_interval_s(state));
    for (size_t i = 0; i < state->count; i++) {
        if ((state_of(&state->items[i]) & RUN_TRIPPED) == 0)
            continue;
        const int64_t told_us = state->items[i].at_us;
        while (i + 1 < state->count && (state_of(&state->items[i + 1]) & RUN_TRIPPED) != 0)
            i++;
        const int64_t first_us = witnessed->phases[0].from_us;
        int64_t from_us = trip_began_us(witnessed, told_us, lag_us);
        from_us = from_us < first_us ? first_us : not_after(from_us, witnessed);
        /* Until the end of samples, where the state was read a little earlier than the frequency. */
        const int64_t to_us = i + 1 == state->count ? end_us(witnessed) : not_after(state->items[i].at_us, witnessed);
        if (to_us > from_us)
            phases_paint(witnessed, PHASE_TRIPPED, from_us, to_us);
    }
}

void phases_mark_output_off(const struct samples *samples, struct witnessed *witnessed)
{
    if (witnessed->phase_count == 0)
        return;
    mark_coasting(samples, witnessed);
    mark_braking(samples, witnessed);
    mark_tripped(samples, witnessed);
}

/* Is the command one value over all of that time? */
static bool holds(const struct series *command, double slack, int64_t from_us, int64_t to_us, double *value)
{
    const size_t first = series_at(command, from_us);
    const size_t last = series_at(command, to_us + 1);
    double low = INFINITY;
    double high = -INFINITY;
    /* The sample before holds until the first one inside. */
    for (size_t i = first; i < last; i++) {
        low = fmin(low, fabs(command->items[i].value));
        high = fmax(high, fabs(command->items[i].value));
    }
    *value = (low + high) / 2;
    return last > first && high - low <= 2 * slack;
}

void phases_mark_settled(const struct samples *samples, struct witnessed *witnessed)
{
    const struct series *command = samples_find(samples, MEANS_LIVE_FREQUENCY_COMMAND);
    if (command == NULL || command->count < 2)
        return;
    /* The command may be read up to an interval late, and shown later still. */
    const double late_s = 1.5 * series_interval_s(command) + command->refreshed_every_s + command->filtered_over_s * 3;
    const double slack = fmax(1.5 * command->step, 0.003 * series_highest(command));
    for (size_t i = 0; i < witnessed->phase_count; i++) {
        struct phase *phase = &witnessed->phases[i];
        if (phase->kind != PHASE_RAMP_UP && phase->kind != PHASE_RAMP_DOWN)
            continue;
        double value;
        if (!holds(command, slack, phase->from_us + (int64_t)(late_s * 1e6), phase->to_us, &value))
            continue;
        /* A stop, and a reversal, may leave the command as it is. Slip compensation adds some to the output. */
        const double near = fmax(0.05 * fmax(fabs(phase->from_hz), fabs(phase->to_hz)), 3 * command->step);
        const bool to_zero = phase->kind == PHASE_RAMP_DOWN &&
                             (i + 1 == witnessed->phase_count || witnessed->phases[i + 1].kind != PHASE_STEADY);
        phase->command_settled = to_zero || fabs(value - fabs(phase->to_hz)) <= near;
    }
}
