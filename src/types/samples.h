/* SPDX-License-Identifier: MIT */
/* What was read of a running drive, over and over: one series a live parameter. */
#ifndef ASLEFT_TYPES_SAMPLES_H
#define ASLEFT_TYPES_SAMPLES_H

#include "types/map.h"
#include "types/means.h"
#include "types/traffic.h"

#include <stddef.h>
#include <stdint.h>

/* Words of live.state as bits of a number, for the series of that means. Nothing set: the drive says none of them. */
enum run_state {
    RUN_RUNNING = 1,
    RUN_STARTING = 2,
    RUN_STOPPING = 4,
    RUN_STOPPED = 8,
    RUN_TRIPPED = 16,
    RUN_DC_BRAKING = 32,
    RUN_SLEEPING = 64,
    RUN_LOCAL = 128,
    RUN_REVERSE = 256,
    RUN_AT_SPEED = 512,
    RUN_RESTART_PENDING = 1024,
};
enum { RUN_STATES = 11 };

/* The words of a map for the enum's bits, the lowest first. */
extern const char *const run_state_words[RUN_STATES];

/* One reading. Times count from the run's began_ms. */
struct sample {
    int64_t at_us;   /* the middle of the request that brought it */
    int64_t half_us; /* the drive read its register within so much of that: half of the request's way there and back */
    double value;    /* in the base unit of the means' dimension (types/quantity.h); of live.state the enum's bits; of a
                        trip code the raw value */
};

struct series {
    enum means means;
    char *parameter; /* owned */
    double step;     /* of the register, in the base unit; 0: none */
    enum obtained obtained;
    double refreshed_every_s, filtered_over_s; /* as the map says; 0: it does not */
    struct sample *items;                      /* ascending; owned. A request that failed leaves a gap */
    size_t count;
};

struct samples {
    struct series *items; /* in the map's order; owned */
    size_t count;
    int64_t began_ms, ended_ms; /* UTC */
    struct traffic traffic;
};

/* The series of that means, or NULL. */
const struct series *samples_find(const struct samples *samples, enum means means);

/* Appends a sample to a series. */
void series_add(struct series *series, const struct sample *sample);

void samples_free(struct samples *samples);

#endif
