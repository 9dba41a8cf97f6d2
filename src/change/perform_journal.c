/* SPDX-License-Identifier: MIT */
/* The journal of a list that is performed. Nothing goes out before what it is about is on the disk. */
#include "change/perform_internal.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int64_t perform_wall_ms(const struct performance *performance)
{
    const struct clock *clock = performance->order->clock;
    return clock->wall_ms(clock->user);
}

static uint16_t *copy_words(const uint16_t *words, size_t count)
{
    uint16_t *copy = memory_new(count, sizeof *copy);
    memcpy(copy, words, count * sizeof *copy);
    return copy;
}

static void add_changes(struct performance *performance)
{
    const struct change_list *list = performance->list;
    struct journal *journal = &performance->journal;
    journal->step_count = list->count + (list->save == SAVE_PLANNED ? 1 : 0);
    journal->steps = memory_new(journal->step_count, sizeof *journal->steps);
    for (size_t i = 0; i < list->count; i++) {
        const struct change *change = &list->items[i];
        journal->steps[i] =
            (struct journal_step){.parameter = text_copy(performance->map->parameters[change->parameter].name),
                                  .was = copy_words(change->now, change->words),
                                  .to = copy_words(change->to, change->words),
                                  .words = change->words,
                                  .was_shown = text_copy(change->now_shown),
                                  .to_shown = text_copy(change->to_shown),
                                  .outcome = WRITE_PLANNED};
    }
    if (journal->step_count > list->count)
        journal->steps[list->count] =
            (struct journal_step){.was_shown = text_copy(""), .to_shown = text_copy("save"), .outcome = WRITE_PLANNED};
}

bool perform_journal_begin(struct performance *performance, const struct record *before, struct error *error)
{
    const struct change_order *change = performance->order->change;
    const struct recorder *recorder = performance->order->recorder;
    struct journal *journal = &performance->journal;
    *journal = (struct journal){.tag = text_copy(change->sheet->tag),
                                .line = text_copy(recorder->line),
                                .unit = change->unit,
                                .serial_number = text_copy(before->serial_number),
                                .restores = performance->list->restores,
                                .who = text_copy(recorder->who),
                                .host = text_copy(recorder->host),
                                .tool = text_copy(recorder->tool),
                                .process = getpid(),
                                .before = before->id,
                                .began_ms = perform_wall_ms(performance)};
    memcpy(journal->map_sha256, change->map->sha256, sizeof journal->map_sha256);
    memcpy(journal->code, performance->list->code, sizeof journal->code);
    add_changes(performance);
    return store_journal_begin(performance->order->store, journal, error);
}

static bool keep(struct performance *performance, size_t step, enum write_outcome outcome, const char *note)
{
    if (performance->store_failed)
        return false;
    struct journal_step *kept = &performance->journal.steps[step];
    char *copy = text_copy(note);
    free(kept->note);
    kept->note = copy;
    kept->outcome = outcome;
    kept->at_ms = perform_wall_ms(performance);
    performance->store_failed =
        !store_journal_step(performance->order->store, &performance->journal, step, performance->error);
    return !performance->store_failed;
}

bool perform_journal_change(struct performance *performance, size_t index)
{
    const struct change *change = &performance->list->items[index];
    return keep(performance, index, change->outcome, change->note);
}

bool perform_journal_save(struct performance *performance, enum write_outcome outcome, const char *note)
{
    return performance->journal.step_count == performance->list->count ||
           keep(performance, performance->list->count, outcome, note);
}
