/* SPDX-License-Identifier: MIT */
/* The tables of a store in SQLite, and how an older store comes to have them. */
#ifndef ASLEFT_STORE_SCHEMA_SQLITE_H
#define ASLEFT_STORE_SCHEMA_SQLITE_H

#include <stddef.h>

/* Statements that lead from one version of the schema to the next: the first from an empty file to version 1. A step
 * that was published is never changed; another is added. */
extern const char *const schema_sqlite_steps[];
extern const size_t schema_sqlite_step_count;

#endif
