/* SPDX-License-Identifier: MIT */
/* Keeping a record: what is new in it, and what that means for the records after it in time. */
#include "store/parts.h"

#include "types/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- what is kept once ---- */

bool store_add_word(struct store *store, const char *text, struct cell *key, struct error *error)
{
    *key = cell_of_text(NULL);
    if (text == NULL)
        return true;
    int64_t word;
    bool found;
    if (!store_number(store, "SELECT word FROM word WHERE text = $1", CELLS(cell_of_text(text)), &word, &found, error))
        return false;
    if (!found && !store_number(store,
                                "INSERT INTO word (text) VALUES ($1) ON CONFLICT (text) DO UPDATE SET text = "
                                "excluded.text RETURNING word",
                                CELLS(cell_of_text(text)), &word, NULL, error))
        return false;
    *key = cell_of_integer(word);
    return true;
}

static bool add_scene(struct store *store, int64_t drive, const struct record *record, int64_t *scene,
                      struct error *error)
{
    static const char look[] =
        "SELECT scene FROM scene WHERE drive = $1 AND service IS NOT DISTINCT FROM $2"
        " AND line IS NOT DISTINCT FROM $3 AND unit = $4 AND serial_number IS NOT DISTINCT FROM $5"
        " AND firmware IS NOT DISTINCT FROM $6 AND map_name IS NOT DISTINCT FROM $7 AND map_sha256 = $8"
        " AND sheet_sha256 = $9 AND who IS NOT DISTINCT FROM $10 AND host IS NOT DISTINCT FROM $11"
        " AND tool IS NOT DISTINCT FROM $12";
    static const char add[] =
        "INSERT INTO scene (drive, service, line, unit, serial_number, firmware, map_name, map_sha256, sheet_sha256,"
        " who, host, tool) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) RETURNING scene";
    const struct cells given =
        CELLS(cell_of_integer(drive), cell_of_text(record->service), cell_of_text(record->line),
              cell_of_integer(record->unit), cell_of_text(record->serial_number), cell_of_text(record->firmware),
              cell_of_text(record->map_name), cell_of_text(record->map_sha256), cell_of_text(record->sheet_sha256),
              cell_of_text(record->who), cell_of_text(record->host), cell_of_text(record->tool));
    bool found;
    return store_number(store, look, given, scene, &found, error) &&
           (found || store_number(store, add, given, scene, NULL, error));
}

static bool add_layout_items(struct store *store, int64_t layout, const struct record *record, struct error *error)
{
    for (size_t i = 0; i < record->value_count; i++) {
        struct cell word;
        if (!store_add_word(store, record->values[i].parameter, &word, error) ||
            !store_run(store, "INSERT INTO layout_item (layout, place, parameter) VALUES ($1, $2, $3)",
                       CELLS(cell_of_integer(layout), cell_of_integer((int64_t)i), word), NULL, NULL, error))
            return false;
    }
    return true;
}

static bool add_layout(struct store *store, const struct record *record, int64_t *layout, struct error *error)
{
    size_t length = 0;
    for (size_t i = 0; i < record->value_count; i++)
        length += strlen(record->values[i].parameter) + 1;
    char *names = memory_new(length + 1, 1);
    char *end = names;
    for (size_t i = 0; i < record->value_count; i++) {
        size_t size = strlen(record->values[i].parameter) + 1;
        memcpy(end, record->values[i].parameter, size);
        end += size;
    }
    bool found;
    bool done = store_number(store, "SELECT layout FROM layout WHERE names = $1", CELLS(cell_of_blob(names, length)),
                             layout, &found, error);
    if (done && !found)
        done = store_number(store, "INSERT INTO layout (names) VALUES ($1) RETURNING layout",
                            CELLS(cell_of_blob(names, length)), layout, NULL, error) &&
               add_layout_items(store, *layout, record, error);
    free(names);
    return done;
}

/* ---- readings ---- */

/* Where a reading stands. */
struct spot {
    int64_t drive, parameter, began_ms, visit;
};

#define SPOT(s)                                                                                                        \
    cell_of_integer((s)->drive), cell_of_integer((s)->parameter), cell_of_integer((s)->began_ms),                      \
        cell_of_integer((s)->visit)

static bool add_reading(struct store *store, const struct spot *spot, const struct record_value *value,
                        struct error *error)
{
    struct cell means;
    struct cell unit;
    struct cell symptom;
    if (!store_add_word(store, value->means, &means, error) || !store_add_word(store, value->unit, &unit, error) ||
        !store_add_word(store, value->symptom, &symptom, error))
        return false;
    uint8_t *raw = value->raw_count > 0 ? store_pack(value->raw, value->raw_count) : NULL;
    bool done = store_run(store,
                          "INSERT INTO reading (drive, parameter, began_ms, visit, raw, number, shown, means, unit, "
                          "symptom) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
                          CELLS(SPOT(spot), cell_of_blob(raw, 2 * value->raw_count), cell_of_real(value->number),
                                cell_of_text(value->shown), means, unit, symptom),
                          NULL, NULL, error);
    free(raw);
    return done;
}

/* Alike in everything that is kept, so that one row can stand for both: a corrected map may show the same raw words in
 * other words. */
