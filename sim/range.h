/* SPDX-License-Identifier: MIT */
/* Which raw values a simulated drive takes for a parameter. */
#ifndef ASLEFT_SIM_RANGE_H
#define ASLEFT_SIM_RANGE_H

#include "sim/drive.h"

/* Is it a special value, one of the choices, or within `accepts` as its bounds are now? For any type but texts. */
bool range_accepts(const struct drive *drive, size_t parameter, uint32_t raw);

/* The nearest raw value to `number` (in the register's unit) that is within `accepts`. False for texts, bits, truth
 * values and choices, which have nothing between, and where the register cannot hold it. */
bool range_nearest(const struct drive *drive, size_t parameter, double number, uint32_t *raw);

#endif
