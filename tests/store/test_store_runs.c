/* SPDX-License-Identifier: MIT */
/* Witnessed runs: what is put comes back to the last bit, in few bytes, and nothing else passes for it. */
#include "store/store_bench.h"

#include "store/series_blob.h"

#include "types/samples.h"

static uint64_t random_next(uint64_t *seed)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return *seed;
}

/* Appends a series whose samples are some 25 ms apart; `numbers` makes the k-th value. */
static struct series *add_series(struct samples *samples, enum means means, double step, size_t count,
                                 double (*number)(size_t k, uint64_t *seed))
{
    uint64_t seed = 88172645463325252U;
    samples->items = memory_grow(samples->items, samples->count, sizeof *samples->items);
    struct series *series = &samples->items[samples->count++];
    *series = (struct series){.means = means,
                              .parameter = text_copy(means_table[means].name),
                              .step = step,
                              .obtained = OBTAINED_COMPUTED,
                              .refreshed_every_s = 0.1,
                              .filtered_over_s = 0.25};
    int64_t at_us = 12345;
    for (size_t k = 0; k < count; k++) {
        at_us += 25000 + (int64_t)(random_next(&seed) % 400);
        const struct sample sample = {at_us, 2500 + (int64_t)(random_next(&seed) % 90), number(k, &seed)};
        series_add(series, &sample);
    }
    return series;
}

static double ramp(size_t k, uint64_t *seed)
{
    (void)seed;
    return (double)(k % 6000) / 100; /* as a register of 0.01 Hz is read: the double nearest to the decimal */
}

static double negative(size_t k, uint64_t *seed)
{
    return -(double)(k + random_next(seed) % 1000) * 0.5;
}

static double state_bits(size_t k, uint64_t *seed)
{
    (void)seed;
    return k % 500 < 250 ? RUN_RUNNING | RUN_AT_SPEED : RUN_RESTART_PENDING;
}

static double any_double(size_t k, uint64_t *seed)
{
    static const double odd[] = {0.0, -0.0, 1e300, -1e-300, 0.1, 9e15, 1e16, 5e-324};
    if (k < sizeof odd / sizeof *odd)
        return odd[k];
    return (double)(int64_t)random_next(seed) * 1e-9;
}

static void assert_series_equal(const struct series *a, const struct series *b)
{
    assert_int_equal(a->means, b->means);
    assert_string_equal(a->parameter, b->parameter);
    assert_int_equal(a->obtained, b->obtained);
    assert_true(a->step == b->step && a->refreshed_every_s == b->refreshed_every_s &&
                a->filtered_over_s == b->filtered_over_s);
    assert_int_equal(a->count, b->count);
    for (size_t i = 0; i < a->count; i++) {
        assert_int_equal(a->items[i].at_us, b->items[i].at_us);
        assert_int_equal(a->items[i].half_us, b->items[i].half_us);
        assert_memory_equal(&a->items[i].value, &b->items[i].value, sizeof a->items[i].value);
    }
}

static void assert_samples_equal(const struct samples *a, const struct samples *b)
{
    assert_int_equal(a->began_ms, b->began_ms);
    assert_int_equal(a->ended_ms, b->ended_ms);
    assert_memory_equal(&a->traffic, &b->traffic, sizeof a->traffic);
    assert_int_equal(a->count, b->count);
    for (size_t i = 0; i < a->count; i++)
        assert_series_equal(&a->items[i], &b->items[i]);
}

static struct samples some_samples(size_t count)
{
    struct samples samples = {.began_ms = 5000, .ended_ms = 45000, .traffic = {1, 2, 3, 4, 5, 6}};
    (void)add_series(&samples, MEANS_LIVE_STATE, 0, count, state_bits);
    (void)add_series(&samples, MEANS_LIVE_OUTPUT_FREQUENCY, 0.01, count, ramp);
    (void)add_series(&samples, MEANS_LIVE_TORQUE, 0.5, count, negative);
    (void)add_series(&samples, MEANS_LIVE_OUTPUT_CURRENT, 0.001, count, any_double);
    return samples;
}

