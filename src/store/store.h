/* SPDX-License-Identifier: MIT */
/* Records of drives, and the journal of what is written to them. Operations only: what lies below speaks SQL, behind
 * store/engine.h. All texts are UTF-8, all times integer milliseconds UTC. Errors are ERROR_STORE unless said. */
#ifndef ASLEFT_STORE_STORE_H
#define ASLEFT_STORE_STORE_H

#include "types/error.h"
#include "types/journal.h"
#include "types/record.h"
#include "types/samples.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct store;

enum store_use {
    STORE_LOOK, /* what is there; none is made, nothing is changed */
    STORE_KEEP, /* made where there is none; brought up to this version's schema */
};

/* Where records are kept if nobody says: `asleft/records.sqlite` under $XDG_STATE_HOME, else under $HOME/.local/state,
 * else, for root, /var/lib/asleft/records.sqlite. Owned. NULL with an error that says what to set. */
char *store_default(struct error *error);

/* Opens the store at a path. With STORE_LOOK and nothing there, true and *store NULL. Folders above it are made with
 * STORE_KEEP (0700, the file 0600). What can be wrong, each with its own words and what to do: the folder cannot be
 * made, no permission, read-only file system, full disk, locked by another program (after 5 s), no database at all,
 * damaged, made by a newer version of the program. */
bool store_open(const char *where, enum store_use use, struct store **store, struct error *error);
void store_close(struct store *store); /* NULL is fine */

/* A fresh id from the system's random numbers. */
struct record_id store_new_id(void);

/* ---- records ---- */

/* Keeps a record, whole or not at all; it is on the disk when this returns true. record->id is made where it is not
 * given. Of values that are the same (raw words, symptom) as at the drive's last record before `began_ms`, nothing is
 * stored again. The drive is known by its tag. */
bool store_put(struct store *store, struct record *record, struct error *error);

/* The record of `tag` that `which` names: the first 8 or more digits of an id, or "found", "left", "before-write",
 * "after-write", "witnessed": the latest of that kind. All its values are there, whichever record they were first
 * stored with. ERROR_USE where there is none, or several: says what there is. The record is the caller's either way
 * (record_free).
 */
bool store_get(struct store *store, const char *tag, const char *which, struct record *record, struct error *error);

/* store_put for a record of a witnessed run, with what was sampled. */
bool store_put_run(struct store *store, struct record *record, const struct samples *samples, struct error *error);

/* store_get with the samples; ERROR_USE also where the record is of no run. Both are the caller's (record_free,
 * samples_free), and empty where it fails. */
bool store_get_run(struct store *store, const char *tag, const char *which, struct record *record,
                   struct samples *samples, struct error *error);

/* The latest record of that kind; *found false where there is none. */
bool store_last(struct store *store, const char *tag, enum record_kind kind, bool *found, struct record *record,
                struct error *error);

/* Records without their values, oldest first; `tag` NULL: of all drives. `each` returning false ends it. */
bool store_list(struct store *store, const char *tag, int64_t since_ms,
                bool (*each)(void *user, const struct record *record), void *user, struct error *error);

/* One change of one parameter between two records. */
struct history_row {
    const char *tag, *parameter;
    const char *means;                    /* may be NULL */
    const struct record *record;          /* the first that saw it, without values */
    const struct record_value *was, *now; /* `was` NULL: seen for the first time; `now` NULL: not asked any more, which
                                           * only a record found or left says that had one of these before it */
};

struct history_query {
    const char *tag;       /* NULL: all drives */
    const char *parameter; /* NULL: all */
    int64_t since_ms;
    bool first_too; /* also what was seen for the first time */
};

/* Changes of raw words or symptom, in the order of time, then of the map. `each` returning false ends it; here and in
 * store_list it may read from the store, not write. */
bool store_history(struct store *store, const struct history_query *query,
                   bool (*each)(void *user, const struct history_row *row), void *user, struct error *error);

/* ---- documents ---- */

/* A document that was made. All texts are owned by who fills it. */
struct store_document {
    char *digest; /* 64 hex digits */
    char *tags;   /* of its drives, a comma and a space between */
    char *who, *host, *tool;
    int64_t made_ms;
};

/* Keeps it; one that is known already stays as it is. */
bool store_put_document(struct store *store, const struct store_document *document, struct error *error);

/* The document of that digest; *found false where there is none. store_document_free it. */
bool store_find_document(struct store *store, const char *digest, bool *found, struct store_document *document,
                         struct error *error);
void store_document_free(struct store_document *document);

/* ---- the journal ---- */

/* Keeps the journal with all its steps, before the first request. On the disk when this returns true; id is made. */
bool store_journal_begin(struct store *store, struct journal *journal, struct error *error);

/* Keeps outcome, note and time of one step; on the disk when this returns true. */
bool store_journal_step(struct store *store, const struct journal *journal, size_t step, struct error *error);

/* Keeps ended_ms: nothing more comes. */
bool store_journal_end(struct store *store, const struct journal *journal, struct error *error);

/* The latest journal of `tag` that has not ended; *found false where there is none. The journal is the caller's. */
bool store_journal_open(struct store *store, const char *tag, bool *found, struct journal *journal,
                        struct error *error);

/* The latest journal of `tag` at all, likewise. */
bool store_journal_last(struct store *store, const char *tag, bool *found, struct journal *journal,
                        struct error *error);

/* Every open journal of `tag` counts as ended at that time: what it left behind has been put in order. */
bool store_journal_settle(struct store *store, const char *tag, int64_t at_ms, struct error *error);

/* The engine's own check of the whole file: true where it is whole; else `error` has what it says first. */
bool store_check(struct store *store, struct error *error);

#endif
