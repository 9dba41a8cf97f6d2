/* SPDX-License-Identifier: MIT */
/* When a measured value agrees with a band, differs from it, or is known too badly to tell. */
#include "runs.h"

#include "witness/measures.h"

static const struct band sixty = {59.7, 60, 60.3};

/* Source: the idea of a decision rule with a guard band, ILAC-G8:09/2019 4.2.3: only what lies outside by more than its
 * uncertainty fails. 60 +- 0.3 Hz, known to 0.05 Hz. */
static void only_what_is_outside_for_sure_differs(void **state)
{
    (void)state;
    assert_int_equal(measure_verdict(60.20, 0.05, 0.05, sixty), VERDICT_AGREES);
    assert_int_equal(measure_verdict(60.27, 0.05, 0.05, sixty), VERDICT_AGREES);
    assert_int_equal(measure_verdict(60.32, 0.05, 0.05, sixty), VERDICT_AGREES);
    assert_int_equal(measure_verdict(60.40, 0.05, 0.05, sixty), VERDICT_DIFFERS);
    assert_int_equal(measure_verdict(59.68, 0.05, 0.05, sixty), VERDICT_AGREES);
    assert_int_equal(measure_verdict(59.60, 0.05, 0.05, sixty), VERDICT_DIFFERS);
}

static void both_sides_have_their_own_uncertainty(void **state)
{
    (void)state;
    assert_int_equal(measure_verdict(60.6, 0.4, 0.1, sixty), VERDICT_AGREES);
    assert_int_equal(measure_verdict(60.6, 0.1, 0.4, sixty), VERDICT_DIFFERS);
    assert_int_equal(measure_verdict(59.4, 0.1, 0.4, sixty), VERDICT_AGREES);
    assert_int_equal(measure_verdict(59.4, 0.4, 0.1, sixty), VERDICT_DIFFERS);
}

static void what_is_hardly_known_cannot_be_told(void **state)
{
    (void)state;
    assert_int_equal(measure_verdict(60, 8, 8, sixty), VERDICT_UNCHECKED);
    assert_int_equal(measure_verdict(90, 8, 8, sixty), VERDICT_DIFFERS); /* though that much is sure */
    assert_int_equal(measure_verdict(60, INFINITY, INFINITY, sixty), VERDICT_UNCHECKED);
    assert_int_equal(measure_verdict(60, 8, 8, (struct band){50, 60, 70}), VERDICT_AGREES); /* a wide band */
}

static void an_open_end_is_no_bound(void **state)
{
    (void)state;
    const struct band at_most = {-INFINITY, NAN, 3};
    assert_int_equal(measure_verdict(0.1, 0.01, 0.01, at_most), VERDICT_AGREES);
    assert_int_equal(measure_verdict(3.2, 0.1, 0.1, at_most), VERDICT_DIFFERS);
    assert_int_equal(measure_verdict(2, 1, 1, at_most), VERDICT_UNCHECKED);
}

static void a_remark_stands_once(void **state)
{
    (void)state;
    struct witnessed witnessed = {0};
    remark_add(&witnessed, text_copy("a"));
    remark_add(&witnessed, text_copy("b"));
    remark_add(&witnessed, text_copy("a"));
    assert_int_equal(witnessed.remarks.count, 2);
    witnessed_free(&witnessed);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_what_is_outside_for_sure_differs),
        cmocka_unit_test(both_sides_have_their_own_uncertainty),
        cmocka_unit_test(what_is_hardly_known_cannot_be_told),
        cmocka_unit_test(an_open_end_is_no_bound),
        cmocka_unit_test(a_remark_stands_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
