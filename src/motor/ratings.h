/* SPDX-License-Identifier: MIT */
/* Preferred power ratings, which are names of sizes rather than rounded measurements. */
#ifndef ASLEFT_MOTOR_RATINGS_H
#define ASLEFT_MOTOR_RATINGS_H

#include "types/quantity.h"

/* The same size in the other unit, as a quantity: 1.5 kW for 2 hp, 2 hp for 1.5 kW. False where `power` is not such a
 * rating. */
bool rating_partner(const struct quantity *power, struct quantity *partner);

#endif
