/* SPDX-License-Identifier: MIT */
/* The read plan: its limits one by one, and its cost against exhaustive search. */
#include "bus/plan.h"
#include "bus/plan_trial.h"

#include "types/memory.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void expect_block(const struct plan *plan, size_t index, unsigned first, unsigned count)
{
    assert_true(index < plan->count);
    assert_int_equal(plan->blocks[index].first, first);
    assert_int_equal(plan->blocks[index].count, count);
}

static void neighbours_become_one_block(void **state)
{
    (void)state;
    struct plan_item items[] = {item(12, 12), item(10, 11), item(13, 16), item(10, 11)};
    size_t count = plan_sort(items, 4);
    assert_int_equal(count, 3);
    struct plan plan;
    plan_make(items, count, &usual, &plan);
    assert_int_equal(plan.count, 1);
    expect_block(&plan, 0, 10, 7);
    assert_int_equal(plan.blocks[0].begin, 0);
    assert_int_equal(plan.blocks[0].end, 3);
    plan_free(&plan);
}

static void sorting_puts_what_contains_others_before_them(void **state)
{
    (void)state;
    struct plan_item items[] = {
        {TABLE_HOLDING, 5, 5}, {TABLE_HOLDING, 5, 6}, {TABLE_INPUT, 9, 9}, {TABLE_HOLDING, 4, 4}};
    assert_int_equal(plan_sort(items, 4), 4);
    assert_int_equal(items[0].table, TABLE_INPUT);
    assert_int_equal(items[1].first, 4);
    assert_int_equal(items[2].last, 6);
    assert_int_equal(items[3].last, 5);
}

static void a_gap_is_bridged_as_far_as_it_pays(void **state)
{
    (void)state;
    const struct plan_item ten[] = {item(0, 0), item(11, 11)};
    const struct plan_item eleven[] = {item(0, 0), item(12, 12)};
    struct plan plan;
    plan_make(ten, 2, &usual, &plan);
    assert_int_equal(plan.count, 1);
    plan_free(&plan);
    plan_make(eleven, 2, &usual, &plan);
    assert_int_equal(plan.count, 2);
    plan_free(&plan);
}

static void nothing_closed_is_bridged(void **state)
{
    (void)state;
    const struct plan_item items[] = {item(0, 0), item(4, 4), item(5, 5)};
    const struct address_range closed[] = {{TABLE_HOLDING, 2, 2}, {TABLE_INPUT, 0, 100}};
    struct plan_limits limits = usual;
    limits.closed = closed;
    limits.closed_count = 2;
    struct plan plan;
    plan_make(items, 3, &limits, &plan);
    assert_int_equal(plan.count, 2);
    expect_block(&plan, 0, 0, 1);
    expect_block(&plan, 1, 4, 2);
    plan_free(&plan);
}

static void a_closed_item_stands_alone(void **state)
{
    (void)state;
    const struct plan_item items[] = {item(0, 0), item(1, 2), item(3, 3)};
    const struct address_range closed[] = {{TABLE_HOLDING, 1, 2}};
    struct plan_limits limits = usual;
    limits.closed = closed;
    limits.closed_count = 1;
    struct plan plan;
    plan_make(items, 3, &limits, &plan);
    assert_int_equal(plan.count, 3);
    expect_block(&plan, 1, 1, 2);
    plan_free(&plan);
}

static void wide_items_are_not_cut_at_the_limit(void **state)
{
    (void)state;
    const struct plan_item items[] = {item(0, 1), item(2, 3), item(4, 5)};
    struct plan_limits limits = usual;
    limits.longest[TABLE_HOLDING] = 5;
    struct plan plan;
    plan_make(items, 3, &limits, &plan);
    assert_int_equal(plan.count, 2);
    for (size_t i = 0; i < plan.count; i++) {
        assert_true(plan.blocks[i].count <= 4);
        assert_int_equal(plan.blocks[i].first % 2, 0);
    }
    plan_free(&plan);
}

static void tables_are_planned_apart(void **state)
{
    (void)state;
    struct plan_item items[] = {{TABLE_HOLDING, 0, 0}, {TABLE_COIL, 150, 150}, {TABLE_INPUT, 0, 0}, {TABLE_COIL, 0, 0}};
    struct plan plan;
    plan_make(items, plan_sort(items, 4), &usual, &plan);
    assert_int_equal(plan.count, 3);
    assert_int_equal(plan.blocks[0].table, TABLE_COIL);
    expect_block(&plan, 0, 0, 151); /* 149 bits cost less than a request */
    plan_free(&plan);
}

