/* SPDX-License-Identifier: MIT */
/* From raw words to values: units, scales, percentages and words, by the map and by what selectors say. */
#ifndef ASLEFT_BUS_DECODE_H
#define ASLEFT_BUS_DECODE_H

#include "types/map.h"
#include "types/readings.h"
#include "types/setpoints.h"

/* Decodes every reading that has words, and gives those whose selector, lock or base stands in the way their symptom
 * (SYMPTOM_SELECTOR, SYMPTOM_LOCKED, SYMPTOM_NOT_A_NUMBER) and a remark; sets in_force. Idempotent: may be called again
 * after more has been read; a symptom that an earlier decode gave is taken back first. `setpoints` (may be NULL)
 * supplies bases for `base: sheet` and spans by means. */
void readings_decode(const struct map *map, const struct setpoints *setpoints, struct readings *readings);

/* The raw value of a parameter as one unsigned number of its width, in the map's word order. False where it is not read
 * or is a text. */
bool reading_raw(const struct map *map, const struct readings *readings, size_t parameter, uint32_t *raw);

/* Does the parameter decide a unit, scale, span, base, force, lock or set of another one? */
bool map_is_selector(const struct map *map, size_t parameter);

#endif
