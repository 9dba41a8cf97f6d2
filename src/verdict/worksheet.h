/* SPDX-License-Identifier: MIT */
/* The setpoints in the terms of a map's registers, before any drive is asked. */
#ifndef ASLEFT_VERDICT_WORKSHEET_H
#define ASLEFT_VERDICT_WORKSHEET_H

#include "types/finding.h"
#include "types/map.h"
#include "types/setpoints.h"

/* Appends one unchecked finding for each parameter that has a setpoint, in the map's order, then one for each setpoint
 * that no parameter holds; `expected` is the permitted band, `basis` the formula or the reason why there is none. */
void worksheet(const struct map *map, const struct setpoints *setpoints, struct findings *findings);

#endif
