/* SPDX-License-Identifier: MIT */
/* What the files of decode share: selectors as raw values, remarks, and whether a parameter counts now. */
#ifndef ASLEFT_BUS_DECODE_PARTS_H
#define ASLEFT_BUS_DECODE_PARTS_H

#include "types/map.h"
#include "types/readings.h"

/* The raw value of a parameter that decides something; false where it is not read, or is locked itself. */
bool selector_raw(const struct map *map, const struct readings *readings, size_t parameter, uint32_t *raw);

/* Why selector_raw has none: "is not read" or "is locked". */
const char *selector_trouble(const struct readings *readings, size_t parameter);

/* "motor_set is 1", "region is europe (0)": a selector that is read, as owned text. */
char *selector_text(const struct map *map, const struct readings *readings, size_t parameter);

/* Appends an owned text to the remark, behind "; " where there is one already. */
void reading_remark(struct reading *reading, char *text);

/* A reading that has words but cannot be told: symptom and owned remark. */
void reading_fail(struct reading *reading, enum symptom_kind symptom, char *remark);

/* Sets `in_force` by applies_when and by the set in force; a lock, or a selector of these that is not known, fails the
 * reading where it has words. Raw words alone decide, so this goes before any value is decoded. */
void reading_force(const struct map *map, struct readings *readings, size_t parameter);

#endif
