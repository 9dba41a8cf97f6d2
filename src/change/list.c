/* SPDX-License-Identifier: MIT */
/* What would have to be written to a drive, in which order, and why it must not be. */
#include "change/list.h"

#include "bus/decode.h"
#include "bus/writer.h"
#include "change/cautions.h"
#include "change/list_parts.h"
#include "motor/show.h"
#include "verdict/judge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const struct parameter *listing_parameter(const struct listing *listing, size_t parameter)
{
    return &listing->order->map->parameters[parameter];
}

const struct finding *listing_finding(const struct listing *listing, const char *parameter)
{
    const struct findings *findings = listing->order->findings;
    for (size_t i = 0; findings != NULL && i < findings->count; i++)
        if (findings->items[i].parameter != NULL && strcmp(findings->items[i].parameter, parameter) == 0)
            return &findings->items[i];
    return NULL;
}

void listing_refuse(struct listing *listing, size_t parameter, char *reason)
{
    change_list_refuse(listing->list,
                       parameter == PARAMETER_NOT_FOUND ? NULL : text_copy(listing_parameter(listing, parameter)->name),
                       reason);
}

void listing_leave(struct listing *listing, const char *name, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    char *sentence = text_format_list(format, list);
    va_end(list);
    texts_add(&listing->list->left, text_format("%s %s", name, sentence));
    free(sentence);
}

static uint16_t *words_copy(const uint16_t *words, size_t count)
{
    uint16_t *copy = memory_new(count, sizeof *copy);
    memcpy(copy, words, count * sizeof *copy);
    return copy;
}

static double number_of(const struct reading *reading)
{
    return reading->value.kind == VALUE_NUMBER ? reading->value.number : NAN;
}

void listing_add(struct listing *listing, size_t parameter, const uint16_t *to, size_t count, char *why,
                 enum stake stake)
{
    const struct reading *now = &listing->order->readings->items[parameter];
    const struct reading *then = trial_put(&listing->trial, parameter, to, count);
    struct change *change = change_list_add(listing->list);
    *change = (struct change){.parameter = parameter,
                              .now = words_copy(now->raw, count),
                              .to = words_copy(to, count),
                              .words = count,
                              .now_number = number_of(now),
                              .to_number = number_of(then),
                              .unit = then->value.kind == VALUE_NUMBER ? then->unit : now->unit,
                              .now_shown = show_value(&now->value, now->unit, now->step),
                              .to_shown = show_value(&then->value, then->unit, then->step),
                              .stake = stake};
    change->why = why;
}

bool listing_has(const struct listing *listing, size_t parameter)
{
    for (size_t i = 0; i < listing->list->count; i++)
        if (listing->list->items[i].parameter == parameter)
            return true;
    return false;
}

static bool reads_anyway(const struct parameter *parameter, const struct setpoints *setpoints)
{
    static const enum means means[] = {MEANS_DRIVE_SERIAL_NUMBER, MEANS_DRIVE_FIRMWARE, MEANS_LIVE_STATE,
                                       MEANS_LIVE_RUN_COMMAND, MEANS_LIVE_ENABLE};
    if (parameter->kind == KIND_COMMAND)
        return false;
    if (parameter->settable != SETTABLE_NEVER || judge_reads(parameter, setpoints))
        return true;
    for (size_t i = 0; i < sizeof means / sizeof *means; i++)
        if (parameter->means == means[i])
            return true;
    return false;
}

static void add_means(const struct map *map, const struct bound *bound, struct wanted *wanted)
{
    for (size_t i = 0; bound->kind == BOUND_MEANS && i < map->count; i++)
        if (map->parameters[i].means == bound->means)
            wanted_add(wanted, i);
}

void change_reads(const struct map *map, const struct setpoints *setpoints, struct wanted *wanted)
{
    for (size_t i = 0; i < map->count; i++) {
        const struct parameter *parameter = &map->parameters[i];
        if (reads_anyway(parameter, setpoints))
            wanted_add(wanted, i);
        if (parameter->settable == SETTABLE_NEVER)
            continue;
        add_means(map, &parameter->accepts_low, wanted); /* what bounds a range */
        add_means(map, &parameter->accepts_high, wanted);
    }
    for (size_t i = 0; i < map->identity_count; i++)
        wanted_add(wanted, map->identity[i].parameter);
    wanted_close(wanted, map);
}

/* Does `decider` decide how `parameter` is to be read? Not by a special value that points at another parameter: such a
 * raw value means the same, whatever that one holds. */
static bool decides(struct map *without_specials, size_t decider, size_t parameter)
{
    struct wanted deciders = {0};
    wanted_add(&deciders, parameter);
    wanted_close(&deciders, without_specials);
    bool decides = decider != parameter && wanted_has(&deciders, decider);
    wanted_free(&deciders);
    return decides;
}

