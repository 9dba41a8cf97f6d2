/* SPDX-License-Identifier: MIT */
/* Keeps a witnessed run of 100,000 moments for the tag in the store of that path; says what drawing every sample would
 * cost, in milliseconds and bytes. */
#include "store/store.h"
#include "types/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { MOMENTS = 100000, APART_US = 1000, HALF_US = 400 };

/* Rest, up to 60 Hz within 2 s, down again within 3 s before the end, rest. */
static double frequency_hz(double at_s)
{
    const double end_s = MOMENTS * APART_US * 1e-6;
    return fmax(0, fmin(60, fmin((at_s - 1) * 30, (end_s - 2 - at_s) * 20)));
}

static double state(double at_s)
{
    double hz = frequency_hz(at_s);
    return hz >= 60 ? RUN_RUNNING | RUN_AT_SPEED : hz > 0 ? RUN_RUNNING : RUN_STOPPED;
}

/* Rounded as a register would, with a ripple so that no sample is like its neighbour. */
static double rippled(double value, double at_s, double step)
{
    return round((value + 5 * step * sin(at_s * 1000)) / step) * step;
}

static double current_a(double at_s)
{
    double hz = frequency_hz(at_s);
    return hz > 0 ? rippled(1.7 + hz / 60, at_s, 0.01) : 0;
}

static double voltage_v(double at_s)
{
    return round(frequency_hz(at_s) * 4600 / 60) / 10;
}

static double bus_v(double at_s)
{
    return rippled(678.8 - frequency_hz(at_s) / 3, at_s, 0.1);
}

static const struct {
    enum means means;
    const char *parameter;
    double step;
    double (*value)(double at_s);
} sampled[] = {{MEANS_LIVE_STATE, "run_state", 0, state},
               {MEANS_LIVE_OUTPUT_FREQUENCY, "output_frequency", 0.01, frequency_hz},
               {MEANS_LIVE_OUTPUT_CURRENT, "output_current", 0.01, current_a},
               {MEANS_LIVE_OUTPUT_VOLTAGE, "output_voltage", 0.1, voltage_v},
               {MEANS_LIVE_DC_BUS_VOLTAGE, "dc_bus_voltage", 0.1, bus_v}};
enum { SERIES = sizeof sampled / sizeof *sampled };

static void fill(struct samples *samples)
{
    samples->items = memory_new(SERIES, sizeof *samples->items);
    samples->count = SERIES;
    for (size_t i = 0; i < SERIES; i++) {
        samples->items[i] = (struct series){.means = sampled[i].means,
                                            .parameter = text_copy(sampled[i].parameter),
                                            .step = sampled[i].step,
                                            .obtained = OBTAINED_MEASURED,
                                            .refreshed_every_s = 0.005};
        for (int64_t k = 0; k < MOMENTS; k++) {
            const struct sample sample = {k * APART_US, HALF_US, sampled[i].value((double)(k * APART_US) * 1e-6)};
            series_add(&samples->items[i], &sample);
        }
    }
}

static double now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

/* The four charts of a document: three over time, one of voltage over frequency. */
static void draw_every_sample(const struct samples *samples)
{
    char *text = NULL;
    size_t size = 0;
    FILE *file = open_memstream(&text, &size);
    double began_ms = now_ms();
    for (size_t i = 1; i < SERIES; i++)
        for (size_t k = 0; k < samples->items[i].count; k++)
            (void)fprintf(file, "%c%.1f %.1f", k == 0 ? 'M' : 'L', (double)samples->items[i].items[k].at_us * 6e-6,
                          samples->items[i].items[k].value * 0.5);
    (void)fclose(file);
    (void)printf("%.1f,%zu\n", now_ms() - began_ms, size);
    free(text);
}

int main(int argc, char **argv)
{
    if (argc != 3)
        return 64;
    struct error error = {0};
    struct store *store = NULL;
    struct samples samples = {.began_ms = 1770000000000, .ended_ms = 1770000000000 + MOMENTS * APART_US / 1000};
    fill(&samples);
    struct record record = {.kind = RECORD_WITNESSED,
                            .tag = text_copy(argv[2]),
                            .line = text_copy("127.0.0.1:502"),
                            .unit = 4,
                            .map_name = text_copy("bench-witnessed"),
                            .who = text_copy("bench"),
                            .host = text_copy("bench"),
                            .tool = text_copy("bench"),
                            .began_ms = samples.began_ms,
                            .ended_ms = samples.ended_ms};
    bool kept = store_open(argv[1], STORE_KEEP, &store, &error) && store_put_run(store, &record, &samples, &error);
    store_close(store);
    if (kept)
        draw_every_sample(&samples);
    else
        (void)fprintf(stderr, "%s\n", error.text);
    record_free(&record);
    samples_free(&samples);
    return kept ? 0 : 1;
}
