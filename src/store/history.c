/* SPDX-License-Identifier: MIT */
/* What changed in a drive, and between which two records. */
#include "store/parts.h"

#include <stdlib.h>

/* An event is a reading (held 1), or a parameter that a record found or left before had and this one has not (held 0).
 * What comes before it is the latest reading earlier than it. */
static const char events[] =
    "WITH event AS (SELECT v.drive AS drive, v.parameter AS parameter, v.began_ms AS began_ms, v.visit AS visit,"
    " i.place AS place, 1 AS held FROM reading v JOIN visit t ON t.visit = v.visit"
    " JOIN layout_item i ON i.layout = t.layout AND i.parameter = v.parameter"
    " WHERE v.drive BETWEEN $1 AND $2 AND v.parameter BETWEEN $3 AND $4 AND v.began_ms >= $5"
    " UNION ALL SELECT t.drive, i.parameter, t.began_ms, t.visit, i.place, 0 FROM visit t"
    " JOIN visit p ON p.visit = (SELECT x.visit FROM visit x WHERE x.drive = t.drive AND x.kind IN (1, 2)"
    " AND (x.began_ms, x.visit) < (t.began_ms, t.visit) ORDER BY x.began_ms DESC, x.visit DESC LIMIT 1)"
    " JOIN layout_item i ON i.layout = p.layout"
    " WHERE t.drive BETWEEN $1 AND $2 AND t.kind IN (1, 2) AND t.began_ms >= $5 AND t.layout <> p.layout"
    " AND i.parameter BETWEEN $3 AND $4"
    " AND NOT EXISTS (SELECT 1 FROM layout_item k WHERE k.layout = t.layout AND k.parameter = i.parameter))"
    " SELECT e.held, w.visit, a.text, " VISIT_COLUMNS ", " READING_COLUMNS("n") ", " READING_COLUMNS(
        "w") " FROM event e JOIN word a ON a.word = e.parameter JOIN visit t ON t.visit = e.visit" VISIT_TABLES
             " LEFT JOIN reading n ON e.held = 1 AND n.drive = e.drive AND n.parameter = e.parameter"
             " AND n.began_ms = e.began_ms AND n.visit = e.visit"
             " LEFT JOIN reading w ON w.drive = e.drive AND w.parameter = e.parameter AND (w.began_ms, w.visit) ="
             " (SELECT x.began_ms, x.visit FROM reading x WHERE x.drive = e.drive AND x.parameter = e.parameter"
             " AND (x.began_ms, x.visit) < (e.began_ms, e.visit) ORDER BY x.began_ms DESC, x.visit DESC LIMIT "
             "1)" READING_WORDS("n") READING_WORDS("w") "ORDER BY e.began_ms, e.visit, e.place, e.held DESC";

enum { VISIT_AT = 3, NOW_AT = VISIT_AT + VISIT_COLUMN_COUNT, WAS_AT = NOW_AT + READING_COLUMN_COUNT };

struct telling {
    const struct history_query *query;
    bool (*each)(void *user, const struct history_row *row);
    void *user;
};

static bool give_event(void *user, const struct cell *cells)
{
    const struct telling *telling = user;
    bool held = cell_to_integer(cells) != 0;
    bool before = cells[1].kind == CELL_INTEGER;
    struct record_value now;
    struct record_value was;
    reading_from(cells + NOW_AT, &now);
    reading_from(cells + WAS_AT, &was);
    now.parameter = cell_to_text_or_empty(cells + 2);
    was.parameter = cell_to_text_or_empty(cells + 2);
    bool more = true;
    /* A reading may differ from the one before it only in how a corrected map shows it: the drive is the same. */
    bool told = held && before ? !store_value_same(&was, &now) : before || telling->query->first_too;
    if (told) {
        struct visit visit;
        visit_from(cells + VISIT_AT, &visit);
        struct history_row row = {
            .tag = visit.record.tag,
            .parameter = held ? now.parameter : was.parameter,
            .means = held ? now.means : was.means,
            .record = &visit.record,
            .was = before ? &was : NULL,
            .now = held ? &now : NULL,
        };
        more = telling->each(telling->user, &row);
        record_free(&visit.record);
    }
    record_value_free(&now);
    record_value_free(&was);
    return more;
}

/* The keys from `low` to `high`: all of them without a text; none where it is not known. */
static bool key_range(struct store *store, const char *sql, const char *text, int64_t *low, int64_t *high,
                      struct error *error)
{
    bool found;
    *low = 0;
    *high = INT64_MAX;
    if (text == NULL)
        return true;
    if (!store_number(store, sql, CELLS(cell_of_text(text)), low, &found, error))
        return false;
    *high = found ? *low : -1;
    return true;
}

static bool tell(struct store *store, void *user, struct error *error)
{
    const struct telling *telling = user;
    const struct history_query *query = telling->query;
    int64_t drive[2];
    int64_t parameter[2];
    return key_range(store, "SELECT drive FROM drive WHERE tag = $1", query->tag, &drive[0], &drive[1], error) &&
           key_range(store, "SELECT word FROM word WHERE text = $1", query->parameter, &parameter[0], &parameter[1],
                     error) &&
           store_run(store, events,
                     CELLS(cell_of_integer(drive[0]), cell_of_integer(drive[1]), cell_of_integer(parameter[0]),
                           cell_of_integer(parameter[1]), cell_of_integer(query->since_ms)),
                     give_event, user, error);
}

bool store_history(struct store *store, const struct history_query *query,
                   bool (*each)(void *user, const struct history_row *row), void *user, struct error *error)
{
    struct telling telling = {query, each, user};
    return store_read(store, tell, &telling, error);
}
