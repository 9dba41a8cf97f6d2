/* SPDX-License-Identifier: MIT */
/* The engine that keeps the store in one file, by SQLite. */
#include "store/engine_sqlite.h"

#include "store/place.h"
#include "store/schema_sqlite.h"
#include "store/sqlite_parts.h"

#include "types/memory.h"

#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* "asLf": says in the file's header whose it is. */
enum { APPLICATION_ID = 0x61734c66 };

enum { RETRY_MS = 5 };

struct sqlite_settings sqlite_settings_usual(void)
{
    return (struct sqlite_settings){5000, schema_sqlite_steps, schema_sqlite_step_count};
}

bool sqlite_execute(struct engine_sqlite *sqlite, const char *sql, struct error *error)
{
    errno = 0;
    return sqlite3_exec(sqlite->database, sql, NULL, NULL, NULL) == SQLITE_OK || sqlite_failed(sqlite, error);
}

static bool first_number(void *user, const struct cell *cells)
{
    *(int64_t *)user = cell_to_integer(&cells[0]);
    return false;
}

/* ---- statements ---- */

/* The statement, prepared. It is kept for the next time unless the kept one is just giving its rows. */
static sqlite3_stmt *prepared(struct engine_sqlite *sqlite, const char *sql, bool *kept)
{
    *kept = true;
    for (size_t i = 0; i < sqlite->statement_count; i++)
        if (strcmp(sqlite3_sql(sqlite->statements[i]), sql) == 0) {
            if (!sqlite3_stmt_busy(sqlite->statements[i]))
                return sqlite->statements[i];
            *kept = false;
        }
    sqlite3_stmt *statement = NULL;
    unsigned flags = *kept ? SQLITE_PREPARE_PERSISTENT : 0;
    if (sqlite3_prepare_v3(sqlite->database, sql, -1, flags, &statement, NULL) != SQLITE_OK)
        return NULL;
    if (*kept) {
        sqlite->statements = memory_grow(sqlite->statements, sqlite->statement_count, sizeof(sqlite3_stmt *));
        sqlite->statements[sqlite->statement_count++] = statement;
    }
    return statement;
}

static int bind_one(sqlite3_stmt *statement, int index, const struct cell *cell)
{
    switch (cell->kind) {
    case CELL_NULL:
        return sqlite3_bind_null(statement, index);
    case CELL_INTEGER:
        return sqlite3_bind_int64(statement, index, cell->integer);
    case CELL_REAL:
        return sqlite3_bind_double(statement, index, cell->real);
    case CELL_TEXT:
        return sqlite3_bind_text64(statement, index, cell->bytes, cell->length, SQLITE_STATIC, SQLITE_UTF8);
    case CELL_BLOB:
        /* a blob of no bytes must not become NULL */
        return sqlite3_bind_blob64(statement, index, cell->length > 0 ? cell->bytes : "", cell->length, SQLITE_STATIC);
    }
    return SQLITE_MISUSE;
}

/* SQLite numbers $2 and $1 by their first appearance: they are found by name. */
static bool bind_all(sqlite3_stmt *statement, struct cells given)
{
    for (size_t i = 0; i < given.count; i++) {
        char name[24];
        (void)sqlite3_snprintf(sizeof name, name, "$%d", (int)(i + 1));
        int index = sqlite3_bind_parameter_index(statement, name);
        if (index > 0 && bind_one(statement, index, &given.items[i]) != SQLITE_OK)
            return false;
    }
    return true;
}

static struct cell column(sqlite3_stmt *statement, int index)
{
    struct cell cell = {.kind = CELL_NULL};
    switch (sqlite3_column_type(statement, index)) {
    case SQLITE_INTEGER:
        return cell_of_integer(sqlite3_column_int64(statement, index));
    case SQLITE_FLOAT:
        return cell_of_real(sqlite3_column_double(statement, index));
    case SQLITE_TEXT:
        cell.kind = CELL_TEXT;
        cell.bytes = sqlite3_column_text(statement, index);
        break;
    case SQLITE_BLOB:
        cell.kind = CELL_BLOB;
        cell.bytes = sqlite3_column_blob(statement, index);
        break;
    default:
        break;
    }
    cell.length = (size_t)sqlite3_column_bytes(statement, index);
    return cell;
}

static bool give_row(sqlite3_stmt *statement, engine_row *row, void *user)
{
    struct cell cells[ENGINE_COLUMNS];
    int count = sqlite3_column_count(statement);
    for (int i = 0; i < count && i < ENGINE_COLUMNS; i++)
        cells[i] = column(statement, i);
    return row == NULL || row(user, cells);
}