/* Names of what `decider` decides: settable, and on the list or not. */
static char *decided_by(const struct listing *listing, struct map *without_specials, size_t decider, bool listed)
{
    struct texts names = {0};
    for (size_t i = 0; i < listing->order->map->count; i++)
        if (listing_parameter(listing, i)->settable != SETTABLE_NEVER && listing_has(listing, i) == listed &&
            decides(without_specials, decider, i))
            texts_add(&names, text_copy(listing_parameter(listing, i)->name));
    char *all = names.count == 0 ? NULL : texts_join(&names, ", ");
    texts_free(&names);
    return all;
}

void listing_check_selectors(struct listing *listing)
{
    const struct map *map = listing->order->map;
    struct map without_specials = *map;
    without_specials.parameters = memory_new(map->count, sizeof *map->parameters);
    for (size_t i = 0; i < map->count; i++) {
        without_specials.parameters[i] = map->parameters[i];
        without_specials.parameters[i].special.count = 0;
    }
    for (size_t i = 0; i < listing->list->count; i++) {
        size_t decider = listing->list->items[i].parameter;
        if (!map_is_selector(map, decider))
            continue;
        char *with = decided_by(listing, &without_specials, decider, true);
        char *others = decided_by(listing, &without_specials, decider, false);
        if (with != NULL)
            listing_refuse(
                listing, decider,
                text_format("it decides how to read %s, and is never written together with that: set it at the "
                            "keypad, then call again",
                            with));
        else if (others != NULL)
            listing_leave(listing, listing_parameter(listing, decider)->name,
                          "decides how to read %s: verify that again afterwards", others);
        free(with);
        free(others);
    }
    free(without_specials.parameters);
}

/* Refusals that lie in one parameter alone. */
static void check_items(struct listing *listing)
{
    const struct change_order *order = listing->order;
    char *why = NULL;
    bool cannot_start = change_cannot_start(order->map, order->readings, &why);
    for (size_t i = 0; i < listing->list->count; i++) {
        size_t index = listing->list->items[i].parameter;
        const char *reason = NULL;
        if (!writer_can(order->map, index, &reason))
            listing_refuse(listing, index, text_format("cannot be written: %s; set it at the keypad", reason));
        if (listing_parameter(listing, index)->could_start && !cannot_start)
            listing_refuse(listing, index,
                           text_format("writing it may start the shaft, and %s: set this at the keypad, with enable "
                                       "open",
                                       why));
    }
    free(why);
}

/* The state counts for the whole list, for what may be set at any time too: a list is written at a standstill. */
static void check_state(struct listing *listing)
{
    char *word = NULL;
    if (!change_is_stopped(listing->order->map, listing->order->readings, &word))
        listing_refuse(listing, PARAMETER_NOT_FOUND,
                       text_format("the drive is not proved stopped (%s): stop the machine in its normal way and clear "
                                   "what it waits for, or set these at the keypad",
                                   word));
    free(word);
}

static void check_keeping(struct listing *listing)
{
    const struct map *map = listing->order->map;
    switch (map->keeps) {
    case KEEPS_AT_ONCE:
        break;
    case KEEPS_AFTER_SAVE:
        if (map->save.given)
            listing->list->save = SAVE_PLANNED;
        else
            listing_refuse(listing, PARAMETER_NOT_FOUND,
                           text_copy("the map has no save command, so what is written would be lost at power off: add "
                                     "save to the map, or set these at the keypad"));
        break;
    case KEEPS_NEVER:
        listing_refuse(listing, PARAMETER_NOT_FOUND,
                       text_copy("the drive keeps no written value, so it would be lost at power off: set these at "
                                 "the keypad"));
        break;
    case KEEPS_UNSAID:
        listing_leave(listing, "The map",
                      "does not say whether a written value outlasts power off: read again after a "
                      "power cycle");
        break;
    }
}

void change_list_make(const struct change_order *order, struct change_list *list)
{
    struct listing listing = {.order = order, .list = list};
    trial_start(&listing.trial, order);
    if (order->record != NULL) {
        list->restores = true;
        list->from = order->record->id;
        listing_restore(&listing);
    } else {
        listing_write(&listing);
    }
    listing_check_drive(&listing);
    if (list->count > 0) {
        check_items(&listing);
        listing_check_selectors(&listing);
        listing_check_sheet(&listing);
        check_state(&listing);
        check_keeping(&listing);
        listing_sort(&listing);
    }
    cautions_add(order->map, list);
    trial_free(&listing.trial);
}
