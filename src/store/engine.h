/* SPDX-License-Identifier: MIT */
/* What a database engine does for the store: transactions and statements with parameters, and nothing of records. The
 * statements are the subset that SQLite and PostgreSQL both take; tables, pragmas and locks are the engine's own. */
#ifndef ASLEFT_STORE_ENGINE_H
#define ASLEFT_STORE_ENGINE_H

#include "types/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum cell_kind { CELL_NULL, CELL_INTEGER, CELL_REAL, CELL_TEXT, CELL_BLOB };

/* One parameter of a statement, or one column of a row. */
struct cell {
    enum cell_kind kind;
    int64_t integer;   /* CELL_INTEGER; truths are 0 and 1 */
    double real;       /* CELL_REAL, never NAN */
    const void *bytes; /* CELL_TEXT, UTF-8 with a NUL behind, and CELL_BLOB; the giver's */
    size_t length;     /* of bytes, without the NUL */
};

/* Parameters of a statement: the first is $1. */
struct cells {
    const struct cell *items;
    size_t count;
};

#define CELLS(...)                                                                                                     \
    ((struct cells){(const struct cell[]){__VA_ARGS__}, sizeof((struct cell[]){__VA_ARGS__}) / sizeof(struct cell)})
#define NO_CELLS ((struct cells){0})

enum { ENGINE_COLUMNS = 64 }; /* the most that a statement may give */

enum engine_aim {
    ENGINE_READS,  /* one state of the store throughout, whoever writes meanwhile */
    ENGINE_WRITES, /* the only writer until it ends; waits for another one, up to a time */
};

struct engine;

/* A row; its cells hold until it returns. Returning false ends the statement, which is no error. */
typedef bool engine_row(void *user, const struct cell *cells);

/* Errors are ERROR_STORE, with the place of the store and what to do. */
struct engine_calls {
    /* A transaction. There is one at a time; what was written is on the disk when commit returns true. After a commit
     * that returned false the caller rolls back. */
    bool (*begin)(struct engine *engine, enum engine_aim aim, struct error *error);
    bool (*commit)(struct engine *engine, struct error *error);
    void (*rollback)(struct engine *engine);
    /* One statement, prepared once and kept. `row` may be NULL. A row may run other statements, or the same. */
    bool (*run)(struct engine *engine, const char *sql, struct cells given, engine_row *row, void *user,
                struct error *error);
    /* Is the whole store in order? */
    bool (*check)(struct engine *engine, struct error *error);
    void (*close)(struct engine *engine);
};

/* The first member of each engine's own struct. */
struct engine {
    const struct engine_calls *calls;
};

struct cell cell_of_integer(int64_t integer);
struct cell cell_of_real(double real);                                /* CELL_NULL for NAN */
struct cell cell_of_text(const char *text);                           /* CELL_NULL for NULL */
struct cell cell_of_blob(const void *bytes, size_t length);           /* CELL_NULL for NULL */
int64_t cell_to_integer(const struct cell *cell);                     /* 0 where it is none */
double cell_to_real(const struct cell *cell);                         /* NAN where it is none */
char *cell_to_text(const struct cell *cell);                          /* owned copy; NULL where it is none */
char *cell_to_text_or_empty(const struct cell *cell);                 /* the same, "" where it is none */
void cell_to_array(const struct cell *cell, char *text, size_t size); /* cut where longer; "" where it is none */

#endif
