/* SPDX-License-Identifier: MIT */
/* Live values of a drive whose motor turns, against what they should be then. */
#ifndef ASLEFT_VERDICT_LIVE_H
#define ASLEFT_VERDICT_LIVE_H

#include "types/finding.h"
#include "types/map.h"
#include "types/readings.h"
#include "types/setpoints.h"

#include <stdbool.h>

/* Does judge_running look at live values of that means? */
bool running_wants(enum means means);

/* Appends a finding for each live value that was read and has an expectation, where live.state says `running`; nothing
 * otherwise. Only a frequency above the job's maximum differs; the rest rests on estimates and is shown with its range,
 * unchecked. One reading is one instant: nothing here was read twice. */
void judge_running(const struct map *map, const struct setpoints *setpoints, const struct readings *readings,
                   struct findings *findings);

#endif
