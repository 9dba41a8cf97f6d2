/* SPDX-License-Identifier: MIT */
/* The order of writing: by hand, and ten thousand lists from a seed against a model that tries every order. */
#include "verdict/bench.h"

#include "change/code.h"
#include "change/list.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

/* The whole number is run without sanitizers: see tests/CMakeLists.txt. */
#ifndef ASLEFT_TRIALS
#define ASLEFT_TRIALS 1000
#endif
enum { LISTS = ASLEFT_TRIALS, SEED = 20260131, MOST = 6, NOTHING = -1 };

/* Registers in whole Hz, each with a means of its own that others may name as an end of their range. */
static const enum means means_of[MOST] = {MEANS_LIMIT_MAXIMUM_FREQUENCY, MEANS_LIMIT_SKIP_BAND,
                                          MEANS_OUTPUT_BASE_FREQUENCY,   MEANS_ANALOG_LOW_FREQUENCY,
                                          MEANS_ANALOG_HIGH_FREQUENCY,   MEANS_MOTOR_RATED_FREQUENCY};

/* What is to be written where, and what bounds it. */
struct model {
    size_t count;
    int now[MOST], to[MOST];   /* Hz; the same: not on the list */
    int low[MOST], high[MOST]; /* which register is that end, or NOTHING */
    bool changes[MOST][MOST];  /* writing the row changes the column */
};

static void bound_by(struct bound *bound, int other)
{
    if (other != NOTHING)
        *bound = (struct bound){.kind = BOUND_MEANS, .means = means_of[other]};
}

static void build(struct bench *bench, const struct model *model)
{
    *bench = bench_start();
    bench->map.keeps = KEEPS_AT_ONCE;
    for (size_t i = 0; i < model->count; i++) {
        struct parameter *parameter = bench_register(bench, means_of[i], TYPE_U16, 1, UNIT_HZ);
        bound_by(&parameter->accepts_low, model->low[i]);
        bound_by(&parameter->accepts_high, model->high[i]);
        for (size_t k = 0; k < model->count; k++)
            if (model->changes[i][k]) {
                parameter->writing_changes =
                    memory_grow(parameter->writing_changes, parameter->writing_changes_count, sizeof(size_t));
                parameter->writing_changes[parameter->writing_changes_count++] = k;
            }
        double hz = model->to[i];
        (void)bench_band(bench, means_of[i], hz, hz, hz, UNIT_HZ);
    }
    struct parameter *state = map_add(&bench->map, "state", TABLE_INPUT, 0, TYPE_BITS);
    state->means = MEANS_LIVE_STATE;
    names_add(&state->bits, 0, "running");
    bench->map.identity = memory_new(1, sizeof *bench->map.identity);
    bench->map.identity_count = 1;
    bench->map.identity[0] = (struct identity){.parameter = model->count};
    for (size_t i = 0; i < model->count; i++)
        bench_answer(bench, i, (uint32_t)model->now[i]);
    bench_answer(bench, model->count, 0);
    (void)bench_judge(bench);
}

static void make(struct bench *bench, struct change_list *list)
{
    static const struct sheet sheet;
    const struct change_order order = {.map = &bench->map,
                                       .sheet = &sheet,
                                       .setpoints = &bench->setpoints,
                                       .unit = 1,
                                       .readings = &bench->readings,
                                       .findings = &bench->findings};
    change_list_make(&order, list);
    code_make(&order, "line", list, 1000000);
    assert_int_equal(list->code[0] != '\0', list->count > 0 && list->refusal_count == 0);
    if (list->code[0] != '\0')
        assert_true(code_fits(&order, "line", list, 1000000, list->code));
}

/* ---- the model: nothing of the code under test ---- */

/* At the low end (0) or the high end (1) of its range. */
static bool inside_end(const struct model *model, const int *values, size_t i, int end)
{
    int other = end == 0 ? model->low[i] : model->high[i];
    return other == NOTHING || (end == 0 ? values[i] >= values[other] : values[i] <= values[other]);
}

static bool inside(const struct model *model, const int *values, size_t i)
{
    return inside_end(model, values, i, 0) && inside_end(model, values, i, 1);
}

