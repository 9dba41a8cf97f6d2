/* SPDX-License-Identifier: MIT */
/* The curve of output voltage over output frequency that a run shows. */
#include "witness/vf_curve.h"

#include "types/memory.h"
#include "witness/ramp_points.h"

#include <math.h>
#include <stdlib.h>

/* One voltage with its frequency: t_s of a point is the frequency here, y the voltage. */
struct pairs {
    struct point *items; /* owned */
    size_t count;
    double lag_hz; /* the frequency may be off by so much, the mean over the pairs */
};

/* The size of frequency at a time, between two samples that are near enough; NAN elsewhere. */
static double frequency_at(const struct series *frequency, size_t *next, int64_t at_us, double *rate)
{
    const int64_t far_us = 2000000;
    while (*next < frequency->count && frequency->items[*next].at_us < at_us)
        (*next)++;
    if (*next == 0 || *next >= frequency->count)
        return NAN;
    const struct sample *after = &frequency->items[*next];
    const struct sample *before = after - 1;
    const double length = (double)(after->at_us - before->at_us);
    if (!(length > 0) || after->at_us - before->at_us > far_us)
        return NAN;
    *rate = (fabs(after->value) - fabs(before->value)) / (length * 1e-6);
    return fabs(before->value) + *rate * (double)(at_us - before->at_us) * 1e-6;
}

static bool feeds_the_motor(const struct phase *phase)
{
    return phase->kind == PHASE_STEADY || phase->kind == PHASE_RAMP_UP || phase->kind == PHASE_RAMP_DOWN;
}

static double lag_s(const struct series *series)
{
    return series->refreshed_every_s / 2 + series->filtered_over_s;
}

static void pair_up(const struct series *frequency, const struct series *voltage, const struct witnessed *witnessed,
                    struct pairs *pairs)
{
    size_t next = 0;
    size_t p = 0;
    double lags = 0;
    const double late_s = fmax(lag_s(frequency), lag_s(voltage));
    pairs->items = memory_new(voltage->count + 1, sizeof *pairs->items);
    for (size_t i = 0; i < voltage->count; i++) {
        const struct sample *sample = &voltage->items[i];
        double rate = 0;
        const double hz = frequency_at(frequency, &next, sample->at_us, &rate);
        while (p < witnessed->phase_count && witnessed->phases[p].to_us < sample->at_us)
            p++;
        if (p == witnessed->phase_count || !feeds_the_motor(&witnessed->phases[p]) || !(hz > 0) ||
            !(fabs(sample->value) > 0))
            continue;
        lags += fabs(rate) * (late_s + (double)sample->half_us * 1e-6);
        pairs->items[pairs->count++] = (struct point){hz, fabs(sample->value)};
    }
    pairs->lag_hz = pairs->count > 0 ? lags / (double)pairs->count : 0;
}

static int by_voltage(const void *a, const void *b)
{
    const double x = ((const struct point *)a)->y;
    const double y = ((const struct point *)b)->y;
    return (x > y) - (x < y);
}

/* The voltage that only few points exceed; the highest one alone may be noise. */
static double upper_v(const struct pairs *pairs)
{
    return pairs->items[(pairs->count - 1) - (pairs->count - 1) / 20].y;
}

/* The mean of the voltages from low_hz to high_hz; NAN where there are none. */
static double mean_between(const struct pairs *pairs, double low_hz, double high_hz)
{
    double sum = 0;
    size_t count = 0;
    for (size_t i = 0; i < pairs->count; i++) {
        const struct point *point = &pairs->items[i];
        if (point->t_s < low_hz || point->t_s > high_hz)
            continue;
        sum += point->y;
        count++;
    }
    return count > 0 ? sum / (double)count : NAN;
}

/* Does the voltage rise by less than a quarter of what the frequency does, from the first third of the way to the last?
 * All points of the way count: those that are high enough for the top alone would look flat. A ramp that was cut off
 * rises in proportion, and has no top. */
static bool is_flat(const struct pairs *pairs, double low_hz, double high_hz)
{
    const double most_share = 0.25;
    const double third_hz = (high_hz - low_hz) / 3;
    const double first_v = mean_between(pairs, low_hz, low_hz + third_hz);
    const double last_v = mean_between(pairs, high_hz - third_hz, high_hz);
    const double frequency_rise = (high_hz - third_hz / 2) / (low_hz + third_hz / 2) - 1;
    return last_v / first_v - 1 < most_share * frequency_rise;
}

