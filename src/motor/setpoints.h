/* SPDX-License-Identifier: MIT */
/* From a sheet to its setpoints: what the nameplate gives directly, what follows from it, and what the job asks for. */
#ifndef ASLEFT_MOTOR_SETPOINTS_H
#define ASLEFT_MOTOR_SETPOINTS_H

#include "types/map.h"
#include "types/setpoints.h"
#include "types/sheet.h"

/* Fills `setpoints` (freed by setpoints_free) for one sheet and its map. What the sheet lacks makes a SETPOINT_MISSING
 * with the reason for each means that a parameter of the map has and that could be computed; what contradicts itself
 * becomes an implausible finding, and what only an estimate speaks against a doubt. Never fails. */
void setpoints_compute(const struct sheet *sheet, const struct map *map, struct setpoints *setpoints);

#endif
