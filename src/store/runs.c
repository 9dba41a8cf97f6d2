/* SPDX-License-Identifier: MIT */
/* Witnessed runs: a record, and the series that were read of the running drive. */
#include "store/parts.h"
#include "store/series_blob.h"

#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

/* Numbers on the disk: never changed, whatever becomes of the enumeration. */
static const int64_t obtained_numbers[] = {
    [OBTAINED_UNSAID] = 0, [OBTAINED_MEASURED] = 1, [OBTAINED_COMPUTED] = 2, [OBTAINED_COMMANDED] = 3};

static enum obtained obtained_of(int64_t number)
{
    for (size_t i = 0; i < sizeof obtained_numbers / sizeof *obtained_numbers; i++)
        if (obtained_numbers[i] == number)
            return (enum obtained)i;
    return OBTAINED_UNSAID;
}

static enum means means_of(const char *name)
{
    for (size_t i = 0; name != NULL && i < MEANS_COUNT; i++)
        if (strcmp(means_table[i].name, name) == 0)
            return (enum means)i;
    return MEANS_NONE;
}

/* ---- keeping ---- */

struct kept_run {
    struct record *record;
    const struct samples *samples;
};

/* Series that one request brought have the same moments: they are kept once. */
static bool same_moments(const struct series *a, const struct series *b)
{
    bool same = a->count == b->count;
    for (size_t i = 0; same && i < a->count; i++)
        same = a->items[i].at_us == b->items[i].at_us && a->items[i].half_us == b->items[i].half_us;
    return same;
}

static bool add_series(struct store *store, int64_t visit, const struct samples *samples, size_t place,
                       struct error *error)
{
    const struct series *series = &samples->items[place];
    struct cell parameter;
    struct cell means;
    if (!store_add_word(store, series->parameter, &parameter, error) ||
        !store_add_word(store, means_table[series->means].name, &means, error))
        return false;
    bool again = place > 0 && same_moments(series, &samples->items[place - 1]);
    struct blob moments = again ? (struct blob){0} : blob_of_moments(series);
    struct blob numbers = blob_of_numbers(series);
    struct cell at = again ? cell_of_text(NULL)
                           : cell_of_blob(moments.bytes == NULL ? (const void *)"" : moments.bytes, moments.length);
    bool done =
        store_run(store,
                  "INSERT INTO series (visit, place, parameter, means, step, obtained, refreshed_s, filtered_s,"
                  " samples, moments, numbers) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
                  CELLS(cell_of_integer(visit), cell_of_integer((int64_t)place), parameter, means,
                        cell_of_real(series->step), cell_of_integer(obtained_numbers[series->obtained]),
                        cell_of_real(series->refreshed_every_s), cell_of_real(series->filtered_over_s),
                        cell_of_integer((int64_t)series->count), at, cell_of_blob(numbers.bytes, numbers.length)),
                  NULL, NULL, error);
    blob_free(&moments);
    blob_free(&numbers);
    return done;
}

static bool put_run(struct store *store, void *user, struct error *error)
{
    const struct kept_run *run = user;
    const struct traffic *traffic = &run->samples->traffic;
    int64_t visit;
    bool done =
        store_put_record(store, run->record, &visit, error) &&
        store_run(store,
                  "INSERT INTO run (visit, began_ms, ended_ms, requests, retries, exceptions, timeouts,"
                  " bad_frames, discarded) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
                  CELLS(cell_of_integer(visit), cell_of_integer(run->samples->began_ms),
                        cell_of_integer(run->samples->ended_ms), cell_of_integer((int64_t)traffic->requests),
                        cell_of_integer((int64_t)traffic->retries), cell_of_integer((int64_t)traffic->exceptions),
                        cell_of_integer((int64_t)traffic->timeouts), cell_of_integer((int64_t)traffic->bad_frames),
                        cell_of_integer((int64_t)traffic->discarded)),
                  NULL, NULL, error);
    for (size_t i = 0; done && i < run->samples->count; i++)
        done = add_series(store, visit, run->samples, i, error);
    return done;
}

bool store_put_run(struct store *store, struct record *record, const struct samples *samples, struct error *error)
{
    struct kept_run run = {record, samples};
    struct record_id given = record->id;
    if (!record_id_given(&given))
        record->id = store_new_id();
    if (store_write(store, put_run, &run, error))
        return true;
    record->id = given;
    return false;
}

/* ---- giving back ---- */

struct wanted_run {
    const char *tag, *which;
    struct record *record;
    struct samples *samples;
    bool found;   /* the record has a run */
    bool damaged; /* and its bytes are none */
};

