/* SPDX-License-Identifier: MIT */
/* The last look at a drive that was written to: does everything that is told still hold, and what else has changed? */
#include "change/perform_internal.h"

#include "motor/show.h"
#include "visit/visit.h"

#include <stdlib.h>
#include <string.h>

enum { VISITS_MOST = 6, VISIT_PAUSE_US = 200000 /* after the first one; each further one is twice as long */ };

/* ---- reading everything ---- */

static bool is_settable(const struct parameter *parameter)
{
    return parameter->settable != SETTABLE_NEVER && parameter->kind == KIND_VALUE;
}

/* It was read before the first write, and is not now. */
static bool is_lost(const struct performance *performance, const struct readings *after, size_t parameter)
{
    return is_settable(&performance->map->parameters[parameter]) &&
           performance->order->change->readings->items[parameter].raw_count > 0 &&
           after->items[parameter].raw_count == 0;
}

static size_t lost(const struct performance *performance, const struct readings *after)
{
    size_t count = 0;
    for (size_t i = 0; i < after->count; i++)
        count += is_lost(performance, after, i) ? 1 : 0;
    return count;
}

/* The watchdog was looked at when the list was made, and the list may have set it. */
static struct visit *look_at_all(struct performance *performance, const struct wanted *wanted)
{
    const struct change_order *change = performance->order->change;
    struct sheet sheet = *change->sheet;
    sheet.watchdog_known = true;
    const struct visit_order order = {.map = change->map,
                                      .sheet = &sheet,
                                      .setpoints = change->setpoints,
                                      .unit = change->unit,
                                      .wanted = wanted,
                                      .judge = false};
    struct visit *visit = NULL;
    for (unsigned i = 0; i < VISITS_MOST; i++) {
        visit_free(visit);
        if (i > 0)
            perform_wait(performance, (int64_t)VISIT_PAUSE_US << (i - 1));
        performance->done = false;
        visit = visit_start(performance->order->link, performance->order->clock, &order, perform_is_done, performance);
        perform_run_loop(performance);
        if (lost(performance, visit_readings(visit)) == 0)
            break;
    }
    return visit;
}

/* ---- outcomes that do not hold any longer ---- */

static void come_to(struct change *change, enum write_outcome outcome, const char *why)
{
    change->outcome = outcome;
    change->exception = 0;
    perform_note(change, "%s", why);
}

static bool is_told_as_new(const struct change *change)
{
    return change->outcome == WRITE_KEPT || change->outcome == WRITE_SET_BY_ITSELF;
}

static void correct_new(struct change *change, struct attempt *attempt)
{
    if (attempt->pending) { /* it counts already */
        attempt->pending = false;
        free(change->note);
        change->note = NULL;
    }
    if (!is_told_as_new(change) && !attempt->fleeting)
        come_to(change, WRITE_KEPT, "the drive took it later: at the end it holds the new value");
}

static void correct_old(const struct parameter *parameter, struct change *change, const struct attempt *attempt)
{
    bool late = parameter->takes_effect == EFFECT_POWER_CYCLE;
    if (is_told_as_new(change) && !attempt->pending)
        come_to(change, WRITE_NOT_KEPT, "changed later: at the end the drive holds the old value again");
    else if (change->outcome == WRITE_CLAMPED)
        come_to(change, WRITE_NOT_KEPT, "changed later: at the end the drive holds the old value");
    else if (change->outcome == WRITE_UNKNOWN && !late)
        come_to(change, attempt->acknowledged ? WRITE_NOT_KEPT : WRITE_NOT_WRITTEN,
                "at the end the drive holds the old value");
}

static void correct_other(struct change *change, const uint16_t *found_before, const char *shown)
{
    if (change->outcome == WRITE_CLAMPED && found_before != NULL &&
        memcmp(found_before, change->found, change->words * sizeof *found_before) == 0)
        return;
    change->outcome = WRITE_CLAMPED;
    change->exception = 0;
    perform_note(change, "changed later: at the end the drive holds %s", shown);
}

static void correct(struct performance *performance, size_t index, const struct readings *after)
{
    struct change *change = &performance->list->items[index];
    struct attempt *attempt = &performance->attempts[index];
    const struct parameter *parameter = &performance->map->parameters[change->parameter];
    const struct reading *reading = &after->items[change->parameter];
    if (reading->raw_count != change->words) {
        perform_note(change, "it could not be read at the end");
        return;
    }
    uint16_t *before = change->found;
    change->found = NULL;
    perform_found(change, reading);
    switch (perform_held(performance, change, reading->raw, reading->raw_count)) {
    case HELD_NEW:
        correct_new(change, attempt);
        break;
    case HELD_OLD:
        correct_old(parameter, change, attempt);
        break;
    case HELD_OTHER:
        correct_other(change, before, change->found_shown);
        break;
    case HELD_UNREAD:
        break;
    }
    free(before);
}

