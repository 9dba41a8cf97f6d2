/* SPDX-License-Identifier: MIT */
/* What can be at the path of a store: nothing, a store of any age, something else; and what is said of it. */
#include "store/schema_sqlite.h"
#include "store/store_bench.h"

#include <sys/wait.h>

/* A whole file. */
struct content {
    char *bytes; /* owned */
    size_t length;
};

static struct content read_file(const char *path)
{
    struct content content = {0};
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    content.length = (size_t)ftell(file);
    content.bytes = memory_new(content.length, 1);
    rewind(file);
    assert_int_equal(fread(content.bytes, 1, content.length, file), content.length);
    (void)fclose(file);
    return content;
}

static void write_file(const char *path, const void *bytes, size_t length)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

static void assert_unchanged(const char *path, struct content before)
{
    struct content now = read_file(path);
    assert_int_equal(now.length, before.length);
    assert_memory_equal(now.bytes, before.bytes, now.length);
    free(now.bytes);
}

static void assert_refused(const struct bench *bench, enum store_use use, const char *first, const char *second)
{
    struct error error = {0};
    struct store *store = NULL;
    assert_false(store_open(bench->path, use, &store, &error));
    assert_null(store);
    assert_says(&error, ERROR_STORE, first, second);
}

/* A store of that version with one record of P-1, closed. */
static struct record made_store_of(const struct bench *bench, size_t version)
{
    struct sqlite_settings settings = {5000, schema_sqlite_steps, version};
    struct error error = {0};
    struct store *store;
    assert_done(store_open_with(bench->path, STORE_KEEP, &settings, &store, &error), &error);
    struct record record = plain_record("P-1", RECORD_FOUND, 1000);
    add_value(&record, "rated_current", 60);
    put_record(store, &record);
    store_close(store);
    return record;
}

static struct record made_store(const struct bench *bench)
{
    return made_store_of(bench, schema_sqlite_step_count);
}

static void looking_at_nothing_makes_nothing(void **state)
{
    struct bench *bench = *state;
    assert_null(open_store(bench, STORE_LOOK));
    assert_false(is_there(bench->path));
    write_file(bench->path, "", 0);
    assert_null(open_store(bench, STORE_LOOK));
    (void)snprintf(bench->path, sizeof bench->path, "%s/a/b/records.sqlite", bench->folder);
    assert_null(open_store(bench, STORE_LOOK));
    char *above = text_format("%s/a", bench->folder);
    assert_false(is_there(above));
    free(above);
    store_close(NULL);
}

static void folders_and_file_are_the_users_own(void **state)
{
    struct bench *bench = *state;
    (void)snprintf(bench->path, sizeof bench->path, "%s/a/b/records.sqlite", bench->folder);
    mode_t mask = umask(0);
    struct store *store = open_store(bench, STORE_KEEP);
    struct stat found;
    assert_int_equal(stat(bench->path, &found), 0);
    assert_int_equal(found.st_mode & 0777, 0600);
    char *wal = text_format("%s-wal", bench->path);
    assert_int_equal(stat(wal, &found), 0);
    assert_int_equal(found.st_mode & 0777, 0600);
    free(wal);
    *strrchr(bench->path, '/') = '\0';
    assert_int_equal(stat(bench->path, &found), 0);
    assert_int_equal(found.st_mode & 0777, 0700);
    *strrchr(bench->path, '/') = '\0';
    assert_int_equal(stat(bench->path, &found), 0);
    assert_int_equal(found.st_mode & 0777, 0700);
    (void)umask(mask);
    store_close(store);
}

static void looking_leaves_no_trace(void **state)
{
    const struct bench *bench = *state;
    struct record record = made_store(bench);
    assert_false(is_beside(bench, "-wal"));
    struct content before = read_file(bench->path);
    struct stat then;
    struct stat now;
    assert_int_equal(stat(bench->path, &then), 0);
    struct store *store = open_store(bench, STORE_LOOK);
    assert_kept(store, &record);
    struct error error = {0};
    assert_done(store_check(store, &error), &error);
    assert_false(store_put(store, &record, &error));
    assert_int_equal(error.kind, ERROR_STORE);
    store_close(store);
    assert_unchanged(bench->path, before);
    assert_int_equal(stat(bench->path, &now), 0);
    assert_memory_equal(&now.st_mtim, &then.st_mtim, sizeof now.st_mtim);
    assert_false(is_beside(bench, "-wal"));
    assert_false(is_beside(bench, "-shm"));
    free(before.bytes);
    record_free(&record);
}

