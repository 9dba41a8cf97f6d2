/* SPDX-License-Identifier: MIT */
/* Writes a confirmed list to a drive, journal first, and says what became of each. */
#include "change/perform.h"

#include "change/perform_internal.h"

#include <stdlib.h>

static bool is_kept(const struct change *change)
{
    return change->outcome == WRITE_KEPT || change->outcome == WRITE_SET_BY_ITSELF;
}

static bool is_interrupted(const struct performance *performance)
{
    return performance->order->interrupted != NULL && performance->order->interrupted();
}

/* The rest of the list, from `first` on. */
static void leave_out(struct performance *performance, size_t first, const char *why)
{
    for (size_t i = first; i < performance->list->count; i++) {
        struct change *change = &performance->list->items[i];
        change->outcome = WRITE_LEFT_OUT;
        if (why != NULL)
            perform_note(change, "%s", why);
        (void)perform_journal_change(performance, i);
    }
}

/* One change, from the checks to its outcome in the journal. False where the list ends with it. */
static bool perform_one(struct performance *performance, size_t index)
{
    struct change *change = &performance->list->items[index];
    if (perform_may_send(performance, change)) {
        change->outcome = WRITE_SENT;
        if (!perform_journal_change(performance, index)) {
            change->outcome = WRITE_LEFT_OUT;
            perform_note(change, "not sent: the journal could not be kept");
            return false;
        }
        perform_send(performance, index);
    }
    return perform_journal_change(performance, index) && is_kept(change);
}

static void perform_changes(struct performance *performance)
{
    size_t count = performance->list->count;
    for (size_t i = 0; i < count; i++) {
        if (is_interrupted(performance)) {
            leave_out(performance, i, "interrupted before it");
            return;
        }
        if (!perform_one(performance, i)) {
            leave_out(performance, i + 1, NULL);
            return;
        }
    }
}

static bool all_kept(const struct change_list *list)
{
    for (size_t i = 0; i < list->count; i++)
        if (!is_kept(&list->items[i]))
            return false;
    return true;
}

/* What is half done is not made to last. */
static void save_if_whole(struct performance *performance)
{
    struct change_list *list = performance->list;
    if (list->save != SAVE_PLANNED)
        return;
    if (performance->sent && !performance->store_failed && all_kept(list) && !is_interrupted(performance)) {
        perform_save(performance);
        return;
    }
    list->save = SAVE_NONE;
    (void)perform_journal_save(performance, WRITE_LEFT_OUT, NULL);
}

static bool keep_before(struct performance *performance, struct error *error)
{
    const struct perform_order *order = performance->order;
    const struct change_order *change = order->change;
    struct record record = {0};
    record_readings(change->map, change->sheet, change->unit, change->readings, order->recorder, RECORD_BEFORE_WRITE,
                    &record);
    bool kept = store_put(order->store, &record, error);
    if (kept) {
        performance->list->before = record.id;
        kept = perform_journal_begin(performance, &record, error);
    }
    record_free(&record);
    return kept;
}

static void end_journal(struct performance *performance)
{
    if (performance->store_failed) /* the next call is to tell of it */
        return;
    performance->journal.ended_ms = perform_wall_ms(performance);
    performance->store_failed =
        !store_journal_end(performance->order->store, &performance->journal, performance->error);
}

static enum performed judge_performed(const struct performance *performance)
{
    const struct change_list *list = performance->list;
    bool unknown = performance->unread || list->save == SAVE_UNKNOWN;
    for (size_t i = 0; i < list->count; i++)
        unknown |= list->items[i].outcome == WRITE_UNKNOWN;
    if (unknown)
        return PERFORMED_UNKNOWN;
    return all_kept(list) && list->save != SAVE_FAILED && !performance->store_failed ? PERFORMED_KEPT
                                                                                     : PERFORMED_STOPPED;
}

static void performance_free(struct performance *performance)
{
    reader_free(performance->reader);
    readings_free(&performance->readings);
    journal_free(&performance->journal);
    free(performance->attempts);
}

bool change_perform(const struct perform_order *order, struct change_list *list, enum performed *performed,
                    struct error *error)
{
    struct error store_error = {0};
    struct performance performance = {.order = order, .map = order->change->map, .list = list, .error = &store_error};
    *performed = PERFORMED_STOPPED;
    performance.attempts = memory_new(list->count, sizeof *performance.attempts);
    readings_init(&performance.readings, performance.map->count);
    performance.reader = reader_new(order->link, performance.map, (uint8_t)order->change->unit, &performance.readings);
    list->performed = true;
    bool kept = keep_before(&performance, &store_error);
    if (kept) {
        perform_changes(&performance);
        save_if_whole(&performance);
        if (performance.sent)
            perform_look_again(&performance);
        end_journal(&performance);
        perform_punch(&performance);
        *performed = judge_performed(&performance);
        kept = performance.sent || !performance.store_failed;
    } else {
        performance.store_failed = true; /* nothing more is asked of it */
        leave_out(&performance, 0, "not sent: the store could not keep what is there now");
        list->save = SAVE_NONE;
    }
    if (!kept && error != NULL) {
        *error = store_error;
        (void)error_context(error, "nothing was written");
    }
    performance_free(&performance);
    return kept;
}
