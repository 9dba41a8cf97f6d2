/* SPDX-License-Identifier: MIT */
/* "did you mean": which slips are near, and which are not. */
#include "types/nearest.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static const char *const names[] = {"motor_current", "motor_voltage", "ramp", NULL, "unit"};
enum { NAMES = sizeof names / sizeof *names };

static void expect_near(const char *given, const char *expected)
{
    const char *found = nearest(given, names, NAMES);
    if (expected == NULL) {
        assert_null(found);
        return;
    }
    assert_non_null(found);
    assert_string_equal(found, expected);
}

static void one_slip_of_any_kind_is_near(void **state)
{
    (void)state;
    expect_near("motor_curent", "motor_current");
    expect_near("motor_currrent", "motor_current");
    expect_near("motor_cyrrent", "motor_current");
    expect_near("motor_crurent", "motor_current");
}

static void an_exchange_of_neighbours_counts_once(void **state)
{
    (void)state;
    const char *const pair[] = {"abcdef"};
    assert_ptr_equal(nearest("badcef", pair, 1), pair[0]); /* two exchanges: two edits */
    assert_null(nearest("badcfe", pair, 1));               /* three */
}

static void three_slips_are_too_many(void **state)
{
    (void)state;
    expect_near("motor_curr", NULL);
    expect_near("mtr_current", "motor_current");
    expect_near("mtr_curent", NULL);
}

static void a_short_name_allows_fewer_slips(void **state)
{
    (void)state;
    expect_near("rump", "ramp");
    expect_near("rum", NULL); /* two of four letters */
    expect_near("u", NULL);
}

static void the_nearest_wins_over_the_first(void **state)
{
    (void)state;
    const char *const two[] = {"parity_", "parity"};
    assert_ptr_equal(nearest("parity", two, 2), two[1]);
    assert_ptr_equal(nearest("parit", two, 2), two[1]);
}

static void nothing_is_near_nothing(void **state)
{
    (void)state;
    expect_near("", NULL);
    assert_null(nearest("unit", names, 0));
}

static void texts_too_long_to_compare_are_passed_over(void **state)
{
    (void)state;
    char longest[65], too_long[66];
    memset(longest, 'a', sizeof longest - 1);
    memset(too_long, 'a', sizeof too_long - 1);
    longest[sizeof longest - 1] = too_long[sizeof too_long - 1] = '\0';
    const char *const both[] = {too_long, longest};
    assert_ptr_equal(nearest(longest, both, 2), longest);
    assert_null(nearest(too_long, both, 2));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_slip_of_any_kind_is_near),
        cmocka_unit_test(an_exchange_of_neighbours_counts_once),
        cmocka_unit_test(three_slips_are_too_many),
        cmocka_unit_test(a_short_name_allows_fewer_slips),
        cmocka_unit_test(the_nearest_wins_over_the_first),
        cmocka_unit_test(nothing_is_near_nothing),
        cmocka_unit_test(texts_too_long_to_compare_are_passed_over),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
