/* SPDX-License-Identifier: MIT */
/* Telling replies apart by their length: how blocks grow, what that may cost, and in which order they are asked. */
#include "bus/plan_tags.h"
#include "types/memory.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static struct plan_limits limits_of(unsigned longest)
{
    struct plan_limits limits = {.request_cost = 14 * 16};
    for (unsigned table = 0; table < PLAN_TABLES; table++) {
        bool bits = table == TABLE_COIL || table == TABLE_DISCRETE;
        limits.longest[table] = bits ? longest * 16 : longest;
        limits.place_cost[table] = bits ? 1 : 16;
    }
    return limits;
}

static struct plan_block holding(unsigned first, unsigned count)
{
    return (struct plan_block){.table = TABLE_HOLDING, .first = (uint16_t)first, .count = (uint16_t)count};
}

static struct plan plan_of(const struct plan_block *blocks, size_t count)
{
    struct plan plan = {.blocks = memory_new(count, sizeof *plan.blocks), .count = count};
    memcpy(plan.blocks, blocks, count * sizeof *blocks);
    return plan;
}
#define PLAN(...)                                                                                                      \
    plan_of((const struct plan_block[]){__VA_ARGS__},                                                                  \
            sizeof((const struct plan_block[]){__VA_ARGS__}) / sizeof(struct plan_block))

static void expect_block(const struct plan *plan, size_t index, unsigned first, unsigned count)
{
    assert_int_equal(plan->blocks[index].first, first);
    assert_int_equal(plan->blocks[index].count, count);
}

static void unequal_blocks_stay_as_they_are(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    const struct tag_rules rules = {.limits = &limits, .into_unknown = true};
    struct plan plan = PLAN(holding(0, 1), holding(100, 2), holding(200, 3));
    plan_tag(&plan, &rules);
    expect_block(&plan, 0, 0, 1);
    expect_block(&plan, 1, 100, 2);
    expect_block(&plan, 2, 200, 3);
    plan_free(&plan);
}

static void an_equal_block_grows_behind_itself(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    const struct tag_rules rules = {.limits = &limits, .into_unknown = true};
    struct plan plan = PLAN(holding(0, 2), holding(100, 2), holding(200, 3));
    plan_tag(&plan, &rules);
    expect_block(&plan, 0, 0, 2);
    expect_block(&plan, 1, 100, 3);
    expect_block(&plan, 2, 200, 4);
    plan_free(&plan);
}

static void blocks_of_other_tables_are_told_apart_by_their_function(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    const struct tag_rules rules = {.limits = &limits, .into_unknown = true};
    struct plan_block input = holding(100, 2);
    input.table = TABLE_INPUT;
    struct plan plan = PLAN(holding(0, 2), input);
    plan_tag(&plan, &rules);
    expect_block(&plan, 1, 100, 2);
    plan_free(&plan);
}

static void bits_grow_by_whole_bytes(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    const struct tag_rules rules = {.limits = &limits, .into_unknown = true};
    struct plan_block one = holding(0, 3), other = holding(1000, 5);
    one.table = other.table = TABLE_COIL;
    struct plan plan = PLAN(one, other);
    plan_tag(&plan, &rules);
    assert_int_equal(plan_tag_of(&plan.blocks[0]), 1);
    expect_block(&plan, 1, 1000, 9);
    plan_free(&plan);
}

static void known_places_are_preferred_to_unknown_ones(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    static const struct plan_item known[] = {{TABLE_HOLDING, 99, 99}, {TABLE_HOLDING, 100, 100}};
    const struct tag_rules rules = {.limits = &limits, .known = known, .known_count = 2, .into_unknown = true};
    struct plan plan = PLAN(holding(0, 1), holding(100, 1));
    plan_tag(&plan, &rules);
    expect_block(&plan, 0, 0, 1);
    expect_block(&plan, 1, 99, 2);
    plan_free(&plan);
}

static void unknown_places_are_let_alone_where_they_must_be(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    const struct tag_rules rules = {.limits = &limits, .into_unknown = false};
    struct plan plan = PLAN(holding(0, 1), holding(100, 1));
    plan_tag(&plan, &rules);
    expect_block(&plan, 0, 0, 1);
    expect_block(&plan, 1, 100, 1);
    plan_free(&plan);
}

static void no_value_is_cut_in_two(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    static const struct plan_item known[] = {
        {TABLE_HOLDING, 0, 0}, {TABLE_HOLDING, 100, 100}, {TABLE_HOLDING, 101, 102}};
    const struct tag_rules rules = {.limits = &limits, .known = known, .known_count = 3, .into_unknown = false};
    struct plan plan = PLAN(holding(0, 1), holding(100, 1));
    plan_tag(&plan, &rules);
    expect_block(&plan, 1, 100, 3);
    plan_free(&plan);
}

