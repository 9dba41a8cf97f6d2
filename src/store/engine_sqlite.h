/* SPDX-License-Identifier: MIT */
/* The engine that keeps the store in one file, by SQLite. */
#ifndef ASLEFT_STORE_ENGINE_SQLITE_H
#define ASLEFT_STORE_ENGINE_SQLITE_H

#include "store/engine.h"
#include "store/store.h"

/* What tests set otherwise. */
struct sqlite_settings {
    int patience_ms;          /* how long another program's lock is waited for */
    const char *const *steps; /* the schema; the number of steps is its version */
    size_t step_count;
};

/* Five seconds, and this version's schema. */
struct sqlite_settings sqlite_settings_usual(void);

/* store_open's part for a path. With STORE_LOOK and nothing there, true and *engine NULL. */
bool engine_sqlite_open(const char *path, enum store_use use, const struct sqlite_settings *settings,
                        struct engine **engine, struct error *error);

#endif
