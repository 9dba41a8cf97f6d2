/* SPDX-License-Identifier: MIT */
/* Ramps against the job: their time over the job's span, their shape, and how far they overshoot. */
#include "witness/measures.h"

#include "motor/figure.h"
#include "motor/quantity.h"
#include "witness/ramp_fit.h"
#include "witness/ramp_points.h"

#include <math.h>
#include <stdlib.h>

/* A drive's ramp generator counts in steps, and its register in tenths. Common practice, no source. */
static const double RAMP_TOLERANCE = 0.01;

/* So near to a limit of current, it limits. */
static const double AT_LIMIT_SHARE = 0.95;

struct ramp_names {
    const char *time, *shape, *overshoot;
    enum means means;
};

static const struct ramp_names up_names = {"acceleration_time", "acceleration_shape_time", "overshoot",
                                           MEANS_RAMP_ACCELERATION_TIME};
static const struct ramp_names down_names = {"deceleration_time", "deceleration_shape_time", "undershoot",
                                             MEANS_RAMP_DECELERATION_TIME};

/* One ramp on its way to a verdict. */
struct ramp {
    size_t index;
    const struct phase *phase;
    const struct series *frequency;
    const struct ramp_names *names;
    const struct setpoint *asked; /* NULL: nothing is */
    struct ramp_fit fit;
    double from_hz, to_hz; /* what the time is told for */
    double time_s, below_s, above_s;
};

static double base_of(const struct quantity *quantity)
{
    return quantity->given ? quantity_base(quantity) : NAN;
}

/* The lowest of what may limit the current: the job's limits, and what the drive can give. */
static double current_limit_a(const struct judging *judging, enum phase_kind kind)
{
    const enum means limits[] = {MEANS_LIMIT_CURRENT,
                                 kind == PHASE_RAMP_UP ? MEANS_LIMIT_CURRENT_MOTORING : MEANS_LIMIT_CURRENT_BRAKING};
    const struct sheet_drive *drive = &judging->sheet->drive;
    double limit_a = base_of(&drive->rated_current) * base_of(&drive->overload);
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        const struct setpoint *setpoint = range_setpoint(judging->setpoints, limits[i]);
        if (setpoint != NULL && !isnan(setpoint->nominal))
            limit_a = fmin(limit_a, setpoint->nominal);
    }
    return limit_a;
}

/* Its current stood at the limit while it ramped: an owned reason, or NULL. */
static char *reason_at_limit(const struct judging *judging, const struct ramp *ramp)
{
    const struct series *current = samples_find(judging->samples, MEANS_LIVE_OUTPUT_CURRENT);
    const double limit_a = current_limit_a(judging, ramp->phase->kind);
    if (current == NULL || isnan(limit_a))
        return NULL;
    const int64_t fifth_us = (ramp->phase->to_us - ramp->phase->from_us) / 5;
    const struct reading_run run = reading_run(current, ramp->phase->from_us + fifth_us, ramp->phase->to_us - fifth_us);
    if (!(run.mean >= AT_LIMIT_SHARE * limit_a))
        return NULL;
    return text_format("the current stood at %s, near its limit of %s, and held the ramp back: its time is the load's",
                       figure_in(run.mean, UNIT_A).text, figure_in(limit_a, UNIT_A).text);
}

static bool borders_on_rest(const struct judging *judging, const struct ramp *ramp)
{
    const struct witnessed *witnessed = judging->witnessed;
    const bool up = ramp->phase->kind == PHASE_RAMP_UP;
    if (ramp->index == 0 || ramp->index + 1 >= witnessed->phase_count)
        return false;
    const enum phase_kind before = witnessed->phases[ramp->index - 1].kind;
    const enum phase_kind after = witnessed->phases[ramp->index + 1].kind;
    return up ? before == PHASE_REST && after == PHASE_STEADY
              : before == PHASE_STEADY && (after == PHASE_REST || after == PHASE_BRAKING);
}

/* Why nothing is proved, owned; NULL where something is. */
static char *reason_against(const struct judging *judging, const struct ramp *ramp)
{
    if (ramp->phase->stretched)
        return text_copy("a limit of current or bus voltage, or a pause, held the ramp back: its time is the load's");
    char *at_limit = reason_at_limit(judging, ramp);
    if (at_limit != NULL)
        return at_limit;
    if (ramp->phase->command_settled)
        return NULL;
    if (samples_find(judging->samples, MEANS_LIVE_FREQUENCY_COMMAND) != NULL)
        return text_copy("the frequency command had not reached its end value before, so that this may be the "
                         "command's own course");
    if (!ramp->phase->is_whole || !borders_on_rest(judging, ramp))
        return text_copy("the frequency command was not read, and the ramp does not go between rest and a steady run: "
                         "this may be the command's own course");
    if (!ramp->fit.one_rate || ramp->fit.s_shaped)
        return text_copy("the frequency command was not read, and the rate changes on the way: this may be the "
                         "command's own course");
    return NULL;
}

