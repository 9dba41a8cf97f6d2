/* SPDX-License-Identifier: MIT */
/* What the files of the SQLite engine share: its struct, its errors, and its opening. */
#ifndef ASLEFT_STORE_SQLITE_PARTS_H
#define ASLEFT_STORE_SQLITE_PARTS_H

#include "store/engine_sqlite.h"

#include <sqlite3.h>
#include <sys/stat.h>

struct engine_sqlite {
    struct engine engine; /* first */
    sqlite3 *database;
    char *path; /* as persons know it; owned */
    char *real; /* the file itself; owned */
    int patience_ms;
    /* Read without any lock, since this user may not make the files that locks need: each transaction proves at its
     * end that nobody wrote since it was opened. */
    bool unlocked;
    struct stat seen;          /* unlocked: the file when it was opened */
    sqlite3_stmt **statements; /* prepared and kept; owned */
    size_t statement_count;
};

/* Says what SQLite's last failure on this connection means and what to do; errno was 0 before the call that failed.
 * Returns false. */
bool sqlite_failed(const struct engine_sqlite *sqlite, struct error *error);

/* One or more statements without rows. */
bool sqlite_execute(struct engine_sqlite *sqlite, const char *sql, struct error *error);

/* The first column of the first row as a number, 0 where there is none. */
bool sqlite_number(struct engine_sqlite *sqlite, const char *sql, int64_t *number, struct error *error);

/* Gives up the connection and its statements. */
void sqlite_disconnect(struct engine_sqlite *sqlite);

/* Opens the file for STORE_LOOK so that nothing is changed in it, and nothing left beside it, if that can be. */
bool sqlite_connect_look(struct engine_sqlite *sqlite, struct error *error);

/* Opens the file for STORE_KEEP. */
bool sqlite_connect_keep(struct engine_sqlite *sqlite, struct error *error);

/* unlocked: is the file still as it was before anything of it was read? */
bool sqlite_is_unchanged(struct engine_sqlite *sqlite, struct error *error);

#endif
