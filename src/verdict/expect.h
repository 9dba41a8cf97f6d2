/* SPDX-License-Identifier: MIT */
/* What a setpoint is in the terms of one register: its unit, its ramp's meaning, half of its step. */
#ifndef ASLEFT_VERDICT_EXPECT_H
#define ASLEFT_VERDICT_EXPECT_H

#include "types/finding.h"
#include "types/map.h"
#include "types/readings.h"
#include "types/setpoints.h"

struct expectation {
    const struct setpoint *setpoint; /* NULL: neither nameplate nor job say anything of this parameter */
    struct expected expected;        /* EXPECTED_NOTHING where it cannot be said; then `reason` tells why */
    enum unit unit;                  /* of expected */
    double step;                     /* of the register, in `unit`; 0 where it has none or a selector decides it */
    double allow_within;             /* of the setpoint, in `unit`; already in `expected` */
    char *reason;                    /* owned, or NULL */
};

/* Fills `expectation` for one parameter. `readings` may be NULL, before the drive is asked. Without a number that was
 * read, what a selector decides (unit, scale) is left as the setpoint has it, without the register's step. */
void expect_parameter(const struct map *map, size_t parameter, const struct setpoints *setpoints,
                      const struct readings *readings, struct expectation *expectation);

/* A number of that setpoint in the base unit of its dimension: what has no dimension of its own stands as written. */
double setpoint_base(const struct setpoint *setpoint, double value);

void expectation_free(struct expectation *expectation);

#endif
