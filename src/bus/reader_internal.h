/* SPDX-License-Identifier: MIT */
/* A reader from inside: what the files reader*.c share. */
#ifndef ASLEFT_BUS_READER_INTERNAL_H
#define ASLEFT_BUS_READER_INTERNAL_H

#include "bus/plan_tags.h"
#include "bus/reader.h"

#define NO_SPLIT ((size_t)-1)

/* Items begin to end - 1, still to be asked. */
struct job {
    size_t begin, end;
    size_t split;            /* which split it is one half of, or NO_SPLIT */
    bool plain;              /* not to be grown: that was refused */
    bool doubted;            /* one item that was refused once: a doubled exception may have been another's */
    bool second_chance;      /* it failed once: behind all others it is asked again */
    unsigned planned;        /* what was known when it was; 0: not yet, and it may become several */
    struct plan_block block; /* how it is to be asked */
};

/* A block without gaps that the drive refused, and that was halved. */
struct split {
    unsigned refused;      /* its length */
    unsigned longest_half; /* of those that were read */
    unsigned halves_read;
};

struct reader {
    struct link *link;
    const struct map *map;
    struct readings *readings;
    uint8_t unit;
    struct traffic traffic, traffic_before;

    /* Known from the map, and learned: what no block may bridge, and how long one may be. */
    struct plan_limits limits;
    struct address_range *barriers;
    bool *barrier_is_gap; /* in step with barriers: a refused block had bridged it, whatever is in there */
    size_t barrier_count;
    unsigned longest_read[PLAN_TABLES]; /* what has worked */
    unsigned unknown_refused;           /* blocks that were grown over places the map does not know, and refused */
    bool answered;                      /* the drive has, at any time */
    unsigned knowledge;                 /* counts what changed of all this; never 0 */
    struct plan_item *known;            /* the map's values, sorted */
    size_t known_count;

    /* The call that runs; all empty between calls. */
    size_t *wanted; /* indexes into the map, without doubles */
    size_t wanted_count;
    struct plan_item *items; /* distinct places of what is wanted, sorted */
    size_t item_count;
    struct job *jobs; /* still to be asked, in the order of their addresses; what is to be asked again first */
    size_t job_count;
    struct split *splits;
    size_t split_count;
    struct job asked;
    unsigned silent; /* requests in a row without any reply */
    reader_done done;
    void *user;
};

/* A drive that refuses what lies between its values refuses it everywhere. */
enum { READER_UNKNOWN_REFUSALS = 3 };

/* reader.c */
void reader_insert_job(struct reader *reader, size_t at, const struct job *job);
struct plan_item reader_item(const struct parameter *parameter);
unsigned reader_map_longest(const struct map *map, enum table table);
/* Gives the symptom to what is wanted of these items and was not read some other way. */
void reader_give_symptom(struct reader *reader, const struct job *job, struct symptom symptom);

/* reader_plan.c: plans what is not planned yet, or was with less knowledge. */
void reader_plan(struct reader *reader);
uint8_t reader_function(enum table table);
/* Takes the job out that is to be asked next; there is one. */
struct job reader_take_next(struct reader *reader);

/* reader_learn.c: what the map says. */
void reader_learn_from_map(struct reader *reader);
/* A gap that now holds something wanted is one no more: what in there is refused will be learned item by item. */
void reader_forget_filled_gaps(struct reader *reader);
/* The block asked last was read, was refused, or was answered with silence though a shorter one may not be (false: its
 * length is no reason for it). */
void reader_learn_from_success(struct reader *reader);
void reader_handle_refusal(struct reader *reader, struct symptom symptom);
bool reader_handle_too_long(struct reader *reader);
bool reader_may_be_too_long(const struct reader *reader);

#endif
