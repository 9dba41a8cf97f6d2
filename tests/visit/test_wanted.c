/* SPDX-License-Identifier: MIT */
/* Sets of parameters, and what is read along because it decides. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "bus/map_builder.h"
#include "visit/wanted.h"

/* Six registers p0 to p5; each test says what decides what. */
static struct map six(void)
{
    struct map map = map_start(ORDER_HIGH_FIRST);
    for (unsigned i = 0; i < 6; i++) {
        char name[] = {'p', (char)('0' + i), '\0'};
        map_add(&map, name, TABLE_HOLDING, i, TYPE_U16);
    }
    return map;
}

static void expect_closure(const struct map *map, size_t wanted_one, const char *expected)
{
    struct wanted wanted = {0};
    wanted_add(&wanted, wanted_one);
    wanted_close(&wanted, map);
    char found[32] = "";
    for (size_t i = 0; i < wanted.count; i++)
        found[i] = (char)('0' + wanted.items[i]);
    assert_string_equal(found, expected);
    wanted_free(&wanted);
}

static void a_set_is_ascending_and_has_no_doubles(void **state)
{
    (void)state;
    static const size_t given[] = {3, 1, 4, 1, 5, 0, 3};
    static const size_t kept[] = {0, 1, 3, 4, 5};
    struct wanted wanted = {0};
    for (size_t i = 0; i < sizeof given / sizeof *given; i++)
        wanted_add(&wanted, given[i]);
    assert_int_equal(wanted.count, 5);
    for (size_t i = 0; i < 5; i++)
        assert_int_equal(wanted.items[i], kept[i]);
    assert_true(wanted_has(&wanted, 4));
    assert_false(wanted_has(&wanted, 2));
    wanted_free(&wanted);
    assert_int_equal(wanted.count, 0);
}

static void what_nothing_decides_stays_alone(void **state)
{
    (void)state;
    struct map map = six();
    expect_closure(&map, 2, "2");
    map_free(&map);
}

static void units_scales_and_spans_bring_their_selectors(void **state)
{
    (void)state;
    struct map map = six();
    row_add(&map.parameters[0].unit_by, 5, (struct choice_row){.raw = 0});
    row_add(&map.parameters[0].scale_by, 4, (struct choice_row){.raw = 0});
    row_add(&map.parameters[0].ramp_span.by, 2, (struct choice_row){.raw = 0});
    expect_closure(&map, 0, "0245");
    map_free(&map);
}

static void a_chain_of_selectors_comes_whole(void **state)
{
    (void)state;
    struct map map = six();
    row_add(&map.parameters[3].unit_by, 1, (struct choice_row){.raw = 0});
    row_add(&map.parameters[1].unit_by, 5, (struct choice_row){.raw = 0});
    condition_add(&map.parameters[5].applies_when, 0, 1);
    condition_add(&map.parameters[0].locked_by, 2, 1);
    expect_closure(&map, 3, "01235");
    map_free(&map);
}

static void a_circle_comes_to_an_end(void **state)
{
    (void)state;
    struct map map = six();
    row_add(&map.parameters[1].unit_by, 2, (struct choice_row){.raw = 0});
    row_add(&map.parameters[2].unit_by, 1, (struct choice_row){.raw = 0});
    expect_closure(&map, 1, "12");
    map_free(&map);
}

static void a_member_of_a_set_brings_the_set_in_force(void **state)
{
    (void)state;
    struct map map = six();
    map.set_in_force.given = true;
    map.set_in_force.parameter = 4;
    map.parameters[1].set = 2;
    expect_closure(&map, 1, "14");
    expect_closure(&map, 0, "0");
    map_free(&map);
}

static void a_percentage_brings_its_base_of_the_same_set(void **state)
{
    (void)state;
    struct map map = six();
    map.parameters[0].is_percent = true;
    map.parameters[0].percent_of = MEANS_MOTOR_RATED_CURRENT;
    map.parameters[0].set = 2;
    map.parameters[1].means = map.parameters[2].means = MEANS_MOTOR_RATED_CURRENT;
    map.parameters[1].set = 1;
    map.parameters[2].set = 2;
    expect_closure(&map, 0, "02");
    map_free(&map);
}

static void a_percentage_brings_every_base_that_may_be_in_force(void **state)
{
    (void)state;
    struct map map = six();
    map.parameters[0].is_percent = true;
    map.parameters[0].percent_of = MEANS_MOTOR_RATED_POWER;
    map.parameters[1].means = map.parameters[2].means = MEANS_MOTOR_RATED_POWER;
    condition_add(&map.parameters[1].applies_when, 5, 0);
    condition_add(&map.parameters[2].applies_when, 5, 1);
    expect_closure(&map, 0, "0125");
    map_free(&map);
}

static void a_base_from_the_sheet_brings_nothing(void **state)
{
    (void)state;
    struct map map = six();
    map.parameters[0].is_percent = true;
    map.parameters[0].base = BASE_SHEET;
    map.parameters[0].percent_of = MEANS_MOTOR_RATED_CURRENT;
    map.parameters[1].means = MEANS_MOTOR_RATED_CURRENT;
    expect_closure(&map, 0, "0");
    map_free(&map);
}

static void a_special_value_brings_what_it_points_at(void **state)
{
    (void)state;
    struct map map = six();
    names_add(&map.parameters[0].special, 0, "off");
    same_as_add(&map.parameters[0].special, 9999, MEANS_RAMP_ACCELERATION_TIME);
    map.parameters[0].means = MEANS_RAMP_DECELERATION_TIME;
    map.parameters[3].means = MEANS_RAMP_ACCELERATION_TIME;
    expect_closure(&map, 0, "03");
    map_free(&map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_set_is_ascending_and_has_no_doubles),
        cmocka_unit_test(what_nothing_decides_stays_alone),
        cmocka_unit_test(units_scales_and_spans_bring_their_selectors),
        cmocka_unit_test(a_chain_of_selectors_comes_whole),
        cmocka_unit_test(a_circle_comes_to_an_end),
        cmocka_unit_test(a_member_of_a_set_brings_the_set_in_force),
        cmocka_unit_test(a_percentage_brings_its_base_of_the_same_set),
        cmocka_unit_test(a_percentage_brings_every_base_that_may_be_in_force),
        cmocka_unit_test(a_base_from_the_sheet_brings_nothing),
        cmocka_unit_test(a_special_value_brings_what_it_points_at),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
