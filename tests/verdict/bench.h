/* SPDX-License-Identifier: MIT */
/* A map, what is asked of it and what a drive answered, built by hand for the tests of judging. */
#ifndef ASLEFT_TESTS_VERDICT_BENCH_H
#define ASLEFT_TESTS_VERDICT_BENCH_H

#include "bus/decode.h"
#include "bus/map_builder.h"
#include "verdict/expect.h"
#include "verdict/judge.h"

#include <math.h>

struct bench {
    struct map map;
    struct setpoints setpoints;
    struct readings readings; /* started by the first bench_words */
    struct findings findings;
};

/* A four-pole 60 Hz motor of 1745 rpm, should a test need what is derived. */
static inline struct bench bench_start(void)
{
    return (struct bench){.map = map_start(ORDER_HIGH_FIRST),
                          .setpoints.derived = {.poles = 4,
                                                .synchronous_speed_rpm = 1800,
                                                .slip = 55.0 / 1800,
                                                .slip_hz = 60 * 55.0 / 1800,
                                                .rated_frequency_hz = 60,
                                                .rated_speed_rpm = 1745}};
}

/* A holding register that can be set; named p0, p1 ... in their order. */
static inline struct parameter *bench_register(struct bench *bench, enum means means, enum value_type type,
                                               double scale, enum unit unit)
{
    char *name = text_format("p%zu", bench->map.count);
    struct parameter *parameter = map_add(&bench->map, name, TABLE_HOLDING, 2 * (unsigned)bench->map.count, type);
    free(name);
    parameter->means = means;
    parameter->scale = scale;
    parameter->unit = unit;
    parameter->settable = SETTABLE_STOPPED;
    return parameter;
}

static inline struct setpoint *bench_setpoint(struct bench *bench, enum means means, enum setpoint_kind kind)
{
    struct setpoints *setpoints = &bench->setpoints;
    setpoints->items = memory_grow(setpoints->items, setpoints->count, sizeof *setpoints->items);
    struct setpoint *setpoint = &setpoints->items[setpoints->count++];
    *setpoint = (struct setpoint){.means = means,
                                  .kind = kind,
                                  .basis = text_copy("as stamped"),
                                  .source = SOURCE_NAMEPLATE,
                                  .stake = means_table[means].stake};
    return setpoint;
}

/* A band in base units, shown in `unit`. */
static inline struct setpoint *bench_band(struct bench *bench, enum means means, double low, double nominal,
                                          double high, enum unit unit)
{
    struct setpoint *setpoint = bench_setpoint(bench, means, SETPOINT_RANGE);
    setpoint->low = low;
    setpoint->nominal = nominal;
    setpoint->high = high;
    setpoint->unit = unit;
    return setpoint;
}

static inline struct setpoint *bench_word(struct bench *bench, enum means means, const char *word)
{
    struct setpoint *setpoint = bench_setpoint(bench, means, SETPOINT_WORD);
    setpoint->word = text_copy(word);
    setpoint->source = SOURCE_JOB;
    return setpoint;
}

/* What the drive answers for a parameter: one word, or two for a 32-bit type. */
static inline void bench_answer(struct bench *bench, size_t parameter, uint32_t raw)
{
    if (bench->readings.count == 0)
        readings_init(&bench->readings, bench->map.count);
    const uint16_t both[] = {(uint16_t)(raw >> 16), (uint16_t)raw};
    bool wide = bench->map.parameters[parameter].words == 2;
    reading_put(&bench->readings, parameter, wide ? both : both + 1, wide ? 2 : 1);
}

/* The parameter could not be read. */
static inline void bench_fail(struct bench *bench, size_t parameter, struct symptom symptom)
{
    if (bench->readings.count == 0)
        readings_init(&bench->readings, bench->map.count);
    bench->readings.items[parameter].asked = true;
    bench->readings.items[parameter].symptom = symptom;
}

static inline const struct finding *bench_judge(struct bench *bench)
{
    findings_free(&bench->findings);
    readings_decode(&bench->map, &bench->setpoints, &bench->readings);
    judge(&bench->map, &bench->setpoints, &bench->readings, &bench->findings);
    return bench->findings.items;
}

static inline void bench_free(struct bench *bench)
{
    findings_free(&bench->findings);
    readings_free(&bench->readings);
    setpoints_free(&bench->setpoints);
    map_free(&bench->map);
}

#define assert_near(found, expected) assert_true(fabs((found) - (expected)) < 1e-9)

#endif
