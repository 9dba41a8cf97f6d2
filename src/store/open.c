/* SPDX-License-Identifier: MIT */
/* Opening and closing a store, and its transactions. */
#include "store/store.h"

#include "store/parts.h"

#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

static bool begins_with(const char *text, const char *start)
{
    return strncmp(text, start, strlen(start)) == 0;
}

bool store_open_with(const char *where, enum store_use use, const struct sqlite_settings *settings,
                     struct store **store, struct error *error)
{
    struct engine *engine = NULL;
    *store = NULL;
    /* The address may hold a password: it is not repeated. */
    if (begins_with(where, "postgresql://") || begins_with(where, "postgres://"))
        return error_set(error, ERROR_STORE, "this build has no PostgreSQL store; name a file with --store");
    if (!engine_sqlite_open(where, use, settings, &engine, error))
        return false;
    if (engine == NULL)
        return true;
    *store = memory_new(1, sizeof **store);
    (*store)->engine = engine;
    (*store)->where = text_copy(where);
    return true;
}

bool store_open(const char *where, enum store_use use, struct store **store, struct error *error)
{
    struct sqlite_settings usual = sqlite_settings_usual();
    return store_open_with(where, use, &usual, store, error);
}

void store_close(struct store *store)
{
    if (store == NULL)
        return;
    store->engine->calls->close(store->engine);
    free(store->where);
    free(store);
}

bool store_check(struct store *store, struct error *error)
{
    return store->engine->calls->check(store->engine, error);
}

bool store_write(struct store *store, store_work *work, void *user, struct error *error)
{
    const struct engine_calls *calls = store->engine->calls;
    if (!calls->begin(store->engine, ENGINE_WRITES, error))
        return false;
    if (work(store, user, error) && calls->commit(store->engine, error))
        return true;
    calls->rollback(store->engine);
    return false;
}

bool store_read(struct store *store, store_work *work, void *user, struct error *error)
{
    const struct engine_calls *calls = store->engine->calls;
    if (store->reads)
        return work(store, user, error);
    if (!calls->begin(store->engine, ENGINE_READS, error))
        return false;
    store->reads = true;
    bool done = work(store, user, error) && calls->commit(store->engine, error);
    store->reads = false;
    if (!done)
        calls->rollback(store->engine);
    return done;
}

bool store_run(struct store *store, const char *sql, struct cells given, engine_row *row, void *user,
               struct error *error)
{
    return store->engine->calls->run(store->engine, sql, given, row, user, error);
}

struct number {
    int64_t value;
    bool found;
};

static bool take_number(void *user, const struct cell *cells)
{
    struct number *number = user;
    number->value = cell_to_integer(&cells[0]);
    number->found = true;
    return false;
}

bool store_number(struct store *store, const char *sql, struct cells given, int64_t *number, bool *found,
                  struct error *error)
{
    struct number first = {0};
    bool done = store_run(store, sql, given, take_number, &first, error);
    *number = first.value;
    if (found != NULL)
        *found = first.found;
    return done;
}

bool store_find_drive(struct store *store, const char *tag, int64_t *drive, bool *found, struct error *error)
{
    return store_number(store, "SELECT drive FROM drive WHERE tag = $1", CELLS(cell_of_text(tag)), drive, found, error);
}

bool store_add_drive(struct store *store, const char *tag, int64_t *drive, struct error *error)
{
    bool found;
    if (!store_find_drive(store, tag, drive, &found, error))
        return false;
    if (found)
        return true;
    /* Not DO NOTHING, which would give no row where another one was quicker. */
    return store_number(store,
                        "INSERT INTO drive (tag) VALUES ($1) ON CONFLICT (tag) DO UPDATE SET tag = excluded.tag "
                        "RETURNING drive",
                        CELLS(cell_of_text(tag)), drive, NULL, error);
}

uint8_t *store_pack(const uint16_t *words, size_t count)
{
    if (words == NULL)
        return NULL;
    uint8_t *bytes = memory_new(count, 2);
    for (size_t i = 0; i < count; i++) {
        bytes[2 * i] = (uint8_t)(words[i] >> 8);
        bytes[2 * i + 1] = (uint8_t)(words[i] & 255);
    }
    return bytes;
}

uint16_t *store_unpack(const struct cell *cell, size_t *count)
{
    const uint8_t *bytes = cell->bytes;
    *count = cell->kind == CELL_BLOB ? cell->length / 2 : 0;
    if (*count == 0)
        return NULL;
    uint16_t *words = memory_new(*count, sizeof *words);
    for (size_t i = 0; i < *count; i++)
        words[i] = (uint16_t)(bytes[2 * i] << 8 | bytes[2 * i + 1]);
    return words;
}
