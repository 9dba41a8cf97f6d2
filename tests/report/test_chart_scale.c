/* SPDX-License-Identifier: MIT */
/* Scales of a chart: steps of 1, 2 and 5, ticks that can be told apart, ends that hold what is shown. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/chart_scale.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* All ticks as one text, with spaces between. */
static const char *ticks_of(const struct scale *scale, char *text, size_t size)
{
    double at[SCALE_MOST_TICKS];
    char one[SCALE_TICK_TEXT];
    size_t length = 0;
    text[0] = '\0';
    for (size_t i = 0, count = scale_ticks(scale, at); i < count; i++)
        length += (size_t)snprintf(text + length, size - length, "%s%s", i > 0 ? " " : "",
                                   scale_tick_text(scale, at[i], one));
    return text;
}

/* Steps of 1, 2 and 5: common practice, no source. */
static void usual_stretches_have_usual_ticks(void **state)
{
    (void)state;
    const struct {
        double low, high;
        unsigned ticks;
        bool whole;
        const char *expected;
    } rows[] = {
        {0, 60, 6, true, "0 10 20 30 40 50 60"},
        {0, 61, 6, true, "0 20 40 60 80"},
        {0.3, 59.7, 6, true, "0 10 20 30 40 50 60"},
        {48, 52, 6, true, "48 49 50 51 52"},
        {-3, 75, 6, true, "-20 0 20 40 60 80"},
        {-75, -3, 6, true, "-80 -60 -40 -20 0"},
        {0, 19.9, 8, false, "0 5 10 15"},
        {2.95, 3.055, 6, true, "2.94 2.96 2.98 3.00 3.02 3.04 3.06"},
        {0, 0.004, 6, true, "0.000 0.001 0.002 0.003 0.004"},
        {540, 760, 6, true, "500 550 600 650 700 750 800"},
        {50, 50, 6, true, "47 48 49 50 51 52 53"},
        {0, 0, 6, true, "-0.6 -0.4 -0.2 0.0 0.2 0.4 0.6"},
        {0, 3e9, 6, true, "0 5e+08 1e+09 1.5e+09 2e+09 2.5e+09 3e+09"},
        {0, 4e-8, 6, true, "0 1e-08 2e-08 3e-08 4e-08"},
        {-FLT_MAX, FLT_MAX, 6, true, "-4e+38 -2e+38 0 2e+38 4e+38"},
    };
    char text[256];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct scale scale = scale_for(rows[i].low, rows[i].high, rows[i].ticks, rows[i].whole);
        assert_string_equal(ticks_of(&scale, text, sizeof text), rows[i].expected);
    }
}

static double between(double low, double high)
{
    return low + (high - low) * ((double)rand() / RAND_MAX);
}

/* Ticks read differently, and read as what they are. */
static void expect_ticks_that_read_right(const struct scale *scale)
{
    double at[SCALE_MOST_TICKS];
    char before[SCALE_TICK_TEXT] = "", text[SCALE_TICK_TEXT];
    size_t count = scale_ticks(scale, at);
    assert_in_range(count, 2, 12);
    for (size_t i = 0; i < count; i++) {
        assert_true(at[i] >= scale->low - scale->step * 1e-6 && at[i] <= scale->high + scale->step * 1e-6);
        (void)scale_tick_text(scale, at[i], text);
        assert_string_not_equal(text, before);
        assert_true(fabs(strtod(text, NULL) - at[i]) < scale->step * 0.01);
        memcpy(before, text, sizeof before);
    }
}

static void any_stretch_gets_a_scale(void **state)
{
    (void)state;
    srand(7);
    for (int trial = 0; trial < 20000; trial++) {
        double middle = rand() % 4 == 0 ? 0 : between(-1, 1) * pow(10, between(-20, 40));
        double width = fabs(middle) * pow(10, between(-12, 1)) + (middle == 0 ? pow(10, between(-20, 40)) : 0);
        double low = middle - width, high = middle + width;
        struct scale scale = scale_for(low, high, 6, trial % 2 == 0);
        double lead = scale.step / pow(10, floor(log10(scale.step * (1 + 1e-12))));
        assert_true(fabs(lead - 1) < 1e-6 || fabs(lead - 2) < 1e-6 || fabs(lead - 5) < 1e-6);
        double slack = scale.step * 1e-6;
        assert_true(scale.low <= low + slack && scale.high >= high - slack);
        expect_ticks_that_read_right(&scale);
    }
}

static void what_is_no_number_is_a_gap(void **state)
{
    (void)state;
    const double x[] = {0, NAN, 2, 3, 4}, y[] = {0, 1, INFINITY, 3, 1e300}, high[] = {1, 1, 1, NAN, 1};
    const struct chart_set line = {"l", CHART_MEASURED, x, y, NULL, 5}, band = {"b", CHART_BAND, x, y, high, 5};
    static const bool of_line[] = {true, false, false, true, false}, of_band[] = {true, false, false, false, false};
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(scale_can_show_sample(&line, i), of_line[i]);
        assert_int_equal(scale_can_show_sample(&band, i), of_band[i]);
    }
    assert_true(scale_can_show(-FLT_MAX));
}

static void columns_divide_the_scale(void **state)
{
    (void)state;
    const struct scale scale = {10, 20, 1};
    assert_int_equal(scale_column(&scale, 10, 5), 0);
    assert_int_equal(scale_column(&scale, 11.9, 5), 0);
    assert_int_equal(scale_column(&scale, 12.1, 5), 1);
    assert_int_equal(scale_column(&scale, 20, 5), 4);
    assert_int_equal(scale_column(&scale, 9, 5), 0);
    assert_int_equal(scale_column(&scale, 21, 5), 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(usual_stretches_have_usual_ticks),
        cmocka_unit_test(any_stretch_gets_a_scale),
        cmocka_unit_test(what_is_no_number_is_a_gap),
        cmocka_unit_test(columns_divide_the_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