static void closed_places_and_the_longest_request_bound_the_growth(void **state)
{
    (void)state;
    static const struct address_range closed[] = {{TABLE_HOLDING, 101, 101}, {TABLE_HOLDING, 98, 98}};
    struct plan_limits limits = limits_of(125);
    limits.closed = closed;
    limits.closed_count = 2;
    const struct tag_rules rules = {.limits = &limits, .into_unknown = true};
    struct plan plan = PLAN(holding(100, 1), holding(300, 2), holding(400, 1));
    plan_tag(&plan, &rules);
    expect_block(&plan, 0, 100, 1);
    expect_block(&plan, 1, 300, 3);
    expect_block(&plan, 2, 400, 2);
    plan_free(&plan);
    limits.longest[TABLE_HOLDING] = 2;
    plan = PLAN(holding(200, 2), holding(300, 2));
    plan_tag(&plan, &rules);
    expect_block(&plan, 1, 300, 2);
    plan_free(&plan);
}

static void nothing_beyond_the_table_is_touched(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    static const struct plan_item known[] = {{TABLE_HOLDING, 10, 10}, {TABLE_HOLDING, 100, 100}};
    const struct tag_rules rules = {.limits = &limits, .known = known, .known_count = 2, .into_unknown = true};
    struct plan plan = PLAN(holding(10, 1), holding(100, 1));
    plan_tag(&plan, &rules);
    expect_block(&plan, 0, 10, 1);
    expect_block(&plan, 1, 99, 2);
    plan_free(&plan);
}

static void the_last_register_grows_before_itself(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    const struct tag_rules rules = {.limits = &limits, .into_unknown = true};
    struct plan plan = PLAN(holding(0, 1), holding(65535, 1));
    plan_tag(&plan, &rules);
    expect_block(&plan, 1, 65534, 2);
    plan_free(&plan);
}

static void what_is_taken_is_kept_clear_of(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    const struct plan_block taken[] = {holding(50, 1), holding(60, 2)};
    const struct tag_rules rules = {.limits = &limits, .into_unknown = true, .taken = taken, .taken_count = 2};
    struct plan plan = PLAN(holding(100, 1));
    plan_tag(&plan, &rules);
    expect_block(&plan, 0, 100, 3);
    plan_free(&plan);
    plan = PLAN(holding(50, 1)); /* the very same read: its late or doubled reply is as good */
    plan_tag(&plan, &rules);
    expect_block(&plan, 0, 50, 1);
    plan_free(&plan);
}

static void few_equal_blocks_get_a_quantity_each(void **state)
{
    (void)state;
    struct plan_limits limits = limits_of(125);
    limits.request_cost = 200 * 16;
    const struct tag_rules rules = {.limits = &limits, .into_unknown = true};
    struct plan plan = {.blocks = memory_new(20, sizeof *plan.blocks), .count = 20};
    for (unsigned i = 0; i < 20; i++)
        plan.blocks[i] = holding(1000 * i, 1);
    plan_tag(&plan, &rules);
    for (size_t i = 0; i < 20; i++)
        for (size_t k = i + 1; k < 20; k++)
            assert_int_not_equal(plan.blocks[i].count, plan.blocks[k].count);
    plan_free(&plan);
}

/* Asks all in the order of plan_next. */
static void ask_all(struct plan *plan, struct plan_block *asked)
{
    size_t waiting = plan->count;
    for (size_t at = 0; at < plan->count; at++) {
        size_t next = plan_next(plan->blocks, waiting, asked, at);
        assert_true(next < waiting);
        asked[at] = plan->blocks[next];
        waiting--;
        memmove(&plan->blocks[next], &plan->blocks[next + 1], (waiting - next) * sizeof *plan->blocks);
    }
}

static size_t least_between(const struct plan_block *asked, size_t count)
{
    size_t least = count;
    for (size_t i = 0; i < count; i++)
        for (size_t k = i + 1; k < count; k++)
            if (plan_tag_of(&asked[i]) == plan_tag_of(&asked[k]) && asked[i].table == asked[k].table &&
                k - i - 1 < least)
                least = k - i - 1;
    return least;
}

