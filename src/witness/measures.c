/* SPDX-License-Identifier: MIT */
/* What the judges of a run share. */
#include "witness/measures.h"

#include "witness/ramp_points.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct measure *measure_add(struct witnessed *witnessed, const char *name, enum means means, size_t phase, double value,
                            double within, enum unit unit)
{
    witnessed->measures = memory_grow(witnessed->measures, witnessed->measure_count, sizeof *witnessed->measures);
    struct measure *measure = &witnessed->measures[witnessed->measure_count++];
    measure->name = text_copy(name);
    measure->means = means;
    measure->value = value;
    measure->below = measure->above = within;
    measure->unit = unit;
    measure->phase = phase;
    measure->verdict = VERDICT_UNCHECKED;
    measure->stake = means_table[means].stake;
    return measure;
}

/* Known so badly that hardly anything could be told from what is asked for. */
static bool is_too_vague(double value, double below, double above, struct band band)
{
    const double useful_share = 0.1;
    const double size = isnan(band.nominal) ? fabs(value) : fabs(band.nominal);
    const double half = isfinite(band.low) && isfinite(band.high) ? (band.high - band.low) / 2 : 0;
    return !(fmax(below, above) <= fmax(half, useful_share * size));
}

enum verdict measure_verdict(double value, double below, double above, struct band band)
{
    const double slack = 1e-9 * fabs(value); /* arithmetic, not disagreement */
    if (value + above < band.low - slack || value - below > band.high + slack)
        return VERDICT_DIFFERS;
    if (is_too_vague(value, below, above, band))
        return VERDICT_UNCHECKED;
    return VERDICT_AGREES;
}

void measure_judge(struct measure *measure, struct band band, char *basis)
{
    measure->expected =
        (struct expected){.kind = EXPECTED_RANGE, .low = band.low, .nominal = band.nominal, .high = band.high};
    measure->verdict = measure_verdict(measure->value, measure->below, measure->above, band);
    measure->basis = basis;
    if (measure->verdict == VERDICT_UNCHECKED) {
        measure->basis = text_format("%s; it is known too badly to tell", basis);
        free(basis);
    }
}

void measure_leave(struct measure *measure, char *basis)
{
    measure->verdict = VERDICT_UNCHECKED;
    measure->basis = basis;
}

void remark_add(struct witnessed *witnessed, char *text)
{
    for (size_t i = 0; i < witnessed->remarks.count; i++)
        if (strcmp(witnessed->remarks.items[i], text) == 0) {
            free(text);
            return;
        }
    texts_add(&witnessed->remarks, text);
}

struct reading_run reading_run(const struct series *series, int64_t from_us, int64_t to_us)
{
    struct reading_run run = {0, NAN, NAN, NAN};
    const size_t first = series_at(series, from_us);
    const size_t last = series_at(series, to_us + 1);
    if (last <= first)
        return run;
    double sum = 0;
    double squares = 0;
    run.count = last - first;
    run.highest = 0;
    for (size_t i = first; i < last; i++) {
        sum += fabs(series->items[i].value);
        run.highest = fmax(run.highest, fabs(series->items[i].value));
    }
    run.mean = sum / (double)run.count;
    for (size_t i = first; i < last; i++)
        squares += pow(fabs(series->items[i].value) - run.mean, 2);
    const double freedom = (double)run.count - 1;
    const double scatter = freedom > 0 ? student_975(freedom) * sqrt(squares / freedom / (double)run.count) : 0;
    run.within = hypot(scatter, series->step / 2);
    return run;
}

bool settled_part(const struct series *series, const struct phase *phase, int64_t *from_us, int64_t *to_us)
{
    const double least_s = 0.2; /* what a motor takes to follow. Common practice, no source */
    const double wait_s = fmax(series->refreshed_every_s + 3 * series->filtered_over_s, least_s);
    *from_us = phase->from_us + (int64_t)(wait_s * 1e6);
    *to_us = phase->to_us - 1;
    return *to_us > *from_us && series_at(series, *to_us + 1) > series_at(series, *from_us);
}

const struct setpoint *range_setpoint(const struct setpoints *setpoints, enum means means)
{
    const struct setpoint *setpoint = setpoints_find(setpoints, means);
    return setpoint != NULL && setpoint->kind == SETPOINT_RANGE ? setpoint : NULL;
}
