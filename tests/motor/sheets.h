/* SPDX-License-Identifier: MIT */
/* Sheets and maps built in code, for the tests of motor/. */
#ifndef ASLEFT_TESTS_MOTOR_SHEETS_H
#define ASLEFT_TESTS_MOTOR_SHEETS_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "motor/quantity.h"
#include "motor/setpoints.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* One column of a plate as texts; NULL for what it does not say. */
struct plate_text {
    const char *power, *voltage, *current, *frequency, *speed, *efficiency, *power_factor;
};

/* "3.0 A" of whichever dimension; not given for NULL. */
static inline struct quantity quantity_of(const char *text)
{
    struct quantity quantity = {0};
    if (text == NULL)
        return quantity;
    for (int dimension = DIMENSION_NONE; dimension <= DIMENSION_SPEED_RATE; dimension++)
        if (quantity_parse(text, (enum dimension)dimension, &quantity, NULL))
            return quantity;
    fail_msg("\"%s\" is no quantity", text);
    return quantity;
}

static inline void sheet_add_column(struct sheet *sheet, const struct plate_text *text)
{
    struct motor *motor = &sheet->motor;
    motor->given = true;
    motor->columns = memory_grow(motor->columns, motor->column_count, sizeof *motor->columns);
    motor->columns[motor->column_count++] = (struct plate_column){
        .voltage_low = quantity_of(text->voltage),
        .voltage_high = quantity_of(text->voltage),
        .frequency = quantity_of(text->frequency),
        .power = quantity_of(text->power),
        .current = quantity_of(text->current),
        .speed = quantity_of(text->speed),
        .power_factor = quantity_of(text->power_factor),
        .efficiency = quantity_of(text->efficiency),
    };
}

static inline void sheet_connect(struct sheet *sheet, size_t column)
{
    sheet->motor.connected = column;
    sheet->motor.connected_given = true;
}

static inline struct setting *sheet_add_setting(struct sheet *sheet, enum means means, enum setting_kind kind,
                                                const char *low, const char *high)
{
    sheet->settings = memory_grow(sheet->settings, sheet->setting_count, sizeof *sheet->settings);
    struct setting *setting = &sheet->settings[sheet->setting_count++];
    setting->name = text_copy(means_table[means].name);
    setting->means = means;
    setting->kind = kind;
    setting->low = quantity_of(low);
    setting->high = quantity_of(high);
    return setting;
}

static inline void sheet_add_allowance(struct sheet *sheet, enum means means, const char *within, const char *because)
{
    sheet->allow = memory_grow(sheet->allow, sheet->allow_count, sizeof *sheet->allow);
    sheet->allow[sheet->allow_count++] =
        (struct allowance){.means = means, .within = quantity_of(within), .because = text_copy(because)};
}

static inline struct parameter *map_add(struct map *map, const char *name, enum means means)
{
    map->parameters = memory_grow(map->parameters, map->count, sizeof *map->parameters);
    struct parameter *parameter = &map->parameters[map->count++];
    parameter->name = text_copy(name);
    parameter->scale = 1;
    parameter->means = means;
    return parameter;
}

/* A map that has every means once. */
static inline void map_add_all(struct map *map)
{
    for (int means = MEANS_NONE + 1; means < MEANS_COUNT; means++)
        (void)map_add(map, means_table[means].name, (enum means)means);
}

static inline struct parameter *map_parameter(struct map *map, enum means means)
{
    return &map->parameters[map_find_means(map, means, 0)];
}

/* A sheet, a map with every means, and what is computed from them. */
struct job {
    struct sheet sheet;
    struct map map;
    struct setpoints setpoints;
};

/* The commissioning example: 2 hp, 230/460 V plate, connected for 460 V. */
static const struct plate_text pump_columns[2] = {
    {"2 hp", "230 V", "6.0 A", "60 Hz", "1745 rpm", "86.5 %", "72 %"},
    {"2 hp", "460 V", "3.0 A", "60 Hz", "1745 rpm", "86.5 %", "72 %"},
};

