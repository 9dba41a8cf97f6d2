/* SPDX-License-Identifier: MIT */
/* The tables of a store in SQLite, and how an older store comes to have them. */
#include "store/schema_sqlite.h"

/* A year of hourly sweeps of a thousand drives is nine million visits: what repeats stands apart and once (scene,
 * layout, word), and a reading is there only for the visit that first saw it.
 *
 * A visit holds the parameters of its layout. The value of each is the latest reading of that drive and parameter at or
 * before the visit, in the order of (began_ms, visit). A reading differs in something from the one before it.
 * kind: 1 found, 2 left, 3 before-write, 4 after-write, 5 swept, 6 witnessed. raw: registers, high byte first. */
static const char version_1[] =
    "CREATE TABLE drive (drive INTEGER PRIMARY KEY, tag TEXT NOT NULL UNIQUE) STRICT;"

    /* names of parameters, means, units and symptoms */
    "CREATE TABLE word (word INTEGER PRIMARY KEY, text TEXT NOT NULL UNIQUE) STRICT;"

    /* everything about a visit that is the same the next time */
    "CREATE TABLE scene (scene INTEGER PRIMARY KEY, drive INTEGER NOT NULL REFERENCES drive, service TEXT, line TEXT,"
    " unit INTEGER NOT NULL, serial_number TEXT, firmware TEXT, map_name TEXT, map_sha256 TEXT NOT NULL,"
    " sheet_sha256 TEXT NOT NULL, who TEXT, host TEXT, tool TEXT) STRICT;"
    "CREATE INDEX scene_of_drive ON scene (drive);"

    /* which parameters, in the map's order; names: all of them, each with a NUL behind, to find it by */
    "CREATE TABLE layout (layout INTEGER PRIMARY KEY, names BLOB NOT NULL UNIQUE) STRICT;"
    "CREATE TABLE layout_item (layout INTEGER NOT NULL REFERENCES layout, place INTEGER NOT NULL,"
    " parameter INTEGER NOT NULL REFERENCES word, PRIMARY KEY (layout, place), UNIQUE (layout, parameter))"
    " STRICT, WITHOUT ROWID;"

    "CREATE TABLE visit (visit INTEGER PRIMARY KEY, id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),"
    " drive INTEGER NOT NULL REFERENCES drive, scene INTEGER NOT NULL REFERENCES scene,"
    " layout INTEGER NOT NULL REFERENCES layout, kind INTEGER NOT NULL, after_power_cycle INTEGER NOT NULL,"
    " began_ms INTEGER NOT NULL, ended_ms INTEGER NOT NULL, requests INTEGER NOT NULL, retries INTEGER NOT NULL,"
    " exceptions INTEGER NOT NULL, timeouts INTEGER NOT NULL, bad_frames INTEGER NOT NULL,"
    " discarded INTEGER NOT NULL) STRICT;"
    "CREATE INDEX visit_of_drive ON visit (drive, began_ms, visit, kind);"

    "CREATE TABLE reading (drive INTEGER NOT NULL REFERENCES drive, parameter INTEGER NOT NULL REFERENCES word,"
    " began_ms INTEGER NOT NULL, visit INTEGER NOT NULL REFERENCES visit, raw BLOB, number REAL, shown TEXT,"
    " means INTEGER REFERENCES word, unit INTEGER REFERENCES word, symptom INTEGER REFERENCES word,"
    " PRIMARY KEY (drive, parameter, began_ms, visit)) STRICT, WITHOUT ROWID;"

    "CREATE TABLE journal (journal INTEGER PRIMARY KEY, id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),"
    " drive INTEGER NOT NULL REFERENCES drive, line TEXT, unit INTEGER NOT NULL, serial_number TEXT,"
    " map_sha256 TEXT NOT NULL, restores INTEGER NOT NULL, code TEXT NOT NULL, who TEXT, host TEXT, tool TEXT,"
    " process INTEGER NOT NULL, before BLOB NOT NULL, began_ms INTEGER NOT NULL, ended_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX journal_of_drive ON journal (drive, began_ms);"
    "CREATE TABLE journal_step (journal INTEGER NOT NULL REFERENCES journal, place INTEGER NOT NULL, parameter TEXT,"
    " was BLOB, becomes BLOB, was_shown TEXT, becomes_shown TEXT, outcome TEXT NOT NULL, note TEXT,"
    " at_ms INTEGER NOT NULL, PRIMARY KEY (journal, place)) STRICT, WITHOUT ROWID;";

/* What was sampled of a run, for its visit of kind 6. A series is a parameter; moments and numbers are as
 * store/series_blob.h has them, and moments NULL where they are those of the series before. obtained: 0 the map does
 * not say, 1 measured, 2 computed, 3 commanded. */
static const char version_2[] =
    "CREATE TABLE run (visit INTEGER PRIMARY KEY REFERENCES visit, began_ms INTEGER NOT NULL,"
    " ended_ms INTEGER NOT NULL, requests INTEGER NOT NULL, retries INTEGER NOT NULL, exceptions INTEGER NOT NULL,"
    " timeouts INTEGER NOT NULL, bad_frames INTEGER NOT NULL, discarded INTEGER NOT NULL) STRICT;"
    "CREATE TABLE series (visit INTEGER NOT NULL REFERENCES run, place INTEGER NOT NULL,"
    " parameter INTEGER NOT NULL REFERENCES word, means INTEGER NOT NULL REFERENCES word, step REAL NOT NULL,"
    " obtained INTEGER NOT NULL, refreshed_s REAL NOT NULL, filtered_s REAL NOT NULL, samples INTEGER NOT NULL,"
    " moments BLOB, numbers BLOB NOT NULL, PRIMARY KEY (visit, place)) STRICT;";

/* Digests of documents, which are not themselves kept. */
static const char version_3[] =
    "CREATE TABLE document (digest TEXT PRIMARY KEY, tags TEXT NOT NULL, who TEXT NOT NULL, host TEXT NOT NULL,"
    " tool TEXT NOT NULL, made_ms INTEGER NOT NULL) STRICT;";

const char *const schema_sqlite_steps[] = {version_1, version_2, version_3};
const size_t schema_sqlite_step_count = sizeof schema_sqlite_steps / sizeof schema_sqlite_steps[0];
