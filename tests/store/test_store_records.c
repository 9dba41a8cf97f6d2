/* SPDX-License-Identifier: MIT */
/* Records read back as they were put, and are found by id and kind. */
#include "store/store_bench.h"

/* Every field has a value of its own, and texts that would mean something to a careless writer of SQL. */
static struct record full_record(void)
{
    struct record record = plain_record("P-101 'east'; DROP TABLE visit; --", RECORD_LEFT, 1767225600123);
    record.after_power_cycle = true;
    record.service = text_copy("Kühlwasser \"Nord\" \xe2\x82\xac $1 ?1 %s");
    record.unit = 247;
    record.serial_number = text_copy("SN\\0042\n\ttab");
    record.firmware = text_copy("2.14");
    record.traffic = (struct traffic){1, 2, 3, 4, UINT64_MAX, 6};
    add_value(&record, "rated_current", 123);
    record.values[0].means = text_copy("motor_current");
    add_unread(&record, "serial'); --", "no_answer");
    add_value(&record, "word_order", 65535);
    struct record_value *two = &record.values[2];
    free(two->raw);
    two->raw = memory_new(3, sizeof *two->raw);
    two->raw[0] = 0x0102;
    two->raw[1] = 0;
    two->raw[2] = 0xfffe;
    two->raw_count = 3;
    two->number = (double)INFINITY;
    free(two->unit);
    two->unit = NULL;
    add_value(&record, "a word", 1);
    record.values[3].number = (double)NAN;
    free(record.values[3].shown);
    record.values[3].shown = text_copy("");
    return record;
}

static void every_field_comes_back(void **state)
{
    const struct bench *bench = *state;
    struct record record = full_record();
    struct store *store = open_store(bench, STORE_KEEP);
    put_record(store, &record);
    assert_true(record_id_given(&record.id));
    assert_kept(store, &record);
    store_close(store);

    store = open_store(bench, STORE_LOOK);
    assert_kept(store, &record);
    store_close(store);
    record_free(&record);
}

static void what_is_null_or_empty_stays_so(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct record record = {.tag = text_copy(""), .kind = RECORD_FOUND, .began_ms = -5, .ended_ms = INT64_MAX};
    put_record(store, &record);
    assert_kept(store, &record);
    store_close(store);
    record_free(&record);
}

static void an_id_that_is_given_is_kept_and_not_twice(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    struct record record = plain_record("P-1", RECORD_FOUND, 1000);
    record.id = store_new_id();
    struct record_id given = record.id;
    put_record(store, &record);
    assert_true(record_id_equal(&record.id, &given));
    assert_false(store_put(store, &record, &error));
    assert_int_equal(error.kind, ERROR_STORE);
    assert_true(record_id_equal(&record.id, &given));
    assert_done(store_check(store, &error), &error);
    store_close(store);
    record_free(&record);
}

/* Nothing of a record is there when one of its values cannot be kept, and the next one can be. */
static void a_record_is_kept_whole_or_not_at_all(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    struct record twice = plain_record("P-1", RECORD_FOUND, 1000);
    add_value(&twice, "same", 1);
    add_value(&twice, "same", 2);
    assert_false(store_put(store, &twice, &error));
    assert_false(record_id_given(&twice.id));
    struct record back;
    assert_false(store_get(store, "P-1", "found", &back, &error));
    assert_says(&error, ERROR_USE, "no record of P-1", "record");
    record_free(&back);
    struct record once = plain_record("P-1", RECORD_FOUND, 1000);
    add_value(&once, "same", 1);
    put_record(store, &once);
    assert_kept(store, &once);
    record_free(&once);
    record_free(&twice);
    store_close(store);
}

static struct record put_with_id(struct store *store, enum record_kind kind, int64_t began_ms, uint8_t fourth,
                                 uint8_t fifth)
{
    struct record record = plain_record("P-1", kind, began_ms);
    record.id = (struct record_id){{0xab, 0xcd, 0xef, fourth, fifth, 1}};
    add_value(&record, "rated_current", fifth);
    put_record(store, &record);
    return record;
}

static void records_are_found_by_digits_and_kind(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    struct record records[] = {
        put_with_id(store, RECORD_FOUND, 3000, 0x10, 1),
        put_with_id(store, RECORD_FOUND, 1000, 0x10, 2), /* put later, of earlier */
        put_with_id(store, RECORD_BEFORE_WRITE, 2000, 0x20, 3),
        put_with_id(store, RECORD_SWEPT, 9000, 0x30, 4),
    };
    struct record back;
    static const struct {
        const char *which;
        size_t index;
    } rows[] = {{"abcdef20", 2}, {"ABCDEF20", 2},   {"abcdef1001", 0}, {"abcdef1002", 1},  {"abcdef100", 99},
                {"found", 0},    {"abcdef301", 99}, {"abcdef30", 3},   {"before-write", 2}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bool found = store_get(store, "P-1", rows[i].which, &back, &error);
        assert_int_equal(found, rows[i].index != 99);
        if (found)
            assert_records_equal(&back, &records[rows[i].index]);
        record_free(&back);
    }

    assert_false(store_get(store, "P-1", "abcdef10", &back, &error));
    assert_says(&error, ERROR_USE, "2 records of P-1 begin with abcdef10", "abcdef1001010000");
    assert_false(store_get(store, "P-1", "abcdef1", &back, &error));
    assert_says(&error, ERROR_USE, "'abcdef1' is too short", "8 digits");
    assert_false(store_get(store, "P-1", "left", &back, &error));
    assert_says(&error, ERROR_USE, "no record of P-1 is called 'left'",
                "swept (abcdef30, 1970-01-01 00:00 UTC), found (abcdef10, 1970-01-01 00:00 UTC), before-write");
    assert_false(store_get(store, "P-1", "abcdef99", &back, &error));
    assert_says(&error, ERROR_USE, "no record of P-1 is called 'abcdef99'", "found (abcdef10");
    assert_false(store_get(store, "P-1", "abcdef10abcdef10abcdef10abcdef10a", &back, &error));
    assert_says(&error, ERROR_USE, "no record of P-1 is called", "found (abcdef10");
    assert_false(store_get(store, "P-1", "swept", &back, &error));
    assert_false(store_get(store, "P-2", "abcdef20", &back, &error));
    assert_says(&error, ERROR_USE, "no record of P-2 is kept in", "records.sqlite");
    for (size_t i = 0; i < sizeof records / sizeof records[0]; i++)
        record_free(&records[i]);
    store_close(store);
}

