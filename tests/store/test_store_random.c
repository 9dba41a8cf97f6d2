/* SPDX-License-Identifier: MIT */
/* Random records, put in any order of time, beside a plain model that keeps everything: the same records, lists and
 * changes come of both. */
#include "store/store_bench.h"

enum { TRIALS = 60, RECORDS = 40, DRIVES = 3, PARAMETERS = 6, QUERIES = 8 };

static const char *const tags[DRIVES] = {"P-1", "P-2", "P-3"};
static const char *const parameters[PARAMETERS] = {"zero", "one", "two", "three", "four", "five"};

/* Everything, in the order of time, then of putting. */
struct model {
    struct record records[RECORDS];
    size_t count;
};

/* xorshift: the same numbers everywhere. */
static unsigned random_below(uint64_t *seed, unsigned end)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return (unsigned)((*seed >> 20) % end);
}

static void add_random_value(struct record *record, const char *parameter, uint64_t *seed)
{
    if (random_below(seed, 6) == 0) {
        add_unread(record, parameter, random_below(seed, 2) == 0 ? "no_answer" : "locked");
        return;
    }
    add_value(record, parameter, (uint16_t)random_below(seed, 3));
    struct record_value *value = &record->values[record->value_count - 1];
    /* now and then the map says something else of the same raw words */
    if (random_below(seed, 5) == 0) {
        free(value->shown);
        value->shown = text_copy("shown otherwise");
    }
    if (random_below(seed, 7) == 0)
        value->means = text_copy("motor_current");
    if (random_below(seed, 9) == 0)
        value->number = (double)NAN;
}

/* Sweeps hold anything; the others mostly everything, in one of two orders. */
static struct record random_record(uint64_t *seed)
{
    enum record_kind kind = (enum record_kind)random_below(seed, RECORD_KINDS);
    struct record record = plain_record(tags[random_below(seed, DRIVES)], kind, random_below(seed, 25));
    if (random_below(seed, 4) == 0)
        record.firmware = text_copy("2.1");
    unsigned turn = random_below(seed, 2);
    for (unsigned i = 0; i < PARAMETERS; i++)
        if (random_below(seed, kind == RECORD_SWEPT ? 2 : 6) > 0)
            add_random_value(&record, parameters[turn == 0 ? i : PARAMETERS - 1 - i], seed);
    return record;
}

static void model_put(struct model *model, struct record record)
{
    size_t at = model->count++;
    for (; at > 0 && model->records[at - 1].began_ms > record.began_ms; at--)
        model->records[at] = model->records[at - 1];
    model->records[at] = record;
}

/* The latest record of that drive before the one at `index` that satisfies; or NULL. */
static const struct record *model_before(const struct model *model, size_t index, bool whole, const char *parameter)
{
    const struct record *of = &model->records[index];
    for (size_t i = index; i-- > 0;) {
        const struct record *record = &model->records[i];
        if (strcmp(record->tag, of->tag) == 0 &&
            (!whole || record->kind == RECORD_FOUND || record->kind == RECORD_LEFT) &&
            (parameter == NULL || record_value_find(record, parameter) != NULL))
            return record;
    }
    return NULL;
}

/* ---- lists ---- */

struct walk {
    const struct model *model;
    const char *tag;
    int64_t since_ms;
    size_t at; /* the next in the model */
};

static void walk_on(struct walk *walk)
{
    const struct model *model = walk->model;
    while (walk->at < model->count && (model->records[walk->at].began_ms < walk->since_ms ||
                                       (walk->tag != NULL && strcmp(model->records[walk->at].tag, walk->tag) != 0)))
        walk->at++;
}

static bool compare_listed(void *user, const struct record *record)
{
    struct walk *walk = user;
    walk_on(walk);
    assert_true(walk->at < walk->model->count);
    assert_heads_equal(record, &walk->model->records[walk->at++]);
    assert_int_equal(record->value_count, 0);
    return true;
}

/* ---- history ---- */

struct event {
    size_t record;
    const struct record_value *was, *now;
};

struct events {
    struct event items[2 * RECORDS * PARAMETERS];
    size_t count, at;
    const struct model *model;
};

/* Adds what is to be told of the value, or of the missing value, at one place of the map. */
static void model_held(struct events *events, const struct history_query *query, size_t index, size_t place)
{
    const struct record *record = &events->model->records[index];
    if (place >= record->value_count)
        return;
    const struct record_value *now = &record->values[place];
    const struct record *before = model_before(events->model, index, false, now->parameter);
    const struct record_value *was = before == NULL ? NULL : record_value_find(before, now->parameter);
    if (query->parameter != NULL && strcmp(query->parameter, now->parameter) != 0)
        return;
    bool same = was != NULL && was->raw_count == now->raw_count && (was->symptom == NULL) == (now->symptom == NULL) &&
                (was->symptom == NULL || strcmp(was->symptom, now->symptom) == 0) &&
                (was->raw_count == 0 || was->raw[0] == now->raw[0]);
    if (was == NULL ? query->first_too : !same)
        events->items[events->count++] = (struct event){index, was, now};
}