/* Writes in that order: each new value is within its range when it is written, nothing that was within an end is put
 * beyond it, and what changes others goes before them. */
static bool order_holds(const struct model *model, const size_t *order, size_t count)
{
    int values[MOST], before[MOST];
    memcpy(values, model->now, sizeof values);
    for (size_t i = 0; i < count; i++) {
        memcpy(before, values, sizeof before);
        values[order[i]] = model->to[order[i]];
        if (!inside(model, values, order[i]))
            return false;
        for (size_t k = 0; k < model->count; k++)
            for (int end = 0; end < 2; end++)
                if (inside_end(model, before, k, end) && !inside_end(model, values, k, end))
                    return false;
        for (size_t k = 0; k < i; k++)
            if (model->changes[order[i]][order[k]])
                return false;
    }
    return true;
}

/* Every order of what is to be written. */
static bool any_order_holds(const struct model *model, size_t *order, size_t placed, size_t count)
{
    if (placed == count)
        return order_holds(model, order, count);
    for (size_t i = placed; i < count; i++) {
        size_t swap = order[placed];
        order[placed] = order[i];
        order[i] = swap;
        bool holds = any_order_holds(model, order, placed + 1, count);
        order[i] = order[placed];
        order[placed] = swap;
        if (holds)
            return true;
    }
    return false;
}

static size_t due(const struct model *model, size_t *order)
{
    size_t count = 0;
    for (size_t i = 0; i < model->count; i++)
        if (model->now[i] != model->to[i])
            order[count++] = i;
    return count;
}

/* ---- by hand ---- */

struct limit_case {
    const char *name;
    int maximum[2], minimum[2]; /* now and to */
    const char *order;          /* "" where it is refused */
};

enum { MAXIMUM, MINIMUM };

static const struct limit_case limits[] = {
    {"both up: the maximum first", {50, 80}, {10, 60}, "01"},
    {"both down: the minimum first", {80, 30}, {40, 20}, "10"},
    {"either order does: as the map has it", {50, 60}, {10, 20}, "01"},
    {"the two exchanged", {20, 60}, {60, 20}, "01"},
    {"the minimum above the maximum", {50, 50}, {10, 60}, ""},
    {"a maximum that leaves the minimum outside", {50, 20}, {30, 30}, ""},
    {"what is outside already does not stand in the way", {20, 25}, {30, 30}, "0"},
};

static void minimum_and_maximum(void **state)
{
    const struct limit_case *row = *state;
    struct model model = {.count = 2,
                          .now = {row->maximum[0], row->minimum[0]},
                          .to = {row->maximum[1], row->minimum[1]},
                          .low = {NOTHING, NOTHING},
                          .high = {NOTHING, MAXIMUM}};
    struct bench bench;
    struct change_list list = {0};
    char order[MOST + 1] = "";
    build(&bench, &model);
    make(&bench, &list);
    for (size_t i = 0; i < list.count && list.refusal_count == 0; i++)
        order[i] = (char)('0' + list.items[i].parameter);
    assert_string_equal(order, row->order);
    assert_int_equal(list.refusal_count, row->order[0] == '\0');
    change_list_free(&list);
    bench_free(&bench);
}

static void what_changes_others_goes_first(void **state)
{
    (void)state;
    struct model model = {.count = 3,
                          .now = {1, 1, 1},
                          .to = {2, 2, 2},
                          .low = {NOTHING, NOTHING, NOTHING},
                          .high = {NOTHING, NOTHING, NOTHING}};
    struct bench bench;
    struct change_list list = {0};
    model.changes[2][0] = true;
    build(&bench, &model);
    make(&bench, &list);
    assert_int_equal(list.refusal_count, 0);
    static const size_t expected[] = {1, 2, 0};
    for (size_t i = 0; i < 3; i++)
        assert_int_equal(list.items[i].parameter, expected[i]);
    change_list_free(&list);
    bench_free(&bench);

    model.changes[0][2] = true;
    build(&bench, &model);
    make(&bench, &list);
    assert_int_equal(list.refusal_count, 1);
    assert_null(list.refusals[0].parameter);
    assert_non_null(strstr(list.refusals[0].reason, "there is no order in which p0, p2 can be written"));
    change_list_free(&list);
    bench_free(&bench);
}