static void the_last_of_a_kind_is_the_latest_in_time(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    struct record late = put_with_id(store, RECORD_LEFT, 3000, 1, 1);
    struct record early = put_with_id(store, RECORD_LEFT, 1000, 2, 2);
    struct record back;
    bool found;
    assert_done(store_last(store, "P-1", RECORD_LEFT, &found, &back, &error), &error);
    assert_true(found);
    assert_records_equal(&back, &late);
    record_free(&back);
    assert_done(store_last(store, "P-1", RECORD_SWEPT, &found, &back, &error), &error);
    assert_false(found);
    record_free(&back);
    assert_done(store_last(store, "P-9", RECORD_LEFT, &found, &back, &error), &error);
    assert_false(found);
    record_free(&back);
    record_free(&late);
    record_free(&early);
    store_close(store);
}

static bool get_within(void *user, const struct record *record)
{
    /* what is called from a row reads too, and may list again */
    assert_kept(((void **)user)[0], record);
    return true;
}

static bool list_within(void *user, const struct record *record)
{
    struct error error = {0};
    void *within[] = {user};
    struct record back;
    bool found;
    assert_done(store_last(user, record->tag, record->kind, &found, &back, &error), &error);
    assert_int_equal(back.value_count, 0);
    record_free(&back);
    assert_done(store_list(user, record->tag, 0, get_within, within, &error), &error);
    return true;
}

static void rows_may_read_too(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    for (int i = 0; i < 3; i++) {
        struct record record = plain_record("P-1", RECORD_FOUND, i);
        put_record(store, &record);
        record_free(&record);
    }
    assert_done(store_list(store, NULL, 0, list_within, store, &error), &error);
    struct record after = plain_record("P-1", RECORD_FOUND, 9);
    put_record(store, &after);
    record_free(&after);
    store_close(store);
}

static bool count_and_stop(void *user, const struct record *record)
{
    (void)record;
    return ++*(int *)user < 2;
}

static void a_list_ends_when_it_is_told_to(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    for (int i = 0; i < 3; i++) {
        struct record record = plain_record("P-1", RECORD_FOUND, i);
        put_record(store, &record);
        record_free(&record);
    }
    int count = 0;
    assert_done(store_list(store, "P-1", 0, count_and_stop, &count, &error), &error);
    assert_int_equal(count, 2);
    store_close(store);
}

static void a_thousand_same_sweeps_take_little_room(void **state)
{
    enum { SWEEPS = 1000, PARAMETERS = 100, BYTES_A_SWEEP = 160 };
    const struct bench *bench = *state;
    struct store *store = open_store(bench, STORE_KEEP);
    struct record record = plain_record("P-1", RECORD_SWEPT, 1767225600000);
    record.traffic.requests = 12;
    for (int i = 0; i < PARAMETERS; i++) {
        char name[32];
        (void)snprintf(name, sizeof name, "parameter_%d", i);
        add_value(&record, name, (uint16_t)i);
    }
    for (int i = 0; i < SWEEPS; i++) {
        record.id = (struct record_id){{0}};
        record.began_ms += 3600000;
        record.ended_ms += 3600000;
        put_record(store, &record);
    }
    assert_kept(store, &record);
    store_close(store);
    struct stat file;
    assert_int_equal(stat(bench->path, &file), 0);
    /* One of them with its values takes ten thousand bytes: the tables and the first sweep have 100 KiB here. */
    assert_true(file.st_size < 102400 + SWEEPS * BYTES_A_SWEEP);
    record_free(&record);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(every_field_comes_back),
        BENCH_TEST(what_is_null_or_empty_stays_so),
        BENCH_TEST(an_id_that_is_given_is_kept_and_not_twice),
        BENCH_TEST(a_record_is_kept_whole_or_not_at_all),
        BENCH_TEST(records_are_found_by_digits_and_kind),
        BENCH_TEST(the_last_of_a_kind_is_the_latest_in_time),
        BENCH_TEST(rows_may_read_too),
        BENCH_TEST(a_list_ends_when_it_is_told_to),
        BENCH_TEST(a_thousand_same_sweeps_take_little_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
