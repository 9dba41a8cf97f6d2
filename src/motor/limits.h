/* SPDX-License-Identifier: MIT */
/* All that motor, drive, supply and job limit together. Pure functions. */
#ifndef ASLEFT_MOTOR_LIMITS_H
#define ASLEFT_MOTOR_LIMITS_H

#include "motor/nameplate.h"
#include "types/map.h"
#include "types/setpoints.h"
#include "types/sheet.h"

/* Once the plate's and the job's setpoints stand: adds contradictions and doubts, setpoints for limits that the job
 * leaves open, and what live values should be. */
void limits_check(const struct sheet *sheet, const struct map *map, const struct nameplate *plate,
                  struct setpoints *setpoints);

#endif