static inline struct job *job_of(const struct plate_text *columns, size_t count, size_t connected)
{
    struct job *job = memory_new(1, sizeof *job);
    for (size_t i = 0; i < count; i++)
        sheet_add_column(&job->sheet, &columns[i]);
    sheet_connect(&job->sheet, connected);
    map_add_all(&job->map);
    return job;
}

static inline struct job *pump_job(void)
{
    return job_of(pump_columns, 2, 1);
}

static inline void job_compute(struct job *job)
{
    setpoints_free(&job->setpoints);
    setpoints_compute(&job->sheet, &job->map, &job->setpoints);
}

static inline void job_free(struct job *job)
{
    setpoints_free(&job->setpoints);
    map_free(&job->map);
    sheet_free(&job->sheet);
    free(job);
}

static inline const struct setpoint *job_setpoint(const struct job *job, enum means means)
{
    const struct setpoint *setpoint = setpoints_find(&job->setpoints, means);
    if (setpoint == NULL)
        fail_msg("no setpoint for %s", means_table[means].name);
    return setpoint;
}

static inline void assert_near(double found, double expected, double within)
{
    if (!(fabs(found - expected) <= within))
        fail_msg("%.12g is not within %g of %.12g", found, within, expected);
}

static inline void assert_range(const struct setpoint *setpoint, double low, double nominal, double high)
{
    const double slack = 1e-9;
    assert_int_equal(setpoint->kind, SETPOINT_RANGE);
    assert_near(setpoint->low, low, slack * fabs(low));
    assert_near(setpoint->nominal, nominal, slack * fabs(nominal));
    assert_near(setpoint->high, high, slack * fabs(high));
}

static inline void assert_missing(const struct setpoint *setpoint, const char *reason)
{
    assert_int_equal(setpoint->kind, SETPOINT_MISSING);
    if (strstr(setpoint->basis, reason) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", setpoint->basis, reason);
}

static inline void print_findings(const struct findings *findings)
{
    for (size_t i = 0; i < findings->count; i++)
        print_message("%s: %s\n", findings->items[i].means, findings->items[i].basis);
}

static inline void assert_plausible(const struct job *job)
{
    print_findings(&job->setpoints.implausible);
    assert_int_equal(job->setpoints.implausible.count, 0);
}

static inline const struct finding *assert_one_of(const struct findings *findings, enum verdict verdict,
                                                  const char *means, const char *says)
{
    if (findings->count != 1)
        print_findings(findings);
    assert_int_equal(findings->count, 1);
    const struct finding *finding = &findings->items[0];
    assert_int_equal(finding->verdict, verdict);
    assert_string_equal(finding->means, means);
    if (strstr(finding->basis, says) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", finding->basis, says);
    return finding;
}

/* Exactly one finding, about that, saying that. */
static inline const struct finding *assert_one_finding(const struct job *job, const char *means, const char *says)
{
    return assert_one_of(&job->setpoints.implausible, VERDICT_IMPLAUSIBLE, means, says);
}

/* Exactly one doubt, which an estimate raises and which contradicts nothing. */
static inline const struct finding *assert_one_doubt(const struct job *job, const char *means, const char *says)
{
    assert_plausible(job);
    return assert_one_of(&job->setpoints.doubts, VERDICT_UNCHECKED, means, says);
}

static inline void assert_no_doubt(const struct job *job)
{
    print_findings(&job->setpoints.doubts);
    assert_int_equal(job->setpoints.doubts.count, 0);
}

/* A setting that is a word of the map's choices. */
static inline void sheet_add_word(struct sheet *sheet, enum means means, const char *word)
{
    sheet_add_setting(sheet, means, SETTING_WORD, NULL, NULL)->word = text_copy(word);
}

static inline void sheet_add_number(struct sheet *sheet, enum means means, const char *quantity)
{
    (void)sheet_add_setting(sheet, means, SETTING_QUANTITY, quantity, quantity);
}

#endif
