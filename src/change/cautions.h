/* SPDX-License-Identifier: MIT */
/* The cautions that are shown before a list of writes. */
#ifndef ASLEFT_CHANGE_CAUTIONS_H
#define ASLEFT_CHANGE_CAUTIONS_H

#include "types/caution.h"
#include "types/change.h"
#include "types/map.h"

/* Appends to list->cautions those that apply to its changes, the gravest first. */
void cautions_add(const struct map *map, struct change_list *list);

#endif
