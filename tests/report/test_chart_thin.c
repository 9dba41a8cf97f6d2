/* SPDX-License-Identifier: MIT */
/* Thinning of a chart's numbers: no peak is lost, and no gap that can be seen. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/chart_thin.h"
#include "types/memory.h"

#include <math.h>
#include <stdlib.h>

enum { SAMPLES = 100000, COLUMNS = 640, ROWS = 70 };

struct series {
    double *x, *y, *high;
    struct chart_set set;
};

/* A noisy run with peaks of one sample and, every so often, a gap of one sample or many. */
static struct series noisy(unsigned seed, size_t count)
{
    struct series series = {
        memory_new(count, sizeof(double)), memory_new(count, sizeof(double)), memory_new(count, sizeof(double)), {0}};
    srand(seed);
    size_t gap = 0;
    for (size_t i = 0; i < count; i++) {
        series.x[i] = (double)i / (double)count * 20;
        series.y[i] = (double)(rand() % 1000) / 100 + (rand() % 5000 == 0 ? 50 : 0) - (rand() % 5000 == 0 ? 50 : 0);
        if (rand() % 3000 == 0)
            gap = rand() % 2 == 0 ? 1 : (size_t)(rand() % 2000);
        if (gap > 0) {
            series.y[i] = gap % 2 == 0 ? NAN : INFINITY;
            gap--;
        }
        series.high[i] = series.y[i] + 1 + (double)(rand() % 100) / 100;
    }
    series.set = (struct chart_set){"noise", CHART_BAND, series.x, series.y, series.high, count};
    return series;
}

static void series_free(struct series *series)
{
    free(series->x);
    free(series->y);
    free(series->high);
}

/* Lowest, highest, first and last of one column, found by looking at each sample. */
static void extremes_of(const struct series *series, const struct scale *scale, size_t column, double extremes[4])
{
    extremes[0] = INFINITY;
    extremes[1] = -INFINITY;
    extremes[2] = extremes[3] = NAN;
    for (size_t i = 0; i < series->set.count; i++) {
        double y = series->y[i];
        if (!isfinite(y) || scale_column(scale, series->x[i], COLUMNS) != column)
            continue;
        extremes[0] = y < extremes[0] ? y : extremes[0];
        extremes[1] = y > extremes[1] ? y : extremes[1];
        extremes[2] = isnan(extremes[2]) ? y : extremes[2];
        extremes[3] = y;
    }
}

static void each_column_keeps_its_peaks_and_ends(void **state)
{
    (void)state;
    const struct scale scale = {0, 20, 5};
    struct series series = noisy(1, SAMPLES);
    struct chart_set line = series.set;
    line.y_high = NULL;
    struct thin_points points = {0};
    thin_line(&line, EDGE_LINE, &scale, COLUMNS, &points);
    assert_in_range(points.count, COLUMNS, 4 * COLUMNS);
    size_t at = 0;
    for (size_t column = 0; column < COLUMNS; column += 7) { /* each takes a look at all samples */
        double extremes[4], low = INFINITY, high = -INFINITY, first = NAN, last = NAN;
        extremes_of(&series, &scale, column, extremes);
        while (at < points.count && scale_column(&scale, points.items[at].x, COLUMNS) < column)
            at++;
        for (; at < points.count && scale_column(&scale, points.items[at].x, COLUMNS) == column; at++) {
            double y = points.items[at].y;
            low = y < low ? y : low;
            high = y > high ? y : high;
            first = isnan(first) ? y : first;
            last = y;
        }
        assert_true(low == extremes[0] && high == extremes[1]);
        assert_true((isnan(first) && isnan(extremes[2])) || (first == extremes[2] && last == extremes[3]));
    }
    thin_points_free(&points);
    series_free(&series);
}

static void order_stays(void **state)
{
    (void)state;
    const struct scale scale = {0, 20, 5};
    struct series series = noisy(2, SAMPLES);
    struct thin_points points = {0};
    thin_line(&series.set, EDGE_LINE, &scale, COLUMNS, &points);
    for (size_t i = 1; i < points.count; i++)
        assert_true(points.items[i].x > points.items[i - 1].x);
    thin_points_free(&points);
    series_free(&series);
}

