/* SPDX-License-Identifier: MIT */
/* The samples of a ramp as points to fit. */
#include "witness/ramp_points.h"

#include "types/memory.h"

#include <math.h>
#include <stdlib.h>

static const double SECONDS_PER_US = 1e-6;

size_t series_at(const struct series *series, int64_t at_us)
{
    size_t low = 0;
    size_t high = series->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (series->items[middle].at_us < at_us)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Of some evenly chosen ones where there are many. */
static double usual_interval_s(const struct sample *items, size_t count)
{
    enum { MOST = 4001 };
    if (count < 2)
        return NAN;
    const size_t stride = (count - 1) / MOST + 1;
    double *intervals = memory_new(count / stride + 1, sizeof *intervals);
    size_t kept = 0;
    for (size_t i = 1; i < count; i += stride)
        intervals[kept++] = (double)(items[i].at_us - items[i - 1].at_us) * SECONDS_PER_US;
    const double usual = median_of(intervals, kept);
    free(intervals);
    return usual;
}

double series_interval_s(const struct series *series)
{
    return usual_interval_s(series->items, series->count);
}

/* Samples first to last (exclusive) with the change of each from the start value. */
struct stretch {
    const struct sample *items;
    size_t count;
    double start_hz, direction;
    double t0_us;
};

static double change_hz(const struct stretch *stretch, size_t i)
{
    return stretch->direction * (fabs(stretch->items[i].value) - stretch->start_hz);
}

static double time_s(const struct stretch *stretch, size_t i)
{
    return ((double)stretch->items[i].at_us - stretch->t0_us) * SECONDS_PER_US;
}

/* Where the ramp itself is: not its flat neighbours, nor its rounded ends. */
static bool is_inside(double y, double rise_hz)
{
    return y > 0.05 * rise_hz && y < 0.95 * rise_hz;
}

/* How the value repeats, and by how much it jumps. */
struct repeating {
    double share;
    double jump; /* median of the changes' sizes */
};

static struct repeating look_for_repeats(const struct stretch *stretch, double rise_hz)
{
    enum { MOST = 4001 };
    struct repeating repeating = {0, NAN};
    double *jumps = memory_new(MOST + 1, sizeof *jumps);
    size_t same = 0;
    size_t changed = 0;
    for (size_t i = 1; i < stretch->count && changed < MOST; i++) {
        if (!is_inside(change_hz(stretch, i), rise_hz) || !is_inside(change_hz(stretch, i - 1), rise_hz))
            continue;
        const double jump = fabs(stretch->items[i].value - stretch->items[i - 1].value);
        if (jump > 0)
            jumps[changed++] = jump;
        else
            same++;
    }
    if (same + changed > 0)
        repeating.share = (double)same / (double)(same + changed);
    repeating.jump = median_of(jumps, changed);
    free(jumps);
    return repeating;
}

static void add_point(struct ramp_points *points, double t, double y)
{
    points->items[points->count++] = (struct point){t, y};
}

/* The drive's value became the new one between two samples. By one step of a coarse register: then the true value was
 * between old and new. By more: the drive read anew, and the new one was true then. */
static void add_changes(const struct stretch *stretch, const struct repeating *repeating, double step, double rise_hz,
                        struct ramp_points *points)
{
    const bool one_step = step > 0 && repeating->jump <= 1.5 * step;
    points->by_step = one_step;
    for (size_t i = 1; i < stretch->count; i++) {
        const double before = change_hz(stretch, i - 1);
        const double after = change_hz(stretch, i);
        const double t = (time_s(stretch, i - 1) + time_s(stretch, i)) / 2;
        if (before != after)
            add_point(points, t, one_step ? (before + after) / 2 : after);
        else if (!one_step && (fabs(after) <= step || fabs(after - rise_hz) <= step))
            add_point(points, time_s(stretch, i), after); /* the flat neighbours, not a value that is held on the way */
    }
}

static double longest_delay_s(const struct series *frequency)
{
    return frequency->refreshed_every_s > 0 ? frequency->refreshed_every_s : 0;
}

static void judge_resolution(const struct series *frequency, const struct phase *phase, double mean_half_s,
                             struct ramp_points *points)
{
    const double took_s = fmax((double)(phase->to_us - phase->from_us) * SECONDS_PER_US, 1e-6);
    const double rate = points->rise_hz / took_s;
    const double width_s = points->by_change ? points->interval_s : points->delay_s;
    const double step = points->by_change && width_s * rate > frequency->step ? 0 : frequency->step;
    points->resolution =
        sqrt(step * step / 12 + rate * rate * (width_s * width_s / 12 + mean_half_s * mean_half_s / 3));
}

void ramp_points_gather(const struct series *frequency, const struct phase *phase, struct ramp_points *points)
{
    *points = (struct ramp_points){
        .filter_s = frequency->filtered_over_s, .delay_s = longest_delay_s(frequency), .step = frequency->step};
    size_t first = series_at(frequency, phase->from_us);
    size_t last = series_at(frequency, phase->to_us + 1);
    points->samples = last - first;
    if (points->samples < 2)
        return;
    const double from = fabs(phase->from_hz);
    const double to = fabs(phase->to_hz);
    points->rise_hz = fabs(to - from);
    struct stretch stretch = {.start_hz = from, .direction = to > from ? 1 : -1, .t0_us = (double)phase->from_us};
    points->interval_s = usual_interval_s(&frequency->items[first], points->samples);
    /* Flat neighbours, a quarter as many as are within, tell where it begins and ends. */
    const double near = fmax(0.01 * points->rise_hz, 1.01 * frequency->step);
    const size_t most = points->samples / 4 + 3;
    for (size_t i = 0; i < most && first > 0 && fabs(fabs(frequency->items[first - 1].value) - from) <= near; i++)
        first--;
    for (size_t i = 0; i < most && last < frequency->count && fabs(fabs(frequency->items[last].value) - to) <= near;
         i++)
        last++;
    stretch.items = &frequency->items[first];
    stretch.count = last - first;
    double half_s = 0;
    for (size_t i = 0; i < stretch.count; i++)
        half_s += (double)stretch.items[i].half_us * SECONDS_PER_US / (double)stretch.count;
    points->half_s = half_s;
    points->items = memory_new(stretch.count, sizeof *points->items);
    const struct repeating repeating = look_for_repeats(&stretch, points->rise_hz);
    points->by_change = repeating.share > 0.2;
    if (points->by_change)
        add_changes(&stretch, &repeating, frequency->step, points->rise_hz, points);
    else
        for (size_t i = 0; i < stretch.count; i++)
            add_point(points, time_s(&stretch, i), change_hz(&stretch, i));
    judge_resolution(frequency, phase, half_s, points);
}

void ramp_points_free(struct ramp_points *points)
{
    free(points->items);
    *points = (struct ramp_points){0};
}
