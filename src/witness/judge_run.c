/* SPDX-License-Identifier: MIT */
/* Judges a run: what was measured against what nameplate, job and drive ask for. */
#include "witness/judge_run.h"

#include "witness/phases.h"

void judge_run(const struct sheet *sheet, const struct setpoints *setpoints, const struct samples *samples,
               struct witnessed *witnessed)
{
    (void)sheet;
    (void)setpoints;
    phases_find(samples, witnessed);
}