/* ---- from a seed ---- */

static uint64_t next_random(uint64_t *random) /* xorshift64*: the same lists on every machine */
{
    *random ^= *random >> 12;
    *random ^= *random << 25;
    *random ^= *random >> 27;
    return *random * UINT64_C(2685821657736338717);
}

static int choose(uint64_t *random, int count)
{
    return (int)((next_random(random) >> 16) % (unsigned)count);
}

/* Half of the lists start and end inside all ranges, as drives do; the rest are anything. */
static struct model random_model(uint64_t *random)
{
    struct model model = {.count = (size_t)(1 + choose(random, MOST))};
    for (size_t i = 0; i < model.count; i++) {
        int other = choose(random, (int)model.count), another = choose(random, (int)model.count);
        model.low[i] = choose(random, 3) == 0 && other != (int)i ? other : NOTHING;
        model.high[i] = choose(random, 2) == 0 && another != (int)i ? another : NOTHING;
        for (size_t k = 0; k < model.count; k++)
            model.changes[i][k] = k != i && choose(random, 25) == 0;
    }
    bool tame = choose(random, 2) == 0;
    for (int tries = 0; tries < 200; tries++) {
        bool fine = true;
        for (size_t i = 0; i < model.count; i++) {
            model.now[i] = 1 + choose(random, 9);
            model.to[i] = choose(random, 4) == 0 ? model.now[i] : 1 + choose(random, 9);
        }
        for (size_t i = 0; i < model.count; i++)
            fine = fine && inside(&model, model.now, i) && inside(&model, model.to, i);
        if (fine || !tame)
            break;
    }
    return model;
}

static void check_items(const struct model *model, const struct change_list *list)
{
    for (size_t i = 0; i < list->count; i++) {
        const struct change *item = &list->items[i];
        assert_int_equal(item->words, 1);
        assert_int_not_equal(item->now[0], item->to[0]);
        assert_int_equal(item->now[0], model->now[item->parameter]);
        assert_int_equal(item->to[0], model->to[item->parameter]);
    }
}

/* True where the list may be written. */
static bool check_list(const struct model *model, unsigned number)
{
    struct bench bench;
    struct change_list list = {0};
    size_t order[MOST], wanted[MOST];
    size_t count = due(model, wanted);
    build(&bench, model);
    make(&bench, &list);
    assert_int_equal(list.count, count);
    check_items(model, &list);
    for (size_t i = 0; i < list.count; i++)
        order[i] = list.items[i].parameter;
    bool can = any_order_holds(model, wanted, 0, count);
    bool fine = list.refusal_count == 0 ? order_holds(model, order, count) : !can;
    if (!fine)
        fail_msg("list %u: %s", number, list.refusal_count == 0 ? "an order that does not hold" : "refused in vain");
    bool written = list.refusal_count == 0 && count > 1;
    change_list_free(&list);
    bench_free(&bench);
    return written;
}

static void orders_hold_and_no_list_is_refused_in_vain(void **state)
{
    (void)state;
    uint64_t random = SEED;
    unsigned written = 0;
    for (unsigned i = 0; i < LISTS; i++) {
        struct model model = random_model(&random);
        written += check_list(&model, i);
    }
    assert_in_range(written, LISTS / 4, LISTS * 3 / 4); /* enough of both */
}

int main(void)
{
    enum { ROWS = sizeof limits / sizeof *limits };
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_changes_others_goes_first),
        cmocka_unit_test(orders_hold_and_no_list_is_refused_in_vain),
    };
    struct CMUnitTest rows[ROWS];
    for (size_t i = 0; i < ROWS; i++)
        rows[i] = (struct CMUnitTest){
            .name = limits[i].name, .test_func = minimum_and_maximum, .initial_state = (void *)(uintptr_t)&limits[i]};
    int failed = cmocka_run_group_tests(rows, NULL, NULL);
    return failed + cmocka_run_group_tests(tests, NULL, NULL);
}
