/* SPDX-License-Identifier: MIT */
/* What the tests of the store share: a folder for each, stores in it, and records that are made up and compared. */
#ifndef TESTS_STORE_STORE_BENCH_H
#define TESTS_STORE_STORE_BENCH_H

#include "store/engine.h"
#include "store/parts.h"
#include "store/store.h"

#include "types/memory.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

/* A folder of its own, in memory where there is such a place: the disk is not what is tested. */
struct bench {
    char folder[64];
    char path[96]; /* of the store */
};

static inline int bench_open(void **state)
{
    struct bench *bench = memory_new(1, sizeof *bench);
    const char *above = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
    (void)snprintf(bench->folder, sizeof bench->folder, "%s/asleft-store-XXXXXX", above);
    assert_non_null(mkdtemp(bench->folder));
    (void)snprintf(bench->path, sizeof bench->path, "%s/records.sqlite", bench->folder);
    *state = bench;
    return 0;
}

static inline int bench_close(void **state)
{
    struct bench *bench = *state;
    char *command = text_format("chmod -R u+rwX '%s'; rm -r '%s'", bench->folder, bench->folder);
    int status = system(command);
    free(command);
    free(bench);
    return status;
}

#define BENCH_TEST(function) cmocka_unit_test_setup_teardown(function, bench_open, bench_close)

static inline bool is_there(const char *path)
{
    return access(path, F_OK) == 0;
}

static inline bool is_beside(const struct bench *bench, const char *ending)
{
    char *path = text_format("%s%s", bench->path, ending);
    bool there = is_there(path);
    free(path);
    return there;
}

static inline struct store *open_store(const struct bench *bench, enum store_use use)
{
    struct error error = {0};
    struct store *store = NULL;
    if (!store_open(bench->path, use, &store, &error))
        fail_msg("%s", error.text);
    return store;
}

/* Opening fails, and the error says all of that. */
static inline void assert_says(const struct error *error, enum error_kind kind, const char *first, const char *second)
{
    assert_int_equal(error->kind, kind);
    if (strstr(error->text, first) == NULL || strstr(error->text, second) == NULL)
        fail_msg("'%s' does not say '%s' and '%s'", error->text, first, second);
}

static inline void assert_done(bool done, const struct error *error)
{
    if (!done)
        fail_msg("%s", error->text);
}

/* Runs SQL on the file behind the store's back. */
static inline void by_hand(const struct bench *bench, const char *sql)
{
    sqlite3 *database = NULL;
    assert_int_equal(sqlite3_open(bench->path, &database), SQLITE_OK);
    if (sqlite3_exec(database, sql, NULL, NULL, NULL) != SQLITE_OK)
        fail_msg("%s: %s", sql, sqlite3_errmsg(database));
    assert_int_equal(sqlite3_close(database), SQLITE_OK);
}

/* ---- records ---- */

/* Appends a value that was read: one word. */
static inline void add_value(struct record *record, const char *parameter, uint16_t raw)
{
    record->values = memory_grow(record->values, record->value_count, sizeof *record->values);
    struct record_value *value = &record->values[record->value_count++];
    value->parameter = text_copy(parameter);
    value->raw = memory_new(1, sizeof *value->raw);
    value->raw[0] = raw;
    value->raw_count = 1;
    value->number = raw / 10.0;
    value->unit = text_copy("A");
    value->shown = text_format("%.1f A", raw / 10.0);
}

/* Appends a value that was not read. */
static inline void add_unread(struct record *record, const char *parameter, const char *symptom)
{
    record->values = memory_grow(record->values, record->value_count, sizeof *record->values);
    struct record_value *value = &record->values[record->value_count++];
    value->parameter = text_copy(parameter);
    value->number = (double)NAN;
    value->symptom = text_copy(symptom);
}

/* A record without values. */
static inline struct record plain_record(const char *tag, enum record_kind kind, int64_t began_ms)
{
    struct record record = {.kind = kind, .unit = 1, .began_ms = began_ms, .ended_ms = began_ms + 1500};
    record.tag = text_copy(tag);
    record.line = text_copy("192.0.2.10:502");
    record.map_name = text_copy("example");
    record.who = text_copy("meyer");
    record.host = text_copy("panel");
    record.tool = text_copy("asleft 0.1.0");
    (void)snprintf(record.map_sha256, sizeof record.map_sha256, "%064d", 1);
    (void)snprintf(record.sheet_sha256, sizeof record.sheet_sha256, "%064d", 2);
    return record;
}

static inline void put_record(struct store *store, struct record *record)
{
    struct error error = {0};
    assert_done(store_put(store, record, &error), &error);
}

static inline void assert_text(const char *a, const char *b)
{
    if (a == NULL || b == NULL)
        assert_ptr_equal(a, b);
    else
        assert_string_equal(a, b);
}

static inline void assert_value_equal(const struct record_value *a, const struct record_value *b)
{
    assert_text(a->parameter, b->parameter);
    assert_text(a->means, b->means);
    assert_int_equal(a->raw_count, b->raw_count);
    if (a->raw_count > 0)
        assert_memory_equal(a->raw, b->raw, a->raw_count * sizeof *a->raw);
    assert_true((isnan(a->number) && isnan(b->number)) || a->number == b->number);
    assert_text(a->unit, b->unit);
    assert_text(a->shown, b->shown);
    assert_text(a->symptom, b->symptom);
}

