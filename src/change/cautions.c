/* SPDX-License-Identifier: MIT */
/* The cautions that are shown before a list of writes. */
#include "change/cautions.h"

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