static struct record witnessed(int64_t began_ms)
{
    struct record record = plain_record("P-1", RECORD_WITNESSED, began_ms);
    add_value(&record, "rated_current", 60);
    return record;
}

static void a_run_comes_back(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    struct record record = witnessed(1000);
    struct samples samples = some_samples(1000);
    samples.items[2].count = 700;                                        /* it failed for a while: moments of its own */
    (void)add_series(&samples, MEANS_LIVE_DC_BUS_VOLTAGE, 0.1, 0, ramp); /* and never once */
    assert_done(store_put_run(store, &record, &samples, &error), &error);
    assert_true(record_id_given(&record.id));
    char id[RECORD_ID_TEXT];
    const char *const which[] = {"witnessed", record_id_text(&record.id, id)};
    for (size_t i = 0; i < 2; i++) {
        struct record back;
        struct samples found;
        assert_done(store_get_run(store, "P-1", which[i], &back, &found, &error), &error);
        assert_records_equal(&back, &record);
        assert_samples_equal(&found, &samples);
        const struct sample more = {.at_us = 9, .value = 1};
        series_add(&found.items[0], &more); /* it can go on */
        record_free(&back);
        samples_free(&found);
    }
    assert_kept(store, &record);
    assert_done(store_check(store, &error), &error);
    store_close(store);
    record_free(&record);
    samples_free(&samples);
}

/* Of two runs each has its own, and the latest is the one that is meant. */
static void runs_are_kept_apart(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    struct record records[] = {witnessed(3000), witnessed(1000)};
    struct samples samples[] = {some_samples(10), some_samples(20)};
    for (size_t i = 0; i < 2; i++)
        assert_done(store_put_run(store, &records[i], &samples[i], &error), &error);
    struct record back;
    struct samples found;
    assert_done(store_get_run(store, "P-1", "witnessed", &back, &found, &error), &error);
    assert_samples_equal(&found, &samples[0]);
    record_free(&back);
    samples_free(&found);
    for (size_t i = 0; i < 2; i++) {
        record_free(&records[i]);
        samples_free(&samples[i]);
    }
    store_close(store);
}

static void other_records_are_no_runs(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    struct record record = plain_record("P-1", RECORD_FOUND, 1000);
    struct record back;
    struct samples found;
    put_record(store, &record);
    assert_false(store_get_run(store, "P-1", "found", &back, &found, &error));
    assert_says(&error, ERROR_USE, "is no witnessed run", "`witness` makes one");
    assert_null(back.tag);
    assert_false(store_get_run(store, "P-1", "witnessed", &back, &found, &error));
    assert_says(&error, ERROR_USE, "no record of P-1 is called 'witnessed'", "found");
    record_free(&record);
    store_close(store);
}

/* All of it or nothing: a value that is there twice, and an id that is. */
static void a_run_is_kept_whole_or_not_at_all(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    struct samples samples = some_samples(10);
    struct record record = witnessed(1000);
    assert_done(store_put_run(store, &record, &samples, &error), &error);
    assert_false(store_put_run(store, &record, &samples, &error));
    int64_t count;
    assert_done(store_number(store, "SELECT count(*) FROM series", NO_CELLS, &count, NULL, &error), &error);
    assert_int_equal(count, samples.count);
    record_free(&record);
    samples_free(&samples);
    store_close(store);
}

