/* SPDX-License-Identifier: MIT */
/* The scale of a chart's axis: which stretch it shows, and where its ticks stand. */
#include "report/chart_scale.h"

#include "motor/quantity.h"

#include <math.h>
#include <stdio.h>

/* Single-precision registers end at 3.4e38. */
static const double greatest_shown = 1e100;

/* Of the greater end's size, a stretch below this is drawn as if there were none: its ticks could not be told apart in
 * the digits that a double has. */
static const double least_stretch = 1e-9;

bool scale_can_show(double value)
{
    return isfinite(value) && fabs(value) <= greatest_shown;
}

bool scale_can_show_sample(const struct chart_set *set, size_t index)
{
    return scale_can_show(set->x[index]) && scale_can_show(set->y[index]) &&
           (set->y_high == NULL || scale_can_show(set->y_high[index]));
}

/* 1, 2 or 5 times a power of ten, not less than `least`. */
static double step_above(double least)
{
    static const double leads[] = {1, 2, 5, 10};
    double power = pow(10, floor(log10(least)));
    for (size_t i = 0; i < sizeof leads / sizeof *leads; i++)
        if (leads[i] * power >= least * (1 - 1e-9))
            return leads[i] * power;
    return 10 * power;
}

/* 0 belongs to the axis where what is shown begins below this part of its greatest. */
static double take_in_zero(double low, double high)
{
    static const double near_zero = 0.5;
    return low > 0 && low < near_zero * high ? 0 : low;
}

struct scale scale_for(double low, double high, unsigned ticks, bool whole)
{
    double size = fmax(fabs(low), fabs(high));
    if (!(high - low > size * least_stretch)) {
        double half = size > 0 ? size * 0.05 : 0.5;
        low -= half;
        high += half;
    }
    if (whole && low > 0)
        low = take_in_zero(low, high);
    else if (whole && high < 0)
        high = -take_in_zero(-high, -low);
    struct scale scale = {low, high, step_above((high - low) / ticks)};
    if (whole) {
        scale.low = floor(low / scale.step + 1e-9) * scale.step;
        scale.high = ceil(high / scale.step - 1e-9) * scale.step;
    }
    return scale;
}

size_t scale_ticks(const struct scale *scale, double at[SCALE_MOST_TICKS])
{
    double first = ceil(scale->low / scale->step - 1e-9);
    size_t count = 0;
    while (count < SCALE_MOST_TICKS && (first + (double)count) * scale->step <= scale->high + scale->step * 1e-9) {
        at[count] = (first + (double)count) * scale->step;
        count++;
    }
    return count;
}

const char *scale_tick_text(const struct scale *scale, double at, char text[SCALE_TICK_TEXT])
{
    static const double many_digits = 1e7, many_decimals = 1e-6;
    double greatest = fmax(fabs(scale->low), fabs(scale->high));
    if (greatest < many_digits && scale->step >= many_decimals)
        return number_format(at, scale->step, text, SCALE_TICK_TEXT);
    int digits = (int)ceil(log10(greatest / scale->step)) + 1;
    (void)snprintf(text, SCALE_TICK_TEXT, "%.*g", digits, at);
    return text;
}

size_t scale_column(const struct scale *scale, double value, size_t columns)
{
    double part = (value - scale->low) / (scale->high - scale->low) * (double)columns;
    if (!(part > 0))
        return 0;
    return part >= (double)columns ? columns - 1 : (size_t)part;
}
