/* SPDX-License-Identifier: MIT */
/* Finding records: by id, the latest of a kind, and all of them. */
#include "store/parts.h"

#include "types/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define VISITS "SELECT " VISIT_COLUMNS " FROM visit t" VISIT_TABLES

struct one {
    struct visit visit;
    bool found;
};

static bool take_one(void *user, const struct cell *cells)
{
    struct one *one = user;
    visit_from(cells, &one->visit);
    one->found = true;
    return false;
}

/* The values of a visit become its record's. */
static bool add_values(struct store *store, struct visit *visit, struct error *error)
{
    struct latest_all all;
    bool done = store_latest(store, visit, &all, error);
    for (size_t i = 0; done && i < all.count; i++) {
        /* each parameter of a layout has a reading at or before the visit */
        if (!all.items[i].found) {
            char text[RECORD_ID_TEXT];
            done = error_set(error, ERROR_STORE,
                             "%s is damaged: record %.8s has no value of %s; move it aside and a new one is made",
                             store->where, record_id_text(&visit->record.id, text), all.items[i].value.parameter);
        }
    }
    if (done) {
        visit->record.values = memory_new(all.count, sizeof *visit->record.values);
        visit->record.value_count = all.count;
        for (size_t i = 0; i < all.count; i++) {
            visit->record.values[i] = all.items[i].value;
            all.items[i].value = (struct record_value){0};
        }
    }
    latest_free(&all);
    return done;
}

/* ---- the latest of a kind ---- */

struct last {
    const char *tag;
    enum record_kind kind;
    struct one one;
};

static bool find_last(struct store *store, const char *tag, enum record_kind kind, struct one *one, struct error *error)
{
    static const char sql[] =
        VISITS "WHERE t.visit = (SELECT x.visit FROM visit x JOIN drive y ON y.drive = x.drive"
               " WHERE y.tag = $1 AND x.kind = $2 ORDER BY x.began_ms DESC, x.visit DESC LIMIT 1)";
    return store_run(store, sql, CELLS(cell_of_text(tag), cell_of_integer(store_kind_number(kind))), take_one, one,
                     error) &&
           (!one->found || add_values(store, &one->visit, error));
}

static bool last(struct store *store, void *user, struct error *error)
{
    struct last *wanted = user;
    return find_last(store, wanted->tag, wanted->kind, &wanted->one, error);
}

bool store_last(struct store *store, const char *tag, enum record_kind kind, bool *found, struct record *record,
                struct error *error)
{
    struct last wanted = {.tag = tag, .kind = kind};
    bool done = store_read(store, last, &wanted, error);
    *record = wanted.one.visit.record;
    *found = wanted.one.found;
    if (!done) {
        record_free(record);
        *found = false;
    }
    return done;
}

/* ---- by name ---- */

enum { NAMED_TEXT = 64, NAMED_SHOWN = 4 };

static void when_text(int64_t at_ms, char *text, size_t size)
{
    time_t seconds = (time_t)(at_ms / 1000);
    struct tm parts;
    if (gmtime_r(&seconds, &parts) == NULL || strftime(text, size, "%Y-%m-%d %H:%M UTC", &parts) == 0)
        (void)snprintf(text, size, "at an unknown time");
}

static bool list_kind(void *user, const struct cell *cells)
{
    char when[NAMED_TEXT];
    char digits[RECORD_ID_TEXT];
    struct visit visit;
    visit_from(cells, &visit);
    when_text(visit.record.began_ms, when, sizeof when);
    texts_add(user, text_format("%s (%.*s, %s)", record_kind_word(visit.record.kind), RECORD_ID_SHORT,
                                record_id_text(&visit.record.id, digits), when));
    record_free(&visit.record);
    return true;
}

/* Says which records there are: the latest of each kind. */
static bool tell_what_there_is(struct store *store, const char *tag, const char *which, struct error *error)
{
    static const char latest[] =
        VISITS "WHERE d.tag = $1 AND NOT EXISTS (SELECT 1 FROM visit x WHERE x.drive = t.drive AND x.kind = t.kind"
               " AND (x.began_ms, x.visit) > (t.began_ms, t.visit)) ORDER BY t.began_ms DESC, t.visit DESC";
    struct texts kinds = {0};
    if (!store_run(store, latest, CELLS(cell_of_text(tag)), list_kind, &kinds, error)) {
        texts_free(&kinds);
        return false;
    }
    char *all = texts_join(&kinds, ", ");
    if (kinds.count == 0)
        (void)error_set(error, ERROR_USE, "no record of %s is kept in %s; record makes one", tag, store->where);
    else
        (void)error_set(error, ERROR_USE, "no record of %s is called '%s'; the latest of each kind: %s", tag, which,
                        all);
    free(all);
    texts_free(&kinds);
    return false;
}