/* Puts a record in a child that ends without closing. */
static void put_and_end(const struct bench *bench, struct record *record)
{
    record->id = store_new_id();
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct store *store = NULL;
        bool done = store_open(bench->path, STORE_KEEP, &store, NULL) && store_put(store, record, NULL);
        _exit(done ? 0 : 1);
    }
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
    assert_true(is_beside(bench, "-wal"));
}

static void looking_leaves_what_an_interrupted_run_left(void **state)
{
    const struct bench *bench = *state;
    struct record record = plain_record("P-1", RECORD_FOUND, 1000);
    add_value(&record, "rated_current", 60);
    put_and_end(bench, &record);
    char *wal = text_format("%s-wal", bench->path);
    struct content before = read_file(bench->path);
    struct content before_wal = read_file(wal);
    for (int i = 0; i < 2; i++) {
        struct store *store = open_store(bench, STORE_LOOK);
        assert_kept(store, &record);
        store_close(store);
        assert_unchanged(bench->path, before);
        assert_unchanged(wal, before_wal);
    }
    struct store *store = open_store(bench, STORE_KEEP);
    assert_kept(store, &record);
    store_close(store);
    assert_false(is_beside(bench, "-wal"));
    free(before.bytes);
    free(before_wal.bytes);
    free(wal);
    record_free(&record);
}

static void looking_sees_what_another_keeps_meanwhile(void **state)
{
    const struct bench *bench = *state;
    struct store *keeper = open_store(bench, STORE_KEEP);
    struct store *looker = open_store(bench, STORE_LOOK);
    struct record record = plain_record("P-1", RECORD_FOUND, 1000);
    put_record(keeper, &record);
    assert_kept(looker, &record);
    store_close(looker);
    record_free(&record);
    record = plain_record("P-1", RECORD_LEFT, 1000);
    put_record(keeper, &record);
    assert_kept(keeper, &record);
    store_close(keeper);
    record_free(&record);
}

static void other_files_are_left_alone(void **state)
{
    const struct bench *bench = *state;
    static const char text[] =
        "drive: P-101\n# a sheet, and longer than a database's header is, by quite some letters\n"
        "motor: {rated_current: 6.0 A, rated_voltage: 400 V}\n";
    for (int use = STORE_LOOK; use <= STORE_KEEP; use++) {
        write_file(bench->path, text, sizeof text);
        assert_refused(bench, (enum store_use)use, "records.sqlite is no database", "--store");
        assert_unchanged(bench->path, (struct content){(char *)text, sizeof text});
    }
    assert_int_equal(unlink(bench->path), 0);
    by_hand(bench, "CREATE TABLE songs (title)");
    struct content before = read_file(bench->path);
    assert_refused(bench, STORE_LOOK, "database of another program", "--store");
    assert_refused(bench, STORE_KEEP, "database of another program", "--store");
    assert_unchanged(bench->path, before);
    by_hand(bench, "PRAGMA application_id = 7; PRAGMA user_version = 1; DROP TABLE songs");
    assert_refused(bench, STORE_KEEP, "database of another program", "--store");
    free(before.bytes);
}

static void what_is_no_file_is_said(void **state)
{
    struct bench *bench = *state;
    assert_int_equal(mkdir(bench->path, 0700), 0);
    assert_refused(bench, STORE_LOOK, "records.sqlite is a folder", "name a file in it");
    assert_int_equal(rmdir(bench->path), 0);
    assert_int_equal(mkfifo(bench->path, 0600), 0);
    assert_refused(bench, STORE_KEEP, "records.sqlite is no file", "--store");
    assert_int_equal(unlink(bench->path), 0);
    assert_int_equal(symlink("/nowhere/at/all", bench->path), 0);
    assert_refused(bench, STORE_KEEP, "records.sqlite leads nowhere", "--store");
    assert_int_equal(unlink(bench->path), 0);
    write_file(bench->path, "x", 1);
    (void)snprintf(bench->path, sizeof bench->path, "%s/records.sqlite/deeper", bench->folder);
    assert_refused(bench, STORE_LOOK, "Not a directory", "--store");
    assert_refused(bench, STORE_KEEP, "Not a directory", "--store");
    bench->path[0] = '\0';
    assert_refused(bench, STORE_LOOK, "the path of the store is empty", "name a file");
}

