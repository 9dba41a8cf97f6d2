/* SPDX-License-Identifier: MIT */
/* Maps and sheets for the simulator's tests, written to a folder of their own and loaded from there. */
#ifndef ASLEFT_TESTS_SIM_FIXTURE_H
#define ASLEFT_TESTS_SIM_FIXTURE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "files/files.h"
#include "sim/drive.h"
#include "types/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* A drive and what it is made of. */
struct bench {
    char folder[64];
    struct map map;
    struct map sheet_map;
    struct sheet sheet;
    struct drive drive;
};

static inline void bench_write(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static inline void bench_assert_loaded(bool loaded, struct problems *problems)
{
    for (size_t i = 0; i < problems->errors.count; i++)
        print_error("%s\n", problems->errors.items[i]);
    problems_free(problems);
    assert_true(loaded);
}

/* Loads the map, and the sheet where there is one; the drive is not made yet. A sheet names its map "map.yaml". */
static inline void bench_load(struct bench *bench, const char *map_text, const char *sheet_text)
{
    *bench = (struct bench){.folder = "/tmp/asleft-sim-test.XXXXXX"};
    assert_non_null(mkdtemp(bench->folder));
    char map_path[96];
    char sheet_path[96];
    (void)snprintf(map_path, sizeof map_path, "%s/map.yaml", bench->folder);
    (void)snprintf(sheet_path, sizeof sheet_path, "%s/sheet.yaml", bench->folder);
    struct problems problems = {0};
    bench_write(map_path, map_text);
    bool loaded = map_load(map_path, &bench->map, &problems);
    if (loaded && sheet_text != NULL) {
        bench_write(sheet_path, sheet_text);
        loaded = sheet_load(sheet_path, &bench->sheet, &bench->sheet_map, &problems);
        (void)unlink(sheet_path);
    }
    (void)unlink(map_path);
    (void)rmdir(bench->folder);
    bench_assert_loaded(loaded, &problems);
}

/* A drive at time 0, with one `--set` where `set` is not NULL. */
static inline void bench_open(struct bench *bench, const char *map_text, const char *sheet_text, const char *set)
{
    bench_load(bench, map_text, sheet_text);
    struct error error = {0};
    const char *const sets[] = {set};
    const bool made = drive_init(&bench->drive, &bench->map, sheet_text != NULL ? &bench->sheet : NULL, sets,
                                 set != NULL ? 1 : 0, 0, &error);
    if (!made)
        print_error("%s\n", error.text);
    assert_true(made);
}

static inline void bench_close(struct bench *bench)
{
    drive_free(&bench->drive);
    sheet_free(&bench->sheet);
    map_free(&bench->sheet_map);
    map_free(&bench->map);
}

static inline uint32_t bench_raw(const struct bench *bench, const char *name)
{
    const size_t parameter = map_find(&bench->map, name);
    assert_true(parameter != PARAMETER_NOT_FOUND);
    return drive_raw(&bench->drive, parameter);
}

#endif