static bool take_run(void *user, const struct cell *cells)
{
    struct wanted_run *wanted = user;
    struct samples *samples = wanted->samples;
    wanted->found = true;
    samples->began_ms = cell_to_integer(cells);
    samples->ended_ms = cell_to_integer(cells + 1);
    samples->traffic = (struct traffic){.requests = (uint64_t)cell_to_integer(cells + 2),
                                        .retries = (uint64_t)cell_to_integer(cells + 3),
                                        .exceptions = (uint64_t)cell_to_integer(cells + 4),
                                        .timeouts = (uint64_t)cell_to_integer(cells + 5),
                                        .bad_frames = (uint64_t)cell_to_integer(cells + 6),
                                        .discarded = (uint64_t)cell_to_integer(cells + 7)};
    return false;
}

static struct blob blob_in(const struct cell *cell)
{
    return (struct blob){(uint8_t *)cell->bytes, cell->kind == CELL_BLOB ? cell->length : 0};
}

/* NULL: as the series before. */
static bool moments_from(const struct samples *samples, const struct cell *cell, struct series *series)
{
    struct blob blob = blob_in(cell);
    if (cell->kind != CELL_NULL)
        return blob_to_moments(&blob, series->items, series->count);
    const struct series *before = samples->count > 1 ? series - 1 : NULL;
    if (before == NULL || before->count != series->count)
        return false;
    memcpy(series->items, before->items, series->count * sizeof *series->items);
    return true;
}

static bool take_series(void *user, const struct cell *cells)
{
    struct wanted_run *wanted = user;
    struct samples *samples = wanted->samples;
    struct blob numbers = blob_in(cells + 8);
    int64_t count = cell_to_integer(cells + 6);
    char *means = cell_to_text(cells + 1);
    samples->items = memory_grow(samples->items, samples->count, sizeof *samples->items);
    struct series *series = &samples->items[samples->count++];
    *series = (struct series){.means = means_of(means),
                              .parameter = cell_to_text_or_empty(cells),
                              .step = cell_to_real(cells + 2),
                              .obtained = obtained_of(cell_to_integer(cells + 3)),
                              .refreshed_every_s = cell_to_real(cells + 4),
                              .filtered_over_s = cell_to_real(cells + 5)};
    free(means);
    /* a number takes a byte at least: a count that cannot be is not made room for */
    wanted->damaged |= count < 0 || (uint64_t)count >= (uint64_t)numbers.length + 1;
    if (wanted->damaged)
        return false;
    series->count = (size_t)count;
    /* room as memory_grow() has it, so that more could be added */
    size_t room = 1;
    while (room < series->count)
        room *= 2;
    series->items = memory_new(room, sizeof *series->items);
    wanted->damaged = !moments_from(samples, cells + 7, series) ||
                      !blob_to_numbers(&numbers, series->step, series->items, series->count);
    return !wanted->damaged;
}

static bool get_run(struct store *store, void *user, struct error *error)
{
    static const char run[] =
        "SELECT r.began_ms, r.ended_ms, r.requests, r.retries, r.exceptions, r.timeouts, r.bad_frames, r.discarded"
        " FROM run r JOIN visit t ON t.visit = r.visit WHERE t.id = $1";
    static const char series[] =
        "SELECT a.text, m.text, s.step, s.obtained, s.refreshed_s, s.filtered_s, s.samples, s.moments, s.numbers"
        " FROM series s JOIN visit t ON t.visit = s.visit JOIN word a ON a.word = s.parameter"
        " JOIN word m ON m.word = s.means WHERE t.id = $1 ORDER BY s.place";
    struct wanted_run *wanted = user;
    char id[RECORD_ID_TEXT];
    if (!store_get(store, wanted->tag, wanted->which, wanted->record, error))
        return false;
    const struct cells given = CELLS(cell_of_blob(wanted->record->id.bytes, sizeof wanted->record->id.bytes));
    if (!store_run(store, run, given, take_run, wanted, error))
        return false;
    if (!wanted->found)
        return error_set(error, ERROR_USE, "record %.8s of %s is no witnessed run; `witness` makes one",
                         record_id_text(&wanted->record->id, id), wanted->tag);
    if (!store_run(store, series, given, take_series, wanted, error))
        return false;
    return !wanted->damaged || error_set(error, ERROR_STORE,
                                         "%s is damaged: the samples of record %.8s are not whole; move it aside and a "
                                         "new one is made",
                                         store->where, record_id_text(&wanted->record->id, id));
}

bool store_get_run(struct store *store, const char *tag, const char *which, struct record *record,
                   struct samples *samples, struct error *error)
{
    struct wanted_run wanted = {.tag = tag, .which = which, .record = record, .samples = samples};
    *record = (struct record){0};
    *samples = (struct samples){0};
    if (store_read(store, get_run, &wanted, error))
        return true;
    record_free(record);
    samples_free(samples);
    return false;
}
