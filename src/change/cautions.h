/* SPDX-License-Identifier: MIT */
/* The cautions that are shown before a list of writes. */
#ifndef ASLEFT_CHANGE_CAUTIONS_H
#define ASLEFT_CHANGE_CAUTIONS_H

#include "types/change.h"
#include "types/map.h"

/* Appends to list->cautions those that apply to its changes, the gravest first. The manual has all of them in the same
 * words (docs/manual/writing.md). */
void cautions_add(const struct map *map, struct change_list *list);

/* All of them, NULL at the end: for the manual's test. */
extern const char *const cautions_all[];

#endif
