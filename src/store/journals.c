/* SPDX-License-Identifier: MIT */
/* The journal of what is written to drives, kept so that it tells the truth wherever a run ended. */
#include "store/parts.h"

#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

/* ---- keeping ---- */

static bool add_step(struct store *store, int64_t key, size_t place, const struct journal_step *step,
                     struct error *error)
{
    uint8_t *was = store_pack(step->was, step->words);
    uint8_t *becomes = store_pack(step->to, step->words);
    bool done = store_run(store,
                          "INSERT INTO journal_step (journal, place, parameter, was, becomes, was_shown, becomes_shown,"
                          " outcome, note, at_ms) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
                          CELLS(cell_of_integer(key), cell_of_integer((int64_t)place), cell_of_text(step->parameter),
                                cell_of_blob(was, 2 * step->words), cell_of_blob(becomes, 2 * step->words),
                                cell_of_text(step->was_shown), cell_of_text(step->to_shown),
                                cell_of_text(write_outcome_word(step->outcome)), cell_of_text(step->note),
                                cell_of_integer(step->at_ms)),
                          NULL, NULL, error);
    free(was);
    free(becomes);
    return done;
}

static bool begin(struct store *store, void *user, struct error *error)
{
    static const char add[] =
        "INSERT INTO journal (id, drive, line, unit, serial_number, map_sha256, restores, code, who, host, tool,"
        " process, before, began_ms, ended_ms)"
        " VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15) RETURNING journal";
    const struct journal *journal = user;
    int64_t drive;
    int64_t key;
    bool done =
        store_add_drive(store, journal->tag, &drive, error) &&
        store_number(store, add,
                     CELLS(cell_of_blob(journal->id.bytes, sizeof journal->id.bytes), cell_of_integer(drive),
                           cell_of_text(journal->line), cell_of_integer(journal->unit),
                           cell_of_text(journal->serial_number), cell_of_text(journal->map_sha256),
                           cell_of_integer(journal->restores), cell_of_text(journal->code), cell_of_text(journal->who),
                           cell_of_text(journal->host), cell_of_text(journal->tool), cell_of_integer(journal->process),
                           cell_of_blob(journal->before.bytes, sizeof journal->before.bytes),
                           cell_of_integer(journal->began_ms), cell_of_integer(journal->ended_ms)),
                     &key, NULL, error);
    for (size_t i = 0; done && i < journal->step_count; i++)
        done = add_step(store, key, i, &journal->steps[i], error);
    return done;
}

bool store_journal_begin(struct store *store, struct journal *journal, struct error *error)
{
    struct record_id given = journal->id;
    if (!record_id_given(&given))
        journal->id = store_new_id();
    if (store_write(store, begin, journal, error))
        return true;
    journal->id = given;
    return false;
}

/* One statement that changes rows, gives a row for each, and has to change one at least. */
struct alteration {
    const char *sql;
    struct cells given;
    const struct record_id *id; /* of the journal */
};

static bool alter(struct store *store, void *user, struct error *error)
{
    const struct alteration *alteration = user;
    bool found;
    int64_t unused;
    if (!store_number(store, alteration->sql, alteration->given, &unused, &found, error))
        return false;
    if (found)
        return true;
    char text[RECORD_ID_TEXT];
    return error_set(error, ERROR_STORE, "%s has no such step of the journal %.*s; was it exchanged meanwhile?",
                     store->where, RECORD_ID_SHORT, record_id_text(alteration->id, text));
}

bool store_journal_step(struct store *store, const struct journal *journal, size_t step, struct error *error)
{
    const struct journal_step *done = &journal->steps[step];
    struct alteration alteration = {
        "UPDATE journal_step SET outcome = $1, note = $2, at_ms = $3 WHERE place = $4 AND journal ="
        " (SELECT journal FROM journal WHERE id = $5) RETURNING place",
        CELLS(cell_of_text(write_outcome_word(done->outcome)), cell_of_text(done->note), cell_of_integer(done->at_ms),
              cell_of_integer((int64_t)step), cell_of_blob(journal->id.bytes, sizeof journal->id.bytes)),
        &journal->id,
    };
    return store_write(store, alter, &alteration, error);
}

bool store_journal_end(struct store *store, const struct journal *journal, struct error *error)
{
    struct alteration alteration = {
        "UPDATE journal SET ended_ms = $1 WHERE id = $2 RETURNING journal",
        CELLS(cell_of_integer(journal->ended_ms), cell_of_blob(journal->id.bytes, sizeof journal->id.bytes)),
        &journal->id,
    };
    return store_write(store, alter, &alteration, error);
}

struct settling {
    const char *tag;
    int64_t at_ms;
};

