/* SPDX-License-Identifier: MIT */
/* Cuts a course of values into moves: flat, up, down. */
#include "witness/moves.h"

#include "types/memory.h"
#include "witness/ramp_points.h"
#include "witness/statistics.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static double size_at(const struct series *series, size_t i)
{
    return fabs(series->items[i].value);
}

static double seconds_between(const struct series *series, size_t from, size_t to)
{
    return (double)(series->items[to].at_us - series->items[from].at_us) * 1e-6;
}

static double highest(const struct series *series)
{
    double most = 0;
    for (size_t i = 0; i < series->count; i++)
        most = fmax(most, size_at(series, i));
    return most;
}

enum { SIX = 6 };

/* Are they off rest? There a register often shows no noise at all. */
static bool all_turn(const struct point points[SIX], double most)
{
    for (size_t i = 0; i < SIX; i++)
        if (!(points[i].y > 0.05 * most))
            return false;
    return true;
}

/* Values that differ from the one before, six at a time, against their own straight line: the calmest eighth of them
 * shows the noise. A value that the drive holds shows it only when it changes. */
static double noise_of(const struct series *series, double most)
{
    enum { MOST = 4000 };
    const double octile = 0.552; /* of the scatter of six about their line: chi-squared, 4 degrees of freedom */
    const size_t stride = series->count / MOST + 1;
    double *scatters = memory_new(series->count / stride + 1, sizeof *scatters);
    struct point points[SIX] = {{0, 0}};
    size_t kept = 0;
    size_t changes = 0;
    for (size_t i = 1; i < series->count; i++) {
        if (series->items[i].value == series->items[i - 1].value)
            continue;
        memmove(&points[0], &points[1], (SIX - 1) * sizeof points[0]);
        points[SIX - 1] = (struct point){seconds_between(series, 0, i), size_at(series, i)};
        changes++;
        if (changes >= SIX && changes % stride == 0 && all_turn(points, most))
            scatters[kept++] = line_through(points, SIX, 0).scatter;
    }
    (void)median_of(scatters, kept); /* orders them */
    const double noise = kept == 0 ? 0 : scatters[kept / 8] / octile;
    free(scatters);
    return noise;
}

/* Where values jump by more than a step and stand still between, the drive holds them. */
static double held_s(const struct series *series, double interval_s)
{
    enum { MOST = 4000 };
    double *times = memory_new(MOST, sizeof *times);
    size_t kept = 0;
    size_t before = 0;
    for (size_t i = 1; i < series->count && kept < MOST; i++) {
        if (fabs(series->items[i].value - series->items[i - 1].value) <= 2 * series->step)
            continue;
        if (before > 0)
            times[kept++] = seconds_between(series, before, i);
        before = i;
    }
    const double usual = median_of(times, kept);
    free(times);
    return usual > 1.5 * interval_s && usual < 50 * interval_s ? usual : 0;
}

/* How far the highest and lowest of so many normal values lie apart, with some to spare, in standard deviations.
 * Source: extremes of normal values, sqrt(2 ln n) to either side. */
static double noise_span(size_t count)
{
    return 2 * sqrt(2 * log((double)count + 1)) + 2.5;
}

void graininess_of(const struct series *series, struct graininess *graininess)
{
    const double least_share = 0.004;
    const double most = highest(series);
    const double interval_s = series->count < 2 ? 0 : series_interval_s(series);
    const double held = held_s(series, interval_s);
    const double noise = noise_of(series, most);
    *graininess = (struct graininess){
        .interval_s = interval_s,
        .held_s = fmax(series->refreshed_every_s, held),
        .noise = noise,
        .movement = fmax(2.5 * series->step, fmax(noise_span(series->count) * noise, least_share * most)),
        .edge = fmax(1.01 * series->step, 3 * noise),
        .zero = fmax(1.5 * series->step, fmax(4 * fmin(noise, 0.001 * most), 0.002 * most)),
    };
}

/* What goes on at the sample that is looked at. */
struct tracker {
    const struct series *series;
    const struct graininess *graininess;
    struct moves *moves;
    enum move_kind kind;
    size_t first;          /* of the move that goes on */
    size_t lowest, uppest; /* flat: last samples near the lowest and highest value */
    double low, high;
    size_t extreme;   /* moving: the furthest sample so far */
    size_t near;      /* the last one that is still near it */
    size_t mark;      /* and the last one that was further by a movement than the mark before it */
    double longest_s; /* that took */
};

static void add(struct tracker *tracker, size_t last)
{
    struct moves *moves = tracker->moves;
    moves->items = memory_grow(moves->items, moves->count, sizeof *moves->items);
    moves->items[moves->count++] = (struct move){tracker->kind, tracker->first, last, NAN};
    tracker->first = last;
}

