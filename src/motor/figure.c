/* SPDX-License-Identifier: MIT */
/* Numbers as texts within a sentence. */
#include "motor/figure.h"

#include "motor/quantity.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct figure figure(double value)
{
    enum { SIGNIFICANT = 4 };
    struct figure figure;
    double step = 1;
    if (value != 0 && isfinite(value) && fabs(value) < 1000)
        step = pow(10, floor(log10(fabs(value))) - (SIGNIFICANT - 1));
    (void)number_format(isfinite(value) ? round(value / step) * step : value, 0, figure.text, sizeof figure.text);
    return figure;
}

struct figure figure_in(double base, enum unit unit)
{
    struct figure text = figure(unit_from_base(base, unit));
    size_t used = strlen(text.text);
    if (unit != UNIT_NONE)
        (void)snprintf(text.text + used, sizeof text.text - used, " %s", unit_name(unit));
    return text;
}

struct figure figure_written(const struct quantity *quantity)
{
    struct figure figure;
    (void)quantity_format(quantity, figure.text, sizeof figure.text);
    return figure;
}
