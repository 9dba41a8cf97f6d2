/* SPDX-License-Identifier: MIT */
/* What stands between a drive and its acceptance: the points that are open, and the checks that no register shows. */
#include "types/acceptance.h"

#include <stdlib.h>

enum overall acceptance_overall(const struct acceptance *acceptance)
{
    for (size_t i = 0; i < acceptance->point_count; i++)
        if (acceptance->points[i].differs)
            return OVERALL_DIFFERS;
    return acceptance->point_count > 0 ? OVERALL_INCOMPLETE : OVERALL_AGREES;
}

void acceptance_free(struct acceptance *acceptance)
{
    for (size_t i = 0; i < acceptance->point_count; i++) {
        free(acceptance->points[i].about);
        free(acceptance->points[i].text);
    }
    free(acceptance->points);
    free(acceptance->checks);
    *acceptance = (struct acceptance){0};
}
