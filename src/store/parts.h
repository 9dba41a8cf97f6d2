/* SPDX-License-Identifier: MIT */
/* What the files above the engine share: the store itself, its transactions, and what they read and write together. */
#ifndef ASLEFT_STORE_PARTS_H
#define ASLEFT_STORE_PARTS_H

#include "store/engine.h"
#include "store/engine_sqlite.h"
#include "store/store.h"

struct store {
    struct engine *engine;
    char *where; /* owned */
    bool reads;  /* a reading transaction is under way; what is called from its rows belongs to it */
};

/* store_open, with an engine set otherwise. */
bool store_open_with(const char *where, enum store_use use, const struct sqlite_settings *settings,
                     struct store **store, struct error *error);

typedef bool store_work(struct store *store, void *user, struct error *error);

/* The work in a transaction: all of it or, where it returns false, none. */
bool store_write(struct store *store, store_work *work, void *user, struct error *error);

/* The work on one state of the store. */
bool store_read(struct store *store, store_work *work, void *user, struct error *error);

bool store_run(struct store *store, const char *sql, struct cells given, engine_row *row, void *user,
               struct error *error);

/* The first column of the first row. *found (may be NULL) is false where there is no row; *number is 0 then. */
bool store_number(struct store *store, const char *sql, struct cells given, int64_t *number, bool *found,
                  struct error *error);

/* The drive's key. *found false, and *drive 0, where nothing is kept of it. */
bool store_find_drive(struct store *store, const char *tag, int64_t *drive, bool *found, struct error *error);

/* The same; it is added where it is new. */
bool store_add_drive(struct store *store, const char *tag, int64_t *drive, struct error *error);

/* The key of a text that is kept once (a name of a parameter, means, unit or symptom), or NULL for none. */
bool store_add_word(struct store *store, const char *text, struct cell *key, struct error *error);

/* store_put's part inside a transaction. *key is the visit's; the record has its id. */
bool store_put_record(struct store *store, const struct record *record, int64_t *key, struct error *error);

/* Registers as bytes, high byte first; `words` NULL gives NULL. Owned. And back: NULL for a cell without bytes. */
uint8_t *store_pack(const uint16_t *words, size_t count);
uint16_t *store_unpack(const struct cell *cell, size_t *count);

/* Columns of a visit that is called t, and the tables they come from besides; what visit_from reads. */
#define VISIT_COLUMNS                                                                                                  \
    "t.visit, t.drive, t.layout, t.began_ms, t.ended_ms, t.id, t.kind, t.after_power_cycle, d.tag, c.service, "        \
    "c.line, "                                                                                                         \
    "c.unit, c.serial_number, c.firmware, c.map_name, c.map_sha256, c.sheet_sha256, c.who, c.host, c.tool, "           \
    "t.requests, "                                                                                                     \
    "t.retries, t.exceptions, t.timeouts, t.bad_frames, t.discarded"
#define VISIT_TABLES " JOIN drive d ON d.drive = t.drive JOIN scene c ON c.scene = t.scene "
enum { VISIT_COLUMN_COUNT = 26 };

/* A record with its keys. */
struct visit {
    int64_t visit, drive, layout;
    struct record record; /* without values */
};

/* Fills a visit from a row's cells. record_free its record. */
void visit_from(const struct cell *cells, struct visit *visit);

/* Columns of a reading that is called `r`, and the words of it; what reading_from reads. */
#define READING_COLUMNS(r) r ".raw, " r ".number, " r ".shown, " r "m.text, " r "u.text, " r "s.text"
#define READING_WORDS(r)                                                                                               \
    " LEFT JOIN word " r "m ON " r "m.word = " r ".means LEFT JOIN word " r "u ON " r "u.word = " r                    \
    ".unit LEFT JOIN word " r "s ON " r "s.word = " r ".symptom "
enum { READING_COLUMN_COUNT = 6 };

/* Fills a value from a row's cells, but for its parameter. */
void reading_from(const struct cell *cells, struct record_value *value);

/* The latest readings at or before a visit, of all parameters of a layout, in its order. */
struct latest {
    int64_t parameter;         /* its word */
    bool found;                /* false: there is none yet */
    struct record_value value; /* its parameter is always given */
};
struct latest_all {
    struct latest *items; /* owned */
    size_t count;
};

bool store_latest(struct store *store, const struct visit *visit, struct latest_all *all, struct error *error);
void latest_free(struct latest_all *all);

/* Did the drive give the same: raw words and symptom? */
bool store_value_same(const struct record_value *a, const struct record_value *b);

/* A kind's number in the store, and back: false where there is none of that number. */
int64_t store_kind_number(enum record_kind kind);

#endif
