/* SPDX-License-Identifier: MIT */
/* The charts of a witnessed run. */
#include "report/witness_charts.h"

#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

/* Sets of a chart, and the numbers that they own. */
struct drawing {
    struct chart_set *sets;
    double **numbers;
    size_t set_count, number_count;
};

static double *room(struct drawing *drawing, size_t count)
{
    drawing->numbers = memory_grow(drawing->numbers, drawing->number_count, sizeof(double *));
    return drawing->numbers[drawing->number_count++] = memory_new(count, sizeof(double));
}

static void add_set(struct drawing *drawing, const char *label, enum chart_style style, const double *x,
                    const double *y, size_t count)
{
    drawing->sets = memory_grow(drawing->sets, drawing->set_count, sizeof *drawing->sets);
    drawing->sets[drawing->set_count++] =
        (struct chart_set){.label = label, .style = style, .x = x, .y = y, .count = count};
}

static void drawing_free(struct drawing *drawing)
{
    for (size_t i = 0; i < drawing->number_count; i++)
        free(drawing->numbers[i]);
    free(drawing->numbers);
    free(drawing->sets);
}

/* A line through all samples, with a gap where nothing was read for a second. */
static void add_series(struct drawing *drawing, const struct series *series)
{
    enum { GAP_US = 1000000 };
    double *x = room(drawing, 2 * series->count);
    double *y = room(drawing, 2 * series->count);
    size_t count = 0;
    for (size_t i = 0; i < series->count; i++) {
        const struct sample *sample = &series->items[i];
        if (i > 0 && sample->at_us - series->items[i - 1].at_us > GAP_US) {
            x[count] = (double)sample->at_us * 1e-6;
            y[count++] = NAN;
        }
        x[count] = (double)sample->at_us * 1e-6;
        y[count++] = sample->value;
    }
    add_set(drawing, series->parameter, CHART_MEASURED, x, y, count);
}

/* How long each ramp should have been: as much longer or shorter as the time that the job asks for. */
static void add_expected_ramps(struct drawing *drawing, const struct witnessed *witnessed)
{
    double *x = room(drawing, 3 * witnessed->measure_count);
    double *y = room(drawing, 3 * witnessed->measure_count);
    size_t count = 0;
    for (size_t i = 0; i < witnessed->measure_count; i++) {
        const struct measure *measure = &witnessed->measures[i];
        bool is_ramp = measure->means == MEANS_RAMP_ACCELERATION_TIME || measure->means == MEANS_RAMP_DECELERATION_TIME;
        if (!is_ramp || measure->phase >= witnessed->phase_count || measure->expected.kind != EXPECTED_RANGE ||
            !(measure->value > 0) || !isfinite(measure->expected.nominal))
            continue;
        const struct phase *phase = &witnessed->phases[measure->phase];
        const double from_s = (double)phase->from_us * 1e-6;
        const double took_s = (double)(phase->to_us - phase->from_us) * 1e-6;
        x[count] = from_s;
        y[count++] = phase->from_hz;
        x[count] = from_s + took_s * measure->expected.nominal / measure->value;
        y[count++] = phase->to_hz;
        x[count] = x[count - 1];
        y[count++] = NAN;
    }
    if (count > 0)
        add_set(drawing, "as the job asks", CHART_EXPECTED, x, y, count);
}

/* When it began, stopped and tripped. */
static size_t find_marks(const struct witnessed *witnessed, struct chart_mark *marks)
{
    size_t count = 0;
    bool started = false, stopped = false;
    for (size_t i = 0; i < witnessed->phase_count; i++) {
        const struct phase *phase = &witnessed->phases[i];
        const char *label = NULL;
        if (phase->kind == PHASE_RAMP_UP && !started)
            label = "start";
        else if ((phase->kind == PHASE_RAMP_DOWN || phase->kind == PHASE_COASTING) && started && !stopped)
            label = "stop";
        else if (phase->kind == PHASE_TRIPPED)
            label = "trip";
        started |= phase->kind == PHASE_RAMP_UP;
        stopped |= label != NULL && phase->kind != PHASE_RAMP_UP;
        if (label != NULL)
            marks[count++] = (struct chart_mark){(double)phase->from_us * 1e-6, label};
    }
    return count;
}