static void a_server_is_not_taken_for_a_path(void **state)
{
    (void)state;
    static const char *const addresses[] = {"postgresql://me:secret@db/records", "postgres://db/records"};
    for (int i = 0; i < 2; i++) {
        struct error error = {0};
        struct store *store;
        assert_false(store_open(addresses[i], STORE_KEEP, &store, &error));
        assert_says(&error, ERROR_STORE, "this build has no PostgreSQL store", "--store");
        assert_null(strstr(error.text, "secret"));
    }
}

/* SQLite would take these for something else than files. */
static void every_other_name_is_a_path(void **state)
{
    static const char *const names[] = {":memory:", "file:x?mode=memory", "a%20b;c'd\"e?immutable=1#f", "-wal"};
    const struct bench *bench = *state;
    char before[4096];
    assert_non_null(getcwd(before, sizeof before));
    assert_int_equal(chdir(bench->folder), 0);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct bench here = {0};
        (void)snprintf(here.path, sizeof here.path, "%s", names[i]);
        struct record record = made_store(&here);
        assert_true(is_there(names[i]));
        struct store *store = open_store(&here, STORE_LOOK);
        assert_kept(store, &record);
        store_close(store);
        record_free(&record);
    }
    assert_int_equal(chdir(before), 0);
}

static void a_link_leads_to_the_store(void **state)
{
    struct bench *bench = *state;
    struct record record = made_store(bench);
    char *link = text_format("%s/link", bench->folder);
    assert_int_equal(symlink("records.sqlite", link), 0);
    (void)snprintf(bench->path, sizeof bench->path, "%s", link);
    struct store *store = open_store(bench, STORE_LOOK);
    assert_kept(store, &record);
    store_close(store);
    free(link);
    record_free(&record);
}

/* ---- versions ---- */

static void a_newer_store_is_refused(void **state)
{
    const struct bench *bench = *state;
    struct record record = made_store(bench);
    by_hand(bench, "PRAGMA user_version = 99");
    assert_refused(bench, STORE_LOOK, "newer version of this program (schema 99", "--store");
    assert_refused(bench, STORE_KEEP, "newer version of this program (schema 99", "use that version");
    record_free(&record);
}

static void an_older_store_is_brought_up_to_date(void **state)
{
    const struct bench *bench = *state;
    struct record record = made_store_of(bench, 1);
    /* this version's, and two more that some later one may have */
    enum { STEPS_MOST = 16 };
    const char *steps[STEPS_MOST];
    size_t count = schema_sqlite_step_count + 2;
    char reads[64], knows[64];
    assert_true(count <= STEPS_MOST);
    memcpy(steps, schema_sqlite_steps, schema_sqlite_step_count * sizeof *steps);
    steps[count - 2] = "ALTER TABLE drive ADD COLUMN place TEXT; UPDATE drive SET place = 'hall ' || tag";
    steps[count - 1] = "CREATE TABLE extra (extra INTEGER PRIMARY KEY) STRICT";
    (void)snprintf(reads, sizeof reads, "older version of this program (schema 1, this one reads %zu)", count);
    (void)snprintf(knows, sizeof knows, "newer version of this program (schema %zu, this one knows %zu)", count,
                   schema_sqlite_step_count);
    struct sqlite_settings newer = {5000, steps, count};
    struct error error = {0};
    struct store *store;
    assert_false(store_open_with(bench->path, STORE_LOOK, &newer, &store, &error));
    assert_says(&error, ERROR_STORE, reads, "up to date");

    for (int i = 0; i < 2; i++) {
        assert_done(store_open_with(bench->path, STORE_KEEP, &newer, &store, &error), &error);
        assert_int_equal(number_of(store, "PRAGMA user_version"), (int64_t)count);
        assert_int_equal(number_of(store, "SELECT count(*) FROM drive WHERE place = 'hall P-1'"), 1);
        assert_int_equal(number_of(store, "SELECT count(*) FROM extra"), 0);
        assert_kept(store, &record);
        store_close(store);
    }
    /* and this version does not touch what it does not know */
    assert_refused(bench, STORE_KEEP, knows, "--store");
    record_free(&record);
}

