/* SPDX-License-Identifier: MIT */
/* A map, readings and setpoints to decode, and what may come of it. */
#ifndef ASLEFT_TESTS_BUS_DECODE_BENCH_H
#define ASLEFT_TESTS_BUS_DECODE_BENCH_H

#include "bus/decode.h"

#include "bus/map_builder.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* A map, its readings, and what the sheet asks. */
struct bench {
    struct map map;
    struct readings readings;
    struct setpoints setpoints;
};

static inline int set_up(void **state)
{
    struct bench *bench = memory_new(1, sizeof *bench);
    bench->map = map_start(ORDER_HIGH_FIRST);
    *state = bench;
    return 0;
}

static inline int tear_down(void **state)
{
    struct bench *bench = *state;
    readings_free(&bench->readings);
    map_free(&bench->map);
    free(bench->setpoints.items);
    free(bench);
    return 0;
}

static inline struct parameter *add(struct bench *bench, const char *name)
{
    return map_add(&bench->map, name, TABLE_HOLDING, (unsigned)bench->map.count, TYPE_U16);
}

/* The map is complete: one word for each parameter, in the map's order. */
static inline void put_words(struct bench *bench, const uint16_t *words)
{
    readings_init(&bench->readings, bench->map.count);
    for (size_t i = 0; i < bench->map.count; i++)
        reading_put_word(&bench->readings, i, words[i]);
}
#define PUT_WORDS(bench, ...) put_words((bench), (const uint16_t[]){__VA_ARGS__})

static const struct reading *decoded(struct bench *bench, size_t parameter)
{
    readings_decode(&bench->map, &bench->setpoints, &bench->readings);
    return &bench->readings.items[parameter];
}

static inline void expect_number(const struct reading *reading, double number, enum unit unit, double step)
{
    assert_int_equal(reading->symptom.kind, SYMPTOM_NONE);
    assert_int_equal(reading->value.kind, VALUE_NUMBER);
    assert_true(fabs(reading->value.number - number) <= 1e-12 * fabs(number));
    assert_int_equal(reading->unit, unit);
    assert_true(fabs(reading->step - step) <= 1e-12 * step);
}

static inline void expect_word(const struct reading *reading, const char *word)
{
    assert_int_equal(reading->symptom.kind, SYMPTOM_NONE);
    assert_int_equal(reading->value.kind, VALUE_WORD);
    assert_string_equal(reading->value.text, word);
}

static inline void expect_failed(const struct reading *reading, enum symptom_kind symptom, const char *remark)
{
    assert_int_equal(reading->symptom.kind, symptom);
    assert_int_equal(reading->value.kind, VALUE_NOTHING);
    assert_non_null(reading->remark);
    assert_string_equal(reading->remark, remark);
}

/* Two motor sets, chosen by the first parameter. */
static inline void add_sets(struct bench *bench)
{
    add(bench, "motor_set");
    for (unsigned set = 1; set <= 2; set++) {
        struct parameter *current = add(bench, set == 1 ? "current_1" : "current_2");
        current->set = set;
        current->means = MEANS_MOTOR_RATED_CURRENT;
        current->scale = 0.01;
        current->unit = UNIT_A;
    }
    bench->map.set_in_force = (struct set_in_force){.given = true, .parameter = 0};
}

static inline struct parameter *add_percent(struct bench *bench, const char *name, enum means of)
{
    struct parameter *percent = add(bench, name);
    percent->scale = 0.1;
    percent->unit = UNIT_PERCENT;
    percent->is_percent = true;
    percent->percent_of = of;
    return percent;
}

#endif