static void widen(struct tracker *tracker, size_t i)
{
    const double value = size_at(tracker->series, i);
    tracker->low = fmin(tracker->low, value);
    tracker->high = fmax(tracker->high, value);
    if (value <= tracker->low + tracker->graininess->edge)
        tracker->lowest = i;
    if (value >= tracker->high - tracker->graininess->edge)
        tracker->uppest = i;
}

static void begin_flat(struct tracker *tracker, size_t from, size_t to)
{
    tracker->kind = MOVE_FLAT;
    tracker->low = INFINITY;
    tracker->high = -INFINITY;
    for (size_t i = from; i <= to; i++)
        widen(tracker, i);
}

static void begin_move(struct tracker *tracker, enum move_kind kind, size_t from, size_t now)
{
    if (from > tracker->first || tracker->kind != MOVE_FLAT)
        add(tracker, from);
    tracker->kind = kind;
    tracker->first = from;
    tracker->extreme = tracker->near = tracker->mark = now;
    /* The last sample near the level may be some way into the move already. */
    const double moved = fabs(size_at(tracker->series, now) - size_at(tracker->series, from));
    const double whole = tracker->graininess->movement + tracker->series->step;
    tracker->longest_s = seconds_between(tracker->series, from, now) * fmax(1, fmin(whole / moved, 4));
}

static void while_flat(struct tracker *tracker, size_t i)
{
    const double value = size_at(tracker->series, i);
    const double movement = tracker->graininess->movement;
    if (value - tracker->low > movement)
        begin_move(tracker, MOVE_UP, tracker->lowest, i);
    else if (tracker->high - value > movement)
        begin_move(tracker, MOVE_DOWN, tracker->uppest, i);
    else
        widen(tracker, i);
}

/* How much further sample `i` is than sample `than`. */
static double further(const struct tracker *tracker, size_t i, size_t than)
{
    const double direction = tracker->kind == MOVE_UP ? 1 : -1;
    return direction * (size_at(tracker->series, i) - size_at(tracker->series, than));
}

/* It turned back, perhaps after it had held for a while: longer than a coarse or held value shows its peak. */
static void turn_back(struct tracker *tracker, size_t i)
{
    const struct graininess *graininess = tracker->graininess;
    const enum move_kind back = tracker->kind == MOVE_UP ? MOVE_DOWN : MOVE_UP;
    const size_t near = tracker->near;
    const double held_s = seconds_between(tracker->series, tracker->extreme, near);
    if (held_s > fmax(tracker->longest_s, fmax(1.5 * graininess->held_s, 2 * graininess->interval_s))) {
        add(tracker, tracker->extreme);
        tracker->kind = MOVE_FLAT;
        begin_move(tracker, back, near, i);
    } else {
        begin_move(tracker, back, tracker->extreme, i);
    }
}

/* Noise makes a new furthest sample now and then on the flat too; it makes no movement. */
static void while_moving(struct tracker *tracker, size_t i)
{
    const struct graininess *graininess = tracker->graininess;
    const double since_s = seconds_between(tracker->series, tracker->mark, i);
    const double usual_s = fmax(tracker->longest_s, fmax(graininess->held_s, 1.2 * graininess->interval_s));
    if (further(tracker, i, tracker->extreme) > 0)
        tracker->extreme = i;
    if (further(tracker, i, tracker->extreme) >= -graininess->edge)
        tracker->near = i;
    if (further(tracker, i, tracker->mark) > graininess->movement) {
        tracker->longest_s = fmax(tracker->longest_s, since_s);
        tracker->mark = i;
    } else if (-further(tracker, i, tracker->extreme) > graininess->movement) {
        turn_back(tracker, i);
    } else if (since_s > 2.5 * usual_s) {
        add(tracker, tracker->extreme);
        begin_flat(tracker, tracker->first, i);
    }
}

/* Its course as a straight line. */
static struct fitted_line course_of(const struct series *series, size_t first, size_t last)
{
    enum { MOST = 4000 };
    const size_t stride = (last - first + 1) / MOST + 1;
    struct point *points = memory_new((last - first) / stride + 1, sizeof *points);
    size_t kept = 0;
    for (size_t i = first; i <= last; i += stride)
        points[kept++] = (struct point){seconds_between(series, first, i), size_at(series, i)};
    const struct fitted_line line = line_through(points, kept, 0);
    free(points);
    return line;
}

/* Between two moves the same way lies one that only looked flat for a while, because of noise or a held value. */
static bool goes_on(const struct series *series, const struct move *before, const struct move *flat,
                    const struct move *after)
{
    const double least_share = 0.4;
    if (flat->kind != MOVE_FLAT || before->kind == MOVE_FLAT || after->kind != before->kind)
        return false;
    const double direction = before->kind == MOVE_UP ? 1 : -1;
    /* The slower of both: a rounded ramp begins slowly. */
    const double around = fmin(direction * course_of(series, before->first, before->last).slope,
                               direction * course_of(series, after->first, after->last).slope);
    /* What noise hides of a short one speaks for going on. */
    const struct fitted_line line = course_of(series, flat->first, flat->last);
    return direction * line.slope + line.slope_within > least_share * around;
}