static void what_contains_others_brings_them(void **state)
{
    (void)state;
    struct plan_item items[] = {item(11, 11), item(12, 15), item(10, 13), item(14, 14)};
    struct plan plan;
    plan_make(items, plan_sort(items, 4), &usual, &plan);
    assert_int_equal(plan.count, 1);
    expect_block(&plan, 0, 10, 6);
    assert_int_equal(plan.blocks[0].end, 4);
    plan_free(&plan);
}

static void the_last_address_is_in_reach(void **state)
{
    (void)state;
    const struct plan_item items[] = {item(65530, 65531), item(65534, 65535)};
    struct plan plan;
    plan_make(items, 2, &usual, &plan);
    assert_int_equal(plan.count, 1);
    expect_block(&plan, 0, 65530, 6);
    plan_free(&plan);
}

static void nothing_wanted_is_an_empty_plan(void **state)
{
    (void)state;
    struct plan plan;
    plan_make(NULL, plan_sort(NULL, 0), &usual, &plan);
    assert_int_equal(plan.count, 0);
    plan_free(&plan);
}

/* Filling up greedily takes 0 to 9, then 10 to 12: 13 registers in two requests, where 6 will do. */
static void the_limit_does_not_make_it_greedy(void **state)
{
    (void)state;
    const struct plan_item items[] = {item(0, 0), item(8, 9), item(10, 10), item(11, 12)};
    struct plan_limits limits = usual;
    limits.longest[TABLE_HOLDING] = 10;
    struct plan plan;
    plan_make(items, 4, &limits, &plan);
    assert_int_equal(plan.count, 2);
    expect_block(&plan, 0, 0, 1);
    expect_block(&plan, 1, 8, 5);
    plan_free(&plan);
}

static void expect_sound(const struct plan *plan, const struct plan_item *items, size_t count,
                         const struct plan_limits *limits)
{
    size_t next = 0;
    for (size_t i = 0; i < plan->count; i++) {
        const struct plan_block *block = &plan->blocks[i];
        uint32_t last = block->first + block->count - 1U;
        assert_int_equal(block->begin, next);
        assert_true(block->end > block->begin);
        for (size_t k = block->begin; k < block->end; k++)
            assert_true(items[k].first >= block->first && items[k].last <= last);
        if (block->end - block->begin > 1) {
            assert_true(block->count <= limits->longest[TABLE_HOLDING]);
            assert_false(touches_closed(limits, block->first, last));
        }
        next = block->end;
    }
    assert_int_equal(next, count);
}

static void no_other_way_is_cheaper(void **state)
{
    (void)state;
    uint32_t seed = 20260131;
    for (int round = 0; round < 1000; round++) {
        struct random_map map;
        random_map(&seed, &map);
        const struct plan_item *items = map.items;
        const struct plan_limits limits = map.limits;
        size_t count = map.count;
        struct plan plan;
        plan_make(items, count, &limits, &plan);
        expect_sound(&plan, items, count, &limits);
        struct price is = price_of(&plan, &limits);
        struct price due = try_all(items, count, &limits);
        if (is.cost != due.cost || is.requests != due.requests)
            fail_msg("round %d: cost %llu in %zu requests, where %llu in %zu is possible", round,
                     (unsigned long long)is.cost, is.requests, (unsigned long long)due.cost, due.requests);
        plan_free(&plan);
    }
}

static void overlapping_items_are_all_fetched(void **state)
{
    (void)state;
    uint32_t seed = 4711;
    for (int round = 0; round < 1000; round++) {
        struct plan_limits limits = usual;
        limits.longest[TABLE_HOLDING] = 6 + random_below(&seed, 20);
        struct plan_item items[40];
        for (size_t i = 0; i < 40; i++) {
            uint32_t first = random_below(&seed, 100);
            items[i] = item(first, first + random_below(&seed, 6));
        }
        size_t count = plan_sort(items, 40);
        struct plan plan;
        plan_make(items, count, &limits, &plan);
        expect_sound(&plan, items, count, &limits);
        plan_free(&plan);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(neighbours_become_one_block),
        cmocka_unit_test(sorting_puts_what_contains_others_before_them),
        cmocka_unit_test(a_gap_is_bridged_as_far_as_it_pays),
        cmocka_unit_test(nothing_closed_is_bridged),
        cmocka_unit_test(a_closed_item_stands_alone),
        cmocka_unit_test(wide_items_are_not_cut_at_the_limit),
        cmocka_unit_test(tables_are_planned_apart),
        cmocka_unit_test(what_contains_others_brings_them),
        cmocka_unit_test(the_last_address_is_in_reach),
        cmocka_unit_test(nothing_wanted_is_an_empty_plan),
        cmocka_unit_test(the_limit_does_not_make_it_greedy),
        cmocka_unit_test(no_other_way_is_cheaper),
        cmocka_unit_test(overlapping_items_are_all_fetched),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
