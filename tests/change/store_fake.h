/* SPDX-License-Identifier: MIT */
/* A store in memory that stands in for store/store.h, where thousands of lists are performed. For one source file a
 * program. */
#ifndef ASLEFT_TESTS_CHANGE_STORE_FAKE_H
#define ASLEFT_TESTS_CHANGE_STORE_FAKE_H

#include "store/store.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

enum { FAKE_STEPS = 16 };

struct store {
    unsigned calls, fail_from; /* the call with that number and those after it fail; 0: none */
    unsigned records[RECORD_KINDS];
    unsigned journals, ended;
    size_t step_count;
    enum write_outcome steps[FAKE_STEPS];
    char *notes[FAKE_STEPS]; /* owned */
    struct record_id before;
    int64_t looked_ms; /* when the record of afterwards was begun; 0: there is none */
};

static inline bool fake_call(struct store *store, struct error *error)
{
    store->calls++;
    if (store->fail_from > 0 && store->calls >= store->fail_from)
        return error_set(error, ERROR_STORE, "the disk is full");
    return true;
}

bool store_put(struct store *store, struct record *record, struct error *error)
{
    if (!fake_call(store, error))
        return false;
    record->id.bytes[0] = (uint8_t)store->calls;
    store->records[record->kind]++;
    if (record->kind == RECORD_AFTER_WRITE)
        store->looked_ms = record->began_ms;
    return true;
}

bool store_journal_begin(struct store *store, struct journal *journal, struct error *error)
{
    if (!fake_call(store, error))
        return false;
    if (journal->step_count > FAKE_STEPS)
        abort();
    journal->id.bytes[0] = (uint8_t)store->calls;
    store->journals++;
    store->step_count = journal->step_count;
    store->before = journal->before;
    for (size_t i = 0; i < journal->step_count; i++)
        store->steps[i] = journal->steps[i].outcome;
    return true;
}

bool store_journal_step(struct store *store, const struct journal *journal, size_t step, struct error *error)
{
    if (!fake_call(store, error))
        return false;
    store->steps[step] = journal->steps[step].outcome;
    free(store->notes[step]);
    store->notes[step] = text_copy(journal->steps[step].note);
    return true;
}

bool store_journal_end(struct store *store, const struct journal *journal, struct error *error)
{
    if (!fake_call(store, error))
        return false;
    store->ended += journal->ended_ms > 0 ? 1 : 0;
    return true;
}

static inline void store_fake_free(struct store *store)
{
    for (size_t i = 0; i < FAKE_STEPS; i++)
        free(store->notes[i]);
    *store = (struct store){0};
}

#endif