static void chart_over_time(struct sink *sink, const struct samples *samples, const struct witnessed *witnessed,
                            enum means means, const char *title)
{
    const struct series *series = samples_find(samples, means);
    if (series == NULL || series->count == 0)
        return;
    struct drawing drawing = {0};
    struct chart_mark *marks = memory_new(witnessed->phase_count, sizeof *marks);
    add_series(&drawing, series);
    if (means == MEANS_LIVE_OUTPUT_FREQUENCY)
        add_expected_ramps(&drawing, witnessed);
    const struct chart chart = {.title = title,
                                .x = {"time", "s"},
                                .y = {title, unit_name(dimension_unit(means_table[means].dimension))},
                                .sets = drawing.sets,
                                .set_count = drawing.set_count,
                                .marks = marks,
                                .mark_count = find_marks(witnessed, marks)};
    sink_chart(sink, NULL, &chart);
    free(marks);
    drawing_free(&drawing);
}

/* What one request brought together. */
static size_t pair_up(const struct series *frequency, const struct series *voltage, double *x, double *y)
{
    size_t count = 0;
    for (size_t i = 0, k = 0; i < frequency->count && k < voltage->count;) {
        int64_t apart_us = frequency->items[i].at_us - voltage->items[k].at_us;
        if (apart_us == 0) {
            x[count] = fabs(frequency->items[i].value);
            y[count++] = voltage->items[k].value;
        }
        i += apart_us <= 0;
        k += apart_us >= 0;
    }
    return count;
}

/* In proportion up to the base frequency, then level. */
static void add_expected_curve(struct drawing *drawing, const struct witnessed *witnessed, double highest_hz)
{
    enum { CORNERS = 3 };
    const struct measure *hz = witnessed_find(witnessed, "base_frequency");
    const struct measure *volts = witnessed_find(witnessed, "base_voltage");
    if (hz == NULL || volts == NULL || hz->expected.kind != EXPECTED_RANGE || volts->expected.kind != EXPECTED_RANGE ||
        !isfinite(hz->expected.nominal) || !isfinite(volts->expected.nominal))
        return;
    double *x = room(drawing, CORNERS);
    double *y = room(drawing, CORNERS);
    x[1] = hz->expected.nominal;
    y[1] = y[2] = volts->expected.nominal;
    x[2] = fmax(highest_hz, x[1]);
    add_set(drawing, "straight, as the plate asks", CHART_EXPECTED, x, y, CORNERS);
}

static void chart_voltage(struct sink *sink, const struct samples *samples, const struct witnessed *witnessed)
{
    const struct series *frequency = samples_find(samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    const struct series *voltage = samples_find(samples, MEANS_LIVE_OUTPUT_VOLTAGE);
    if (frequency == NULL || voltage == NULL)
        return;
    struct drawing drawing = {0};
    double *x = room(&drawing, frequency->count);
    double *y = room(&drawing, frequency->count);
    size_t count = pair_up(frequency, voltage, x, y);
    double highest_hz = 0;
    for (size_t i = 0; i < count; i++)
        highest_hz = fmax(highest_hz, x[i]);
    add_set(&drawing, voltage->parameter, CHART_POINTS, x, y, count);
    add_expected_curve(&drawing, witnessed, highest_hz);
    const struct chart chart = {.title = "output voltage over frequency",
                                .x = {"output frequency", "Hz"},
                                .y = {"output voltage", "V"},
                                .sets = drawing.sets,
                                .set_count = drawing.set_count};
    if (count > 0)
        sink_chart(sink, NULL, &chart);
    drawing_free(&drawing);
}

void witness_charts(struct sink *sink, const struct samples *samples, const struct witnessed *witnessed)
{
    chart_over_time(sink, samples, witnessed, MEANS_LIVE_OUTPUT_FREQUENCY, "output frequency");
    chart_over_time(sink, samples, witnessed, MEANS_LIVE_OUTPUT_CURRENT, "output current");
    chart_over_time(sink, samples, witnessed, MEANS_LIVE_DC_BUS_VOLTAGE, "bus voltage");
    chart_voltage(sink, samples, witnessed);
}
