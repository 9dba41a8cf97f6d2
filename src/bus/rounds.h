/* SPDX-License-Identifier: MIT */
/* Which requests read the same few parameters over and over: the fewest, and each told apart from those before it by
 * the length of its reply (docs/decisions/0007). Pure functions. */
#ifndef ASLEFT_BUS_ROUNDS_H
#define ASLEFT_BUS_ROUNDS_H

#include "bus/link_tags.h"
#include "types/map.h"
#include "types/symptom.h"

struct rounds;

/* So many requests in a row have replies of different lengths, where the map and the drive permit. */
enum { ROUNDS_APART = 3 };

/* The next request. */
struct round {
    size_t block;
    unsigned growth; /* which of the block's lengths */
    enum table table;
    uint16_t first, count;
};

/* `request_cost` is link_request_cost's. With `told_apart` the line itself tells replies apart (TCP), and all requests
 * are as short as they can be. Parameters that reader_may_ask() denies are left out. The map outlives it. */
struct rounds *rounds_new(const struct map *map, const size_t *parameters, size_t count, unsigned request_cost,
                          bool told_apart);
void rounds_free(struct rounds *rounds); /* NULL is fine */

/* Chooses the next request; false where nothing is left to ask. */
bool rounds_next(struct rounds *rounds, struct round *round);

/* What came of it. Lengths that the drive refuses, or never answers, are given up; so are gaps that it refuses to have
 * read along, and at last parameters. */
void rounds_learn(struct rounds *rounds, const struct round *round, struct symptom symptom);

/* Is the parameter in it? Then *at is its place among the reply's words. */
bool rounds_has(const struct rounds *rounds, const struct round *round, size_t parameter, size_t *at);

/* The request on the wire. */
struct read_tag round_tag(const struct round *round);

/* All requests that can come, for link_reserve; owned. */
struct read_tag *rounds_tags(const struct rounds *rounds, size_t *count);

/* Counts how often the plan has changed; rounds_tags is another one then. */
unsigned rounds_version(const struct rounds *rounds);

#endif