/* The voltage stays within 2 % while the frequency rises by more than 8 %. */
static void find_top(const struct pairs *pairs, double step_v, struct vf_curve *curve)
{
    const double near_share = 0.98;
    const double rise_share = 1.08;
    const double least_v = near_share * upper_v(pairs) - step_v;
    double low_hz = INFINITY;
    double high_hz = 0;
    double sum = 0;
    double squares = 0;
    size_t count = 0;
    for (size_t i = pairs->count; i > 0 && pairs->items[i - 1].y >= least_v; i--) {
        low_hz = fmin(low_hz, pairs->items[i - 1].t_s);
        high_hz = fmax(high_hz, pairs->items[i - 1].t_s);
    }
    curve->has_top = high_hz > rise_share * low_hz && is_flat(pairs, low_hz, high_hz);
    /* The corner itself is left out of the mean. */
    const double corner_hz = curve->has_top ? low_hz + 0.4 * (high_hz - low_hz) : low_hz;
    for (size_t i = pairs->count; i > 0 && pairs->items[i - 1].y >= least_v; i--) {
        if (pairs->items[i - 1].t_s < corner_hz)
            continue;
        sum += pairs->items[i - 1].y;
        squares += pairs->items[i - 1].y * pairs->items[i - 1].y;
        count++;
    }
    curve->top_v = sum / (double)count;
    const double scatter = sqrt(fmax(squares / (double)count - curve->top_v * curve->top_v, 0));
    curve->top_within = hypot(2 * scatter / sqrt((double)count), step_v / 2);
}

static void find_line(const struct pairs *pairs, double step_v, struct vf_curve *curve)
{
    enum { FEWEST = 4 };
    const double least_share = 0.4; /* below it a boost may lift it */
    const double most_share = curve->has_top ? 0.92 : 1.0;
    size_t first = 0;
    while (first < pairs->count && pairs->items[first].y < least_share * curve->top_v)
        first++;
    size_t last = first;
    while (last < pairs->count && pairs->items[last].y <= most_share * curve->top_v + (curve->has_top ? 0 : INFINITY))
        last++;
    if (last < first + FEWEST)
        return;
    const size_t count = last - first;
    const double ratio = curve->top_v / curve->highest_hz;
    const double resolution = hypot(step_v / sqrt(12), ratio * pairs->lag_hz / 2);
    const struct fitted_line line = line_through(&pairs->items[first], count, resolution);
    if (!(line.slope > 0) || !isfinite(line.slope_within))
        return;
    curve->has_line = true;
    curve->volts_per_hertz = line.slope;
    curve->offset_v = line.value - line.slope * line.mean_t_s;
    curve->mean_hz = line.mean_t_s;
    curve->slope_within = line.slope_within;
    const double scatter = fmax(line.scatter, resolution);
    /* A delay of one register shifts all points alike; up and down only cancel where both were seen. */
    curve->value_within = hypot(2 * scatter / sqrt((double)count), line.slope * pairs->lag_hz);
}

void vf_curve_find(const struct samples *samples, const struct witnessed *witnessed, struct vf_curve *curve)
{
    const struct series *frequency = samples_find(samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    const struct series *voltage = samples_find(samples, MEANS_LIVE_OUTPUT_VOLTAGE);
    struct pairs pairs = {0};
    *curve = (struct vf_curve){.knee_hz = NAN, .knee_within = NAN};
    if (frequency == NULL || voltage == NULL)
        return;
    pair_up(frequency, voltage, witnessed, &pairs);
    curve->points = pairs.count;
    for (size_t i = 0; i < pairs.count; i++)
        curve->highest_hz = fmax(curve->highest_hz, pairs.items[i].t_s);
    if (pairs.count > 0) {
        qsort(pairs.items, pairs.count, sizeof *pairs.items, by_voltage);
        find_top(&pairs, voltage->step, curve);
        find_line(&pairs, voltage->step, curve);
    }
    if (curve->has_top && curve->has_line) {
        double within_v;
        curve->knee_hz = (curve->top_v - curve->offset_v) / curve->volts_per_hertz;
        (void)vf_curve_voltage(curve, curve->knee_hz, &within_v);
        curve->knee_within = hypot(within_v, curve->top_within) / curve->volts_per_hertz;
    }
    free(pairs.items);
}

double vf_curve_voltage(const struct vf_curve *curve, double frequency_hz, double *within_v)
{
    *within_v = hypot(curve->value_within, curve->slope_within * (frequency_hz - curve->mean_hz));
    return curve->offset_v + curve->volts_per_hertz * frequency_hz;
}