static void model_missing(struct events *events, const struct history_query *query, size_t index, size_t place)
{
    const struct record *record = &events->model->records[index];
    const struct record *whole = model_before(events->model, index, true, NULL);
    if ((record->kind != RECORD_FOUND && record->kind != RECORD_LEFT) || whole == NULL || place >= whole->value_count)
        return;
    const char *parameter = whole->values[place].parameter;
    if (record_value_find(record, parameter) != NULL ||
        (query->parameter != NULL && strcmp(query->parameter, parameter) != 0))
        return;
    const struct record *before = model_before(events->model, index, false, parameter);
    events->items[events->count++] = (struct event){index, record_value_find(before, parameter), NULL};
}

static void model_history(struct events *events, const struct history_query *query)
{
    const struct model *model = events->model;
    for (size_t i = 0; i < model->count; i++) {
        if (model->records[i].began_ms < query->since_ms ||
            (query->tag != NULL && strcmp(query->tag, model->records[i].tag) != 0))
            continue;
        for (size_t place = 0; place < PARAMETERS; place++) {
            model_held(events, query, i, place);
            model_missing(events, query, i, place);
        }
    }
}

static bool compare_event(void *user, const struct history_row *row)
{
    struct events *events = user;
    assert_true(events->at < events->count);
    const struct event *event = &events->items[events->at++];
    const struct record *record = &events->model->records[event->record];
    assert_heads_equal(row->record, record);
    assert_string_equal(row->tag, record->tag);
    assert_int_equal(row->was == NULL, event->was == NULL);
    assert_int_equal(row->now == NULL, event->now == NULL);
    if (event->was != NULL)
        assert_value_equal(row->was, event->was);
    if (event->now != NULL)
        assert_value_equal(row->now, event->now);
    const struct record_value *named = event->now != NULL ? event->now : event->was;
    assert_string_equal(row->parameter, named->parameter);
    assert_text(row->means, named->means);
    return true;
}

/* ---- the trials ---- */

static void compare_all(struct store *store, const struct model *model, uint64_t *seed)
{
    struct error error = {0};
    for (size_t i = 0; i < model->count; i++)
        assert_kept(store, &model->records[i]);
    for (int query = 0; query < QUERIES; query++) {
        struct history_query wanted = {
            .tag = random_below(seed, 2) == 0 ? NULL : tags[random_below(seed, DRIVES)],
            .parameter = random_below(seed, 2) == 0 ? NULL : parameters[random_below(seed, PARAMETERS)],
            .since_ms = random_below(seed, 2) == 0 ? 0 : random_below(seed, 25),
            .first_too = random_below(seed, 2) == 0,
        };
        struct walk walk = {model, wanted.tag, wanted.since_ms, 0};
        assert_done(store_list(store, wanted.tag, wanted.since_ms, compare_listed, &walk, &error), &error);
        walk_on(&walk);
        assert_int_equal(walk.at, model->count);

        struct events *events = memory_new(1, sizeof *events);
        events->model = model;
        model_history(events, &wanted);
        assert_done(store_history(store, &wanted, compare_event, events, &error), &error);
        assert_int_equal(events->at, events->count);
        free(events);
    }
}

static bool count_readings(void *user, const struct cell *cells)
{
    *(int64_t *)user = cell_to_integer(cells);
    return true;
}

/* As many readings as there are values that differ in something from the one before. */
static void compare_room(struct store *store, const struct model *model)
{
    struct error error = {0};
    int64_t expected = 0;
    int64_t readings = -1;
    for (size_t i = 0; i < model->count; i++)
        for (size_t k = 0; k < model->records[i].value_count; k++) {
            const struct record_value *now = &model->records[i].values[k];
            const struct record *before = model_before(model, i, false, now->parameter);
            const struct record_value *was = before == NULL ? NULL : record_value_find(before, now->parameter);
            bool same = was != NULL && store_value_same(was, now) &&
                        (isnan(was->number) ? isnan(now->number) : was->number == now->number) &&
                        (was->shown == NULL || strcmp(was->shown, now->shown) == 0) &&
                        (was->means == NULL) == (now->means == NULL);
            expected += same ? 0 : 1;
        }
    assert_done(store_run(store, "SELECT count(*) FROM reading", NO_CELLS, count_readings, &readings, &error), &error);
    assert_int_equal(readings, expected);
}

static void random_records_are_as_in_the_model(void **state)
{
    struct bench *bench = *state;
    uint64_t seed = 0x9e3779b97f4a7c15;
    for (int trial = 0; trial < TRIALS; trial++) {
        struct error error = {0};
        struct model *model = memory_new(1, sizeof *model);
        (void)snprintf(bench->path, sizeof bench->path, "%s/%d.sqlite", bench->folder, trial);
        struct store *store = open_store(bench, STORE_KEEP);
        for (size_t i = 0; i < RECORDS; i++) {
            struct record record = random_record(&seed);
            put_record(store, &record);
            model_put(model, record);
            if (i % 10 == 9)
                compare_all(store, model, &seed);
        }
        compare_room(store, model);
        assert_done(store_check(store, &error), &error);
        store_close(store);
        for (size_t i = 0; i < model->count; i++)
            record_free(&model->records[i]);
        free(model);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(random_records_are_as_in_the_model),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
