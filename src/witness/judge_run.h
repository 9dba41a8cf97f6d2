/* SPDX-License-Identifier: MIT */
/* Judges a run: what was measured against what nameplate, job and drive ask for. Pure functions. */
#ifndef ASLEFT_WITNESS_JUDGE_RUN_H
#define ASLEFT_WITNESS_JUDGE_RUN_H

#include "types/map.h"
#include "types/samples.h"
#include "types/setpoints.h"
#include "types/sheet.h"
#include "types/witnessed.h"

/* Fills `witnessed`, which is zeroed: phases, measures, remarks. */
void judge_run(const struct sheet *sheet, const struct setpoints *setpoints, const struct samples *samples,
               struct witnessed *witnessed);

#endif
