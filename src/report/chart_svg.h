/* SPDX-License-Identifier: MIT */
/* A chart as a figure of HTML with inline SVG, to be read on a screen and on grey paper. */
#ifndef ASLEFT_REPORT_CHART_SVG_H
#define ASLEFT_REPORT_CHART_SVG_H

#include "report/chart.h"

#include <stdio.h>

/* Writes <figure>: title, drawing and key. `number` counts the page's charts from 1, for their ids. */
void chart_svg(FILE *file, const struct chart *chart, unsigned number);

#endif
