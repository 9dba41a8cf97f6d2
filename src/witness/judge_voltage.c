/* SPDX-License-Identifier: MIT */
/* Output voltage over output frequency against the base point. */
#include "witness/measures.h"

#include "motor/figure.h"
#include "motor/running.h"
#include "witness/vf_curve.h"

#include <math.h>
#include <stdlib.h>

/* What dead times, slip and resistance compensation change of the base point. Common practice, no source. */
static const double BASE_TOLERANCE = 0.05;

/* What a drive's own reading of voltage may be off by. Common practice, no source. */
static const double READING_SHARE = 0.02;

static struct band around(double value)
{
    return (struct band){value * (1 - BASE_TOLERANCE), value, value * (1 + BASE_TOLERANCE)};
}

/* Each steady phase against what a drive usually gives there. */
static void judge_points(const struct judging *judging, const struct series *voltage)
{
    for (size_t i = 0; i < judging->witnessed->phase_count; i++) {
        const struct phase *phase = &judging->witnessed->phases[i];
        struct setpoint usual;
        int64_t from_us;
        int64_t to_us;
        if (phase->kind != PHASE_STEADY || !settled_part(voltage, phase, &from_us, &to_us))
            continue;
        const struct reading_run run = reading_run(voltage, from_us, to_us);
        const double within = hypot(run.within, READING_SHARE * run.mean);
        struct measure *measure =
            measure_add(judging->witnessed, "output_voltage", MEANS_LIVE_OUTPUT_VOLTAGE, i, run.mean, within, UNIT_V);
        measure->stake = STAKE_EQUIPMENT;
        char *how = text_format("%s at %s, the mean of %zu samples", figure_in(run.mean, UNIT_V).text,
                                figure_in(fabs(phase->to_hz), UNIT_HZ).text, run.count);
        if (running_voltage(&judging->setpoints->running, phase->to_hz, &usual)) {
            measure_judge(measure, (struct band){usual.low, usual.nominal, usual.high},
                          text_format("%s; %s; usual is %s to %s there", how, usual.basis, figure(usual.low).text,
                                      figure_in(usual.high, UNIT_V).text));
            free(usual.basis);
        } else {
            measure_leave(measure, text_format("%s; base voltage and base frequency are not known", how));
        }
        free(how);
    }
}

static void judge_knee(const struct judging *judging, const struct vf_curve *curve)
{
    const struct running *running = &judging->setpoints->running;
    struct measure *measure = measure_add(judging->witnessed, "base_frequency", MEANS_OUTPUT_BASE_FREQUENCY,
                                          (size_t)NO_PHASE, curve->knee_hz, curve->knee_within, UNIT_HZ);
    char *how = text_format("the voltage rises by %s V/Hz up to %s and stays at %s beyond, from %zu pairs of samples",
                            figure(curve->volts_per_hertz).text, figure_in(curve->knee_hz, UNIT_HZ).text,
                            figure_in(curve->top_v, UNIT_V).text, curve->points);
    if (running->is_square)
        measure_leave(measure, text_format("%s; on a square curve the corner is not where two lines meet", how));
    else if (!(running->base_frequency_hz > 0))
        measure_leave(measure, text_format("%s; base frequency is not known", how));
    else
        measure_judge(measure, around(running->base_frequency_hz),
                      text_format("%s; the base frequency is %s, within %s", how,
                                  figure_in(running->base_frequency_hz, UNIT_HZ).text,
                                  figure_in(BASE_TOLERANCE, UNIT_PERCENT).text));
    free(how);
}

/* At base frequency: read there, or the straight line's continuation, with its uncertainty. */
struct base_voltage {
    double value_v, within_v;
    char *how; /* owned; NULL where nothing is found */
};

static struct base_voltage find_base_voltage(const struct running *running, const struct vf_curve *curve)
{
    const double reach_share = 0.5; /* a line that ends lower is continued too far */
    const double base_hz = running->base_frequency_hz;
    struct base_voltage found = {NAN, NAN, NULL};
    if (curve->has_top) {
        found.value_v = curve->top_v;
        found.within_v = curve->top_within;
        found.how = text_format("the voltage stays at %s while the frequency goes on to %s",
                                figure_in(curve->top_v, UNIT_V).text, figure_in(curve->highest_hz, UNIT_HZ).text);
    } else if (curve->has_line && base_hz > 0 && !running->is_square && curve->highest_hz >= reach_share * base_hz) {
        found.value_v = vf_curve_voltage(curve, base_hz, &found.within_v);
        found.how =
            text_format("%s V/Hz, from %zu pairs of samples up to %s, come to %s at the base frequency of %s",
                        figure(curve->volts_per_hertz).text, curve->points, figure_in(curve->highest_hz, UNIT_HZ).text,
                        figure_in(found.value_v, UNIT_V).text, figure_in(base_hz, UNIT_HZ).text);
    }
    return found;
}

void judge_voltage(const struct judging *judging)
{
    const struct series *voltage = samples_find(judging->samples, MEANS_LIVE_OUTPUT_VOLTAGE);
    const struct running *running = &judging->setpoints->running;
    struct vf_curve curve;
    if (voltage == NULL || voltage->count == 0)
        return;
    judge_points(judging, voltage);
    vf_curve_find(judging->samples, judging->witnessed, &curve);
    if (!isnan(curve.knee_hz))
        judge_knee(judging, &curve);
    struct base_voltage found = find_base_voltage(running, &curve);
    if (found.how == NULL) {
        remark_add(
            judging->witnessed,
            text_copy(running->is_square
                          ? "the run did not go beyond the base frequency, which alone tells the base voltage on "
                            "a square curve"
                          : "the run did not go far enough to tell the base voltage: run to half of the base "
                            "frequency at least"));
        return;
    }
    struct measure *measure =
        measure_add(judging->witnessed, "base_voltage", MEANS_OUTPUT_BASE_VOLTAGE, (size_t)NO_PHASE, found.value_v,
                    hypot(found.within_v, READING_SHARE * found.value_v), UNIT_V);
    if (running->base_voltage_v > 0)
        measure_judge(measure, around(running->base_voltage_v),
                      text_format("%s; the base voltage is %s, within %s for what a drive adds and takes away",
                                  found.how, figure_in(running->base_voltage_v, UNIT_V).text,
                                  figure_in(BASE_TOLERANCE, UNIT_PERCENT).text));
    else
        measure_leave(measure, text_format("%s; base voltage is not known", found.how));
    free(found.how);
}
