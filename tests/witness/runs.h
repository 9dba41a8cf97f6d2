/* SPDX-License-Identifier: MIT */
/* Runs of a motor whose truth is known, and what a client would read of them, for the tests of witness/. */
#ifndef ASLEFT_TESTS_WITNESS_RUNS_H
#define ASLEFT_TESTS_WITNESS_RUNS_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "types/memory.h"
#include "types/samples.h"
#include "types/witnessed.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* xorshift64*: the same runs on every machine. */
static inline uint64_t next_random(uint64_t *random)
{
    *random ^= *random >> 12;
    *random ^= *random << 25;
    *random ^= *random >> 27;
    return *random * UINT64_C(2685821657736338717);
}

static inline double between(uint64_t *random, double low, double high)
{
    return low + (high - low) * ((double)(next_random(random) >> 11) / 9007199254740992.0);
}

/* Standard normal: Box and Muller. */
static inline double normal(uint64_t *random)
{
    const double u = between(random, 1e-12, 1);
    const double v = between(random, 0, 6.283185307179586);
    return sqrt(-2 * log(u)) * cos(v);
}

/* The true course: a value that moves to others, one leg after the other. */
struct leg {
    double begins_s, took_s; /* of the straight course, without rounding */
    double to;
    double rounded_s; /* each end; 0 straight */
};

enum { LEGS = 12 };

struct course {
    double from;
    struct leg legs[LEGS];
    size_t count;
};

/* 0 to 1 over `took_s`, with both ends rounded over `rounded_s` each; it takes took_s + rounded_s in all. */
static inline double leg_share(const struct leg *leg, double t)
{
    const double s = leg->rounded_s;
    const double whole = leg->took_s + s;
    double u = t - leg->begins_s;
    if (u <= 0)
        return 0;
    if (u >= whole)
        return 1;
    bool late = u > whole / 2;
    if (late)
        u = whole - u;
    const double part = u < s ? u * u / (2 * s) : u - s / 2;
    return (late ? leg->took_s - part : part) / leg->took_s;
}

static inline double course_at(const struct course *course, double t)
{
    double value = course->from;
    double from = course->from;
    for (size_t i = 0; i < course->count; i++) {
        value += (course->legs[i].to - from) * leg_share(&course->legs[i], t);
        from = course->legs[i].to;
    }
    return value;
}

static inline void course_add(struct course *course, double begins_s, double took_s, double to, double rounded_s)
{
    assert_true(course->count < LEGS);
    course->legs[course->count++] = (struct leg){begins_s, took_s, to, rounded_s};
}

/* How a client sees it. */
struct sight {
    double every_s;      /* between samples */
    double jitter_s;     /* each is so much early or late, evenly spread; known to the client */
    double unknown_s;    /* and the drive reads so much off the time the client takes it for: its half_us */
    double step;         /* of the register; rounded */
    double held_s;       /* the drive refreshes the value so often */
    double hold_phase_s; /* the first refresh */
    double filter_s;     /* one time constant */
    double noise;        /* standard deviation, of what the drive measures */
    bool tells_refresh, tells_filter;
    double from_s, to_s;         /* sampling */
    double gap_from_s, gap_to_s; /* no answers */
};

/* Adds a series of that means as the client reads it. */
static inline struct series *samples_watch(struct samples *samples, enum means means, const struct course *course,
                                           const struct sight *sight, uint64_t *random)
{
    samples->items = memory_grow(samples->items, samples->count, sizeof *samples->items);
    struct series *series = &samples->items[samples->count++];
    series->means = means;
    series->parameter = text_copy(means_table[means].name);
    series->step = sight->step;
    series->refreshed_every_s = sight->tells_refresh ? sight->held_s : 0;
    series->filtered_over_s = sight->tells_filter ? sight->filter_s : 0;
    double shown = NAN; /* after filter, noise and hold */
    double filtered = course_at(course, sight->from_s - 1);
    double now_s = sight->from_s - 1; /* of the filter, which runs in steps of at most 1 ms */
    double refresh_s = -INFINITY;
    for (double t = sight->from_s; t <= sight->to_s; t += sight->every_s) {
        const double at_s = t + between(random, -sight->jitter_s, sight->jitter_s);
        const double true_s = at_s + between(random, -sight->unknown_s, sight->unknown_s);
        double taken_s = true_s;
        if (sight->held_s > 0)
            taken_s = floor((true_s - sight->hold_phase_s) / sight->held_s) * sight->held_s + sight->hold_phase_s;
        if (sight->held_s <= 0 || taken_s > refresh_s) {
            refresh_s = taken_s;
            if (sight->filter_s > 0) {
                while (now_s < taken_s) {
                    const double by_s = fmin(taken_s - now_s, fmin(1e-3, sight->filter_s / 20));
                    filtered += (course_at(course, now_s + by_s / 2) - filtered) * -expm1(-by_s / sight->filter_s);
                    now_s += by_s;
                }
            } else {
                filtered = course_at(course, taken_s);
            }
            shown = filtered + (sight->noise > 0 ? sight->noise * normal(random) : 0);
        }
        if (at_s >= sight->gap_from_s && at_s < sight->gap_to_s)
            continue;
        const struct sample sample = {
            .at_us = llround(at_s * 1e6),
            .half_us = llround(sight->unknown_s * 1e6),
            .value = sight->step > 0 ? round(shown / sight->step) * sight->step : shown,
        };
        series_add(series, &sample);
    }
    return series;
}

static inline void assert_near(double found, double expected, double within)
{
    if (!(fabs(found - expected) <= within))
        fail_msg("%.12g is not within %g of %.12g", found, within, expected);
}

#endif