/* Everything but the values. */
static inline void assert_heads_equal(const struct record *a, const struct record *b)
{
    assert_true(record_id_equal(&a->id, &b->id));
    assert_int_equal(a->kind, b->kind);
    assert_int_equal(a->after_power_cycle, b->after_power_cycle);
    assert_text(a->tag, b->tag);
    assert_text(a->service, b->service);
    assert_text(a->line, b->line);
    assert_int_equal(a->unit, b->unit);
    assert_text(a->serial_number, b->serial_number);
    assert_text(a->firmware, b->firmware);
    assert_text(a->map_name, b->map_name);
    assert_text(a->map_sha256, b->map_sha256);
    assert_text(a->sheet_sha256, b->sheet_sha256);
    assert_text(a->who, b->who);
    assert_text(a->host, b->host);
    assert_text(a->tool, b->tool);
    assert_int_equal(a->began_ms, b->began_ms);
    assert_int_equal(a->ended_ms, b->ended_ms);
    assert_memory_equal(&a->traffic, &b->traffic, sizeof a->traffic);
}

static inline void assert_records_equal(const struct record *a, const struct record *b)
{
    assert_heads_equal(a, b);
    assert_int_equal(a->value_count, b->value_count);
    for (size_t i = 0; i < a->value_count; i++)
        assert_value_equal(&a->values[i], &b->values[i]);
}

/* The record reads back as it was put. */
static inline void assert_kept(struct store *store, const struct record *record)
{
    char digits[RECORD_ID_TEXT];
    struct error error = {0};
    struct record back;
    assert_done(store_get(store, record->tag, record_id_text(&record->id, digits), &back, &error), &error);
    assert_records_equal(&back, record);
    record_free(&back);
}

/* ---- journals ---- */

static inline struct journal plain_journal(const char *tag, int64_t began_ms, size_t steps)
{
    struct journal journal = {.unit = 3, .process = 4711, .began_ms = began_ms, .step_count = steps};
    journal.id = (struct record_id){{0}};
    journal.tag = text_copy(tag);
    journal.line = text_copy("/dev/ttyUSB0 19200 8E1");
    journal.who = text_copy("meyer");
    journal.host = text_copy("panel");
    journal.tool = text_copy("asleft 0.1.0");
    journal.before = store_new_id();
    (void)snprintf(journal.map_sha256, sizeof journal.map_sha256, "%064d", 3);
    (void)snprintf(journal.code, sizeof journal.code, "7K4Q-M2XD");
    journal.steps = memory_new(steps, sizeof *journal.steps);
    for (size_t i = 0; i < steps; i++) {
        struct journal_step *step = &journal.steps[i];
        step->parameter = text_format("parameter_%zu", i);
        step->words = 1;
        step->was = memory_new(1, sizeof *step->was);
        step->to = memory_new(1, sizeof *step->to);
        step->was[0] = (uint16_t)i;
        step->to[0] = (uint16_t)(i + 256);
        step->was_shown = text_format("%zu A", i);
        step->to_shown = text_format("%zu A", i + 256);
    }
    return journal;
}

static inline void assert_journals_equal(const struct journal *a, const struct journal *b)
{
    assert_true(record_id_equal(&a->id, &b->id));
    assert_text(a->tag, b->tag);
    assert_text(a->line, b->line);
    assert_int_equal(a->unit, b->unit);
    assert_text(a->serial_number, b->serial_number);
    assert_text(a->map_sha256, b->map_sha256);
    assert_int_equal(a->restores, b->restores);
    assert_text(a->code, b->code);
    assert_text(a->who, b->who);
    assert_text(a->host, b->host);
    assert_text(a->tool, b->tool);
    assert_int_equal(a->process, b->process);
    assert_true(record_id_equal(&a->before, &b->before));
    assert_int_equal(a->began_ms, b->began_ms);
    assert_int_equal(a->ended_ms, b->ended_ms);
    assert_int_equal(a->step_count, b->step_count);
    for (size_t i = 0; i < a->step_count; i++) {
        const struct journal_step *x = &a->steps[i];
        const struct journal_step *y = &b->steps[i];
        assert_text(x->parameter, y->parameter);
        assert_int_equal(x->words, y->words);
        if (x->words > 0) {
            assert_memory_equal(x->was, y->was, x->words * sizeof *x->was);
            assert_memory_equal(x->to, y->to, x->words * sizeof *x->to);
        }
        assert_text(x->was_shown, y->was_shown);
        assert_text(x->to_shown, y->to_shown);
        assert_int_equal(x->outcome, y->outcome);
        assert_text(x->note, y->note);
        assert_int_equal(x->at_ms, y->at_ms);
    }
}

/* The one number that a statement gives. */
static inline int64_t number_of(struct store *store, const char *sql)
{
    struct error error = {0};
    int64_t number;
    bool found;
    assert_done(store_number(store, sql, NO_CELLS, &number, &found, &error), &error);
    assert_true(found);
    return number;
}

#endif
