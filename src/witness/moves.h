/* SPDX-License-Identifier: MIT */
/* Cuts a course of values into moves: flat, up, down. Pure functions. */
#ifndef ASLEFT_WITNESS_MOVES_H
#define ASLEFT_WITNESS_MOVES_H

#include "types/samples.h"

#include <stddef.h>

enum move_kind { MOVE_FLAT, MOVE_UP, MOVE_DOWN };

/* Samples `first` to `last`, both included; the next move begins where this one ends. */
struct move {
    enum move_kind kind;
    size_t first, last;
    double level; /* of a flat one: the median of the values' sizes */
};

struct moves {
    struct move *items; /* owned */
    size_t count;
};

/* What of a series counts as a movement. */
struct graininess {
    double interval_s; /* usual time between samples */
    double held_s;     /* the drive holds a value for so long; 0 where it is not known to */
    double noise;      /* standard deviation while it holds */
    double movement;   /* less is no movement */
    double edge;       /* so near to a level belongs to it */
    double zero;       /* less is standstill */
};

void graininess_of(const struct series *series, struct graininess *graininess);

/* Moves of the values' sizes (without sign) from sample `first` to `last`, both included. A swing around the end value
 * right behind a move belongs to the flat one that follows. */
void moves_find(const struct series *series, const struct graininess *graininess, size_t first, size_t last,
                struct moves *moves);

void moves_free(struct moves *moves);

#endif
