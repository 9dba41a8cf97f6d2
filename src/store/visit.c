/* SPDX-License-Identifier: MIT */
/* Rows of visits and readings, as the records and values they stand for. */
#include "store/parts.h"

#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

/* Numbers on the disk: never changed, whatever becomes of the enumeration. schema_sqlite.c and history.c have them. */
static const int64_t kind_numbers[RECORD_KINDS] = {
    [RECORD_FOUND] = 1,       [RECORD_LEFT] = 2,  [RECORD_BEFORE_WRITE] = 3,
    [RECORD_AFTER_WRITE] = 4, [RECORD_SWEPT] = 5, [RECORD_WITNESSED] = 6,
};

int64_t store_kind_number(enum record_kind kind)
{
    return kind_numbers[kind];
}

static enum record_kind kind_of(int64_t number)
{
    for (size_t i = 0; i < RECORD_KINDS; i++)
        if (kind_numbers[i] == number)
            return (enum record_kind)i;
    return RECORD_SWEPT; /* the schema knows no other; what a newer one adds is not opened */
}

void visit_from(const struct cell *cells, struct visit *visit)
{
    const struct cell *c = cells;
    *visit = (struct visit){.visit = cell_to_integer(c), .drive = cell_to_integer(c + 1)};
    visit->layout = cell_to_integer(c + 2);
    struct record *record = &visit->record;
    record->began_ms = cell_to_integer(c + 3);
    record->ended_ms = cell_to_integer(c + 4);
    if (c[5].kind == CELL_BLOB && c[5].length == sizeof record->id.bytes)
        memcpy(record->id.bytes, c[5].bytes, sizeof record->id.bytes);
    record->kind = kind_of(cell_to_integer(c + 6));
    record->after_power_cycle = cell_to_integer(c + 7) != 0;
    record->tag = cell_to_text_or_empty(c + 8);
    record->service = cell_to_text(c + 9);
    record->line = cell_to_text(c + 10);
    record->unit = (unsigned)cell_to_integer(c + 11);
    record->serial_number = cell_to_text(c + 12);
    record->firmware = cell_to_text(c + 13);
    record->map_name = cell_to_text(c + 14);
    cell_to_array(c + 15, record->map_sha256, sizeof record->map_sha256);
    cell_to_array(c + 16, record->sheet_sha256, sizeof record->sheet_sha256);
    record->who = cell_to_text(c + 17);
    record->host = cell_to_text(c + 18);
    record->tool = cell_to_text(c + 19);
    record->traffic.requests = (uint64_t)cell_to_integer(c + 20);
    record->traffic.retries = (uint64_t)cell_to_integer(c + 21);
    record->traffic.exceptions = (uint64_t)cell_to_integer(c + 22);
    record->traffic.timeouts = (uint64_t)cell_to_integer(c + 23);
    record->traffic.bad_frames = (uint64_t)cell_to_integer(c + 24);
    record->traffic.discarded = (uint64_t)cell_to_integer(c + 25);
}

void reading_from(const struct cell *cells, struct record_value *value)
{
    *value = (struct record_value){0};
    value->raw = store_unpack(cells, &value->raw_count);
    value->number = cell_to_real(cells + 1);
    value->shown = cell_to_text(cells + 2);
    value->means = cell_to_text(cells + 3);
    value->unit = cell_to_text(cells + 4);
    value->symptom = cell_to_text(cells + 5);
}

bool store_value_same(const struct record_value *a, const struct record_value *b)
{
    return record_value_same(a, b) && text_same(a->symptom, b->symptom);
}

/* ---- the latest readings ---- */

static bool take_latest(void *user, const struct cell *cells)
{
    struct latest_all *all = user;
    all->items = memory_grow(all->items, all->count, sizeof *all->items);
    struct latest *latest = &all->items[all->count++];
    latest->parameter = cell_to_integer(cells);
    latest->found = cells[2].kind == CELL_INTEGER;
    reading_from(cells + 3, &latest->value);
    latest->value.parameter = cell_to_text_or_empty(cells + 1);
    return true;
}

bool store_latest(struct store *store, const struct visit *visit, struct latest_all *all, struct error *error)
{
    static const char sql[] = "SELECT i.parameter, a.text, r.visit, " READING_COLUMNS(
        "r") " FROM layout_item i"
             " JOIN word a ON a.word = i.parameter"
             " LEFT JOIN reading r ON r.drive = $1 AND r.parameter = i.parameter AND (r.began_ms, r.visit) ="
             " (SELECT x.began_ms, x.visit FROM reading x WHERE x.drive = $1 AND x.parameter = i.parameter"
             " AND (x.began_ms, x.visit) <= ($2, $3) ORDER BY x.began_ms DESC, x.visit DESC LIMIT 1)" READING_WORDS(
                 "r") "WHERE i.layout = $4 ORDER BY i.place";
    *all = (struct latest_all){0};
    return store_run(store, sql,
                     CELLS(cell_of_integer(visit->drive), cell_of_integer(visit->record.began_ms),
                           cell_of_integer(visit->visit), cell_of_integer(visit->layout)),
                     take_latest, all, error);
}

void latest_free(struct latest_all *all)
{
    for (size_t i = 0; i < all->count; i++)
        record_value_free(&all->items[i].value);
    free(all->items);
    *all = (struct latest_all){0};
}
