/* SPDX-License-Identifier: MIT */
/* A decoded reading as the number that a series keeps. Pure functions. */
#ifndef ASLEFT_WITNESS_SAMPLE_VALUE_H
#define ASLEFT_WITNESS_SAMPLE_VALUE_H

#include "types/map.h"
#include "types/readings.h"

#include <stdbool.h>

/* The value in the base unit; of live.state the bits of enum run_state; of a trip code the raw value. False where the
 * reading has none, or does not count now. */
bool sample_value(const struct map *map, const struct readings *readings, size_t parameter, double *value);

/* What a step of its register is worth in the base unit; 0 of words and codes. */
double sample_step(const struct map *map, const struct readings *readings, size_t parameter);

#endif
