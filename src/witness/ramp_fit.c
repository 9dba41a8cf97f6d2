/* SPDX-License-Identifier: MIT */
/* How long a ramp takes, from samples of it, and how well that is known. */
#include "witness/ramp_fit.h"

#include "types/memory.h"
#include "witness/ramp_points.h"
#include "witness/ramp_shape.h"

#include <math.h>
#include <stdlib.h>

/* A filter of one time constant has settled to 5 % after three. */
static const double TIME_CONSTANTS = 3;

/* A box has the spread of an exponential whose time constant is width / sqrt(12). */
static const double BOX_OF_TIME_CONSTANT = 3.4641016;

/* Points of one part of the ramp, those that lie from `from_s` to `to_s`. */
static struct fitted_line line_between(const struct ramp_points *points, double from_s, double to_s, double resolution)
{
    size_t first = 0;
    while (first < points->count && points->items[first].t_s < from_s)
        first++;
    size_t last = first;
    while (last < points->count && points->items[last].t_s <= to_s)
        last++;
    return line_through(&points->items[first], last - first, resolution);
}

/* The middle half of the rise, or what there is. */
static struct fitted_line first_line(const struct ramp_points *points)
{
    const double bounds[][2] = {{0.25, 0.75}, {0.1, 0.9}, {0.02, 0.98}, {-INFINITY, INFINITY}};
    struct fitted_line line = {.slope = NAN};
    for (size_t b = 0; b < sizeof bounds / sizeof bounds[0]; b++) {
        double from_s = INFINITY;
        double to_s = -INFINITY;
        for (size_t i = 0; i < points->count; i++) {
            const double share = points->items[i].y / points->rise_hz;
            if (share < bounds[b][0] || share > bounds[b][1])
                continue;
            from_s = fmin(from_s, points->items[i].t_s);
            to_s = fmax(to_s, points->items[i].t_s);
        }
        line = line_between(points, from_s, to_s, points->resolution);
        if (line.count >= 4 && line.slope > 0)
            return line;
    }
    return line;
}

/* Means of neighbours, few enough to fit a curve to in no time. */
static size_t thin_out(const struct ramp_points *points, struct point *kept, size_t most)
{
    const size_t group = (points->count - 1) / most + 1;
    size_t count = 0;
    for (size_t i = 0; i < points->count; i += group) {
        struct point mean = {0, 0};
        const size_t size = i + group <= points->count ? group : points->count - i;
        for (size_t k = 0; k < size; k++) {
            mean.t_s += points->items[i + k].t_s / (double)size;
            mean.y += points->items[i + k].y / (double)size;
        }
        kept[count++] = mean;
    }
    return count;
}

/* How the ends look: the better of both shapes, and whether they are rounded at all. */
struct ends {
    bool rounded;    /* by whatever: no straight ramp has such ends */
    bool s_shaped;   /* by the ramp itself, as far as can be told */
    double before_s; /* the course leaves the straight part so much before the straight line's end ... */
    double after_s;  /* ... and joins it so much after its begin */
    struct ramp_shape shape;
};

