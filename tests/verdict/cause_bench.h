/* SPDX-License-Identifier: MIT */
/* A sheet, a map and what a drive answered, built by hand, and the causes that are found. */
#ifndef ASLEFT_TESTS_VERDICT_CAUSE_BENCH_H
#define ASLEFT_TESTS_VERDICT_CAUSE_BENCH_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "bus/codec.h"
#include "bus/decode.h"
#include "bus/map_builder.h"
#include "motor/quantity.h"
#include "motor/setpoints.h"
#include "verdict/cause.h"
#include "verdict/judge.h"

#include <math.h>
#include <stdio.h>

struct bench {
    struct sheet sheet;
    struct map map;
    struct setpoints setpoints;
    struct readings readings;
    struct findings findings;
    char *remark;
};

/* "3.0 A" of whichever dimension; not given for NULL. */
static inline struct quantity quantity_of(const char *text)
{
    struct quantity quantity = {0};
    for (int dimension = DIMENSION_NONE; text != NULL && dimension <= DIMENSION_SPEED_RATE; dimension++)
        if (quantity_parse(text, (enum dimension)dimension, &quantity, NULL))
            return quantity;
    assert_null(text);
    return quantity;
}

static inline struct plate_column *bench_column(struct bench *bench, const char *power, const char *voltage,
                                                const char *current, const char *frequency, const char *speed)
{
    struct motor *motor = &bench->sheet.motor;
    motor->given = true;
    motor->columns = memory_grow(motor->columns, motor->column_count, sizeof *motor->columns);
    struct plate_column *column = &motor->columns[motor->column_count++];
    *column = (struct plate_column){.voltage_low = quantity_of(voltage),
                                    .voltage_high = quantity_of(voltage),
                                    .frequency = quantity_of(frequency),
                                    .power = quantity_of(power),
                                    .current = quantity_of(current),
                                    .speed = quantity_of(speed)};
    return column;
}

static inline void bench_connect(struct bench *bench, size_t column)
{
    bench->sheet.motor.connected = column;
    bench->sheet.motor.connected_given = true;
}

/* 2 hp, 230/460 V, connected for 460 V, on 480 V. */
static inline struct bench bench_nema(void)
{
    struct bench bench = {.map = map_start(ORDER_HIGH_FIRST)};
    bench_column(&bench, "2 hp", "230 V", "6.0 A", "60 Hz", "1745 rpm");
    bench_column(&bench, "2 hp", "460 V", "3.0 A", "60 Hz", "1745 rpm");
    bench_connect(&bench, 1);
    bench.sheet.supply = (struct supply){true, quantity_of("480 V"), quantity_of("60 Hz"), 3};
    return bench;
}

/* 3 kW, 230 V delta, 400 V star, and 460 V star at 60 Hz; connected in delta, on 230 V. */
static inline struct bench bench_iec(void)
{
    struct bench bench = {.map = map_start(ORDER_HIGH_FIRST)};
    bench_column(&bench, "3 kW", "230 V", "10.6 A", "50 Hz", "1430 rpm")->connection = CONNECTION_DELTA;
    bench_column(&bench, "3 kW", "400 V", "6.1 A", "50 Hz", "1430 rpm")->connection = CONNECTION_STAR;
    bench_column(&bench, "3.6 kW", "460 V", "6.2 A", "60 Hz", "1730 rpm")->connection = CONNECTION_STAR;
    bench_connect(&bench, 0);
    bench.sheet.supply = (struct supply){true, quantity_of("230 V"), quantity_of("50 Hz"), 3};
    return bench;
}

/* 1.5 kW, one column. */
static inline struct bench bench_plain(void)
{
    struct bench bench = {.map = map_start(ORDER_HIGH_FIRST)};
    bench_column(&bench, "1.5 kW", "400 V", "3.4 A", "50 Hz", "1420 rpm");
    return bench;
}

/* The next holding register; it can be set. The pointer holds until the next one is added. */
static inline struct parameter *bench_register(struct bench *bench, const char *name, enum means means,
                                               enum value_type type, double scale, enum unit unit)
{
    unsigned at = 0x100;
    if (bench->map.count > 0) {
        const struct parameter *last = &bench->map.parameters[bench->map.count - 1];
        at = last->at.at + last->words;
    }
    struct parameter *parameter = map_add(&bench->map, name, TABLE_HOLDING, at, type);
    parameter->means = means;
    parameter->scale = scale;
    parameter->unit = unit;
    parameter->settable = SETTABLE_STOPPED;
    return parameter;
}

static inline void bench_setting(struct bench *bench, enum means means, enum setting_kind kind, const char *low,
                                 const char *high)
{
    struct sheet *sheet = &bench->sheet;
    sheet->settings = memory_grow(sheet->settings, sheet->setting_count, sizeof *sheet->settings);
    sheet->settings[sheet->setting_count++] = (struct setting){.name = text_copy(means_table[means].name),
                                                               .means = means,
                                                               .kind = kind,
                                                               .low = quantity_of(low),
                                                               .high = quantity_of(high)};
}

static inline void bench_word(struct bench *bench, enum means means, const char *word)
{
    bench_setting(bench, means, SETTING_WORD, NULL, NULL);
    bench->sheet.settings[bench->sheet.setting_count - 1].word = text_copy(word);
}

static inline void bench_answer(struct bench *bench, size_t parameter, uint32_t raw)
{
    if (bench->readings.count == 0)
        readings_init(&bench->readings, bench->map.count);
    uint16_t words[2];
    unsigned count = bench->map.parameters[parameter].words;
    codec_words(raw, count, bench->map.modbus.word_order, words);
    reading_put(&bench->readings, parameter, words, count);
}

/* Judges and explains. */
static inline void bench_explain(struct bench *bench)
{
    setpoints_free(&bench->setpoints);
    findings_free(&bench->findings);
    free(bench->remark);
    setpoints_compute(&bench->sheet, &bench->map, &bench->setpoints);
    readings_decode(&bench->map, &bench->setpoints, &bench->readings);
    judge(&bench->map, &bench->setpoints, &bench->readings, &bench->findings);
    bench->remark = causes_find(&bench->map, &bench->sheet, &bench->setpoints, &bench->readings, &bench->findings);
}

static inline const struct finding *bench_finding(const struct bench *bench, const char *name)
{
    for (size_t i = 0; i < bench->findings.count; i++) {
        const struct finding *finding = &bench->findings.items[i];
        if (strcmp(finding->parameter == NULL ? finding->means : finding->parameter, name) == 0)
            return finding;
    }
    fail_msg("no finding about %s", name);
    return NULL;
}

/* That cause with that text, and no other that fits as well unless `also` is one. */
static inline void assert_cause(const struct bench *bench, const char *name, enum cause_kind kind, const char *text,
                                enum cause_kind also)
{
    const struct finding *finding = bench_finding(bench, name);
    assert_string_equal(cause_word(finding->cause.kind), cause_word(kind));
    if (text == NULL)
        assert_null(finding->cause.text);
    else
        assert_string_equal(finding->cause.text, text);
    assert_string_equal(cause_word(finding->also_count == 0 ? CAUSE_NONE : finding->also[0].kind), cause_word(also));
    assert_true(finding->also_count <= 1);
}

static inline void bench_free(struct bench *bench)
{
    free(bench->remark);
    findings_free(&bench->findings);
    readings_free(&bench->readings);
    setpoints_free(&bench->setpoints);
    map_free(&bench->map);
    sheet_free(&bench->sheet);
}

#endif
