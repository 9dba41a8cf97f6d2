/* SPDX-License-Identifier: MIT */
/* The cautions that are shown before a list of writes. */
#include "change/cautions.h"

enum caution { CAUTION_START, CAUTION_ISOLATE, CAUTION_BUS, CAUTION_WHO };

const char *const cautions_all[] = {
    [CAUTION_START] =
        "The machine may start, now or later: keep everybody clear, and the enable open, until you have tried it.",
    [CAUTION_ISOLATE] =
        "A stopped drive is not isolated: for work on motor, cable or machine lock out and tag out first.",
    [CAUTION_BUS] = "The DC bus stays charged after power is removed: wait as the drive's label says, then measure.",
    [CAUTION_WHO] =
        "Settings are changed by somebody qualified who answers for this machine; local codes and site rules go first.",
    NULL,
};

static void add(struct change_list *list, enum caution caution)
{
    texts_add(&list->cautions, text_copy(cautions_all[caution]));
}

void cautions_add(const struct map *map, struct change_list *list)
{
    if (list->count == 0)
        return;
    for (size_t i = 0; i < list->count; i++)
        if (map->parameters[list->items[i].parameter].could_start) {
            add(list, CAUTION_START);
            break;
        }
    add(list, CAUTION_ISOLATE);
    add(list, CAUTION_BUS);
    add(list, CAUTION_WHO);
}
