/* SPDX-License-Identifier: MIT */
/* A number with the range that rounding leaves it, and arithmetic that carries the range: each result is evaluated at
 * the ends. For positive numbers; NAN stands for "not known" and passes through. Pure functions. */
#ifndef ASLEFT_MOTOR_BAND_H
#define ASLEFT_MOTOR_BAND_H

#include "types/quantity.h"

#include <stdbool.h>

struct band {
    double low, nominal, high;
};

struct band band_unknown(void);
struct band band_exact(double value);

/* A quantity in its base unit, half of its last digit to either side; unknown where it is not given. */
struct band band_of(const struct quantity *quantity);

bool band_known(struct band band);

struct band band_product(struct band a, struct band b);
struct band band_ratio(struct band a, struct band b); /* b > 0 */
struct band band_sum(struct band a, struct band b);
struct band band_difference(struct band a, struct band b);
struct band band_scaled(struct band band, double factor); /* factor >= 0 */

/* Do they have a number in common, up to what arithmetic on doubles loses? False where either is unknown. */
bool band_overlaps(struct band a, double low, double high);

#endif