/* Hex digits of either case as the lowest and the highest id that begin with them; false where they are none. */
static bool id_range(const char *digits, struct record_id *lowest, struct record_id *highest)
{
    size_t count = strlen(digits);
    if (count > RECORD_ID_TEXT - 1)
        return false;
    memset(lowest, 0, sizeof *lowest);
    memset(highest, 255, sizeof *highest);
    for (size_t i = 0; i < count; i++) {
        static const char lower[] = "0123456789abcdef";
        static const char upper[] = "0123456789ABCDEF";
        const char *at = strchr(lower, digits[i]);
        const char *at_upper = strchr(upper, digits[i]);
        if (at == NULL && at_upper == NULL)
            return false;
        unsigned digit = (unsigned)(at != NULL ? at - lower : at_upper - upper);
        unsigned shift = i % 2 == 0 ? 4 : 0;
        lowest->bytes[i / 2] |= (uint8_t)(digit << shift);
        highest->bytes[i / 2] = (uint8_t)((highest->bytes[i / 2] & ~(15U << shift)) | digit << shift);
    }
    return true;
}

/* Records whose id begins with the digits: the first, and the ids of some. */
struct named {
    const char *tag, *which;
    struct one one;
    struct texts ids;
    size_t count;
};

static bool take_named(void *user, const struct cell *cells)
{
    struct named *named = user;
    char digits[RECORD_ID_TEXT];
    struct visit visit;
    visit_from(cells, &visit);
    if (named->ids.count < NAMED_SHOWN)
        texts_add(&named->ids, text_copy(record_id_text(&visit.record.id, digits)));
    if (named->count++ == 0)
        named->one = (struct one){visit, true};
    else
        record_free(&visit.record);
    return true;
}

static bool get_by_id(struct store *store, struct named *named, struct error *error)
{
    struct record_id lowest;
    struct record_id highest;
    if (!id_range(named->which, &lowest, &highest))
        return tell_what_there_is(store, named->tag, named->which, error);
    if (strlen(named->which) < RECORD_ID_SHORT)
        return error_set(error, ERROR_USE, "'%s' is too short for the name of a record; give %d digits or more",
                         named->which, RECORD_ID_SHORT);
    if (!store_run(store, VISITS "WHERE d.tag = $1 AND t.id BETWEEN $2 AND $3 ORDER BY t.id",
                   CELLS(cell_of_text(named->tag), cell_of_blob(lowest.bytes, sizeof lowest.bytes),
                         cell_of_blob(highest.bytes, sizeof highest.bytes)),
                   take_named, named, error))
        return false;
    if (named->count == 0)
        return tell_what_there_is(store, named->tag, named->which, error);
    if (named->count > 1) {
        char *ids = texts_join(&named->ids, ", ");
        (void)error_set(error, ERROR_USE, "%zu records of %s begin with %s; give more digits: %s%s", named->count,
                        named->tag, named->which, ids, named->count > NAMED_SHOWN ? ", ..." : "");
        free(ids);
        return false;
    }
    return add_values(store, &named->one.visit, error);
}

static bool get(struct store *store, void *user, struct error *error)
{
    struct named *named = user;
    enum record_kind kind;
    /* what a sweep saw last has a name in no command */
    if (!record_kind_find(named->which, &kind) || kind == RECORD_SWEPT)
        return get_by_id(store, named, error);
    return find_last(store, named->tag, kind, &named->one, error) &&
           (named->one.found || tell_what_there_is(store, named->tag, named->which, error));
}

bool store_get(struct store *store, const char *tag, const char *which, struct record *record, struct error *error)
{
    struct named named = {.tag = tag, .which = which};
    bool done = store_read(store, get, &named, error);
    *record = named.one.visit.record;
    if (!done)
        record_free(record);
    texts_free(&named.ids);
    return done;
}

/* ---- all ---- */

struct listing {
    const char *tag;
    int64_t since_ms;
    bool (*each)(void *user, const struct record *record);
    void *user;
};

static bool give_record(void *user, const struct cell *cells)
{
    const struct listing *listing = user;
    struct visit visit;
    visit_from(cells, &visit);
    bool more = listing->each(listing->user, &visit.record);
    record_free(&visit.record);
    return more;
}

static bool list(struct store *store, void *user, struct error *error)
{
    /* Drives first, so that each one's visits are found by their time. */
    static const char all[] = "SELECT " VISIT_COLUMNS " FROM drive d CROSS JOIN visit t JOIN scene c ON c.scene ="
                              " t.scene WHERE t.drive = d.drive AND t.began_ms >= $1 ORDER BY t.began_ms, t.visit";
    static const char of_one[] = VISITS "WHERE d.tag = $2 AND t.began_ms >= $1 ORDER BY t.began_ms, t.visit";
    const struct listing *listing = user;
    struct cell since = cell_of_integer(listing->since_ms);
    if (listing->tag == NULL)
        return store_run(store, all, CELLS(since), give_record, user, error);
    return store_run(store, of_one, CELLS(since, cell_of_text(listing->tag)), give_record, user, error);
}

bool store_list(struct store *store, const char *tag, int64_t since_ms,
                bool (*each)(void *user, const struct record *record), void *user, struct error *error)
{
    struct listing listing = {tag, since_ms, each, user};
    return store_read(store, list, &listing, error);
}
