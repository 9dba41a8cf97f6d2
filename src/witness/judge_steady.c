/* SPDX-License-Identifier: MIT */
/* Slip, current and bus voltage of a run against plate, drive and supply. */
#include "witness/measures.h"

#include "motor/dc_bus.h"
#include "motor/figure.h"
#include "motor/live_expectation.h"
#include "motor/nameplate.h"
#include "motor/quantity.h"
#include "witness/ramp_points.h"

#include <math.h>
#include <stdlib.h>

/* Speed at rated load may be off by 20 % of the slip. Source: NEMA MG 1 12.46, as a trade article has it; IEC 60034-1
 * has 20 % too, 30 % below 1 kW. */
static const double SLIP_TOLERANCE = 0.3;

/* What a drive's own readings may be off by. Common practice, no source. */
static const double CURRENT_READING_SHARE = 0.03;
static const double BUS_READING_SHARE = 0.02;

static const double SUPPLY_TOLERANCE = 0.10; /* source: as in motor/dc_bus.h */

static const char *why_no_proof(enum obtained obtained)
{
    switch (obtained) {
    case OBTAINED_MEASURED:
        return NULL;
    case OBTAINED_COMPUTED:
        return "the drive computes the speed, from its output and the plate: that proves no slip";
    case OBTAINED_COMMANDED:
        return "the speed shown is the drive's own reference: that proves no slip";
    case OBTAINED_UNSAID:
        return "the map does not say that the speed is measured: a computed one proves no slip";
    }
    return NULL;
}

static void judge_slip_of(const struct judging *judging, const struct series *frequency, const struct series *speed,
                          size_t i)
{
    const struct derived *derived = &judging->setpoints->derived;
    const struct phase *phase = &judging->witnessed->phases[i];
    const double hz_per_rpm = derived->poles / 120.0;
    int64_t from_us;
    int64_t to_us;
    if (!settled_part(speed, phase, &from_us, &to_us))
        return;
    const struct reading_run turns = reading_run(speed, from_us, to_us);
    const struct reading_run feed = reading_run(frequency, from_us, to_us);
    const char *reason = why_no_proof(speed->obtained);
    const double slip_hz = slip_from_speed_hz(derived->poles, feed.mean, turns.mean);
    struct measure *measure = measure_add(judging->witnessed, "slip", MEANS_MOTOR_RATED_SLIP, i, slip_hz,
                                          hypot(feed.within, turns.within * hz_per_rpm), UNIT_HZ);
    char *how = text_format("%s - %s x %u / 120 = %s, or %s of synchronous speed", figure_in(feed.mean, UNIT_HZ).text,
                            figure_in(turns.mean, UNIT_RPM).text, derived->poles, figure_in(slip_hz, UNIT_HZ).text,
                            figure_in(slip_hz / feed.mean, UNIT_PERCENT).text);
    if (reason != NULL) {
        measure_leave(measure, text_format("%s; %s", reason, how));
        remark_add(judging->witnessed, text_copy(reason));
    } else if (!(derived->slip_hz > 0)) {
        measure_leave(measure, text_format("%s; the plate tells no slip", how));
    } else {
        const double most_hz = (1 + SLIP_TOLERANCE) * derived->slip_hz;
        const bool drives = judging->sheet->load.overhauling == ANSWER_YES;
        const struct band band = {drives ? -most_hz : 0, NAN, most_hz};
        measure_judge(measure, band,
                      text_format("%s; at rated load the plate has %s, up to %s more are usual, and less load has less",
                                  how, figure_in(derived->slip_hz, UNIT_HZ).text,
                                  figure_in(SLIP_TOLERANCE, UNIT_PERCENT).text));
    }
    free(how);
}