/* Every version that was ever published. */
static void every_older_store_can_be_used(void **state)
{
    struct bench *bench = *state;
    for (size_t version = 1; version < schema_sqlite_step_count; version++) {
        (void)snprintf(bench->path, sizeof bench->path, "%s/v%u.sqlite", bench->folder, (unsigned)version % 100);
        struct record record = made_store_of(bench, version);
        struct store *store = open_store(bench, STORE_KEEP);
        assert_int_equal(number_of(store, "PRAGMA user_version"), (int64_t)schema_sqlite_step_count);
        assert_kept(store, &record);
        struct record second = plain_record("P-1", RECORD_LEFT, 2000);
        add_value(&second, "rated_current", 61);
        put_record(store, &second);
        assert_kept(store, &second);
        store_close(store);
        record_free(&second);
        record_free(&record);
    }
}

static void a_step_that_fails_leaves_the_older_store(void **state)
{
    const struct bench *bench = *state;
    struct record record = made_store_of(bench, 1);
    const char *const steps[] = {schema_sqlite_steps[0],
                                 "CREATE TABLE extra (extra INTEGER) STRICT; DELETE FROM reading;"
                                 " INSERT INTO extra VALUES ('no number')"};
    struct sqlite_settings newer = {5000, steps, 2};
    struct error error = {0};
    struct store *store;
    assert_false(store_open_with(bench->path, STORE_KEEP, &newer, &store, &error));
    assert_int_equal(error.kind, ERROR_STORE);
    const struct sqlite_settings same = {5000, schema_sqlite_steps, 1};
    assert_done(store_open_with(bench->path, STORE_KEEP, &same, &store, &error), &error);
    assert_int_equal(number_of(store, "PRAGMA user_version"), 1);
    assert_int_equal(number_of(store, "SELECT count(*) FROM sqlite_schema WHERE name = 'extra'"), 0);
    assert_kept(store, &record);
    store_close(store);
    record_free(&record);
}

/* A run that was ended before its first transaction leaves a database without tables. */
static void a_store_that_was_hardly_begun_is_made(void **state)
{
    const struct bench *bench = *state;
    by_hand(bench, "PRAGMA journal_mode = WAL; CREATE TABLE x (x); DROP TABLE x");
    assert_null(open_store(bench, STORE_LOOK));
    struct record record = made_store(bench);
    struct store *store = open_store(bench, STORE_LOOK);
    assert_kept(store, &record);
    assert_int_equal(number_of(store, "PRAGMA user_version"), (int64_t)schema_sqlite_step_count);
    store_close(store);
    record_free(&record);
}

static void runs_that_make_it_at_once_share_it(void **state)
{
    enum { RUNS = 6 };
    const struct bench *bench = *state;
    pid_t children[RUNS];
    int gate[2];
    assert_int_equal(pipe(gate), 0);
    for (int i = 0; i < RUNS; i++) {
        children[i] = fork();
        assert_true(children[i] >= 0);
        if (children[i] == 0) {
            char byte;
            struct store *store = NULL;
            struct record record = plain_record("P-1", RECORD_FOUND, i);
            (void)close(gate[1]);
            bool done = read(gate[0], &byte, 1) == 0 && store_open(bench->path, STORE_KEEP, &store, NULL) &&
                        store_put(store, &record, NULL);
            store_close(store);
            _exit(done ? 0 : 1);
        }
    }
    (void)close(gate[0]);
    (void)close(gate[1]); /* now */
    for (int i = 0; i < RUNS; i++) {
        int status;
        assert_int_equal(waitpid(children[i], &status, 0), children[i]);
        assert_int_equal(status, 0);
    }
    struct store *store = open_store(bench, STORE_LOOK);
    assert_int_equal(number_of(store, "SELECT count(*) FROM visit"), RUNS);
    assert_int_equal(number_of(store, "SELECT count(*) FROM drive"), 1);
    store_close(store);
}