static bool settle(struct store *store, void *user, struct error *error)
{
    const struct settling *settling = user;
    return store_run(store,
                     "UPDATE journal SET ended_ms = $1 WHERE ended_ms = 0 AND drive ="
                     " (SELECT drive FROM drive WHERE tag = $2)",
                     CELLS(cell_of_integer(settling->at_ms), cell_of_text(settling->tag)), NULL, NULL, error);
}

bool store_journal_settle(struct store *store, const char *tag, int64_t at_ms, struct error *error)
{
    struct settling settling = {tag, at_ms};
    return store_write(store, settle, &settling, error);
}

/* ---- finding ---- */

struct search {
    const char *tag, *sql;
    bool found;
    bool strange; /* an outcome without a known word */
    int64_t key;
    struct journal journal;
};

static void take_id(const struct cell *cell, struct record_id *id)
{
    if (cell->kind == CELL_BLOB && cell->length == sizeof id->bytes)
        memcpy(id->bytes, cell->bytes, sizeof id->bytes);
}

static bool take_journal(void *user, const struct cell *cells)
{
    struct search *search = user;
    struct journal *journal = &search->journal;
    search->found = true;
    search->key = cell_to_integer(cells);
    take_id(cells + 1, &journal->id);
    journal->tag = cell_to_text_or_empty(cells + 2);
    journal->line = cell_to_text(cells + 3);
    journal->unit = (unsigned)cell_to_integer(cells + 4);
    journal->serial_number = cell_to_text(cells + 5);
    cell_to_array(cells + 6, journal->map_sha256, sizeof journal->map_sha256);
    journal->restores = cell_to_integer(cells + 7) != 0;
    cell_to_array(cells + 8, journal->code, sizeof journal->code);
    journal->who = cell_to_text(cells + 9);
    journal->host = cell_to_text(cells + 10);
    journal->tool = cell_to_text(cells + 11);
    journal->process = cell_to_integer(cells + 12);
    take_id(cells + 13, &journal->before);
    journal->began_ms = cell_to_integer(cells + 14);
    journal->ended_ms = cell_to_integer(cells + 15);
    return false;
}

static bool take_step(void *user, const struct cell *cells)
{
    struct search *search = user;
    struct journal *journal = &search->journal;
    journal->steps = memory_grow(journal->steps, journal->step_count, sizeof *journal->steps);
    struct journal_step *step = &journal->steps[journal->step_count++];
    size_t words;
    step->parameter = cell_to_text(cells);
    step->was = store_unpack(cells + 1, &words);
    step->to = store_unpack(cells + 2, &step->words);
    step->was_shown = cell_to_text(cells + 3);
    step->to_shown = cell_to_text(cells + 4);
    char *outcome = cell_to_text_or_empty(cells + 5);
    if (!write_outcome_find(outcome, &step->outcome) || (step->was != NULL && words != step->words))
        search->strange = true;
    free(outcome);
    step->note = cell_to_text(cells + 6);
    step->at_ms = cell_to_integer(cells + 7);
    return !search->strange;
}

static bool find(struct store *store, void *user, struct error *error)
{
    struct search *search = user;
    if (!store_run(store, search->sql, CELLS(cell_of_text(search->tag)), take_journal, search, error))
        return false;
    if (!search->found)
        return true;
    if (!store_run(store,
                   "SELECT parameter, was, becomes, was_shown, becomes_shown, outcome, note, at_ms FROM journal_step"
                   " WHERE journal = $1 ORDER BY place",
                   CELLS(cell_of_integer(search->key)), take_step, search, error))
        return false;
    if (search->strange)
        return error_set(
            error, ERROR_STORE,
            "%s is damaged: a step of the journal of %s makes no sense; keep the file for a person to look "
            "at",
            store->where, search->tag);
    return true;
}

static bool search_journal(struct store *store, const char *tag, const char *sql, bool *found, struct journal *journal,
                           struct error *error)
{
    struct search search = {.tag = tag, .sql = sql};
    bool done = store_read(store, find, &search, error);
    *journal = search.journal;
    *found = done && search.found;
    if (!done)
        journal_free(journal);
    return done;
}

#define JOURNALS                                                                                                       \
    "SELECT j.journal, j.id, d.tag, j.line, j.unit, j.serial_number, j.map_sha256, j.restores, j.code, j.who, j.host," \
    " j.tool, j.process, j.before, j.began_ms, j.ended_ms FROM journal j JOIN drive d ON d.drive = j.drive"            \
    " WHERE d.tag = $1"
#define LATEST " ORDER BY j.began_ms DESC, j.journal DESC LIMIT 1"

bool store_journal_open(struct store *store, const char *tag, bool *found, struct journal *journal, struct error *error)
{
    return search_journal(store, tag, JOURNALS " AND j.ended_ms = 0" LATEST, found, journal, error);
}

bool store_journal_last(struct store *store, const char *tag, bool *found, struct journal *journal, struct error *error)
{
    return search_journal(store, tag, JOURNALS LATEST, found, journal, error);
}
