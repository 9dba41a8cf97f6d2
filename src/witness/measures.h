/* SPDX-License-Identifier: MIT */
/* What the judges of a run share: adding a measure, giving its verdict, and reading a series over a phase. */
#ifndef ASLEFT_WITNESS_MEASURES_H
#define ASLEFT_WITNESS_MEASURES_H

#include "motor/band.h"
#include "types/samples.h"
#include "types/setpoints.h"
#include "types/sheet.h"
#include "types/witnessed.h"

struct judging {
    const struct sheet *sheet;
    const struct setpoints *setpoints;
    const struct samples *samples;
    struct witnessed *witnessed;
};

enum { NO_PHASE = -1 };

/* Appends a measure, unchecked and without a basis; it moves when the next one is added. `within` is its uncertainty to
 * both sides. */
struct measure *measure_add(struct witnessed *witnessed, const char *name, enum means means, size_t phase, double value,
                            double within, enum unit unit);

/* Compares it with a band: agrees where they meet, differs where they cannot, unchecked where it is known too badly to
 * tell. `basis` is taken over; a reason is put behind it. */
void measure_judge(struct measure *measure, struct band band, char *basis);

/* Leaves it unchecked; `basis`, which says why, is taken over. */
void measure_leave(struct measure *measure, char *basis);

/* What of its uncertainty and a band comes out. */
enum verdict measure_verdict(double value, double below, double above, struct band band);

/* Adds a sentence for persons, once. `text` is taken over. */
void remark_add(struct witnessed *witnessed, char *text);

/* A series over a time. */
struct reading_run {
    size_t count;
    double mean, highest; /* of the values' sizes; NAN of none */
    double within;        /* 95 %, of the mean: scatter and register step */
};
struct reading_run reading_run(const struct series *series, int64_t from_us, int64_t to_us);

/* The part of a steady phase in which what was filtered or held has settled; false where nothing is left. */
bool settled_part(const struct series *series, const struct phase *phase, int64_t *from_us, int64_t *to_us);

/* The setpoint of that means where it is a range, or NULL. */
const struct setpoint *range_setpoint(const struct setpoints *setpoints, enum means means);

/* The parts of judge_run. */
void judge_ramps(const struct judging *judging);
void judge_voltage(const struct judging *judging);
void judge_slip(const struct judging *judging);
void judge_current(const struct judging *judging);
void judge_bus(const struct judging *judging);

#endif