/* What was sent, or is told to hold the new value. The rest the drive keeps for itself. */
static bool is_ours(const struct change *change)
{
    return change->began_ms != 0 || change->outcome == WRITE_SET_BY_ITSELF;
}

static void correct_all(struct performance *performance, const struct readings *after)
{
    for (size_t i = 0; i < performance->list->count; i++) {
        struct change *change = &performance->list->items[i];
        if (!is_ours(change))
            continue;
        enum write_outcome outcome = change->outcome;
        size_t noted = change->note == NULL ? 0 : strlen(change->note);
        correct(performance, i, after);
        if (change->outcome != outcome || noted != (change->note == NULL ? 0 : strlen(change->note)))
            (void)perform_journal_change(performance, i);
    }
}

/* ---- what the drive changed by itself ---- */

static bool is_on_list(const struct change_list *list, size_t parameter)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].parameter == parameter && is_ours(&list->items[i]))
            return true;
    return false;
}

static bool is_announced(const struct performance *performance, size_t parameter)
{
    for (size_t i = 0; i < performance->list->count; i++) {
        const struct change *change = &performance->list->items[i];
        const struct parameter *written = &performance->map->parameters[change->parameter];
        for (size_t k = 0; k < written->writing_changes_count && change->began_ms != 0; k++)
            if (written->writing_changes[k] == parameter)
                return true;
    }
    return false;
}

/* As a person reads it; the words where two different ones read the same. */
static char *shown(const struct reading *reading, bool as_words)
{
    if (!as_words)
        return show_value(&reading->value, reading->unit, reading->step);
    struct texts words = {0};
    for (size_t i = 0; i < reading->raw_count; i++)
        texts_add(&words, text_format("0x%04x", reading->raw[i]));
    char *text = texts_join(&words, " ");
    texts_free(&words);
    return text;
}

static void compare(struct performance *performance, size_t parameter, const struct reading *after)
{
    struct change_list *list = performance->list;
    const struct reading *before = &performance->order->change->readings->items[parameter];
    if (reading_same(before, after))
        return;
    char *was = shown(before, false), *now = shown(after, false);
    if (strcmp(was, now) == 0) {
        free(was);
        free(now);
        was = shown(before, true);
        now = shown(after, true);
    }
    list->own = memory_grow(list->own, list->own_count, sizeof *list->own);
    list->own[list->own_count++] = (struct own_change){
        .parameter = parameter, .was = was, .now = now, .announced = is_announced(performance, parameter)};
}

static void compare_all(struct performance *performance, const struct readings *after)
{
    for (size_t i = 0; i < after->count; i++)
        if (is_settable(&performance->map->parameters[i]) && !is_on_list(performance->list, i) &&
            performance->order->change->readings->items[i].raw_count > 0 && after->items[i].raw_count > 0)
            compare(performance, i, &after->items[i]);
}

/* ---- all of it ---- */

static void tell_lost(struct performance *performance, const struct visit *visit)
{
    const struct readings *after = visit_readings(visit);
    if (lost(performance, after) == 0)
        return;
    performance->unread = true;
    struct texts names = {0};
    for (size_t i = 0; i < after->count; i++)
        if (is_lost(performance, after, i))
            texts_add(&names, text_copy(performance->map->parameters[i].name));
    char *all = texts_join(&names, ", ");
    const char *remark = visit_remark(visit);
    texts_add(&performance->list->punch, text_format("read again what could not be read at the end: %s%s%s", all,
                                                     remark == NULL ? "" : "; ", remark == NULL ? "" : remark));
    free(all);
    texts_free(&names);
}

static void keep_record(struct performance *performance, const struct readings *after)
{
    const struct perform_order *order = performance->order;
    const struct change_order *change = order->change;
    struct record record = {0};
    record_readings(change->map, change->sheet, change->unit, after, order->recorder, RECORD_AFTER_WRITE, &record);
    if (!performance->store_failed)
        performance->store_failed = !store_put(order->store, &record, performance->error);
    if (!performance->store_failed)
        performance->list->after = record.id;
    record_free(&record);
}

/* What another drive holds says nothing of the one that was written to. */
static bool is_other_drive(struct performance *performance, const struct readings *after)
{
    char *why = NULL;
    if (!perform_is_other_drive(performance, after, &why))
        return false;
    performance->unread = true;
    texts_add(&performance->list->punch, text_format("read the drive again that was written to: at the end, %s", why));
    free(why);
    return true;
}

void perform_look_again(struct performance *performance)
{
    struct wanted wanted = {0};
    change_reads(performance->map, performance->order->change->setpoints, &wanted);
    struct visit *visit = look_at_all(performance, &wanted);
    const struct readings *after = visit_readings(visit);
    if (!is_other_drive(performance, after)) {
        correct_all(performance, after);
        compare_all(performance, after);
        tell_lost(performance, visit);
        keep_record(performance, after);
    }
    visit_free(visit);
    wanted_free(&wanted);
}
