/* SPDX-License-Identifier: MIT */
/* One drive's visit, from the first request to a judged reading, as a state machine on the caller's loop. */
#ifndef ASLEFT_VISIT_VISIT_H
#define ASLEFT_VISIT_VISIT_H

#include "bus/link.h"
#include "types/finding.h"
#include "types/map.h"
#include "types/readings.h"
#include "types/setpoints.h"
#include "types/sheet.h"
#include "visit/wanted.h"

struct visit;

/* What a visit is about. All pointers are the caller's and outlive the visit. */
struct visit_order {
    const struct map *map;
    const struct sheet *sheet;
    const struct setpoints *setpoints;
    unsigned unit;
    const struct wanted *wanted; /* what to read; what decides it is read along */
    bool judge;                  /* compare with the setpoints, and read again what differs before it is reported */
};

typedef void (*visit_done)(void *user);

/* Begins at once; `done` is called from loop_run, or before this returns where there is nothing to ask. The order of
 * things, each of which may end the visit early with the symptom that every parameter then bears, but for one that the
 * drive itself refused (exceptions 01 to 03): an armed network watchdog (unless the sheet knows of it), the identity
 * that the map asks for, selectors, values, selectors again, values that differ a second time. */
struct visit *visit_start(struct link *link, const struct clock *clock, const struct visit_order *order,
                          visit_done done, void *user);

/* A visit that is over before it began, because the line did not open: everything bears that symptom. */
struct visit *visit_without_line(const struct clock *clock, const struct visit_order *order, struct symptom symptom,
                                 const char *remark);

/* What was read, and said of it; the visit's own, complete once `done` was called. */
const struct readings *visit_readings(const struct visit *visit);
const struct findings *visit_findings(const struct visit *visit);

/* Why the drive as a whole was not believed or not asked, or what its wrong values have in common; or NULL. */
const char *visit_remark(const struct visit *visit);

void visit_free(struct visit *visit); /* NULL is fine */

#endif