static struct ends look_at_ends(const struct ramp_points *points, const struct fitted_line *line)
{
    enum { MOST = 300 };
    struct ends ends = {0};
    struct point *kept = memory_new(MOST, sizeof *kept);
    const size_t count = thin_out(points, kept, MOST);
    const double took_s = points->rise_hz / line->slope;
    const struct ramp_shape first = {.middle_s = line_time(line, points->rise_hz / 2), .took_s = took_s};
    struct ramp_shape begin = first;
    struct ramp_shape box;
    struct ramp_shape lag;
    /* A register that rounds shows each level to half a step. */
    const double level_within = 1.96 * points->step / sqrt(12);
    const struct shape_task task = {kept, count, points->rise_hz, level_within, points->resolution};
    begin.width_s = 0.15 * took_s;
    ramp_shape_fit(&task, SHAPE_ROUNDED, &begin, &box);
    begin.width_s = 0.05 * took_s;
    ramp_shape_fit(&task, SHAPE_LAGGING, &begin, &lag);
    free(kept);
    const bool by_box = box.found && (!lag.found || box.squares <= lag.squares);
    const struct ramp_shape *better = by_box ? &box : &lag;
    /* What sampling itself smears. */
    const double step_s = points->by_step ? points->step / line->slope : 0;
    const double grain_s = points->interval_s + points->delay_s + 2 * points->half_s + step_s;
    const double filter_box_s = BOX_OF_TIME_CONSTANT * points->filter_s;
    if (!better->found || better->count < 8)
        return ends;
    ends.shape = *better;
    const double box_s = by_box ? box.width_s : BOX_OF_TIME_CONSTANT * lag.width_s;
    ends.rounded = better->width_s > better->width_within_s && box_s > grain_s;
    ends.s_shaped = by_box && ends.rounded && box.width_s - box.width_within_s > filter_box_s + points->delay_s &&
                    box.width_s > fmax(0.05 * box.took_s, 1.5 * grain_s);
    if (ends.rounded) {
        ends.before_s = by_box ? box.width_s / 2 : lag.width_s;
        ends.after_s = by_box ? box.width_s / 2 : (TIME_CONSTANTS - 1) * lag.width_s;
    }
    return ends;
}

/* What of the time between the line's corners is surely straight. */
static struct fitted_line straight_line(const struct ramp_points *points, const struct fitted_line *first,
                                        const struct ends *ends)
{
    const double smear_s = points->half_s + points->delay_s +
                           fmin(2 * first->scatter / first->slope, points->interval_s) +
                           (points->by_change ? points->interval_s : 0.25 * points->interval_s);
    const double begin_s = line_time(first, 0);
    const double end_s = line_time(first, points->rise_hz);
    double after_s = smear_s + fmax(ends->after_s, (TIME_CONSTANTS - 1) * points->filter_s);
    double before_s = smear_s + fmax(ends->before_s, points->filter_s);
    /* What is left has to be worth fitting. */
    const double most = 0.35 * (end_s - begin_s);
    after_s = fmin(after_s, most);
    before_s = fmin(before_s, most);
    const struct fitted_line line = line_between(points, begin_s + after_s, end_s - before_s, points->resolution);
    if (line.count >= 4 && line.slope > 0)
        return line;
    /* Too few are left. With the ends among the points, each end is known to about an interval and no better. */
    struct fitted_line rough = *first;
    const double ends_s = 2 * (points->interval_s + points->delay_s + points->half_s);
    rough.slope_within = fmax(rough.slope_within, rough.slope * fmin(ends_s / (end_s - begin_s), 0.9));
    return rough;
}

/* Two halves of the straight part go at the same rate, as far as can be seen. */
static bool keeps_rate(const struct ramp_points *points, const struct fitted_line *line, double from_s, double to_s)
{
    const double middle_s = (from_s + to_s) / 2;
    const struct fitted_line early = line_between(points, from_s, middle_s, points->resolution);
    const struct fitted_line late = line_between(points, middle_s, to_s, points->resolution);
    if (early.count < 3 || late.count < 3)
        return false;
    const double within = hypot(early.slope_within, late.slope_within) + 0.02 * line->slope;
    return fabs(early.slope - late.slope) <= within && within < 0.5 * line->slope;
}

/* A read value may be older than known by a part of the interval or of the drive's own; over a ramp that part may
 * drift from none to all of it where the two periods nearly agree. Its usual share, as a 95 % interval. */
static double drift_share(const struct ramp_points *points, double took_s)
{
    const double drifts_s = points->by_change ? (points->by_step ? 0 : points->interval_s) : points->delay_s;
    return 0.25 * drifts_s / took_s;
}

static void find_overshoot(const struct series *frequency, const struct phase *phase, const struct ramp_points *points,
                           const struct fitted_line *line, struct ramp_fit *fit)
{
    const double window_s = fmax(0.5 * fit->took_s, 10 * points->interval_s);
    const double direction = fabs(phase->to_hz) > fabs(phase->from_hz) ? 1 : -1;
    const size_t first = series_at(frequency, phase->from_us);
    const size_t last = series_at(frequency, phase->to_us + (int64_t)(window_s * 1e6));
    double most = 0;
    for (size_t i = first; i < last; i++)
        most = fmax(most, direction * (fabs(frequency->items[i].value) - fabs(phase->to_hz)));
    const double noise = points->by_change ? 0 : line->scatter;
    /* Four standard deviations, so that the highest of many samples proves something. */
    const double doubt = fmax(4 * noise, 1.5 * frequency->step) + 0.001 * points->rise_hz;
    if (fabs(phase->to_hz) > 0 && most > doubt) {
        fit->overshoot_hz = most;
        fit->overshoot_above = doubt;
    }
}