static void few_samples_stay_as_they_are(void **state)
{
    (void)state;
    const double x[] = {0, 5, 10, 15, 20}, y[] = {1, 4, 2, 9, 3};
    const struct chart_set set = {"few", CHART_MEASURED, x, y, NULL, 5};
    const struct scale scale = {0, 20, 5};
    struct thin_points points = {0};
    thin_line(&set, EDGE_LINE, &scale, COLUMNS, &points);
    assert_int_equal(points.count, 5);
    for (size_t i = 0; i < 5; i++) {
        assert_true(points.items[i].x == x[i] && points.items[i].y == y[i]);
        assert_int_equal(points.items[i].joined, i > 0);
    }
    thin_points_free(&points);
}

static void a_gap_parts_a_line_where_it_can_be_seen(void **state)
{
    (void)state;
    const double x[] = {0, 0.01, 0.02, 5, 6, 7, 20}, y[] = {1, NAN, 2, 3, INFINITY, 4, NAN};
    const struct chart_set set = {"gaps", CHART_MEASURED, x, y, NULL, 7};
    const struct scale scale = {0, 20, 5};
    struct thin_points points = {0};
    thin_line(&set, EDGE_LINE, &scale, COLUMNS, &points);
    static const bool joined[] = {false, true, true, false}; /* 1 and 2 share a column; 4 comes after a gap */
    static const double kept[] = {1, 2, 3, 4};
    assert_int_equal(points.count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_true(points.items[i].y == kept[i]);
        assert_int_equal(points.items[i].joined, joined[i]);
    }
    thin_points_free(&points);
}

static void edges_of_a_band_come_in_the_same_pieces(void **state)
{
    (void)state;
    const struct scale scale = {0, 20, 5};
    for (unsigned seed = 0; seed < 20; seed++) {
        struct series series = noisy(seed, 5000);
        for (size_t i = 0; i < 5000; i += 313)
            series.high[i] = NAN; /* known below only */
        struct thin_points low = {0}, high = {0};
        thin_line(&series.set, EDGE_LINE, &scale, COLUMNS, &low);
        thin_line(&series.set, EDGE_HIGH, &scale, COLUMNS, &high);
        size_t l = 0, h = 0;
        while (l < low.count && h < high.count) {
            assert_true(low.items[l].x == high.items[h].x); /* pieces begin together */
            for (l++; l < low.count && low.items[l].joined;)
                l++;
            for (h++; h < high.count && high.items[h].joined;)
                h++;
            assert_true(low.items[l - 1].x == high.items[h - 1].x); /* and end together */
        }
        assert_int_equal(l, low.count);
        assert_int_equal(h, high.count);
        thin_points_free(&low);
        thin_points_free(&high);
        series_free(&series);
    }
}

static void points_keep_a_cell_and_the_extremes(void **state)
{
    (void)state;
    enum { WIDE = 160 };
    const struct scale x = {0, 20, 5}, y = {-50, 70, 20};
    struct series series = noisy(3, SAMPLES);
    series.set.y_high = NULL;
    struct thin_points points = {0};
    thin_scattered(&series.set, &x, &y, WIDE, ROWS, &points);
    assert_in_range(points.count, WIDE, WIDE * (ROWS + 2));
    bool cells[WIDE][ROWS] = {0};
    double low[WIDE], high[WIDE];
    for (size_t i = 0; i < WIDE; i++) {
        low[i] = INFINITY;
        high[i] = -INFINITY;
    }
    for (size_t i = 0; i < points.count; i++) {
        size_t column = scale_column(&x, points.items[i].x, WIDE);
        cells[column][scale_column(&y, points.items[i].y, ROWS)] = true;
        low[column] = fmin(low[column], points.items[i].y);
        high[column] = fmax(high[column], points.items[i].y);
        assert_false(points.items[i].joined);
    }
    for (size_t i = 0; i < SAMPLES; i++) {
        if (!isfinite(series.y[i]))
            continue;
        size_t column = scale_column(&x, series.x[i], WIDE);
        assert_true(cells[column][scale_column(&y, series.y[i], ROWS)]);
        assert_true(low[column] <= series.y[i] && high[column] >= series.y[i]);
    }
    thin_points_free(&points);
    series_free(&series);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_column_keeps_its_peaks_and_ends),
        cmocka_unit_test(order_stays),
        cmocka_unit_test(few_samples_stay_as_they_are),
        cmocka_unit_test(a_gap_parts_a_line_where_it_can_be_seen),
        cmocka_unit_test(edges_of_a_band_come_in_the_same_pieces),
        cmocka_unit_test(points_keep_a_cell_and_the_extremes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
