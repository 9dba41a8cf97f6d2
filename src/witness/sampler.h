/* SPDX-License-Identifier: MIT */
/* Reads a drive's live parameters over and over, as fast as the line allows. */
#ifndef ASLEFT_WITNESS_SAMPLER_H
#define ASLEFT_WITNESS_SAMPLER_H

#include "bus/link.h"
#include "types/map.h"
#include "types/readings.h"
#include "types/samples.h"
#include "types/setpoints.h"

struct sampler;

/* All pointers are the caller's and outlive the sampler; `readings` only until it has started. */
struct sampler_order {
    const struct map *map;
    const struct setpoints *setpoints;
    uint8_t unit;
    const size_t *parameters; /* what is sampled, in the map's order: those of sampler_choose() */
    size_t count;
    const struct readings *readings; /* what a visit found before */
    const size_t *deciding;          /* parameters that decide the sampled ones: units, bases, conditions */
    size_t deciding_count;
};

/* Is a parameter of that means sampled? */
bool sampler_shows(enum means means);

/* Which parameters a witness samples: the first of each means that shows a run and that was read in `readings`, is in
 * force and has a value. Owned; *count may be 0. */
size_t *sampler_choose(const struct map *map, const struct readings *readings, size_t *count);

/* Begins at once, and goes on until it is freed: one request after the other, none repeated; what fails leaves a gap.
 * On TCP a thousand a second at most. Where the line itself fails, it is tried again four times a second. No callback:
 * look at sampler_samples from a watch or between two calls of loop_run. */
struct sampler *sampler_start(struct link *link, struct loop *loop, const struct sampler_order *order);

/* What was read so far; the sampler's own. */
const struct samples *sampler_samples(const struct sampler *sampler);

/* How long nothing has been answered. */
int64_t sampler_silent_us(const struct sampler *sampler);

/* Drops samples that are more than so much older than the last one. */
void sampler_keep_last(struct sampler *sampler, int64_t keep_us);

/* Ends it and moves what was read to `samples` (samples_free). The link is to be freed before: it would still answer.
 */
void sampler_end(struct sampler *sampler, struct samples *samples);

#endif