/* A filter bends the straight part by a little all along. Where its model leaves no more than the line does, it tells
 * the rate better. */
static bool follows_shape(const struct ramp_points *points, const struct fitted_line *line, const struct ends *ends)
{
    enum { PARTS = 3 };
    if (!ends->rounded || ends->shape.count <= PARTS)
        return false;
    const double left = ends->shape.moved_squares / (double)(ends->shape.count - PARTS);
    const double floor = points->resolution * points->resolution;
    return left <= 2 * fmax(line->scatter * line->scatter, floor);
}

static void fill(const struct ramp_points *points, const struct fitted_line *line, const struct ends *ends,
                 struct ramp_fit *fit)
{
    double within = line->slope_within;
    fit->rate_hz_per_s = line->slope;
    fit->took_s = points->rise_hz / line->slope;
    fit->shape_s = NAN;
    if (ends->s_shaped || follows_shape(points, line, ends)) {
        fit->rate_hz_per_s = points->rise_hz / ends->shape.took_s;
        within = fit->rate_hz_per_s * ends->shape.took_within_s / ends->shape.took_s;
        fit->took_s = ends->shape.took_s;
    }
    if (ends->s_shaped) {
        fit->s_shaped = true;
        fit->shape_s = ends->shape.width_s;
        fit->shape_below = fit->shape_above = ends->shape.width_within_s;
        fit->took_s = ends->shape.took_s + ends->shape.width_s;
    }
    within = hypot(within, fit->rate_hz_per_s * drift_share(points, fit->took_s));
    /* 1 / (rate - d) is further off than 1 / (rate + d). */
    fit->rate_below = fmin(within, 0.9 * fit->rate_hz_per_s);
    fit->rate_above = within;
    const double share = within / fit->rate_hz_per_s;
    const double ends_s = points->interval_s + points->delay_s + 2 * points->half_s;
    fit->took_below = hypot(fit->took_s * share, ends_s);
    fit->took_above = fit->took_below;
    fit->found = isfinite(within) && fit->rate_hz_per_s > 0;
}

void ramp_fit(const struct series *frequency, const struct phase *phase, struct ramp_fit *fit)
{
    enum { FEWEST = 4 };
    struct ramp_points points;
    *fit = (struct ramp_fit){.from_hz = phase->from_hz, .to_hz = phase->to_hz, .shape_s = NAN};
    ramp_points_gather(frequency, phase, &points);
    fit->samples = points.samples;
    const struct fitted_line first =
        points.samples >= FEWEST && points.rise_hz > 0 ? first_line(&points) : (struct fitted_line){.slope = NAN};
    if (first.count >= FEWEST && first.slope > 0) {
        const struct ends ends = look_at_ends(&points, &first);
        const struct fitted_line line = straight_line(&points, &first, &ends);
        fill(&points, &line, &ends, fit);
        const double half_s = 0.4 * points.rise_hz / line.slope - (ends.s_shaped ? ends.shape.width_s / 2 : 0);
        const double middle_s = line_time(&line, points.rise_hz / 2);
        fit->one_rate = half_s > 0 && keeps_rate(&points, &line, middle_s - half_s, middle_s + half_s);
        find_overshoot(frequency, phase, &points, &line, fit);
    }
    ramp_points_free(&points);
}

void ramp_time(const struct ramp_fit *fit, double span_hz, double *time_s, double *below_s, double *above_s)
{
    const double span = fabs(span_hz);
    *time_s = span / fit->rate_hz_per_s;
    *below_s = *time_s - span / (fit->rate_hz_per_s + fit->rate_above);
    *above_s = span / (fit->rate_hz_per_s - fit->rate_below) - *time_s;
}
