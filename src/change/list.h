/* SPDX-License-Identifier: MIT */
/* What would have to be written to a drive, in which order, and why it must not be. Pure functions of what was read. */
#ifndef ASLEFT_CHANGE_LIST_H
#define ASLEFT_CHANGE_LIST_H

#include "types/change.h"
#include "types/finding.h"
#include "types/map.h"
#include "types/readings.h"
#include "types/record.h"
#include "types/setpoints.h"
#include "types/sheet.h"
#include "visit/wanted.h"

/* All are the caller's. */
struct change_order {
    const struct map *map;
    const struct sheet *sheet;
    const struct setpoints *setpoints;
    unsigned unit;
    const struct readings *readings; /* decoded; of what change_reads names */
    const struct findings *findings; /* judged; what differs is to be written */
    const struct record *record;     /* to put back; NULL: the setpoints are written */
    const char *replacement;         /* serial number that the technician named for an exchanged drive; may be NULL */
};

/* What has to be read before a list can be made: everything settable, identity, serial number, firmware, state, run
 * command, enable, what a verification reads, and what decides any of these. */
void change_reads(const struct map *map, const struct setpoints *setpoints, struct wanted *wanted);

/* Fills `list`, which is zeroed, but for its code: changes in the order of writing, refusals, what is left, cautions,
 * whether a save belongs to it. Each change differs in its raw words from what the drive holds, is the register's
 * nearest value to the setpoint (of a band without nominal, the nearest end's inside), and is within `accepts` at the
 * moment of its writing. */
void change_list_make(const struct change_order *order, struct change_list *list);

/* Is the drive proved stopped by these readings? Else `word` (owned by the caller) says what it is: "running",
 * "tripped" ..., "not read", "the map cannot prove it". */
bool change_is_stopped(const struct map *map, const struct readings *readings, char **word);

/* Are run command and enable both read, and absent? Else `why` (owned) says what is not. */
bool change_cannot_start(const struct map *map, const struct readings *readings, char **why);

#endif
