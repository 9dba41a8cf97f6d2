/* SPDX-License-Identifier: MIT */
/* What a witnessed run shows: its phases, what was measured in them, and the verdict on each. */
#ifndef ASLEFT_TYPES_WITNESSED_H
#define ASLEFT_TYPES_WITNESSED_H

#include "types/finding.h"
#include "types/samples.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum phase_kind {
    PHASE_REST,      /* stopped, no output frequency */
    PHASE_RAMP_UP,   /* output frequency rises towards the command */
    PHASE_STEADY,    /* holds */
    PHASE_RAMP_DOWN, /* falls */
    PHASE_BRAKING,   /* DC braking at standstill */
    PHASE_COASTING,  /* output off, the drive says stopping or nothing */
    PHASE_TRIPPED,
    PHASE_GAP, /* nothing was read */
};
enum { PHASE_KINDS = 8 };

struct phase {
    enum phase_kind kind;
    int64_t from_us, to_us; /* on the samples' clock */
    double from_hz, to_hz;  /* output frequency; NAN where not read */
    bool is_whole;          /* both ends were seen: not cut off by the start or end of sampling, or by a gap */
    bool stretched;         /* a current or bus-voltage limit held it back */
    bool s_shaped;          /* of ramps: rounded at both ends */
    bool command_settled;   /* the frequency command had its end value before: only then a ramp is judged */
};

/* One measured quantity with its uncertainty. 95 of 100 times the truth lies within value - below to value + above. */
struct measure {
    char *name;                 /* owned; for machines: "acceleration_time", "overshoot", "base_frequency" ... */
    enum means means;           /* the setpoint it is compared with, or MEANS_NONE */
    double value, below, above; /* base unit of `unit`'s dimension */
    enum unit unit;             /* to show it in */
    size_t phase;               /* index, or (size_t)-1: of the whole run */
    struct expected expected;   /* base unit */
    enum verdict verdict; /* differs only outside tolerance and uncertainty; unchecked else where nothing proves it */
    enum stake stake;
    char *basis; /* owned: how it was measured and what it is compared with; the reason where unchecked */
};

struct witnessed {
    struct phase *phases; /* in the order of time; owned */
    size_t phase_count;
    struct measure *measures; /* owned */
    size_t measure_count;
    struct texts remarks; /* what the samples cannot show, and why: for persons */
};

/* "rest", "ramp-up", "steady", "ramp-down", "braking", "coasting", "tripped", "gap" */
const char *phase_word(enum phase_kind kind);

/* The first measure of that name, or NULL. */
const struct measure *witnessed_find(const struct witnessed *witnessed, const char *name);

void witnessed_free(struct witnessed *witnessed);

#endif
