/* SPDX-License-Identifier: MIT */
/* Comparing doubles: cmocka's own check converts to float and loses what ramps need. */
#ifndef ASLEFT_TESTS_SIM_NEAR_H
#define ASLEFT_TESTS_SIM_NEAR_H

#include <math.h>

/* `found` is within `tolerance` (0: exactly) of `expected`. */
#define assert_near(found, expected, tolerance) near_check((found), (expected), (tolerance), __FILE__, __LINE__)

static inline void near_check(double found, double expected, double tolerance, const char *file, int line)
{
    if (fabs(found - expected) <= tolerance)
        return;
    print_error("found %.9g, expected %.9g within %g\n", found, expected, tolerance);
    _fail(file, line);
}

#endif
