/* SPDX-License-Identifier: MIT */
/* The sampling of one run: when it has begun, what is seen meanwhile, and when it is over. */
#include "command/witnessing.h"

#include "command/repaint.h"
#include "command/trouble.h"
#include "motor/quantity.h"
#include "witness/phases.h"
#include "witness/sampler.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    LOOK_US = 100000,      /* between two looks at what was sampled */
    LOOK_SHARE = 20,       /* and a look takes no more than that part of the time */
    TAIL_US = 1000000,     /* after the stop: whether it stays so */
    SILENT_US = 15000000,  /* after so long nobody answers any more */
    BEFORE_US = 20000000,  /* so much is kept of the time before the start ... */
    TOO_LONG_US = 60000000 /* ... once it has become that much */
};

struct witnessing {
    struct run *run;
    struct sampler *sampler;
    struct watch *watch;
    struct repaint *repaint; /* from when the person was told to start */
    bool told;
    struct run_progress progress;
    int64_t dropped_us; /* what is before the start was dropped up to here */
    int64_t ended_us;   /* the motor has stood still since; 0: it does not */
    bool over;
};

static bool is_over(void *user)
{
    return ((const struct witnessing *)user)->over;
}

/* ---- the line for a person ---- */

static bool last_value(const struct samples *samples, enum means means, double *value)
{
    const struct series *series = samples_find(samples, means);
    if (series == NULL || series->count == 0)
        return false;
    *value = series->items[series->count - 1].value;
    return true;
}

/* "  3.02 A" */
static void add_number(char *line, size_t size, const struct samples *samples, enum means means, double step)
{
    char number[64];
    double value;
    size_t length = strlen(line);
    if (last_value(samples, means, &value))
        (void)snprintf(line + length, size - length, "  %s %s", number_format(value, step, number, sizeof number),
                       unit_name(dimension_unit(means_table[means].dimension)));
}

static void tell_line(void *user, char *line, size_t size)
{
    const struct witnessing *witnessing = user;
    const struct samples *samples = sampler_samples(witnessing->sampler);
    double state = 0;
    (void)snprintf(line, size, "%s",
                   sampler_silent_us(witnessing->sampler) > 1000000 ? "no answer"
                   : witnessing->progress.began                     ? "running"
                                                                    : "waiting for the start");
    add_number(line, size, samples, MEANS_LIVE_OUTPUT_FREQUENCY, 0.1);
    add_number(line, size, samples, MEANS_LIVE_OUTPUT_CURRENT, 0.01);
    add_number(line, size, samples, MEANS_LIVE_OUTPUT_VOLTAGE, 1);
    (void)snprintf(line + strlen(line), size - strlen(line), "%s",
                   samples_find(samples, MEANS_LIVE_DC_BUS_VOLTAGE) == NULL ? "" : "  bus");
    add_number(line, size, samples, MEANS_LIVE_DC_BUS_VOLTAGE, 1);
    if (!last_value(samples, MEANS_LIVE_STATE, &state))
        return;
    for (size_t i = 0; i < RUN_STATES; i++)
        if (((unsigned)state & 1U << i) != 0)
            (void)snprintf(line + strlen(line), size - strlen(line), "  %s", run_state_words[i]);
}

/* ---- when it is over ---- */

/* Who waits for the start for an hour does not want an hour of samples at rest. */
static void drop_waiting(struct witnessing *witnessing, int64_t now_us)
{
    if (witnessing->progress.began || now_us - witnessing->dropped_us < TOO_LONG_US)
        return;
    sampler_keep_last(witnessing->sampler, BEFORE_US);
    witnessing->dropped_us = now_us - BEFORE_US;
}

/* Once something has come of it: what is before the start belongs to a run. */
static void tell_to_start(struct witnessing *witnessing)
{
    double hz;
    if (witnessing->told || !last_value(sampler_samples(witnessing->sampler), MEANS_LIVE_OUTPUT_FREQUENCY, &hz))
        return;
    trouble_note("sampling; start the motor at the drive now, and stop it there again: this ends by itself when it has "
                 "stopped");
    witnessing->told = true;
    witnessing->repaint = repaint_start(witnessing->run->loop, tell_line, witnessing);
}

static void look(void *user)
{
    struct witnessing *witnessing = user;
    int64_t now_us = loop_now_us(witnessing->run->loop);
    tell_to_start(witnessing);
    witnessing->progress = phases_progress(sampler_samples(witnessing->sampler));
    drop_waiting(witnessing, now_us);
    if (!witnessing->progress.ended)
        witnessing->ended_us = 0;
    else if (witnessing->ended_us == 0)
        witnessing->ended_us = now_us;
    else
        witnessing->over = now_us - witnessing->ended_us >= TAIL_US;
    witnessing->over |= sampler_silent_us(witnessing->sampler) >= SILENT_US;
    int64_t done_us = loop_now_us(witnessing->run->loop);
    int64_t pause_us = (done_us - now_us) * LOOK_SHARE;
    watch_deadline(witnessing->watch, done_us + (pause_us > LOOK_US ? pause_us : LOOK_US));
}

/* ---- from the visit to the samples ---- */

static bool has_frequency(const struct map *map, const size_t *parameters, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (map->parameters[parameters[i]].means == MEANS_LIVE_OUTPUT_FREQUENCY)
            return true;
    return false;
}

static void sample(struct witnessing *witnessing, struct run_line *line, const struct sampler_order *order,
                   double most_s, struct samples *samples)
{
    struct loop *loop = witnessing->run->loop;
    int64_t until_us = most_s > 0 ? loop_now_us(loop) + llround(most_s * 1e6) : -1;
    witnessing->sampler = sampler_start(line->link, loop, order);
    witnessing->dropped_us = loop_now_us(loop);
    witnessing->watch = watch_new(loop, look, witnessing);
    watch_deadline(witnessing->watch, witnessing->dropped_us + LOOK_US);
    (void)loop_run(loop, is_over, witnessing, until_us);
    repaint_end(witnessing->repaint);
    witnessing->progress = phases_progress(sampler_samples(witnessing->sampler));
    if (sampler_silent_us(witnessing->sampler) >= SILENT_US)
        trouble_warning("the drive has not answered for 15 s; what was read before is judged");
    watch_free(witnessing->watch);
    link_free(line->link);
    line->link = NULL;
    sampler_end(witnessing->sampler, samples);
}

bool witnessing(struct run *run, const struct job *job, struct run_line *line, const struct visit *visit, double most_s,
                struct samples *samples, bool *seen)
{
    struct witnessing witnessing = {.run = run};
    struct wanted deciding = {0};
    size_t count;
    size_t *parameters = sampler_choose(&job->map, visit_readings(visit), &count);
    bool possible = has_frequency(&job->map, parameters, count);
    *samples = (struct samples){0};
    *seen = false;
    for (size_t i = 0; i < count; i++)
        wanted_add(&deciding, parameters[i]);
    wanted_close(&deciding, &job->map);
    const struct sampler_order order = {.map = &job->map,
                                        .setpoints = &job->setpoints,
                                        .unit = (uint8_t)job->line.unit,
                                        .parameters = parameters,
                                        .count = count,
                                        .readings = visit_readings(visit),
                                        .deciding = deciding.items,
                                        .deciding_count = deciding.count};
    if (possible)
        sample(&witnessing, line, &order, most_s, samples);
    *seen = witnessing.progress.began;
    wanted_free(&deciding);
    free(parameters);
    return possible;
}
