/* SPDX-License-Identifier: MIT */
/* What is still to be done once a list was written. */
#include "change/perform_internal.h"

#include <stdlib.h>

/* Does the drive hold something else than before because of it, now or after a power cycle, or may it? */
static bool has_changed(const struct change *change)
{
    return change->began_ms != 0 &&
           (change->outcome == WRITE_KEPT || change->outcome == WRITE_CLAMPED || change->outcome == WRITE_UNKNOWN);
}

/* Tuning measures the motor on the strength of these. */
static bool needs_tuning(const struct performance *performance, const struct change *change)
{
    enum means means = performance->map->parameters[change->parameter].means;
    return has_changed(change) && means_is_nameplate(means);
}

/* Only a power cycle shows whether it lasts, or that it counts. */
static bool needs_power_cycle(const struct performance *performance, const struct change *change)
{
    const struct map *map = performance->map;
    bool may_be_lost = map->keeps == KEEPS_UNSAID || (map->keeps == KEEPS_AFTER_SAVE && map->save.given);
    bool counts_later = map->parameters[change->parameter].takes_effect == EFFECT_POWER_CYCLE;
    return has_changed(change) && (may_be_lost || counts_later);
}

static bool counts_at_stop(const struct performance *performance, const struct change *change)
{
    return has_changed(change) && performance->map->parameters[change->parameter].takes_effect == EFFECT_AT_STOP;
}

struct punch {
    bool (*is_due)(const struct performance *performance, const struct change *change);
    const char *text;
};

static const struct punch punches[] = {
    {needs_tuning, "repeat the motor tuning: nameplate values were changed"},
    {counts_at_stop, "check after the next stop, when it takes effect"},
    {needs_power_cycle, "power cycle and read again"},
};

static void add(struct performance *performance, const struct punch *punch)
{
    struct texts names = {0};
    for (size_t i = 0; i < performance->list->count; i++) {
        const struct change *change = &performance->list->items[i];
        if (punch->is_due(performance, change))
            texts_add(&names, text_copy(performance->map->parameters[change->parameter].name));
    }
    if (names.count > 0) {
        char *all = texts_join(&names, ", ");
        texts_add(&performance->list->punch, text_format("%s: %s", punch->text, all));
        free(all);
    }
    texts_free(&names);
}

/* Half a list is not saved: its values go with the power, and the technician has to know. */
static bool is_unsaved(const struct performance *performance)
{
    if (performance->list->save != SAVE_NONE || performance->map->keeps != KEEPS_AFTER_SAVE)
        return false;
    for (size_t i = 0; i < performance->list->count; i++)
        if (has_changed(&performance->list->items[i]))
            return true;
    return false;
}

void perform_punch(struct performance *performance)
{
    struct texts *punch = &performance->list->punch;
    if (is_unsaved(performance))
        texts_add(punch, text_copy("finish the list, or restore: it was not saved, so what was written lasts until "
                                   "power off only"));
    for (size_t i = 0; i < sizeof punches / sizeof punches[0]; i++)
        add(performance, &punches[i]);
    if (performance->store_failed)
        texts_add(punch, text_format("keep this report: the store failed, and has not all of it (%s)",
                                     performance->error->text));
}
