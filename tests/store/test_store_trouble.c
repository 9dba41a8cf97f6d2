/* SPDX-License-Identifier: MIT */
/* A store that is locked, damaged, full or not this user's: what is said, and that nothing is lost by it. */
#include "store/store_bench.h"

#include <errno.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>

enum { NOBODY = 65534 };

static struct record small_record(int64_t began_ms)
{
    struct record record = plain_record("P-1", RECORD_FOUND, began_ms);
    add_value(&record, "rated_current", (uint16_t)began_ms);
    return record;
}

static struct record made_store(const struct bench *bench)
{
    struct store *store = open_store(bench, STORE_KEEP);
    struct record record = small_record(1);
    put_record(store, &record);
    store_close(store);
    return record;
}

/* ---- locked ---- */

static void a_lock_of_another_program_is_waited_for_and_told(void **state)
{
    const struct bench *bench = *state;
    struct record record = made_store(bench);
    struct sqlite_settings hasty = sqlite_settings_usual();
    assert_int_equal(hasty.patience_ms, 5000);
    hasty.patience_ms = 20;
    struct error error = {0};
    struct store *store;
    assert_done(store_open_with(bench->path, STORE_KEEP, &hasty, &store, &error), &error);
    sqlite3 *other;
    assert_int_equal(sqlite3_open(bench->path, &other), SQLITE_OK);
    assert_int_equal(sqlite3_exec(other, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_OK);

    struct record next = small_record(2);
    assert_false(store_put(store, &next, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite is locked by another program", "after 0.02 s");
    assert_false(record_id_given(&next.id));
    assert_kept(store, &record); /* who reads is not kept waiting */
    assert_int_equal(sqlite3_exec(other, "COMMIT", NULL, NULL, NULL), SQLITE_OK);
    put_record(store, &next);
    assert_kept(store, &next);
    store_close(store);

    assert_int_equal(
        sqlite3_exec(other, "PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE; DELETE FROM reading WHERE 0; COMMIT",
                     NULL, NULL, NULL),
        SQLITE_OK);
    assert_false(store_open_with(bench->path, STORE_KEEP, &hasty, &store, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite is locked by another program", "call again");
    assert_false(store_open_with(bench->path, STORE_LOOK, &hasty, &store, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite is locked by another program", "call again");
    assert_int_equal(sqlite3_close(other), SQLITE_OK);
    record_free(&record);
    record_free(&next);
}

/* ---- damaged ---- */

static void overwrite(const char *path, long from, long count)
{
    FILE *file = fopen(path, "r+b");
    assert_non_null(file);
    assert_int_equal(fseek(file, from, SEEK_SET), 0);
    for (long i = 0; i < count; i++)
        assert_int_equal(fputc(0xa5, file), 0xa5);
    assert_int_equal(fclose(file), 0);
}

/* Enough records that their values fill pages of their own. */
static void fill(const struct bench *bench)
{
    struct store *store = open_store(bench, STORE_KEEP);
    for (int i = 0; i < 200; i++) {
        struct record record = small_record(i);
        put_record(store, &record);
        record_free(&record);
    }
    store_close(store);
}

static bool take_all(void *user, const struct history_row *row)
{
    (void)user;
    (void)row;
    return true;
}

static void damage_is_told(void **state)
{
    const struct bench *bench = *state;
    struct error error = {0};
    fill(bench);
    struct store *store = open_store(bench, STORE_LOOK);
    assert_done(store_check(store, &error), &error);
    /* the page from which all readings are found */
    long page = (long)number_of(store, "SELECT rootpage FROM sqlite_schema WHERE name = 'reading'");
    store_close(store);
    overwrite(bench->path, 4096L * (page - 1), 4096L);
    store = open_store(bench, STORE_LOOK);
    assert_false(store_check(store, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite is damaged", "and a new one is made");
    assert_null(strchr(error.text, '\n'));
    assert_false(store_history(store, &(struct history_query){.first_too = true}, take_all, NULL, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite is damaged", "move it aside");
    store_close(store);
    store = open_store(bench, STORE_KEEP);
    struct record record = small_record(999);
    assert_false(store_put(store, &record, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite is damaged", "move it aside");
    store_close(store);
    record_free(&record);

    overwrite(bench->path, 0, 100);
    assert_false(store_open(bench->path, STORE_KEEP, &store, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite is no database", "move this file aside");
}

static void a_value_that_is_gone_is_told(void **state)
{
    const struct bench *bench = *state;
    struct error error = {0};
    struct record record = made_store(bench);
    by_hand(bench, "DELETE FROM reading");
    struct store *store = open_store(bench, STORE_LOOK);
    struct record back;
    assert_false(store_get(store, "P-1", "found", &back, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite is damaged", "no value of rated_current");
    record_free(&back);
    store_close(store);
    by_hand(bench, "DELETE FROM scene");
    store = open_store(bench, STORE_LOOK);
    assert_false(store_check(store, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite is damaged", "rows of visit belong to nothing");
    store_close(store);
    record_free(&record);
}

/* ---- no room ---- */

static void limit_files(rlim_t bytes)
{
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = bytes < limit.rlim_max ? bytes : limit.rlim_max;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

/* A limit on the size of files ends writing as a full disk does. */
static void a_full_disk_loses_nothing(void **state)
{
    enum { LIMIT = 256 * 1024, MOST = 400, VALUES = 30 };
    const struct bench *bench = *state;
    struct error error = {0};
    static struct record records[MOST];
    int count = 0;
    struct store *store = open_store(bench, STORE_KEEP);
    (void)signal(SIGXFSZ, SIG_IGN);
    limit_files(LIMIT);
    for (bool room = true; room; count += room ? 1 : 0) {
        assert_true(count < MOST);
        records[count] = small_record(count);
        for (int i = 0; i < VALUES; i++) {
            char name[32];
            (void)snprintf(name, sizeof name, "parameter_%d", i);
            add_value(&records[count], name, (uint16_t)(count + i));
        }
        room = store_put(store, &records[count], &error);
    }
    limit_files(RLIM_INFINITY);
    (void)signal(SIGXFSZ, SIG_DFL);
    assert_true(count > 0);
    assert_says(&error, ERROR_STORE, "records.sqlite: no room to write", "make room and call again");
    assert_false(record_id_given(&records[count].id));
    for (int i = 0; i < count; i++)
        assert_kept(store, &records[i]);
    put_record(store, &records[count]);
    assert_kept(store, &records[count]);
    assert_done(store_check(store, &error), &error);
    store_close(store);
    for (int i = 0; i <= count; i++)
        record_free(&records[i]);
}

static void no_room_for_a_new_store_is_told(void **state)
{
    const struct bench *bench = *state;
    struct error error = {0};
    struct store *store;
    (void)signal(SIGXFSZ, SIG_IGN);
    limit_files(2048);
    bool opened = store_open(bench->path, STORE_KEEP, &store, &error);
    limit_files(RLIM_INFINITY);
    (void)signal(SIGXFSZ, SIG_DFL);
    assert_false(opened);
    assert_says(&error, ERROR_STORE, "records.sqlite: no room to write", "make room and call again");
    struct record record = made_store(bench);
    record_free(&record);
}

/* ---- no permission ---- */

typedef bool whole_step(struct bench *bench, struct error *error);

/* Does it in a child that is an ordinary user, to whom the folder belongs; what the error says comes back. */
static bool as_ordinary_user(struct bench *bench, whole_step *step, struct error *error)
{
    int line[2];
    assert_int_equal(pipe(line), 0);
    if (geteuid() == 0) {
        char *command = text_format("chown -R %d '%s'", NOBODY, bench->folder);
        assert_int_equal(system(command), 0);
        free(command);
    }
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        *error = (struct error){0};
        bool done = (geteuid() != 0 || (setgid(NOBODY) == 0 && setuid(NOBODY) == 0)) && step(bench, error);
        _exit(write(line[1], error, sizeof *error) == sizeof *error && done ? 0 : 1);
    }
    (void)close(line[1]);
    assert_int_equal(read(line[0], error, sizeof *error), sizeof *error);
    (void)close(line[0]);
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status) == 0;
}

static bool keep(struct bench *bench, struct error *error)
{
    struct store *store;
    bool opened = store_open(bench->path, STORE_KEEP, &store, error);
    store_close(store);
    return opened;
}

static bool look(struct bench *bench, struct error *error)
{
    struct store *store;
    struct record back = {0};
    bool done = store_open(bench->path, STORE_LOOK, &store, error) && store != NULL &&
                store_get(store, "P-1", "found", &back, error);
    bool right = done && back.value_count == 1 && back.values[0].raw[0] == 1;
    record_free(&back);
    store_close(store);
    return right;
}

static void allow(const char *path, mode_t mode)
{
    assert_int_equal(chmod(path, mode), 0);
}

static void who_may_not_write_may_look(void **state)
{
    struct bench *bench = *state;
    struct error error = {0};
    struct record record = made_store(bench);
    allow(bench->path, 0400);
    assert_false(as_ordinary_user(bench, keep, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite: no permission to write to it", "--store");
    assert_done(as_ordinary_user(bench, look, &error), &error);
    allow(bench->path, 0600);
    allow(bench->folder, 0500);
    assert_false(as_ordinary_user(bench, keep, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite: no permission to write to its folder", "--store");
    assert_done(as_ordinary_user(bench, look, &error), &error);
    allow(bench->path, 0400);
    assert_done(as_ordinary_user(bench, look, &error), &error);
    assert_false(is_beside(bench, "-wal"));
    assert_false(is_beside(bench, "-shm"));
    allow(bench->path, 0);
    assert_false(as_ordinary_user(bench, look, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite cannot be opened: Permission denied", "--store");
    allow(bench->folder, 0);
    assert_false(as_ordinary_user(bench, look, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite: no permission to look into its folder", "--store");
    allow(bench->folder, 0700);
    record_free(&record);
}

static void a_place_that_cannot_be_made_is_told(void **state)
{
    struct bench *bench = *state;
    struct error error = {0};
    allow(bench->folder, 0500);
    assert_false(as_ordinary_user(bench, keep, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite cannot be made: Permission denied", "call as a user who may");
    (void)snprintf(bench->path, sizeof bench->path, "%s/a/b/records.sqlite", bench->folder);
    assert_false(as_ordinary_user(bench, keep, &error));
    assert_says(&error, ERROR_STORE, "/a cannot be made: Permission denied", "call as a user who may");
    allow(bench->folder, 0700);
}

static bool put_and_end(struct bench *bench, struct error *error)
{
    struct store *store = NULL;
    struct record record = small_record(1);
    bool done = store_open(bench->path, STORE_KEEP, &store, error) && store_put(store, &record, error);
    if (done)
        _exit(0); /* nothing is closed; the pipe's other end sees that */
    return done;
}

/* What an interrupted run left can be read only with both files it left, or by one who may write. */
static void what_must_be_put_in_order_first_is_told(void **state)
{
    struct bench *bench = *state;
    struct error error = {0};
    pid_t child = fork();
    if (child == 0)
        _exit(put_and_end(bench, &error) ? 0 : 1);
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
    allow(bench->folder, 0500);
    assert_done(as_ordinary_user(bench, look, &error), &error);
    char *shared = text_format("%s-shm", bench->path);
    allow(bench->folder, 0700);
    assert_int_equal(unlink(shared), 0);
    allow(bench->folder, 0500);
    assert_false(as_ordinary_user(bench, look, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite was not closed in order", "call once as a user who may");
    allow(bench->folder, 0700);
    allow(bench->path, 0400);
    assert_false(as_ordinary_user(bench, look, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite was not closed in order", "call once as a user who may");
    assert_false(is_there(shared)); /* who may not write to it does not make one that others could not use */
    allow(bench->path, 0600);
    assert_done(as_ordinary_user(bench, look, &error), &error);
    free(shared);
}

static void who_may_not_write_looks_beside_a_writer(void **state)
{
    struct bench *bench = *state;
    struct error error = {0};
    struct store *store = open_store(bench, STORE_KEEP);
    struct record record = small_record(1);
    put_record(store, &record);
    allow(bench->folder, 0500);
    allow(bench->path, 0400);
    assert_done(as_ordinary_user(bench, look, &error), &error);
    allow(bench->folder, 0700);
    store_close(store);
    record_free(&record);
}

/* Looks, has another process write, and looks again. */
static bool look_twice(struct bench *bench, struct error *error)
{
    struct store *store;
    struct record back = {0};
    bool done = store_open(bench->path, STORE_LOOK, &store, error) && store_get(store, "P-1", "found", &back, error);
    record_free(&back);
    /* as the owner, the child may let itself in again */
    allow(bench->folder, 0700);
    pid_t writer = fork();
    if (writer == 0) {
        struct store *keeper = NULL;
        struct record next = small_record(2);
        bool kept = store_open(bench->path, STORE_KEEP, &keeper, error) && store_put(keeper, &next, error);
        store_close(keeper);
        _exit(kept ? 0 : 1);
    }
    int status;
    if (!done || waitpid(writer, &status, 0) != writer || status != 0)
        return false;
    done = store_get(store, "P-1", "found", &back, error);
    record_free(&back);
    store_close(store);
    return done;
}

static void who_looks_without_locks_notices_a_writer(void **state)
{
    struct bench *bench = *state;
    struct error error = {0};
    struct record record = made_store(bench);
    allow(bench->folder, 0500);
    assert_false(as_ordinary_user(bench, look_twice, &error));
    assert_says(&error, ERROR_STORE, "records.sqlite was written to while it was read", "call again");
    record_free(&record);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(a_lock_of_another_program_is_waited_for_and_told),
        BENCH_TEST(damage_is_told),
        BENCH_TEST(a_value_that_is_gone_is_told),
        BENCH_TEST(a_full_disk_loses_nothing),
        BENCH_TEST(no_room_for_a_new_store_is_told),
        BENCH_TEST(who_may_not_write_may_look),
        BENCH_TEST(a_place_that_cannot_be_made_is_told),
        BENCH_TEST(what_must_be_put_in_order_first_is_told),
        BENCH_TEST(who_may_not_write_looks_beside_a_writer),
        BENCH_TEST(who_looks_without_locks_notices_a_writer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
