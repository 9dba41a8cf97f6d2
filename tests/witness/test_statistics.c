/* SPDX-License-Identifier: MIT */
/* Lines through points and Student's distribution against published figures. */
#include "runs.h"

#include "witness/statistics.h"

/* Source: NIST Statistical Reference Datasets, linear regression, "Norris": x and y, and the certified slope, intercept
 * and residual standard deviation. */
static const struct point norris[] = {
    {0.2, 0.1},     {337.4, 338.8}, {118.2, 118.1}, {884.6, 888.0}, {10.1, 9.2},    {226.5, 228.1},
    {666.3, 668.5}, {996.3, 998.5}, {448.6, 449.1}, {777.0, 778.9}, {558.2, 559.2}, {0.4, 0.3},
    {0.6, 0.1},     {775.5, 778.1}, {666.9, 668.8}, {338.0, 339.3}, {447.5, 448.9}, {11.6, 10.8},
    {556.0, 557.7}, {228.1, 228.3}, {995.8, 998.0}, {887.6, 888.8}, {120.2, 119.6}, {0.3, 0.3},
    {0.3, 0.6},     {556.8, 557.6}, {339.1, 339.3}, {887.2, 888.0}, {999.0, 998.5}, {779.0, 778.9},
    {11.1, 10.2},   {118.3, 117.6}, {229.2, 228.9}, {669.1, 668.4}, {448.9, 449.2}, {0.5, 0.2}};

static void a_published_line(void **state)
{
    (void)state;
    const size_t count = sizeof norris / sizeof norris[0];
    const struct fitted_line line = line_through(norris, count, 0);
    assert_near(line.slope, 1.00211681802045, 1e-12);
    assert_near(line.value - line.slope * line.mean_t_s, -0.262323073774029, 1e-11);
    assert_near(line.scatter, 0.884796396144373, 1e-12);
    /* Certified standard deviation of the slope; no narrower, as neighbours may count as fewer points. */
    assert_true(line.slope_within >= 0.429796848199937e-3 * 2.032 * 0.999);
    assert_near(line_time(&line, 500), (500 + 0.262323073774029) / 1.00211681802045, 1e-9);
}

/* Source: Student's distribution, 97.5 % points, as in any table of it. */
static void students_points(void **state)
{
    (void)state;
    static const double rows[][2] = {{1, 12.706}, {2, 4.303},  {5, 2.571},  {10, 2.228},  {12, 2.179},
                                     {20, 2.086}, {30, 2.042}, {60, 2.000}, {120, 1.980}, {1e9, 1.960}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_near(student_975(rows[i][0]), rows[i][1], 0.001);
    assert_near(student_975(0.1), 12.706, 1e-9);
    assert_true(student_975(1.5) < 12.706 && student_975(1.5) > 4.303);
}

/* Source: definition of a confidence interval; checked by trial. */
static void a_line_is_known_as_well_as_it_says(void **state)
{
    (void)state;
    enum { TRIALS = 4000, POINTS = 10 };
    uint64_t random = 5;
    int covered = 0;
    for (int i = 0; i < TRIALS; i++) {
        struct point points[POINTS];
        for (size_t k = 0; k < POINTS; k++)
            points[k] = (struct point){(double)k, 3 + 2 * (double)k + normal(&random)};
        const struct fitted_line line = line_through(points, POINTS, 0);
        covered += fabs(line.slope - 2) <= line.slope_within;
    }
    assert_near(100.0 * covered / TRIALS, 95, 1.2);
}

static void too_little_is_not_known(void **state)
{
    (void)state;
    const struct point same[] = {{1, 2}, {1, 3}, {1, 4}};
    assert_true(isnan(line_through(same, 3, 0).slope));
    assert_true(isnan(line_through(same, 0, 0).slope));
    const struct point two[] = {{1, 2}, {2, 4}};
    assert_near(line_through(two, 2, 0).slope, 2, 1e-12);
    assert_true(isinf(line_through(two, 2, 0).slope_within));
    const struct fitted_line coarse = line_through(two, 2, 0.1);
    assert_true(coarse.slope_within > 0 && isfinite(coarse.slope_within));
}

static void medians(void **state)
{
    (void)state;
    double odd[] = {5, 1, 3};
    double even[] = {4, 1, 3, 2};
    assert_near(median_of(odd, 3), 3, 0);
    assert_near(median_of(even, 4), 2.5, 0);
    assert_true(isnan(median_of(NULL, 0)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_published_line),
        cmocka_unit_test(students_points),
        cmocka_unit_test(a_line_is_known_as_well_as_it_says),
        cmocka_unit_test(too_little_is_not_known),
        cmocka_unit_test(medians),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
