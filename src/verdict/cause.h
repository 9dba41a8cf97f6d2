/* SPDX-License-Identifier: MIT */
/* Why a value is wrong: the mistake that most probably made it so. */
#ifndef ASLEFT_VERDICT_CAUSE_H
#define ASLEFT_VERDICT_CAUSE_H

#include "types/finding.h"
#include "types/map.h"
#include "types/readings.h"
#include "types/setpoints.h"
#include "types/sheet.h"

/* Fills `cause` and `also` of the findings that differ or are implausible, as judge() left them: one usual mistake that
 * turns the value that is due into the one that was found, within half a step of the register and the rounding of the
 * plate. CAUSE_NONE where none does. How they are ranked: docs/decisions/0006-probable-causes.md. `sheet` may be NULL:
 * then what needs the plate's columns or the supply is not considered. `readings` are those that were judged.
 * Returns one sentence on what several values have in common ("the drive was reset"), owned, or NULL. */
char *causes_find(const struct map *map, const struct sheet *sheet, const struct setpoints *setpoints,
                  const struct readings *readings, struct findings *findings);

#endif
