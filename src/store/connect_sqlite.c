/* SPDX-License-Identifier: MIT */
/* Opening a file by SQLite: for keeping, and for looking without a trace. */
#include "store/place.h"
#include "store/sqlite_parts.h"

#include "types/memory.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

/* How long the file is that SQLite writes ahead into; 0 where there is none. */
static off_t write_ahead_length(const struct engine_sqlite *sqlite)
{
    struct stat found;
    char *path = text_format("%s-wal", sqlite->real);
    off_t length = stat(path, &found) == 0 ? found.st_size : 0;
    free(path);
    return length;
}

/* Ready for use, and read once, so that what is wrong shows itself here. */
static bool configure(struct engine_sqlite *sqlite, struct error *error)
{
    int64_t unused;
    /* The file may come from anywhere: what is in it is data, never to be run. */
    (void)sqlite3_db_config(sqlite->database, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    (void)sqlite3_db_config(sqlite->database, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    (void)sqlite3_busy_timeout(sqlite->database, sqlite->patience_ms);
    return sqlite_execute(sqlite, "PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL", error) &&
           sqlite_number(sqlite, "SELECT count(*) FROM sqlite_schema", &unused, error);
}

static bool connect_as(struct engine_sqlite *sqlite, const char *name, int flags, struct error *error)
{
    flags |= SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE;
    errno = 0;
    if (sqlite3_open_v2(name, &sqlite->database, flags, NULL) == SQLITE_OK)
        return configure(sqlite, error);
    return sqlite_failed(sqlite, error);
}

bool sqlite_connect_keep(struct engine_sqlite *sqlite, struct error *error)
{
    return place_may_write(sqlite->path, sqlite->real, error) &&
           connect_as(sqlite, sqlite->real, SQLITE_OPEN_READWRITE, error);
}

/* The path as SQLite's URI, with an option. */
static char *uri(const char *path, const char *option)
{
    static const char digits[] = "0123456789ABCDEF";
    char *escaped = memory_new(3 * strlen(path) + 1, 1);
    char *end = escaped;
    for (const char *byte = path; *byte != '\0'; byte++) {
        *end++ = '%';
        *end++ = digits[(unsigned char)*byte >> 4];
        *end++ = digits[(unsigned char)*byte & 15];
    }
    char *name = text_format("file:%s?%s=1", escaped, option);
    free(escaped);
    return name;
}

/* Remembers the file as it is before anything of it is read. */
static bool watch(struct engine_sqlite *sqlite, struct error *error)
{
    if (stat(sqlite->real, &sqlite->seen) != 0)
        return error_set(error, ERROR_STORE, "%s: %s; call again", sqlite->path, strerror(errno));
    return true;
}

/* SQLite reads a store in write-ahead mode only with two more files beside it, which this user may not make. Where
 * nothing waits in them the file is read alone; nobody may write meanwhile, and sqlite_is_unchanged proves that. Where
 * something does, they have to be there already. */
static bool connect_without_permission(struct engine_sqlite *sqlite, struct error *error)
{
    if (!watch(sqlite, error))
        return false;
    sqlite->unlocked = write_ahead_length(sqlite) == 0;
    char *name = uri(sqlite->real, sqlite->unlocked ? "immutable" : "readonly_shm");
    bool connected = connect_as(sqlite, name, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, error);
    free(name);
    if (connected || sqlite->unlocked)
        return connected;
    int code = sqlite3_errcode(sqlite->database) & 255;
    if (code != SQLITE_CANTOPEN && code != SQLITE_READONLY)
        return false;
    return error_set(error, ERROR_STORE,
                     "%s was not closed in order and is put in order by the next run that may write to it; call once "
                     "as a user who may",
                     sqlite->path);
}

bool sqlite_connect_look(struct engine_sqlite *sqlite, struct error *error)
{
    if (!place_may_write(sqlite->path, sqlite->real, NULL))
        return connect_without_permission(sqlite, error);
    /* As a writer that never writes: only a writer may remove the files that reading needs. What an interrupted run
     * left in them stays there, for the next one that keeps something. */
    bool left = write_ahead_length(sqlite) > 0;
    if (!connect_as(sqlite, sqlite->real, SQLITE_OPEN_READWRITE, error))
        return false;
    if (left)
        (void)sqlite3_db_config(sqlite->database, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, NULL);
    return sqlite_execute(sqlite, "PRAGMA query_only = ON", error);
}

bool sqlite_is_unchanged(struct engine_sqlite *sqlite, struct error *error)
{
    const struct stat *seen = &sqlite->seen;
    struct stat now;
    if (stat(sqlite->real, &now) == 0 && now.st_ino == seen->st_ino && now.st_size == seen->st_size &&
        now.st_mtim.tv_sec == seen->st_mtim.tv_sec && now.st_mtim.tv_nsec == seen->st_mtim.tv_nsec &&
        write_ahead_length(sqlite) == 0)
        return true;
    return error_set(error, ERROR_STORE, "%s was written to while it was read; call again", sqlite->path);
}
