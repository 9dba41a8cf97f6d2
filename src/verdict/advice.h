/* SPDX-License-Identifier: MIT */
/* Why something could not be read, and where to look: the table of symptoms, and which of its rows apply. */
#ifndef ASLEFT_VERDICT_ADVICE_H
#define ASLEFT_VERDICT_ADVICE_H

#include "types/advice.h"
#include "types/map.h"
#include "types/readings.h"

/* The whole table, the line's symptoms before the drive's: row 0, 1 ... and NULL at the end. */
const struct advice_row *advice_row_at(size_t index);

/* The row for one symptom, on that line, of that extent (one bit each). Of several that fit the first counts. NULL for
 * SYMPTOM_NONE alone. */
const struct advice_row *advice_for(struct symptom symptom, enum advice_line line, enum advice_extent extent);

/* The row for a line that did not open; NULL for LINE_TROUBLE_NONE. */
const struct advice_row *advice_for_trouble(enum line_trouble trouble);

/* How much of the drive shares the fate of a parameter that was not read: was anything else of its table, or of
 * another, read? */
enum advice_extent advice_extent_of(const struct map *map, const struct readings *readings, size_t parameter);

/* Fills `advice` with the rows that apply to a drive's readings (of `map`), each once a symptom, in the order in which
 * the map meets them. Where the line did not open, `trouble` says why, and its row alone counts for every symptom. */
void advise(const struct map *map, const struct readings *readings, enum advice_line line, enum line_trouble trouble,
            struct advice *advice);

#endif