/* Whatever is done to the bytes, the answer is an error or a run, never more than they can hold. */
static void damaged_samples_are_told(void **state)
{
    static const char *const damages[] = {
        "UPDATE series SET samples = 9000000000000000000",
        "UPDATE series SET samples = -1",
        "UPDATE series SET samples = samples + 1",
        "UPDATE series SET numbers = x'09'",
        "UPDATE series SET numbers = x''",
        "UPDATE series SET moments = x'ff' WHERE place = 0",
        "UPDATE series SET moments = NULL",
    };
    const struct bench *bench = *state;
    for (size_t i = 0; i < sizeof damages / sizeof *damages; i++) {
        struct store *store = open_store(bench, STORE_KEEP);
        struct error error = {0};
        struct samples samples = some_samples(10);
        struct record record = witnessed((int64_t)(1000 + i));
        struct record back;
        struct samples found;
        assert_done(store_put_run(store, &record, &samples, &error), &error);
        store_close(store);
        by_hand(bench, damages[i]);
        store = open_store(bench, STORE_LOOK);
        assert_false(store_get_run(store, "P-1", "witnessed", &back, &found, &error));
        assert_says(&error, ERROR_STORE, "is damaged", "samples of record");
        record_free(&record);
        samples_free(&samples);
        store_close(store);
    }
}

/* ---- the bytes themselves ---- */

static void bytes_lose_nothing(void **state)
{
    (void)state;
    double (*const kinds[])(size_t k, uint64_t * seed) = {ramp, negative, state_bits, any_double};
    const double steps[] = {0.01, 0.5, 0, 0.001};
    for (size_t i = 0; i < 4; i++) {
        struct samples samples = {0};
        struct series *series = add_series(&samples, MEANS_LIVE_SPEED, steps[i], 300, kinds[i]);
        struct blob moments = blob_of_moments(series);
        struct blob numbers = blob_of_numbers(series);
        struct samples copies = {0};
        struct series *copy = add_series(&copies, MEANS_LIVE_SPEED, steps[i], 300, state_bits);
        memset(copy->items, 0, copy->count * sizeof *copy->items);
        assert_true(blob_to_moments(&moments, copy->items, copy->count));
        assert_true(blob_to_numbers(&numbers, copy->step, copy->items, copy->count));
        assert_series_equal(copy, series);
        /* one more or one less than there are */
        assert_false(blob_to_moments(&moments, copy->items, copy->count - 1));
        assert_false(blob_to_numbers(&numbers, copy->step, copy->items, copy->count - 1));
        moments.length--;
        numbers.length--;
        assert_false(blob_to_moments(&moments, copy->items, copy->count));
        assert_false(blob_to_numbers(&numbers, copy->step, copy->items, copy->count));
        blob_free(&moments);
        blob_free(&numbers);
        samples_free(&copies);
        samples_free(&samples);
    }
}

/* Times and counts at the ends of what a number can be. */
static void bytes_take_any_moment(void **state)
{
    (void)state;
    struct sample items[] = {{INT64_MIN, INT64_MAX, 0}, {INT64_MAX, INT64_MIN, 0}, {-1, 0, 0}, {0, -1, 0}};
    struct series series = {.items = items, .count = sizeof items / sizeof *items};
    struct sample back[sizeof items / sizeof *items] = {{0}};
    struct blob blob = blob_of_moments(&series);
    assert_true(blob_to_moments(&blob, back, series.count));
    for (size_t i = 0; i < series.count; i++) {
        assert_int_equal(back[i].at_us, items[i].at_us);
        assert_int_equal(back[i].half_us, items[i].half_us);
    }
    blob_free(&blob);
}

/* About five bytes a sample with its moment, as the header says; a struct sample has 24. */
static void bytes_are_few(void **state)
{
    (void)state;
    struct samples samples = {0};
    struct series *series = add_series(&samples, MEANS_LIVE_OUTPUT_FREQUENCY, 0.01, 6000, ramp);
    struct blob moments = blob_of_moments(series);
    struct blob numbers = blob_of_numbers(series);
    assert_in_range(moments.length + numbers.length, 6000, 6000 * 6);
    blob_free(&moments);
    blob_free(&numbers);
    samples_free(&samples);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(a_run_comes_back),
        BENCH_TEST(runs_are_kept_apart),
        BENCH_TEST(other_records_are_no_runs),
        BENCH_TEST(a_run_is_kept_whole_or_not_at_all),
        BENCH_TEST(damaged_samples_are_told),
        cmocka_unit_test(bytes_lose_nothing),
        cmocka_unit_test(bytes_take_any_moment),
        cmocka_unit_test(bytes_are_few),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
