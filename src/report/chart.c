/* SPDX-License-Identifier: MIT */
/* The words of a chart. */
#include "report/chart.h"

const char *chart_style_word(enum chart_style style)
{
    static const char *const words[] = {
        [CHART_MEASURED] = "measured", [CHART_EXPECTED] = "expected", [CHART_POINTS] = "points", [CHART_BAND] = "band"};
    return words[style];
}
