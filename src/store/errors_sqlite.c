/* SPDX-License-Identifier: MIT */
/* What SQLite's result codes mean for whoever keeps records, and what to do. */
#include "store/sqlite_parts.h"

#include <errno.h>
#include <string.h>

static bool is_no_room(int code, int reason)
{
    return code == SQLITE_FULL || reason == ENOSPC || reason == EDQUOT || reason == EFBIG;
}

static bool readonly(const struct engine_sqlite *sqlite, int extended, struct error *error)
{
    switch (extended) {
    case SQLITE_READONLY_RECOVERY:
    case SQLITE_READONLY_CANTINIT:
    case SQLITE_READONLY_ROLLBACK:
        return error_set(error, ERROR_STORE,
                         "%s was not closed in order and is put in order by the next run that may write to it; call "
                         "once as a user who may",
                         sqlite->path);
    case SQLITE_READONLY_DBMOVED:
        return error_set(error, ERROR_STORE, "%s was moved or removed while it was in use; put it back and call again",
                         sqlite->path);
    default:
        return error_set(error, ERROR_STORE,
                         "%s: no permission to write to it; call as a user who may, or name another store with --store",
                         sqlite->path);
    }
}

bool sqlite_failed(const struct engine_sqlite *sqlite, struct error *error)
{
    /* SQLite does not keep the reason of a failed commit; errno does, since it was 0 before. */
    int left = errno;
    const char *path = sqlite->path;
    int extended = sqlite3_extended_errcode(sqlite->database);
    int code = extended & 255;
    int kept = sqlite3_system_errno(sqlite->database);
    int reason = kept != 0 ? kept : left;
    bool by_system = code == SQLITE_IOERR || code == SQLITE_CANTOPEN;
    if (is_no_room(code, by_system ? reason : 0))
        return error_set(error, ERROR_STORE,
                         "%s: no room to write (%s); make room and call again; what was kept before is still there",
                         path, strerror(by_system && reason != 0 ? reason : ENOSPC));
    switch (code) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return error_set(error, ERROR_STORE,
                         "%s is locked by another program, and still was after %g s; call again when that has ended",
                         path, sqlite->patience_ms / 1000.0);
    case SQLITE_NOTADB:
        return error_set(error, ERROR_STORE,
                         "%s is no database; name another store with --store, or move this file aside", path);
    case SQLITE_CORRUPT:
        return error_set(
            error, ERROR_STORE,
            "%s is damaged (%s); move it aside with its -wal file, if there is one, and a new one is made; what can "
            "still be read of it, `sqlite3 FILE .recover` shows",
            path, sqlite3_errmsg(sqlite->database));
    case SQLITE_READONLY:
        return readonly(sqlite, extended, error);
    case SQLITE_CANTOPEN:
    case SQLITE_PERM:
    case SQLITE_AUTH:
        return error_set(error, ERROR_STORE, "%s cannot be opened: %s; name another store with --store", path,
                         reason != 0 ? strerror(reason) : sqlite3_errmsg(sqlite->database));
    case SQLITE_IOERR:
        return error_set(error, ERROR_STORE,
                         "%s cannot be read or written (%s); check the disk, and keep a copy before anything else",
                         path, reason != 0 ? strerror(reason) : sqlite3_errmsg(sqlite->database));
    default:
        return error_set(error, ERROR_STORE, "%s cannot be used: %s", path, sqlite3_errmsg(sqlite->database));
    }
}
