/* SPDX-License-Identifier: MIT */
/* What is to go wrong on the simulated line: which fault, how often, and which request it strikes. */
#ifndef ASLEFT_SIM_LINE_FAULTS_H
#define ASLEFT_SIM_LINE_FAULTS_H

#include "types/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

enum fault_kind {
    FAULT_LATE,
    FAULT_CUT,
    FAULT_CORRUPT,
    FAULT_FOREIGN_UNIT,
    FAULT_DOUBLED,
    FAULT_ECHO,
    FAULT_NOISE,
    FAULT_SILENT,
    FAULT_DEAF,
    FAULT_EXCEPTION,
    FAULT_SLOW,
    FAULT_DISCONNECT,
    FAULT_NOT_KEPT,
    FAULT_CLAMPED,
    FAULT_CHANGED_LATER,
    FAULT_TRIP,
    FAULT_STARTS,
    FAULT_EXCHANGED,
    FAULT_GATEWAY,
};

struct fault {
    enum fault_kind kind;
    const char *text;     /* as it was given; not owned */
    uint64_t least, most; /* its argument: us, bytes, an exception code, a unit (0: the next one) or per cent */
    char *word;           /* its argument, where that is a text; owned */
    uint32_t chance_ppm;  /* of a request, in millionths; 0 where it strikes at one request */
    unsigned long at;     /* the request that it strikes, from 1; 0 where it strikes by chance */
    unsigned long struck; /* times so far */
};

/* All faults of a line. Zero it to start, then line_faults_seed. */
struct line_faults {
    struct fault *items;
    size_t count;
    uint64_t seed;
    uint64_t state;
    unsigned long requests; /* that came so far */
    unsigned long writes;   /* of them, those that write */
};

/* Adds the fault of one `--fault`: KIND, then =ARGUMENT, then :PERCENT% or @N. False with ERROR_USE and what was
 * expected. `text` must outlive the faults. */
bool line_faults_add(struct line_faults *faults, const char *text, struct error *error);
void line_faults_free(struct line_faults *faults);

/* Equal seeds give equal faults to equal requests. */
void line_faults_seed(struct line_faults *faults, uint64_t seed);

/* Is there one of that kind? */
bool line_faults_have(const struct line_faults *faults, enum fault_kind kind);

/* The fault that strikes the next request, counted there; NULL for none. One strikes a request at most: the first in
 * order whose turn it is, else one by chance, where the chances add up. Some strike writes only (`is_write`), and
 * count them only. `spared`: the request is counted, and nothing strikes it. */
const struct fault *line_faults_draw(struct line_faults *faults, bool is_write, bool spared);

/* The fault's argument this time, by chance where it has a range; and a number below `bound` > 0. */
uint64_t line_faults_argument(struct line_faults *faults, const struct fault *fault);
uint64_t line_faults_below(struct line_faults *faults, uint64_t bound);

/* The word of a kind: "late", "foreign-unit". */
const char *fault_word(enum fault_kind kind);

/* Lines for --help, one a kind. */
void line_faults_help(FILE *file);

#endif