static void join_what_goes_on(const struct series *series, struct moves *moves)
{
    size_t kept = 0;
    for (size_t i = 0; i < moves->count; i++) {
        struct move joined = moves->items[i];
        while (i + 2 < moves->count && goes_on(series, &joined, &moves->items[i + 1], &moves->items[i + 2])) {
            i += 2;
            joined.last = moves->items[i].last;
        }
        moves->items[kept++] = joined;
    }
    moves->count = kept;
}

/* Is the move a swing around the end value of the one before it? */
static bool is_swing(const struct series *series, const struct move *main, const struct move *move)
{
    const double rise = fabs(size_at(series, main->last) - size_at(series, main->first));
    return move->kind != MOVE_FLAT && fabs(size_at(series, move->last) - size_at(series, move->first)) < 0.25 * rise;
}

static void absorb_swings(const struct series *series, const struct graininess *graininess, struct moves *moves)
{
    size_t kept = 0;
    for (size_t i = 0; i < moves->count; i++) {
        moves->items[kept] = moves->items[i];
        size_t next = i + 1;
        while (moves->items[i].kind != MOVE_FLAT && next < moves->count &&
               is_swing(series, &moves->items[i], &moves->items[next]))
            next++;
        if (next > i + 1 && next < moves->count && moves->items[next].kind == MOVE_FLAT &&
            size_at(series, moves->items[next].last) > graininess->zero) {
            moves->items[next].first = moves->items[i].last;
            i = next - 1;
        }
        kept++;
    }
    moves->count = kept;
}

static double level_of(const struct series *series, const struct move *move)
{
    enum { MOST = 4000 };
    const size_t count = move->last - move->first + 1;
    const size_t stride = count / MOST + 1;
    double *sizes = memory_new(count / stride + 1, sizeof *sizes);
    size_t kept = 0;
    for (size_t i = move->first; i <= move->last; i += stride)
        sizes[kept++] = size_at(series, i);
    const double level = median_of(sizes, kept);
    free(sizes);
    return level;
}

/* A move begins with the last sample near the level before, and ends with the first one near the level behind. */
static void sharpen(const struct series *series, const struct graininess *graininess, struct moves *moves)
{
    for (size_t m = 0; m < moves->count; m++)
        if (moves->items[m].kind == MOVE_FLAT)
            moves->items[m].level = level_of(series, &moves->items[m]);
    for (size_t m = 0; m < moves->count; m++) {
        struct move *move = &moves->items[m];
        const double direction = move->kind == MOVE_UP ? 1 : -1;
        if (move->kind == MOVE_FLAT)
            continue;
        if (m > 0 && moves->items[m - 1].kind == MOVE_FLAT) {
            const double end = moves->items[m - 1].level + direction * graininess->edge;
            while (move->first + 1 < move->last && direction * (size_at(series, move->first + 1) - end) <= 0)
                move->first++;
            moves->items[m - 1].last = move->first;
        }
        if (m + 1 < moves->count && moves->items[m + 1].kind == MOVE_FLAT) {
            /* Noise reaches the level a little early, and leaves it again now and then. */
            const double near = 1.01 * series->step + graininess->noise;
            const double end = moves->items[m + 1].level - direction * near;
            size_t last = move->first + 1;
            while (last < move->last && direction * (size_at(series, last) - end) < 0)
                last++;
            move->last = moves->items[m + 1].first = last;
        }
    }
}

void moves_find(const struct series *series, const struct graininess *graininess, size_t first, size_t last,
                struct moves *moves)
{
    struct tracker tracker = {.series = series, .graininess = graininess, .moves = moves, .first = first};
    *moves = (struct moves){0};
    begin_flat(&tracker, first, first);
    for (size_t i = first + 1; i <= last; i++) {
        if (tracker.kind == MOVE_FLAT)
            while_flat(&tracker, i);
        else
            while_moving(&tracker, i);
    }
    /* A move that had come to its end already when the samples did. */
    if (tracker.kind != MOVE_FLAT && seconds_between(series, tracker.extreme, last) > 1.5 * graininess->held_s &&
        last > tracker.extreme + 1) {
        add(&tracker, tracker.extreme);
        tracker.kind = MOVE_FLAT;
    }
    add(&tracker, last);
    join_what_goes_on(series, moves);
    absorb_swings(series, graininess, moves);
    sharpen(series, graininess, moves);
}

void moves_free(struct moves *moves)
{
    free(moves->items);
    *moves = (struct moves){0};
}