static void many_equal_blocks_share_quantities_far_apart_at_little_cost(void **state)
{
    (void)state;
    enum { MANY = 60 };
    struct plan_limits limits = limits_of(125);
    const struct tag_rules rules = {.limits = &limits, .into_unknown = true};
    struct plan plan = {.blocks = memory_new(MANY, sizeof *plan.blocks), .count = MANY};
    struct plan_block asked[MANY];
    unsigned registers = 0;
    for (unsigned i = 0; i < MANY; i++)
        plan.blocks[i] = holding(1000 * i, 1);
    plan_tag(&plan, &rules);
    ask_all(&plan, asked);
    assert_true(least_between(asked, MANY) >= TAG_REQUESTS_BETWEEN);
    for (size_t i = 0; i < MANY; i++)
        registers += asked[i].count - 1U;
    assert_true(registers <= MANY * 3 / 2); /* 0, 1, 2 and 3 more by turns: a tenth of the wire time */
    plan_free(&plan);
}

static uint32_t random_below(uint32_t *seed, uint32_t end)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 17;
    *seed ^= *seed << 5;
    return *seed % end;
}

static void random_plans_keep_their_items_and_stay_apart(void **state)
{
    (void)state;
    uint32_t seed = 20261125;
    for (int round = 0; round < 500; round++) {
        struct plan_limits limits = limits_of(16 + random_below(&seed, 109));
        struct plan_item items[80];
        size_t count = 4 + random_below(&seed, 76);
        uint32_t span = 200 + random_below(&seed, 20000);
        for (size_t i = 0; i < count; i++) {
            uint32_t first = random_below(&seed, span);
            items[i] = (struct plan_item){TABLE_HOLDING, first, first + random_below(&seed, 2)};
        }
        count = plan_sort(items, count);
        const struct tag_rules rules = {.limits = &limits, .known = items, .known_count = count, .into_unknown = true};
        struct plan plan;
        plan_make(items, count, &limits, &plan);
        plan_tag(&plan, &rules);
        for (size_t i = 0; i < plan.count; i++) {
            const struct plan_block *block = &plan.blocks[i];
            assert_true(block->count <= limits.longest[TABLE_HOLDING]);
            for (size_t k = block->begin; k < block->end; k++)
                assert_true(items[k].first >= block->first && items[k].last < block->first + (uint32_t)block->count);
        }
        struct plan_block asked[80];
        size_t blocks = plan.count;
        ask_all(&plan, asked);
        if (blocks > TAG_REQUESTS_BETWEEN && limits.longest[TABLE_HOLDING] > 40)
            assert_true(least_between(asked, blocks) >= TAG_REQUESTS_BETWEEN);
        plan_free(&plan);
    }
}

static void the_order_of_addresses_is_kept_where_it_does_no_harm(void **state)
{
    (void)state;
    struct plan plan = PLAN(holding(0, 1), holding(100, 2), holding(200, 3), holding(300, 4), holding(400, 1));
    struct plan_block asked[5];
    ask_all(&plan, asked);
    for (unsigned i = 0; i < 5; i++)
        assert_int_equal(asked[i].first, 100 * i);
    plan_free(&plan);
}

static void what_was_asked_last_comes_again_last(void **state)
{
    (void)state;
    const struct plan_block recent[] = {holding(900, 2), holding(800, 1)};
    const struct plan_block waiting[] = {holding(0, 1), holding(100, 2), holding(200, 3)};
    assert_int_equal(plan_next(waiting, 3, recent, 2), 2);
    assert_int_equal(plan_next(waiting, 2, recent, 2), 1); /* the longer ago, where none is free */
    assert_int_equal(plan_next(waiting, 1, recent, 2), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unequal_blocks_stay_as_they_are),
        cmocka_unit_test(an_equal_block_grows_behind_itself),
        cmocka_unit_test(blocks_of_other_tables_are_told_apart_by_their_function),
        cmocka_unit_test(bits_grow_by_whole_bytes),
        cmocka_unit_test(known_places_are_preferred_to_unknown_ones),
        cmocka_unit_test(unknown_places_are_let_alone_where_they_must_be),
        cmocka_unit_test(no_value_is_cut_in_two),
        cmocka_unit_test(closed_places_and_the_longest_request_bound_the_growth),
        cmocka_unit_test(nothing_beyond_the_table_is_touched),
        cmocka_unit_test(the_last_register_grows_before_itself),
        cmocka_unit_test(what_is_taken_is_kept_clear_of),
        cmocka_unit_test(few_equal_blocks_get_a_quantity_each),
        cmocka_unit_test(many_equal_blocks_share_quantities_far_apart_at_little_cost),
        cmocka_unit_test(random_plans_keep_their_items_and_stay_apart),
        cmocka_unit_test(the_order_of_addresses_is_kept_where_it_does_no_harm),
        cmocka_unit_test(what_was_asked_last_comes_again_last),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
