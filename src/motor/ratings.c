/* SPDX-License-Identifier: MIT */
/* Preferred power ratings, which are names of sizes rather than rounded measurements. */
#include "motor/ratings.h"

#include "motor/quantity.h"

#include <math.h>
#include <stddef.h>

struct pair {
    double hp, kw;
};

/* Source: 10 CFR 431.25(a) Table 1 pairs 1 hp (0.75 kW) to 60 hp (45 kW) and 100 hp (75 kW). The rest is from memory
 * of preferred ratings, unverified: 0.5, 0.75, 75, 125, 150 and 200 hp, and 0.25 and 0.33 hp. */
static const struct pair pairs[] = {
    {0.25, 0.18}, {0.33, 0.25}, {0.5, 0.37}, {0.75, 0.55}, {1, 0.75}, {1.5, 1.1}, {2, 1.5},   {3, 2.2},
    {5, 3.7},     {7.5, 5.5},   {10, 7.5},   {15, 11},     {20, 15},  {25, 18.5}, {30, 22},   {40, 30},
    {50, 37},     {60, 45},     {75, 55},    {100, 75},    {125, 90}, {150, 110}, {200, 150},
};

static bool is_nearly(double value, double rating)
{
    return fabs(value - rating) < 1e-6 * rating;
}

bool rating_partner(const struct quantity *power, struct quantity *partner)
{
    if (!power->given || unit_dimension(power->unit) != DIMENSION_POWER)
        return false;
    bool in_hp = power->unit == UNIT_HP;
    double value = in_hp ? power->value : unit_from_base(quantity_base(power), UNIT_KW);
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        if (is_nearly(value, in_hp ? pairs[i].hp : pairs[i].kw)) {
            *partner = (struct quantity){
                .given = true, .value = in_hp ? pairs[i].kw : pairs[i].hp, .unit = in_hp ? UNIT_KW : UNIT_HP};
            return true;
        }
    return false;
}
