/* SPDX-License-Identifier: MIT */
/* Cuts a run's samples into phases: rest, ramp, steady, stop, trip. */
#include "witness/phases.h"

#include "witness/moves.h"
#include "witness/phase_marks.h"

#include <math.h>

static void add_phase(struct witnessed *witnessed, const struct phase *phase)
{
    witnessed->phases = memory_grow(witnessed->phases, witnessed->phase_count, sizeof *witnessed->phases);
    witnessed->phases[witnessed->phase_count++] = *phase;
}

static enum phase_kind kind_of(const struct move *move, const struct graininess *graininess)
{
    switch (move->kind) {
    case MOVE_FLAT:
        return move->level <= graininess->zero ? PHASE_REST : PHASE_STEADY;
    case MOVE_UP:
        return PHASE_RAMP_UP;
    case MOVE_DOWN:
        return PHASE_RAMP_DOWN;
    }
    return PHASE_STEADY;
}

/* Where a move meets its neighbour: at the level of a flat one; else at the sample where it turns. */
static double meeting_hz(const struct series *series, const struct moves *moves, size_t m, bool at_end)
{
    const struct move *move = &moves->items[m];
    const size_t sample = at_end ? move->last : move->first;
    const bool has = at_end ? m + 1 < moves->count : m > 0;
    const struct move *other = has ? &moves->items[at_end ? m + 1 : m - 1] : NULL;
    if (move->kind == MOVE_FLAT)
        return move->level;
    return other != NULL && other->kind == MOVE_FLAT ? other->level : fabs(series->items[sample].value);
}

/* Backwards a register with sign shows less than 0. */
static double sign_of(const struct series *series, const struct move *move)
{
    const double middle = series->items[move->first + (move->last - move->first) / 2].value;
    return middle < 0 ? -1 : 1;
}

static void add_moves(const struct series *series, const struct graininess *graininess, size_t first, size_t last,
                      struct witnessed *witnessed)
{
    struct moves moves;
    moves_find(series, graininess, first, last, &moves);
    for (size_t m = 0; m < moves.count; m++) {
        const struct move *move = &moves.items[m];
        const double sign = sign_of(series, move);
        const struct phase phase = {
            .kind = kind_of(move, graininess),
            .from_us = series->items[move->first].at_us,
            .to_us = series->items[move->last].at_us,
            .from_hz = sign * meeting_hz(series, &moves, m, false),
            .to_hz = sign * meeting_hz(series, &moves, m, true),
            .is_whole = m > 0 && m + 1 < moves.count,
        };
        add_phase(witnessed, &phase);
    }
    moves_free(&moves);
}

/* One register with sign that passes zero between two samples: it was at 0 there, whichever the samples show. */
static void meet_at_zero(struct witnessed *witnessed)
{
    for (size_t i = 1; i < witnessed->phase_count; i++) {
        struct phase *before = &witnessed->phases[i - 1];
        struct phase *after = &witnessed->phases[i];
        if (before->kind == PHASE_RAMP_DOWN && after->kind == PHASE_RAMP_UP && before->from_hz * after->to_hz < 0)
            before->to_hz = after->from_hz = 0;
    }
}

/* A request that failed now and then is no gap. */
static double gap_s(const struct graininess *graininess)
{
    const double least_s = 0.5;
    return fmax(5 * graininess->interval_s, least_s);
}

void phases_find(const struct samples *samples, struct witnessed *witnessed)
{
    const struct series *series = samples_find(samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    if (series == NULL || series->count == 0)
        return;
    struct graininess graininess;
    graininess_of(series, &graininess);
    size_t first = 0;
    for (size_t i = 1; i <= series->count; i++) {
        const bool ends = i == series->count;
        const int64_t silent_us = ends ? 0 : series->items[i].at_us - series->items[i - 1].at_us;
        if (!ends && (double)silent_us * 1e-6 <= gap_s(&graininess))
            continue;
        add_moves(series, &graininess, first, i - 1, witnessed);
        if (!ends) {
            const struct phase gap = {PHASE_GAP,       series->items[i - 1].at_us, series->items[i].at_us, NAN, NAN,
                                      .is_whole = true};
            add_phase(witnessed, &gap);
        }
        first = i;
    }
    meet_at_zero(witnessed);
    phases_mark_stretched(samples, witnessed);
    phases_mark_output_off(samples, witnessed);
    phases_mark_settled(samples, witnessed);
}
