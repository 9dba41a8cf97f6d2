/* SPDX-License-Identifier: MIT */
/* A folder of its own for each test program on files, and short ways to write and load a file there. */
#ifndef ASLEFT_TESTS_FILES_BENCH_H
#define ASLEFT_TESTS_FILES_BENCH_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "files/files.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Group set-up: makes a folder and goes there, so that messages name files plainly. */
static inline int bench_open(void **state)
{
    (void)state; /* stays NULL: cmocka gives each test its initial state only then */
    char folder[] = "/tmp/asleft-files-XXXXXX";
    return mkdtemp(folder) == NULL || chdir(folder) != 0;
}

static inline int bench_remove(const char *path, const struct stat *status, int type, struct FTW *walk)
{
    (void)status;
    (void)type;
    (void)walk;
    return remove(path);
}

/* Group tear-down: removes the folder that the program is in, if it is one of ours. */
static inline int bench_close(void **state)
{
    (void)state;
    char folder[256];
    if (getcwd(folder, sizeof folder) == NULL || strstr(folder, "/asleft-files-") == NULL)
        return -1;
    return chdir("/") != 0 || nftw(folder, bench_remove, 8, FTW_DEPTH | FTW_PHYS) != 0;
}

static inline void bench_write_bytes(const char *path, const char *bytes, size_t length)
{
    (void)unlink(path); /* some file systems wait for the disk where a file is cut and written anew */
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

static inline void bench_write(const char *path, const char *text)
{
    bench_write_bytes(path, text, strlen(text));
}

/* Owned text of a file, with a NUL behind it. */
static inline char *bench_read(const char *path, size_t *length)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    *length = (size_t)ftell(file);
    rewind(file);
    char *text = calloc(*length + 1, 1);
    assert_non_null(text);
    assert_int_equal(fread(text, 1, *length, file), *length);
    (void)fclose(file);
    return text;
}

static inline void bench_print(const char *what, const struct texts *texts)
{
    for (size_t i = 0; i < texts->count; i++)
        print_error("%s: %s\n", what, texts->items[i]);
}

/* Loads a file that must be fine, and lets no warning pass. */
static inline void bench_load_map(const char *path, struct map *map)
{
    struct problems problems = {0};
    bool fine = map_load(path, map, &problems);
    bench_print("error", &problems.errors);
    bench_print("warning", &problems.warnings);
    assert_int_equal(problems.warnings.count, 0);
    problems_free(&problems);
    assert_true(fine);
}

static inline void bench_load_sheet(const char *path, struct sheet *sheet, struct map *map)
{
    struct problems problems = {0};
    bool fine = sheet_load(path, sheet, map, &problems);
    bench_print("error", &problems.errors);
    bench_print("warning", &problems.warnings);
    assert_int_equal(problems.warnings.count, 0);
    problems_free(&problems);
    assert_true(fine);
}

/* The text before a snippet that is one parameter's or some: lines 1 to 3 of a map. */
#define BENCH_MAP "map: m\nmodbus: {count_from: 0, word_order: high-first}\nparameters:\n"

/* The text before a snippet that is a sheet's: lines 1 to 3; its map is m.yaml with BENCH_SHEET_MAP. */
#define BENCH_SHEET "tag: T\ndrive: {map: m.yaml}\nline: {host: h, unit: 1}\n"

#define BENCH_SHEET_MAP                                                                                                \
    BENCH_MAP                                                                                                          \
    "  p: {at: holding 1, type: u16, scale: 0.1, unit: A, means: motor.rated_current}\n"                               \
    "  source: {at: holding 2, type: u16, choices: {0: keypad, 1: network}, means: control.start_source}\n"            \
    "  up: {at: holding 3, type: u16, scale: 0.1, unit: s, means: ramp.acceleration_time, ramp_span: 60 Hz}\n"         \
    "  low: {at: holding 4, type: u16, unit: \"%\", means: limit.minimum_frequency,\n"                                 \
    "        percent_of: motor.rated_frequency, base: sheet}\n"                                                        \
    "  saver: {at: holding 5, type: bool}\n"                                                                           \
    "  plain: {at: holding 6, type: u16}\n"                                                                            \
    "  word: {at: holding 7, type: bits, bits: {0: running}}\n"                                                        \
    "  name: {at: holding 8, type: text(4)}\n"                                                                         \
    "  boost: {at: holding 20, type: u16, unit: V, special: {0: off}}\n"                                               \
    "  reset: {at: holding 21, type: u16, kind: command}\n"                                                            \
    "  lift: {at: holding 22, type: u16, scale: 0.1, unit: Hz, accepts: 5 Hz to 50 Hz}\n"

/* A text that must be refused, or must be warned of, with exactly one message. */
struct bad_text {
    const char *name;
    const char *before; /* stands before `text`; NULL for nothing */
    const char *text;
    size_t length; /* of `text`; 0 for strlen */
    const char *message;
};

enum bad_kind { BAD_MAP, BAD_SHEET };

static inline void bad_write(const struct bad_text *row, const char *path)
{
    const char *before = row->before == NULL ? "" : row->before;
    size_t length = row->length == 0 ? strlen(row->text) : row->length;
    size_t whole = strlen(before) + length;
    char *bytes = malloc(whole + 1);
    assert_non_null(bytes);
    memcpy(bytes, before, strlen(before));
    memcpy(bytes + strlen(before), row->text, length);
    bench_write_bytes(path, bytes, whole);
    free(bytes);
}

static inline bool bad_load(enum bad_kind kind, struct problems *problems)
{
    struct sheet sheet = {0};
    struct map map = {0};
    bool fine = kind == BAD_MAP ? map_load("f.yaml", &map, problems) : sheet_load("f.yaml", &sheet, &map, problems);
    if (!fine) { /* the structs are empty then */
        assert_null(map.path);
        assert_null(sheet.path);
    }
    sheet_free(&sheet);
    map_free(&map);
    return fine;
}

static inline void bad_check(const struct bad_text *row, enum bad_kind kind, bool is_warning)
{
    struct problems problems = {0};
    bad_write(row, "f.yaml");
    bool fine = bad_load(kind, &problems);
    const struct texts *texts = is_warning ? &problems.warnings : &problems.errors;
    bool same = texts->count == 1 && strcmp(texts->items[0], row->message) == 0;
    if (!same || fine != is_warning) {
        bench_print("error", &problems.errors);
        bench_print("warning", &problems.warnings);
        print_error("expected: %s\n", row->message);
    }
    problems_free(&problems);
    assert_true(same);
    assert_int_equal(fine, is_warning);
}

/* Each row of a table is a test of its own. */
#define BAD_TESTS(rows, test)                                                                                          \
    struct CMUnitTest tests[sizeof(rows) / sizeof *(rows)];                                                            \
    for (size_t i = 0; i < sizeof(rows) / sizeof *(rows); i++)                                                         \
        tests[i] = (struct CMUnitTest)                                                                                 \
        {                                                                                                              \
            .name = (rows)[i].name, .test_func = (test), .initial_state = (void *)(uintptr_t) & (rows)[i]              \
        }

#endif
