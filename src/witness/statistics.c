/* SPDX-License-Identifier: MIT */
/* Medians, straight lines through points, and how well they are known. */
#include "witness/statistics.h"

#include <math.h>
#include <stdlib.h>

/* 97.5 % points for 1 to 10 degrees of freedom. Source: Student's distribution, as in any table of it. */
static const double student_row[] = {12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228};
enum { STUDENT_ROWS = sizeof student_row / sizeof student_row[0] };

/* The normal distribution's, and the first terms of the expansion in 1 / freedom: within 0.001 from 10 on. Source:
 * expansion of Student's points about the normal ones, as in any handbook of statistics. */
static double student_far(double freedom)
{
    const double z = 1.959964;
    const double z3 = z * z * z;
    const double z5 = z3 * z * z;
    const double z7 = z5 * z * z;
    return z + (z3 + z) / (4 * freedom) + (5 * z5 + 16 * z3 + 3 * z) / (96 * freedom * freedom) +
           (3 * z7 + 19 * z5 + 17 * z3 - 15 * z) / (384 * freedom * freedom * freedom);
}

double student_975(double freedom)
{
    if (freedom >= STUDENT_ROWS)
        return student_far(freedom);
    const double at = fmax(freedom, 1) - 1;
    const size_t row = (size_t)at;
    const double share = at - (double)row;
    const double next = row + 1 < STUDENT_ROWS ? student_row[row + 1] : student_row[row];
    return student_row[row] * (1 - share) + next * share;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

double median_of(double *values, size_t count)
{
    if (count == 0)
        return NAN;
    qsort(values, count, sizeof *values, by_size);
    return count % 2 == 1 ? values[count / 2] : (values[count / 2 - 1] + values[count / 2]) / 2;
}

static double residual(const struct fitted_line *line, const struct point *point)
{
    return point->y - line->value - line->slope * (point->t_s - line->mean_t_s);
}

/* How many points each counts for, from how alike neighbours are off: 1 where they are not. */
static double likeness(const struct fitted_line *line, const struct point *points, size_t count, double squares)
{
    enum { FEWEST = 12 }; /* of fewer nothing can be said */
    if (count < FEWEST || !(squares > 0))
        return 1;
    double products = 0;
    for (size_t i = 1; i < count; i++)
        products += residual(line, &points[i - 1]) * residual(line, &points[i]);
    /* A line takes some likeness out of what it leaves. */
    const double alike = fmin(products / squares + 2 / (double)count, 0.95);
    return alike > 2 / sqrt((double)count) ? (1 + alike) / (1 - alike) : 1;
}

static void slope_interval(struct fitted_line *line, const struct point *points, double squares, double spread,
                           double resolution)
{
    const double freedom = (double)line->count - 2;
    const double fewer = likeness(line, points, line->count, squares);
    const double effective = fmax(freedom / fewer, 1);
    const double found = freedom > 0 ? squares / freedom : 0;
    if (!(freedom > 0) && !(resolution > 0)) {
        line->slope_within = INFINITY;
        return;
    }
    /* Few points tell little of their own scatter; what the resolution says of it weighs as much as some more. */
    const double prior = resolution > 0 ? 4 : 0;
    const double floor = resolution * resolution;
    const double pooled = (effective * found + prior * fmax(floor, fmin(found, floor))) / (effective + prior);
    line->scatter = sqrt(found);
    line->slope_within = student_975(effective + prior) * sqrt(pooled * fewer / spread);
}

struct fitted_line line_through(const struct point *points, size_t count, double resolution)
{
    struct fitted_line line = {.slope = NAN, .value = NAN, .slope_within = INFINITY, .count = count};
    double t = 0;
    double y = 0;
    for (size_t i = 0; i < count; i++) {
        t += points[i].t_s / (double)count;
        y += points[i].y / (double)count;
    }
    double spread = 0;
    double product = 0;
    for (size_t i = 0; i < count; i++) {
        spread += (points[i].t_s - t) * (points[i].t_s - t);
        product += (points[i].t_s - t) * (points[i].y - y);
    }
    if (count < 2 || !(spread > 0))
        return line;
    line.slope = product / spread;
    line.value = y;
    line.mean_t_s = t;
    double squares = 0;
    for (size_t i = 0; i < count; i++)
        squares += residual(&line, &points[i]) * residual(&line, &points[i]);
    slope_interval(&line, points, squares, spread, resolution);
    return line;
}

double line_time(const struct fitted_line *line, double y)
{
    return line->mean_t_s + (y - line->value) / line->slope;
}
