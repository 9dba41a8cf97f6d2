/* SPDX-License-Identifier: MIT */
/* Setpoints against readings: what agrees, what differs, what is not known. */
#ifndef ASLEFT_VERDICT_JUDGE_H
#define ASLEFT_VERDICT_JUDGE_H

#include "types/finding.h"
#include "types/map.h"
#include "types/readings.h"
#include "types/setpoints.h"

/* Does a verification say something of this parameter? Yes for what has a means or can be set; no for live values,
 * the drive's own identification, and commands. */
bool judge_wants(const struct parameter *parameter);

/* The same for one drive: its serial number and firmware too, where the sheet says which they should be. */
bool judge_includes(const struct parameter *parameter, const struct setpoints *setpoints);

/* Is it read for a verification? Also the live values that judge_running looks at. */
bool judge_reads(const struct parameter *parameter, const struct setpoints *setpoints);

/* Fills `finding`, which is empty, for one parameter that was asked. */
void judge_parameter(const struct map *map, size_t parameter, const struct setpoints *setpoints,
                     const struct readings *readings, struct finding *finding);

/* Appends one finding for each parameter that judge_includes and that was asked, in the map's order, then those of
 * judge_running, then a copy of the sheet's own implausible findings, gaps and doubts. `readings` are decoded. */
void judge(const struct map *map, const struct setpoints *setpoints, const struct readings *readings,
           struct findings *findings);

#endif
