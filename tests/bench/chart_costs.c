/* SPDX-License-Identifier: MIT */
/* What a chart of 100,000 samples costs in time and bytes, as drawn and with every sample drawn; a line each:
 * milliseconds, bytes. */
#include "report/chart_svg.h"
#include "types/memory.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <time.h>

enum { SAMPLES = 100000 };

static double now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

/* A start within 10 s, and noise from the dice of Numerical Recipes' quick generator. */
static void run(double *x, double *measured, double *expected)
{
    uint32_t dice = 1;
    for (size_t i = 0; i < SAMPLES; i++) {
        dice = dice * 1664525U + 1013904223U;
        x[i] = (double)i * 20 / SAMPLES;
        expected[i] = fmin(x[i] * 6, 60);
        measured[i] = expected[i] + (double)(dice >> 16) / 65536;
    }
}

static void draw_every_sample(FILE *file, const double *x, const double *y)
{
    for (size_t i = 0; i < SAMPLES; i++)
        (void)fprintf(file, "%c%.1f %.1f", i == 0 ? 'M' : 'L', x[i] * 30, y[i] * 4);
}

int main(void)
{
    double *x = memory_new(SAMPLES, sizeof *x), *y = memory_new(SAMPLES, sizeof *y),
           *expected = memory_new(SAMPLES, sizeof *expected);
    run(x, y, expected);
    const struct chart_set sets[] = {{"measured", CHART_MEASURED, x, y, NULL, SAMPLES},
                                     {"expected", CHART_EXPECTED, x, expected, NULL, SAMPLES},
                                     {"read", CHART_POINTS, x, y, NULL, SAMPLES}};
    const struct chart chart = {"Start", {"time", "s"}, {"output frequency", "Hz"}, sets, 3, NULL, 0};
    for (int every = 0; every < 2; every++) {
        char *text = NULL;
        size_t size = 0;
        FILE *file = open_memstream(&text, &size);
        double began_ms = now_ms();
        if (every == 0) {
            chart_svg(file, &chart, 1);
        } else {
            for (size_t i = 0; i < sizeof sets / sizeof *sets; i++)
                draw_every_sample(file, sets[i].x, sets[i].y);
        }
        (void)fclose(file);
        (void)printf("%.1f,%zu\n", now_ms() - began_ms, size);
        free(text);
    }
    free(x);
    free(y);
    free(expected);
    return 0;
}
