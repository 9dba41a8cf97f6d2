/* SPDX-License-Identifier: MIT */
/* Arithmetic on numbers with the range that rounding leaves them. */
#include "motor/band.h"

#include "motor/quantity.h"

#include <math.h>

struct band band_unknown(void)
{
    return (struct band){NAN, NAN, NAN};
}

struct band band_exact(double value)
{
    return (struct band){value, value, value};
}

struct band band_of(const struct quantity *quantity)
{
    double value = quantity_base(quantity);
    double rounding = quantity_rounding_base(quantity);
    return (struct band){value - rounding, value, value + rounding};
}

bool band_known(struct band band)
{
    return !isnan(band.nominal);
}

struct band band_product(struct band a, struct band b)
{
    return (struct band){a.low * b.low, a.nominal * b.nominal, a.high * b.high};
}

struct band band_ratio(struct band a, struct band b)
{
    return (struct band){a.low / b.high, a.nominal / b.nominal, a.high / b.low};
}

struct band band_sum(struct band a, struct band b)
{
    return (struct band){a.low + b.low, a.nominal + b.nominal, a.high + b.high};
}

struct band band_difference(struct band a, struct band b)
{
    return (struct band){a.low - b.high, a.nominal - b.nominal, a.high - b.low};
}

struct band band_scaled(struct band band, double factor)
{
    return (struct band){band.low * factor, band.nominal * factor, band.high * factor};
}

bool band_overlaps(struct band a, double low, double high)
{
    const double slack = 1e-9; /* relative: many times what a few operations on doubles lose */
    return a.low <= high + slack * fabs(high) && a.high >= low - slack * fabs(low);
}