static bool alike(const struct record_value *a, const struct record_value *b)
{
    bool numbers = (isnan(a->number) && isnan(b->number)) || a->number == b->number;
    return numbers && store_value_same(a, b) && text_same(a->means, b->means) && text_same(a->unit, b->unit) &&
           text_same(a->shown, b->shown);
}

struct after {
    int64_t began_ms, visit;
    bool held;                 /* there is such a visit */
    bool has_reading;          /* with a reading of its own */
    struct record_value value; /* that */
};

static bool take_after(void *user, const struct cell *cells)
{
    struct after *after = user;
    after->held = true;
    after->began_ms = cell_to_integer(cells);
    after->visit = cell_to_integer(cells + 1);
    after->has_reading = cells[2].kind == CELL_INTEGER;
    reading_from(cells + 3, &after->value);
    return false;
}

/* A reading came between two visits: the one after it, which had relied on the one before it, gets its own; or it needs
 * its own no more. */
static bool mend_after(struct store *store, const struct spot *spot, const struct latest *before,
                       const struct record_value *value, struct error *error)
{
    static const char next[] = "SELECT t.began_ms, t.visit, r.visit, " READING_COLUMNS(
        "r") " FROM visit t"
             " JOIN layout_item i ON i.layout = t.layout AND i.parameter = $2"
             " LEFT JOIN reading r ON r.drive = $1 AND r.parameter = $2 AND r.began_ms = t.began_ms AND r.visit = "
             "t.visit" READING_WORDS(
                 "r") "WHERE t.drive = $1 AND (t.began_ms, t.visit) > ($3, $4) ORDER BY t.began_ms, t.visit LIMIT 1";
    struct after after = {0};
    bool done = store_run(store, next, CELLS(SPOT(spot)), take_after, &after, error);
    struct spot there = {spot->drive, spot->parameter, after.began_ms, after.visit};
    if (done && after.held && !after.has_reading && before->found)
        done = add_reading(store, &there, &before->value, error);
    else if (done && after.has_reading && alike(value, &after.value))
        done =
            store_run(store, "DELETE FROM reading WHERE drive = $1 AND parameter = $2 AND began_ms = $3 AND visit = $4",
                      CELLS(SPOT(&there)), NULL, NULL, error);
    record_value_free(&after.value);
    return done;
}

static bool add_readings(struct store *store, const struct visit *visit, const struct record *record,
                         struct error *error)
{
    struct latest_all all;
    bool later = false;
    int64_t unused;
    bool done = store_latest(store, visit, &all, error) &&
                store_number(store, "SELECT 1 FROM visit WHERE drive = $1 AND (began_ms, visit) > ($2, $3) LIMIT 1",
                             CELLS(cell_of_integer(visit->drive), cell_of_integer(record->began_ms),
                                   cell_of_integer(visit->visit)),
                             &unused, &later, error);
    for (size_t i = 0; done && i < all.count && i < record->value_count; i++) {
        const struct record_value *value = &record->values[i];
        struct spot spot = {visit->drive, all.items[i].parameter, record->began_ms, visit->visit};
        if (all.items[i].found && alike(&all.items[i].value, value))
            continue;
        done = add_reading(store, &spot, value, error) &&
               (!later || mend_after(store, &spot, &all.items[i], value, error));
    }
    latest_free(&all);
    return done;
}

/* ---- the record ---- */

bool store_put_record(struct store *store, const struct record *record, int64_t *key, struct error *error)
{
    static const char add[] =
        "INSERT INTO visit (id, drive, scene, layout, kind, after_power_cycle, began_ms, ended_ms, requests, retries,"
        " exceptions, timeouts, bad_frames, discarded)"
        " VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14) RETURNING visit";
    const struct traffic *traffic = &record->traffic;
    struct visit visit = {.record = {.began_ms = record->began_ms}};
    int64_t scene;
    bool done =
        store_add_drive(store, record->tag, &visit.drive, error) &&
        add_scene(store, visit.drive, record, &scene, error) && add_layout(store, record, &visit.layout, error) &&
        store_number(store, add,
                     CELLS(cell_of_blob(record->id.bytes, sizeof record->id.bytes), cell_of_integer(visit.drive),
                           cell_of_integer(scene), cell_of_integer(visit.layout),
                           cell_of_integer(store_kind_number(record->kind)), cell_of_integer(record->after_power_cycle),
                           cell_of_integer(record->began_ms), cell_of_integer(record->ended_ms),
                           cell_of_integer((int64_t)traffic->requests), cell_of_integer((int64_t)traffic->retries),
                           cell_of_integer((int64_t)traffic->exceptions), cell_of_integer((int64_t)traffic->timeouts),
                           cell_of_integer((int64_t)traffic->bad_frames), cell_of_integer((int64_t)traffic->discarded)),
                     &visit.visit, NULL, error) &&
        add_readings(store, &visit, record, error);
    *key = visit.visit;
    return done;
}

static bool put(struct store *store, void *user, struct error *error)
{
    int64_t unused;
    return store_put_record(store, user, &unused, error);
}

bool store_put(struct store *store, struct record *record, struct error *error)
{
    struct record_id given = record->id;
    if (!record_id_given(&given))
        record->id = store_new_id();
    if (store_write(store, put, record, error))
        return true;
    record->id = given;
    return false;
}