static const char *what_is_seen(const struct ramp *ramp)
{
    switch (ramp->frequency->obtained) {
    case OBTAINED_COMMANDED:
        return "; the drive shows its own reference: that tells its ramp and says nothing of the shaft";
    case OBTAINED_MEASURED:
    case OBTAINED_COMPUTED:
    case OBTAINED_UNSAID:
        break;
    }
    return "";
}

/* "10.3 s for 0 Hz to 60 Hz (10.1 s to 10.5 s), from 42 samples of output_frequency at 5.83 Hz/s" */
static char *measured_text(const struct judging *judging, const struct ramp *ramp)
{
    const struct ramp_fit *fit = &ramp->fit;
    const bool command_read = samples_find(judging->samples, MEANS_LIVE_FREQUENCY_COMMAND) != NULL;
    char *rounding = fit->s_shaped ? text_format("; both ends are rounded over %s, which adds that much to the whole "
                                                 "and does not count in the rate",
                                                 figure_in(fit->shape_s, UNIT_S).text)
                                   : text_copy("");
    char *text = text_format(
        "%s for %s to %s (%s to %s), from %zu samples of %s at %s between %s and %s%s%s%s",
        figure_in(ramp->time_s, UNIT_S).text, figure(ramp->from_hz).text, figure_in(ramp->to_hz, UNIT_HZ).text,
        figure_in(ramp->time_s - ramp->below_s, UNIT_S).text, figure_in(ramp->time_s + ramp->above_s, UNIT_S).text,
        fit->samples, ramp->frequency->parameter == NULL ? "output frequency" : ramp->frequency->parameter,
        figure_in(fit->rate_hz_per_s, UNIT_HZ_PER_S).text, figure(fabs(fit->from_hz)).text,
        figure_in(fabs(fit->to_hz), UNIT_HZ).text, rounding, what_is_seen(ramp),
        command_read ? "" : "; the frequency command was not read: its constant rate speaks for a ramp");
    free(rounding);
    return text;
}

static struct band with_tolerance(const struct setpoint *asked)
{
    return (struct band){asked->low * (1 - RAMP_TOLERANCE), asked->nominal, asked->high * (1 + RAMP_TOLERANCE)};
}

/* Some drives count the rounding in: then the whole time is what the job asks for. */
static bool whole_would_agree(const struct ramp *ramp, struct band band)
{
    return ramp->fit.s_shaped && measure_verdict(ramp->time_s + ramp->fit.shape_s, ramp->below_s,
                                                 ramp->above_s + ramp->fit.shape_above, band) == VERDICT_AGREES;
}

static void judge_time(const struct judging *judging, const struct ramp *ramp)
{
    struct measure *measure = measure_add(judging->witnessed, ramp->names->time, ramp->names->means, ramp->index,
                                          ramp->time_s, ramp->below_s, UNIT_S);
    measure->above = ramp->above_s;
    char *measured = measured_text(judging, ramp);
    char *reason = NULL;
    if (ramp->asked == NULL) {
        measure_leave(measure, text_format("%s; the sheet does not say what it should be", measured));
        free(measured);
        return;
    }
    const struct band band = with_tolerance(ramp->asked);
    measure->stake = ramp->asked->stake;
    measure_judge(measure, band,
                  text_format("%s; %s, taken as kept within %s", measured, ramp->asked->basis,
                              figure_in(RAMP_TOLERANCE, UNIT_PERCENT).text));
    reason = reason_against(judging, ramp);
    if (reason == NULL && measure->verdict == VERDICT_DIFFERS && whole_would_agree(ramp, band))
        reason = text_format("with the rounding it is %s, which agrees if the drive counts the rounding in",
                             figure_in(ramp->time_s + ramp->fit.shape_s, UNIT_S).text);
    if (reason != NULL) {
        char *basis = measure->basis;
        measure_leave(measure, text_format("%s; %s", reason, basis));
        free(basis);
        free(reason);
    }
    free(measured);
}

/* Drives count a shape's time in many ways: what meets the job's figure agrees, nothing else is proved. */
static void judge_shape(const struct judging *judging, const struct ramp *ramp)
{
    const struct setpoint *asked = range_setpoint(judging->setpoints, MEANS_RAMP_SHAPE_TIME);
    if (!ramp->fit.s_shaped)
        return;
    struct measure *measure = measure_add(judging->witnessed, ramp->names->shape, MEANS_RAMP_SHAPE_TIME, ramp->index,
                                          ramp->fit.shape_s, ramp->fit.shape_below, UNIT_S);
    const char *how = "the time over which the rate rises, and falls, at the ends of the ramp";
    if (asked == NULL) {
        measure_leave(measure, text_format("%s; the sheet does not say what it should be", how));
        return;
    }
    measure_judge(measure, (struct band){asked->low, asked->nominal, asked->high},
                  text_format("%s; %s", how, asked->basis));
    if (measure->verdict == VERDICT_DIFFERS) {
        char *basis = measure->basis;
        measure_leave(measure, text_format("drives count it in different ways: %s", basis));
        free(basis);
    }
}

