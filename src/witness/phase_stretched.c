/* SPDX-License-Identifier: MIT */
/* Ramps that a current or bus-voltage limit held back. */
#include "witness/phase_marks.h"

#include "witness/ramp_points.h"

#include <math.h>

enum { BINS = 10 };

static bool is_ramp(const struct phase *phase)
{
    return phase->kind == PHASE_RAMP_UP || phase->kind == PHASE_RAMP_DOWN;
}

/* The size of a series at a time, between its samples; NAN outside. */
static double size_between(const struct series *series, int64_t at_us)
{
    const size_t next = series_at(series, at_us);
    if (next >= series->count || (next == 0 && series->items[0].at_us != at_us))
        return NAN;
    const struct sample *after = &series->items[next];
    if (after->at_us == at_us || next == 0)
        return fabs(after->value);
    const struct sample *before = after - 1;
    const double share = (double)(at_us - before->at_us) / (double)(after->at_us - before->at_us);
    return fabs(before->value) + share * (fabs(after->value) - fabs(before->value));
}

/* A ramp in equal parts of time. */
struct course {
    double rate[BINS]; /* towards the end value */
    int64_t edge_us[BINS + 1];
    double fastest;
};

static void follow(const struct series *frequency, const struct phase *phase, struct course *course)
{
    const double direction = phase->kind == PHASE_RAMP_UP ? 1 : -1;
    course->fastest = 0;
    for (int b = 0; b <= BINS; b++)
        course->edge_us[b] = phase->from_us + (phase->to_us - phase->from_us) * b / BINS;
    for (int b = 0; b < BINS; b++) {
        const double seconds = (double)(course->edge_us[b + 1] - course->edge_us[b]) * 1e-6;
        const double change =
            size_between(frequency, course->edge_us[b + 1]) - size_between(frequency, course->edge_us[b]);
        course->rate[b] = direction * change / seconds;
    }
    /* The fastest two in a row: one alone may be a value that was read late. */
    for (int b = 1; b < BINS; b++)
        course->fastest = fmax(course->fastest, (course->rate[b - 1] + course->rate[b]) / 2);
}

/* The longest stretch of slow parts; an end that is rounded does not count. */
static bool find_slow(const struct course *course, int64_t *from_us, int64_t *to_us)
{
    const double slow_share = 0.75;
    int best = 0;
    int run = 0;
    for (int b = 1; b + 1 < BINS; b++) {
        run = course->rate[b] < slow_share * course->fastest ? run + 1 : 0;
        if (run > best) {
            best = run;
            *from_us = course->edge_us[b + 1 - run];
            *to_us = course->edge_us[b + 1];
        }
    }
    /* Of both ends rounded alike, the longer is no more than this. */
    return best >= 3;
}

/* Near its highest of the phase while slow, and well above what it is around the ramp. */
struct held_by {
    enum means means;
    double near_share, above_share;
};

static const struct held_by by_current = {MEANS_LIVE_OUTPUT_CURRENT, 0.93, 1.1};
static const struct held_by by_bus = {MEANS_LIVE_DC_BUS_VOLTAGE, 0.97, 1.04};

static bool is_held_by(const struct samples *samples, const struct held_by *by, const struct phase *phase,
                       int64_t from_us, int64_t to_us)
{
    const int64_t around_us = 1000000;
    const struct series *series = samples_find(samples, by->means);
    if (series == NULL)
        return false;
    double most = 0;
    for (size_t i = series_at(series, phase->from_us); i < series->count && series->items[i].at_us <= phase->to_us; i++)
        most = fmax(most, fabs(series->items[i].value));
    /* Before a ramp down the motor runs; behind one up it does. */
    const bool up = phase->kind == PHASE_RAMP_UP;
    const double around = up ? series_mean(series, phase->to_us + around_us / 4, phase->to_us + around_us)
                             : series_mean(series, phase->from_us - around_us, phase->from_us);
    const double slow = fabs(series_mean(series, from_us, to_us));
    return slow >= by->near_share * most && (isnan(around) || slow >= by->above_share * fabs(around));
}

static bool is_stretched(const struct samples *samples, const struct series *frequency, const struct phase *phase)
{
    enum { FEWEST = 20 }; /* samples: of fewer the parts' rates say nothing */
    struct course course;
    int64_t from_us;
    int64_t to_us;
    if (series_at(frequency, phase->to_us) - series_at(frequency, phase->from_us) < FEWEST)
        return false;
    follow(frequency, phase, &course);
    return find_slow(&course, &from_us, &to_us) &&
           (is_held_by(samples, &by_current, phase, from_us, to_us) ||
            (phase->kind == PHASE_RAMP_DOWN && is_held_by(samples, &by_bus, phase, from_us, to_us)));
}

/* All the while the command lay beyond the frequency at which it stopped. */
static bool command_lay_beyond(const struct series *command, const struct phase *pause, const struct phase *later)
{
    if (command == NULL || command->count == 0)
        return false;
    const double to = fabs(later->to_hz);
    const double part = fabs(to - fabs(pause->to_hz));
    const size_t first = series_at(command, pause->from_us);
    size_t i = first;
    for (; i < command->count && command->items[i].at_us <= pause->to_us; i++)
        if (fabs(fabs(command->items[i].value) - to) > part / 2)
            return false;
    return i > first;
}

static bool is_interrupted(const struct series *command, const struct phase *phases, size_t count, size_t i)
{
    return i + 2 < count && is_ramp(&phases[i]) && phases[i + 1].kind == PHASE_STEADY &&
           phases[i + 2].kind == phases[i].kind && command_lay_beyond(command, &phases[i + 1], &phases[i + 2]);
}

static void join_interrupted(const struct series *command, struct witnessed *witnessed)
{
    struct phase *phases = witnessed->phases;
    size_t kept = 0;
    for (size_t i = 0; i < witnessed->phase_count; i++) {
        struct phase joined = phases[i];
        while (is_interrupted(command, phases, witnessed->phase_count, i)) {
            i += 2;
            joined.to_us = phases[i].to_us;
            joined.to_hz = phases[i].to_hz;
            joined.is_whole = joined.is_whole && phases[i].is_whole;
            joined.stretched = true;
        }
        phases[kept++] = joined;
    }
    witnessed->phase_count = kept;
}

void phases_mark_stretched(const struct samples *samples, struct witnessed *witnessed)
{
    const struct series *frequency = samples_find(samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    join_interrupted(samples_find(samples, MEANS_LIVE_FREQUENCY_COMMAND), witnessed);
    for (size_t i = 0; i < witnessed->phase_count; i++) {
        struct phase *phase = &witnessed->phases[i];
        if (is_ramp(phase) && !phase->stretched)
            phase->stretched = is_stretched(samples, frequency, phase);
    }
}