void judge_slip(const struct judging *judging)
{
    const struct series *frequency = samples_find(judging->samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    const struct series *speed = samples_find(judging->samples, MEANS_LIVE_SPEED);
    if (frequency == NULL || speed == NULL || judging->setpoints->derived.poles == 0)
        return;
    for (size_t i = 0; i < judging->witnessed->phase_count; i++)
        if (judging->witnessed->phases[i].kind == PHASE_STEADY)
            judge_slip_of(judging, frequency, speed, i);
}

/* What the samples of a quantity can have missed: owned. */
static char *what_is_missed(const struct series *series)
{
    const double unseen_s = fmax(series_interval_s(series), fmax(series->refreshed_every_s, series->filtered_over_s));
    const char *of = series->refreshed_every_s > 0 || series->filtered_over_s > 0
                         ? "as the drive refreshes or filters it, and as it was read"
                         : "as it was read; the map says neither how often the drive refreshes it nor how it filters";
    return text_format("a peak shorter than %s is not seen, %s", figure_in(unseen_s, UNIT_S).text, of);
}

static void judge_steady_current(const struct judging *judging, const struct series *current,
                                 const struct setpoint *most)
{
    for (size_t i = 0; i < judging->witnessed->phase_count; i++) {
        const struct phase *phase = &judging->witnessed->phases[i];
        int64_t from_us;
        int64_t to_us;
        if (phase->kind != PHASE_STEADY || !settled_part(current, phase, &from_us, &to_us))
            continue;
        const struct reading_run run = reading_run(current, from_us, to_us);
        struct measure *measure = measure_add(judging->witnessed, "steady_current", MEANS_MOTOR_RATED_CURRENT, i,
                                              run.mean, hypot(run.within, CURRENT_READING_SHARE * run.mean), UNIT_A);
        char *how = text_format("%s at %s, the mean of %zu samples", figure_in(run.mean, UNIT_A).text,
                                figure_in(fabs(phase->to_hz), UNIT_HZ).text, run.count);
        if (most == NULL)
            measure_leave(measure, text_format("%s; the plate's current is not known", how));
        else
            measure_judge(measure, (struct band){-INFINITY, NAN, most->high},
                          text_format("%s; at most %s of the plate for long", how, figure_in(most->high, UNIT_A).text));
        free(how);
    }
}

/* The highest that was read, against what the drive may give for a short time. */
static void judge_highest_current(const struct judging *judging, const struct series *current)
{
    const struct sheet_drive *drive = &judging->sheet->drive;
    const struct reading_run run = reading_run(current, INT64_MIN / 2, INT64_MAX / 2);
    const bool known = drive->rated_current.given && drive->overload.given;
    const double most_a = known ? quantity_base(&drive->rated_current) * quantity_base(&drive->overload) : NAN;
    const double rounding = known ? quantity_rounding_base(&drive->rated_current) * quantity_base(&drive->overload) : 0;
    char *missed = what_is_missed(current);
    struct measure *measure =
        measure_add(judging->witnessed, "highest_current", MEANS_DRIVE_RATED_CURRENT, (size_t)NO_PHASE, run.highest,
                    hypot(current->step / 2, CURRENT_READING_SHARE * run.highest), UNIT_A);
    char *how = text_format("the highest of %zu samples; %s", run.count, missed);
    if (known)
        measure_judge(measure, (struct band){-INFINITY, NAN, most_a + rounding},
                      text_format("%s; the drive gives %s x %s = %s for a short time", how,
                                  figure_written(&drive->rated_current).text, figure_written(&drive->overload).text,
                                  figure_in(most_a, UNIT_A).text));
    else
        measure_leave(measure, text_format("%s; the sheet does not say the drive's rated current and overload", how));
    remark_add(judging->witnessed, text_format("output current: %s", missed));
    free(how);
    free(missed);
}

void judge_current(const struct judging *judging)
{
    const struct series *current = samples_find(judging->samples, MEANS_LIVE_OUTPUT_CURRENT);
    const struct running *running = &judging->setpoints->running;
    const struct setpoints live = {.items = running->items, .count = running->count};
    if (current == NULL || current->count == 0)
        return;
    judge_steady_current(judging, current, range_setpoint(&live, MEANS_LIVE_OUTPUT_CURRENT));
    judge_highest_current(judging, current);
}

/* The first rest in which it was read: behind a stop the bus may still stand higher. */
static struct reading_run bus_at_rest(const struct judging *judging, const struct series *bus, size_t *phase)
{
    struct reading_run run = {0, NAN, NAN, NAN};
    for (size_t i = 0; i < judging->witnessed->phase_count && run.count == 0; i++) {
        const struct phase *rest = &judging->witnessed->phases[i];
        int64_t from_us;
        int64_t to_us;
        if (rest->kind == PHASE_REST && settled_part(bus, rest, &from_us, &to_us)) {
            run = reading_run(bus, from_us, to_us);
            *phase = i;
        }
    }
    return run;
}

static void judge_bus_at_rest(const struct judging *judging, const struct reading_run *run, size_t phase)
{
    const struct supply *supply = &judging->sheet->supply;
    const double idle_v = judging->setpoints->derived.dc_bus_v;
    struct measure *measure = measure_add(judging->witnessed, "rest_bus_voltage", MEANS_LIVE_DC_BUS_VOLTAGE, phase,
                                          run->mean, hypot(run->within, BUS_READING_SHARE * run->mean), UNIT_V);
    char *how = text_format("%s at rest, the mean of %zu samples", figure_in(run->mean, UNIT_V).text, run->count);
    measure->stake = STAKE_EQUIPMENT;
    if (!(idle_v > 0)) {
        measure_leave(measure,
                      text_format("%s; the sheet does not say the supply, or the bus is regulated or common", how));
    } else {
        const struct band band = {(1 - SUPPLY_TOLERANCE) * idle_v, idle_v, (1 + SUPPLY_TOLERANCE) * idle_v};
        measure_judge(measure, band,
                      text_format("%s; %s x sqrt(2)%s = %s, within %s of the supply", how,
                                  figure_written(&supply->voltage).text,
                                  judging->sheet->drive.front_end == FRONT_DOUBLER ? " x 2" : "",
                                  figure_in(idle_v, UNIT_V).text, figure_in(SUPPLY_TOLERANCE, UNIT_PERCENT).text));
    }
    free(how);
}

/* In whole steps of the register: what a mean leaves below one is nothing that was read. */
static double steps_of(double value, double step)
{
    return step > 0 ? round(value / step) * step : value;
}

static void judge_bus_while_stopping(const struct judging *judging, const struct series *bus,
                                     const struct reading_run *rest)
{
    const struct quantity *trip = &judging->sheet->drive.bus_trip;
    for (size_t i = 0; i < judging->witnessed->phase_count; i++) {
        const struct phase *phase = &judging->witnessed->phases[i];
        if (phase->kind != PHASE_RAMP_DOWN)
            continue;
        const struct reading_run run = reading_run(bus, phase->from_us, phase->to_us);
        if (run.count == 0)
            continue;
        struct measure *measure =
            measure_add(judging->witnessed, "stopping_bus_voltage", MEANS_LIVE_DC_BUS_VOLTAGE, i, run.highest,
                        hypot(bus->step / 2, BUS_READING_SHARE * run.highest), UNIT_V);
        char *missed = what_is_missed(bus);
        const double rise_v = steps_of(run.highest - rest->mean, bus->step);
        char *above = rest->count > 0 ? text_format(", %s above rest", figure_in(rise_v, UNIT_V).text) : text_copy("");
        char *how = text_format("the highest of %zu samples while it slows down%s; %s", run.count, above, missed);
        measure->stake = STAKE_EQUIPMENT;
        if (trip->given)
            measure_judge(measure, (struct band){-INFINITY, NAN, quantity_base(trip)},
                          text_format("%s; the drive trips at %s", how, figure_written(trip).text));
        else
            measure_leave(measure, text_format("%s; the sheet does not say where the drive trips", how));
        free(missed);
        free(above);
        free(how);
    }
}

void judge_bus(const struct judging *judging)
{
    const struct series *bus = samples_find(judging->samples, MEANS_LIVE_DC_BUS_VOLTAGE);
    size_t phase = (size_t)NO_PHASE;
    if (bus == NULL || bus->count == 0)
        return;
    const struct reading_run rest = bus_at_rest(judging, bus, &phase);
    if (rest.count > 0)
        judge_bus_at_rest(judging, &rest, phase);
    judge_bus_while_stopping(judging, bus, &rest);
}