static void tell_overshoot(const struct judging *judging, const struct ramp *ramp)
{
    const struct ramp_fit *fit = &ramp->fit;
    if (!(fit->overshoot_hz > 0))
        return;
    struct measure *measure = measure_add(judging->witnessed, ramp->names->overshoot, MEANS_NONE, ramp->index,
                                          fit->overshoot_hz, fit->overshoot_above, UNIT_HZ);
    measure_leave(measure, text_format("beyond the end value of %s behind the ramp; nothing says how much is right",
                                       figure_in(fabs(fit->to_hz), UNIT_HZ).text));
}

static void choose_span(const struct judging *judging, struct ramp *ramp)
{
    const struct setpoint *asked = range_setpoint(judging->setpoints, ramp->names->means);
    const double span_hz = asked == NULL ? 0 : fabs(asked->ramp_to_hz - asked->ramp_from_hz);
    ramp->from_hz = fabs(ramp->phase->from_hz);
    ramp->to_hz = fabs(ramp->phase->to_hz);
    if (asked != NULL && span_hz > 0) {
        ramp->asked = asked;
        ramp->from_hz = asked->ramp_from_hz;
        ramp->to_hz = asked->ramp_to_hz;
    }
}

static void judge_ramp(const struct judging *judging, struct ramp *ramp)
{
    ramp_fit(ramp->frequency, ramp->phase, &ramp->fit);
    if (!ramp->fit.found) {
        remark_add(
            judging->witnessed,
            text_format("a %s from %s to %s could not be measured: %zu samples lie in it, too few or too uneven; "
                        "read fewer values, or a faster line, to see it",
                        phase_word(ramp->phase->kind), figure(fabs(ramp->phase->from_hz)).text,
                        figure_in(fabs(ramp->phase->to_hz), UNIT_HZ).text, ramp->fit.samples));
        return;
    }
    judging->witnessed->phases[ramp->index].s_shaped = ramp->fit.s_shaped;
    choose_span(judging, ramp);
    ramp_time(&ramp->fit, ramp->to_hz - ramp->from_hz, &ramp->time_s, &ramp->below_s, &ramp->above_s);
    judge_time(judging, ramp);
    judge_shape(judging, ramp);
    tell_overshoot(judging, ramp);
}

/* The highest frequency of the run against the job's maximum. */
static void judge_highest(const struct judging *judging, const struct series *frequency)
{
    const struct running *running = &judging->setpoints->running;
    const struct setpoints live = {.items = running->items, .count = running->count};
    const struct setpoint *most = range_setpoint(&live, MEANS_LIVE_OUTPUT_FREQUENCY);
    const struct reading_run run = reading_run(frequency, INT64_MIN / 2, INT64_MAX / 2);
    if (run.count == 0 || !(run.highest > 0))
        return;
    struct measure *measure =
        measure_add(judging->witnessed, "highest_frequency", MEANS_LIVE_OUTPUT_FREQUENCY, (size_t)NO_PHASE, run.highest,
                    fmax(frequency->step, 0.002 * run.highest), UNIT_HZ);
    measure->stake = STAKE_EQUIPMENT;
    if (most == NULL)
        measure_leave(measure, text_copy("the highest of the run; the sheet does not say a maximum frequency"));
    else
        measure_judge(measure, (struct band){-INFINITY, NAN, most->high},
                      text_format("the highest of the run; %s", most->basis));
}

void judge_ramps(const struct judging *judging)
{
    const double least_share = 0.1; /* of the highest frequency: less is a correction, no ramp to judge */
    const struct series *frequency = samples_find(judging->samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    if (frequency == NULL || frequency->count == 0)
        return;
    const double highest_hz = reading_run(frequency, INT64_MIN / 2, INT64_MAX / 2).highest;
    for (size_t i = 0; i < judging->witnessed->phase_count; i++) {
        const struct phase *phase = &judging->witnessed->phases[i];
        const bool up = phase->kind == PHASE_RAMP_UP;
        if (!up && phase->kind != PHASE_RAMP_DOWN)
            continue;
        if (fabs(fabs(phase->to_hz) - fabs(phase->from_hz)) < least_share * highest_hz)
            continue;
        struct ramp ramp = {.index = i, .phase = phase, .frequency = frequency, .names = up ? &up_names : &down_names};
        judge_ramp(judging, &ramp);
    }
    judge_highest(judging, frequency);
}
