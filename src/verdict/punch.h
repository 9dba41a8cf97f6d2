/* SPDX-License-Identifier: MIT */
/* The punch list of a drive: what is open before it can be accepted. */
#ifndef ASLEFT_VERDICT_PUNCH_H
#define ASLEFT_VERDICT_PUNCH_H

#include "types/acceptance.h"
#include "types/journal.h"
#include "types/map.h"
#include "types/record.h"
#include "types/witnessed.h"

/* All are the caller's. */
struct punch_order {
    const struct map *map;
    const struct sheet *sheet;
    const struct findings *findings;   /* of what the drive holds now */
    const struct record *now;          /* the same, as a record; without an id */
    const struct record *found, *left; /* the last as found and as left, or NULL */
    const struct witnessed *witnessed; /* the last run, judged, or NULL */
    const struct record *run;          /* what the drive held before that run, or NULL */
    const struct journal *interrupted; /* a write that did not end, or NULL */
};

/* Fills `acceptance`, which is zeroed. Open is what differs, contradicts itself or was not read; what the job does not
 * say though people are at stake; a record as left that is missing or is not what the drive holds; a power cycle that
 * has not been made where values need one to last or to count; a run that was not witnessed, showed a
 * difference or nothing, or is of other settings or another drive; motor tuning after nameplate values were changed;
 * each usual check by hand that the sheet does not have with what was found, by whom and when. */
void punch_make(const struct punch_order *order, struct acceptance *acceptance);

#endif