static bool run(struct engine *engine, const char *sql, struct cells given, engine_row *row, void *user,
                struct error *error)
{
    struct engine_sqlite *sqlite = (struct engine_sqlite *)engine;
    bool kept;
    errno = 0;
    sqlite3_stmt *statement = prepared(sqlite, sql, &kept);
    if (statement == NULL)
        return sqlite_failed(sqlite, error);
    int code = bind_all(statement, given) ? SQLITE_ROW : SQLITE_ERROR;
    bool more = true;
    while (more && code == SQLITE_ROW) {
        code = sqlite3_step(statement);
        if (code == SQLITE_ROW)
            more = give_row(statement, row, user);
    }
    bool done = code == SQLITE_DONE || !more;
    if (!done)
        (void)sqlite_failed(sqlite, error);
    if (kept) {
        (void)sqlite3_reset(statement);
        (void)sqlite3_clear_bindings(statement);
    } else {
        (void)sqlite3_finalize(statement);
    }
    return done;
}

bool sqlite_number(struct engine_sqlite *sqlite, const char *sql, int64_t *number, struct error *error)
{
    *number = 0;
    return run(&sqlite->engine, sql, NO_CELLS, first_number, number, error);
}

/* ---- transactions ---- */

static bool begin(struct engine *engine, enum engine_aim aim, struct error *error)
{
    /* A reader that becomes a writer later is turned away at once, whatever the patience: a writer is one at once. */
    return run(engine, aim == ENGINE_WRITES ? "BEGIN IMMEDIATE" : "BEGIN", NO_CELLS, NULL, NULL, error);
}

static bool commit(struct engine *engine, struct error *error)
{
    struct engine_sqlite *sqlite = (struct engine_sqlite *)engine;
    if (!run(engine, "COMMIT", NO_CELLS, NULL, NULL, error))
        return false;
    return !sqlite->unlocked || sqlite_is_unchanged(sqlite, error);
}

static void rollback(struct engine *engine)
{
    /* Some failures have rolled back already. */
    struct engine_sqlite *sqlite = (struct engine_sqlite *)engine;
    if (!sqlite3_get_autocommit(sqlite->database))
        (void)run(engine, "ROLLBACK", NO_CELLS, NULL, NULL, NULL);
}

/* ---- check ---- */

struct complaint {
    char *text; /* owned; NULL: none */
};

static bool first_complaint(void *user, const struct cell *cells)
{
    struct complaint *complaint = user;
    complaint->text = cell_to_text_or_empty(&cells[0]);
    return false;
}

static bool check(struct engine *engine, struct error *error)
{
    struct engine_sqlite *sqlite = (struct engine_sqlite *)engine;
    struct complaint whole = {0};
    struct complaint orphan = {0};
    bool checked = run(engine, "PRAGMA integrity_check(1)", NO_CELLS, first_complaint, &whole, error) &&
                   run(engine, "PRAGMA foreign_key_check", NO_CELLS, first_complaint, &orphan, error);
    if (checked && (whole.text == NULL || strcmp(whole.text, "ok") != 0)) {
        char *line = whole.text == NULL ? NULL : strchr(whole.text, '\n');
        if (line != NULL) /* "*** in database main ***", and then the first complaint */
            *line = ' ';
        checked = error_set(error, ERROR_STORE, "%s is damaged: %s; move it aside and a new one is made", sqlite->path,
                            whole.text == NULL ? "nothing comes of its check" : whole.text);
    } else if (checked && orphan.text != NULL) {
        checked = error_set(error, ERROR_STORE,
                            "%s is damaged: rows of %s belong to nothing; move it aside and a new one is made",
                            sqlite->path, orphan.text);
    }
    free(whole.text);
    free(orphan.text);
    return checked;
}

void sqlite_disconnect(struct engine_sqlite *sqlite)
{
    for (size_t i = 0; i < sqlite->statement_count; i++)
        (void)sqlite3_finalize(sqlite->statements[i]);
    free(sqlite->statements);
    sqlite->statements = NULL;
    sqlite->statement_count = 0;
    (void)sqlite3_close(sqlite->database);
    sqlite->database = NULL;
}

static void close_sqlite(struct engine *engine)
{
    struct engine_sqlite *sqlite = (struct engine_sqlite *)engine;
    sqlite_disconnect(sqlite);
    free(sqlite->path);
    free(sqlite->real);
    free(sqlite);
}

static const struct engine_calls calls = {begin, commit, rollback, run, check, close_sqlite};

/* ---- opening ---- */

/* Whose the file is, and of which version. */
struct mark {
    int64_t application, version, tables;
};

/* At one moment: another run may be making it just now, and half of its mark would be a stranger's. */
static bool identify(struct engine_sqlite *sqlite, struct mark *mark, struct error *error)
{
    if (!begin(&sqlite->engine, ENGINE_READS, error))
        return false;
    bool done = sqlite_number(sqlite, "SELECT count(*) FROM sqlite_schema", &mark->tables, error) &&
                sqlite_number(sqlite, "PRAGMA application_id", &mark->application, error) &&
                sqlite_number(sqlite, "PRAGMA user_version", &mark->version, error);
    rollback(&sqlite->engine);
    return done;
}

