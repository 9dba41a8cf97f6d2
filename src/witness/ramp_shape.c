/* SPDX-License-Identifier: MIT */
/* The course of a whole ramp: straight, rounded at both ends, or lagging behind through a filter.
 * A rounded or filtered ramp is the straight one smeared over some width: its rate in the middle stays. */
#include "witness/ramp_shape.h"

#include "motor/constants.h"

#include <math.h>
#include <string.h>

enum { PARTS = 3, MIDDLE = 0, TOOK = 1, WIDTH = 2 };

/* A rise of 1 a second from time 0 on, smeared. */
static double smeared(enum shape_kind kind, double t, double width)
{
    switch (kind) {
    case SHAPE_ROUNDED:
        if (t <= -width / 2)
            return 0;
        return t >= width / 2 ? t : (t + width / 2) * (t + width / 2) / (2 * width);
    case SHAPE_LAGGING:
        if (t <= 0)
            return 0;
        return width > 0 ? t - width * (1 - exp(-t / width)) : t;
    }
    return 0;
}

static double value_at(const double part[PARTS], enum shape_kind kind, double rise, double t)
{
    const double after = t - part[MIDDLE] + part[TOOK] / 2;
    return rise / part[TOOK] * (smeared(kind, after, part[WIDTH]) - smeared(kind, after - part[TOOK], part[WIDTH]));
}

static void keep_within(double part[PARTS], double least_s)
{
    part[TOOK] = fmax(part[TOOK], least_s);
    part[WIDTH] = fmin(fmax(part[WIDTH], 1e-6 * part[TOOK]), part[TOOK]);
}

struct sums {
    double normal[PARTS][PARTS], gradient[PARTS], squares;
    double by_rise[PARTS]; /* how each part would follow another end value */
    double moved_squares;  /* of those that move: flat ones tell nothing of the scatter where a register rounds */
    size_t moved;
};

static void sum_up(const struct shape_task *task, enum shape_kind kind, const double part[PARTS], struct sums *sums)
{
    const double rise = task->rise;
    memset(sums, 0, sizeof *sums);
    for (size_t i = 0; i < task->count; i++) {
        const double t_s = task->points[i].t_s;
        const double value = value_at(part, kind, rise, t_s);
        const double off = task->points[i].y - value;
        double slope[PARTS];
        for (int k = 0; k < PARTS; k++) {
            double other[PARTS];
            memcpy(other, part, sizeof other);
            const double by = 1e-4 * part[TOOK];
            other[k] += by;
            slope[k] = (value_at(other, kind, rise, t_s) - value) / by;
        }
        sums->squares += off * off;
        if (fabs(slope[MIDDLE]) > 0.5 * rise / part[TOOK]) {
            sums->moved++;
            sums->moved_squares += off * off;
        }
        for (int k = 0; k < PARTS; k++) {
            sums->gradient[k] += slope[k] * off;
            sums->by_rise[k] -= slope[k] * value / rise;
            for (int j = 0; j < PARTS; j++)
                sums->normal[k][j] += slope[k] * slope[j];
        }
    }
}

/* The inverse of a symmetric matrix; false where it has none. */
static bool invert(double from[PARTS][PARTS], double to[PARTS][PARTS])
{
    double determinant = 0;
    for (int i = 0; i < PARTS; i++) {
        const int a = (i + 1) % PARTS;
        const int b = (i + 2) % PARTS;
        determinant += from[0][i] * (from[1][a] * from[2][b] - from[1][b] * from[2][a]);
        for (int j = 0; j < PARTS; j++) {
            const int c = (j + 1) % PARTS;
            const int d = (j + 2) % PARTS;
            to[j][i] = from[a][c] * from[b][d] - from[a][d] * from[b][c];
        }
    }
    if (!(fabs(determinant) > 1e-12 * from[0][0] * from[1][1] * from[2][2]))
        return false;
    for (int i = 0; i < PARTS; i++)
        for (int j = 0; j < PARTS; j++)
            to[i][j] /= determinant;
    return true;
}

/* One step of Levenberg and Marquardt: `damping` grows where it leads astray. */
static bool step(const struct sums *sums, double damping, const double part[PARTS], double next[PARTS])
{
    double normal[PARTS][PARTS];
    double inverse[PARTS][PARTS];
    memcpy(normal, sums->normal, sizeof normal);
    for (int k = 0; k < PARTS; k++)
        normal[k][k] = normal[k][k] * (1 + damping) + 1e-12;
    if (!invert(normal, inverse))
        return false;
    for (int k = 0; k < PARTS; k++) {
        next[k] = part[k];
        for (int j = 0; j < PARTS; j++)
            next[k] += inverse[k][j] * sums->gradient[j];
    }
    return true;
}

static void tell_uncertainty(const struct shape_task *task, const struct sums *sums, struct ramp_shape *shape)
{
    double inverse[PARTS][PARTS];
    double normal[PARTS][PARTS];
    memcpy(normal, sums->normal, sizeof normal);
    shape->count = sums->moved;
    shape->squares = sums->squares;
    shape->moved_squares = sums->moved_squares;
    shape->found = sums->moved > PARTS && invert(normal, inverse);
    if (!shape->found)
        return;
    const double freedom = (double)sums->moved - PARTS;
    const double prior = task->resolution > 0 ? 4 : 0;
    const double floor = task->resolution * task->resolution;
    const double variance = (sums->moved_squares + prior * floor) / (freedom + prior);
    const double times = student_975(freedom + prior);
    /* An end value that is a little different, and a start value, move the parts along. */
    double follows[PARTS];
    for (int k = 0; k < PARTS; k++) {
        follows[k] = 0;
        for (int j = 0; j < PARTS; j++)
            follows[k] += inverse[k][j] * sums->by_rise[j];
    }
    const double rate_follows = follows[TOOK] - shape->took_s / task->rise;
    shape->took_within_s =
        hypot(times * sqrt(variance * fabs(inverse[TOOK][TOOK])), SQUARE_ROOT_2 * task->level_within * rate_follows);
    shape->width_within_s = hypot(times * sqrt(variance * fabs(inverse[WIDTH][WIDTH])),
                                  SQUARE_ROOT_2 * task->level_within * follows[WIDTH]);
}

void ramp_shape_fit(const struct shape_task *task, enum shape_kind kind, const struct ramp_shape *first,
                    struct ramp_shape *shape)
{
    enum { ROUNDS = 60 };
    double part[PARTS] = {first->middle_s, first->took_s, first->width_s};
    const double least_s = 1e-3 * first->took_s;
    struct sums sums;
    double damping = 1e-2;
    keep_within(part, least_s);
    sum_up(task, kind, part, &sums);
    for (int round = 0; round < ROUNDS && damping < 1e8; round++) {
        double next[PARTS];
        struct sums there;
        if (!step(&sums, damping, part, next)) {
            damping *= 10;
            continue;
        }
        keep_within(next, least_s);
        sum_up(task, kind, next, &there);
        if (there.squares < sums.squares) {
            const bool settled = sums.squares - there.squares < 1e-7 * sums.squares;
            memcpy(part, next, sizeof part);
            sums = there;
            damping /= 10;
            if (settled)
                break;
        } else {
            damping *= 10;
        }
    }
    *shape = (struct ramp_shape){.middle_s = part[MIDDLE], .took_s = part[TOOK], .width_s = part[WIDTH]};
    tell_uncertainty(task, &sums, shape);
}