/* ---- how it is kept ---- */

static void it_is_on_the_disk_when_it_says_so(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    assert_int_equal(number_of(store, "PRAGMA synchronous"), 2); /* FULL, sqlite.org/pragma.html#pragma_synchronous */
    assert_int_equal(number_of(store, "PRAGMA foreign_keys"), 1);
    assert_int_equal(number_of(store, "SELECT count(*) FROM pragma_journal_mode WHERE journal_mode = 'wal'"), 1);
    assert_int_equal(number_of(store, "SELECT count(*) FROM pragma_table_list WHERE schema = 'main' AND NOT strict "
                                      "AND name NOT LIKE 'sqlite_%'"),
                     0);
    store_close(store);
}

/* ---- the usual place ---- */

static void expect_default(const char *state_home, const char *home, const char *expected)
{
    struct error error = {0};
    assert_int_equal(state_home == NULL ? unsetenv("XDG_STATE_HOME") : setenv("XDG_STATE_HOME", state_home, 1), 0);
    assert_int_equal(home == NULL ? unsetenv("HOME") : setenv("HOME", home, 1), 0);
    char *path = store_default(&error);
    assert_text(path, expected);
    if (expected == NULL)
        assert_says(&error, ERROR_STORE, "XDG_STATE_HOME", "--store");
    free(path);
}

static void the_usual_place_is_the_users(void **state)
{
    (void)state;
    char *state_home = text_copy(getenv("XDG_STATE_HOME"));
    char *home = text_copy(getenv("HOME"));
    expect_default("/s", "/h", "/s/asleft/records.sqlite");
    expect_default(NULL, "/h", "/h/.local/state/asleft/records.sqlite");
    expect_default("", "/h", "/h/.local/state/asleft/records.sqlite");
    expect_default("relative", "/h", "/h/.local/state/asleft/records.sqlite");
    const char *otherwise = geteuid() == 0 ? "/var/lib/asleft/records.sqlite" : NULL;
    expect_default(NULL, NULL, otherwise);
    expect_default("", "", otherwise);
    if (geteuid() == 0) {
        assert_int_equal(seteuid(65534), 0);
        expect_default(NULL, NULL, NULL);
        assert_int_equal(seteuid(0), 0);
    }
    assert_int_equal(state_home == NULL ? unsetenv("XDG_STATE_HOME") : setenv("XDG_STATE_HOME", state_home, 1), 0);
    assert_int_equal(home == NULL ? unsetenv("HOME") : setenv("HOME", home, 1), 0);
    free(state_home);
    free(home);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(looking_at_nothing_makes_nothing),
        BENCH_TEST(folders_and_file_are_the_users_own),
        BENCH_TEST(looking_leaves_no_trace),
        BENCH_TEST(looking_leaves_what_an_interrupted_run_left),
        BENCH_TEST(looking_sees_what_another_keeps_meanwhile),
        BENCH_TEST(other_files_are_left_alone),
        BENCH_TEST(what_is_no_file_is_said),
        BENCH_TEST(a_server_is_not_taken_for_a_path),
        BENCH_TEST(every_other_name_is_a_path),
        BENCH_TEST(a_link_leads_to_the_store),
        BENCH_TEST(a_newer_store_is_refused),
        BENCH_TEST(an_older_store_is_brought_up_to_date),
        BENCH_TEST(every_older_store_can_be_used),
        BENCH_TEST(a_step_that_fails_leaves_the_older_store),
        BENCH_TEST(a_store_that_was_hardly_begun_is_made),
        BENCH_TEST(runs_that_make_it_at_once_share_it),
        BENCH_TEST(it_is_on_the_disk_when_it_says_so),
        BENCH_TEST(the_usual_place_is_the_users),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
