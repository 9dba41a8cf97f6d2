/* SPDX-License-Identifier: MIT */
/* Medians, straight lines through points, and how well they are known. Pure functions. */
#ifndef ASLEFT_WITNESS_STATISTICS_H
#define ASLEFT_WITNESS_STATISTICS_H

#include <stddef.h>

/* A value at a time. */
struct point {
    double t_s, y;
};

/* y = value + slope (t - mean_t_s). */
struct fitted_line {
    double slope, value, mean_t_s;
    double slope_within; /* half of the interval that holds the true slope 95 of 100 times */
    double scatter;      /* standard deviation of the points about the line */
    size_t count;
};

/* The 97.5 % point of Student's distribution. `freedom` >= 1, also in between whole numbers. */
double student_975(double freedom);

/* NAN of no values. Orders `values`. */
double median_of(double *values, size_t count);

/* Least squares. `resolution` is what each y is off by at least, as a standard deviation: a few points that happen to
 * lie well are not trusted beyond it. Neighbours that are off alike count as fewer points. At least 2 points at
 * different times, else `slope` is NAN; with fewer than 3 the interval is infinite unless `resolution` is above 0. */
struct fitted_line line_through(const struct point *points, size_t count, double resolution);

/* When the line reaches `y`. */
double line_time(const struct fitted_line *line, double y);

#endif