static bool is_empty(const struct mark *mark)
{
    return mark->application == 0 && mark->version == 0 && mark->tables == 0;
}

static bool is_ours(const struct engine_sqlite *sqlite, const struct mark *mark, size_t newest, struct error *error)
{
    if (is_empty(mark))
        return true;
    if (mark->application != APPLICATION_ID || mark->version < 1)
        return error_set(error, ERROR_STORE, "%s is a database of another program; name another store with --store",
                         sqlite->path);
    if ((uint64_t)mark->version > newest)
        return error_set(error, ERROR_STORE,
                         "%s was made by a newer version of this program (schema %lld, this one knows %zu); use that "
                         "version, or name another store with --store",
                         sqlite->path, (long long)mark->version, newest);
    return true;
}

/* One step of the schema, whole or not at all, unless another run has done it meanwhile. */
static bool migrate_one(struct engine_sqlite *sqlite, size_t step, const char *sql, struct error *error)
{
    if (!begin(&sqlite->engine, ENGINE_WRITES, error))
        return false;
    int64_t version;
    char *marking = text_format("PRAGMA application_id = %d; PRAGMA user_version = %zu", APPLICATION_ID, step + 1);
    bool done =
        sqlite_number(sqlite, "PRAGMA user_version", &version, error) &&
        (version != (int64_t)step || (sqlite_execute(sqlite, sql, error) && sqlite_execute(sqlite, marking, error))) &&
        commit(&sqlite->engine, error);
    free(marking);
    if (!done)
        rollback(&sqlite->engine);
    return done;
}

/* Write-ahead mode stays with the file. Two runs that make a store at once turn each other away here without
 * patience, so it is had here. */
static bool write_ahead(struct engine_sqlite *sqlite, struct error *error)
{
    for (int waited_ms = 0;; waited_ms += RETRY_MS) {
        errno = 0;
        if (sqlite3_exec(sqlite->database, "PRAGMA journal_mode = WAL", NULL, NULL, NULL) == SQLITE_OK)
            return true;
        if ((sqlite3_errcode(sqlite->database) & 255) != SQLITE_BUSY || waited_ms >= sqlite->patience_ms)
            return sqlite_failed(sqlite, error);
        (void)sqlite3_sleep(RETRY_MS);
    }
}

static bool bring_up(struct engine_sqlite *sqlite, const struct mark *mark, const struct sqlite_settings *settings,
                     struct error *error)
{
    if (!write_ahead(sqlite, error))
        return false;
    for (size_t step = (size_t)mark->version; step < settings->step_count; step++)
        if (!migrate_one(sqlite, step, settings->steps[step], error))
            return false;
    return true;
}

/* Connected: what is it? *empty where nothing was ever kept in it. */
static bool settle(struct engine_sqlite *sqlite, enum store_use use, const struct sqlite_settings *settings,
                   bool *empty, struct error *error)
{
    struct mark mark;
    *empty = false;
    if (!identify(sqlite, &mark, error) || !is_ours(sqlite, &mark, settings->step_count, error))
        return false;
    if (use == STORE_KEEP)
        return bring_up(sqlite, &mark, settings, error);
    *empty = is_empty(&mark);
    if (!*empty && (size_t)mark.version < settings->step_count)
        return error_set(error, ERROR_STORE,
                         "%s was made by an older version of this program (schema %lld, this one reads %zu); the next "
                         "`record`, `witness` or `sweep` brings it up to date",
                         sqlite->path, (long long)mark.version, settings->step_count);
    return true;
}

bool engine_sqlite_open(const char *path, enum store_use use, const struct sqlite_settings *settings,
                        struct engine **engine, struct error *error)
{
    enum place place;
    *engine = NULL;
    if (!place_look(path, &place, error))
        return false;
    if (place == PLACE_NOTHING && use == STORE_LOOK)
        return true;
    if (place == PLACE_NOTHING && !place_make(path, error))
        return false;
    /* The file itself: SQLite takes some names for something else than a path. */
    char *real = realpath(path, NULL);
    if (real == NULL)
        return error_set(error, ERROR_STORE, "%s leads nowhere: %s; name another store with --store", path,
                         strerror(errno));
    struct engine_sqlite *sqlite = memory_new(1, sizeof *sqlite);
    sqlite->engine.calls = &calls;
    sqlite->path = text_copy(path);
    sqlite->real = real;
    sqlite->patience_ms = settings->patience_ms;
    bool empty = false;
    bool opened = (use == STORE_LOOK ? sqlite_connect_look(sqlite, error) : sqlite_connect_keep(sqlite, error)) &&
                  settle(sqlite, use, settings, &empty, error);
    if (opened && !empty)
        *engine = &sqlite->engine;
    else
        close_sqlite(&sqlite->engine);
    return opened;
}
