/* SPDX-License-Identifier: MIT */
/* Small records built by hand, and documents of them as text and as parsed JSON. */
#ifndef ASLEFT_TESTS_REPORT_KEPT_H
#define ASLEFT_TESTS_REPORT_KEPT_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/results.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

static inline struct record_id id_of(uint8_t first)
{
    return (struct record_id){{first, 0x2b, 0x3c, 0x4d, 0x5e}};
}

static inline struct record kept_record(enum record_kind kind, uint8_t id, int64_t began_ms)
{
    struct record record = {.id = id_of(id),
                            .kind = kind,
                            .tag = text_copy("P-204"),
                            .line = text_copy("192.0.2.10:502"),
                            .unit = 4,
                            .serial_number = text_copy("QC-0042"),
                            .map_name = text_copy("quayside-compact"),
                            .who = text_copy("mb"),
                            .host = text_copy("panel-pc"),
                            .tool = text_copy("asleft 0.1.0"),
                            .began_ms = began_ms,
                            .ended_ms = began_ms + 1234};
    (void)snprintf(record.map_sha256, sizeof record.map_sha256, "%064d", 1);
    (void)snprintf(record.sheet_sha256, sizeof record.sheet_sha256, "%064d", 2);
    return record;
}

/* A value that was read: a number where `unit` is given, else a word. It moves when the next one is added. */
static inline struct record_value *keep_value(struct record *record, const char *parameter, uint16_t raw, double number,
                                              const char *unit, const char *shown)
{
    record->values = memory_grow(record->values, record->value_count, sizeof *record->values);
    struct record_value *value = &record->values[record->value_count++];
    *value = (struct record_value){.parameter = text_copy(parameter),
                                   .number = unit == NULL ? NAN : number,
                                   .unit = text_copy(unit),
                                   .shown = text_copy(shown)};
    value->raw = memory_new(1, sizeof *value->raw);
    value->raw[0] = raw;
    value->raw_count = 1;
    return value;
}

static inline struct record_value *keep_unread(struct record *record, const char *parameter, const char *symptom)
{
    struct record_value *value = keep_value(record, parameter, 0, NAN, NULL, NULL);
    value->raw_count = 0;
    value->symptom = text_copy(symptom);
    return value;
}

static inline json_t *json_of(const char *text)
{
    json_t *json = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(json);
    return json;
}

/* Is the JSON under `key` exactly this? */
static inline void expect_json(const json_t *object, const char *key, const char *expected)
{
    char *text = json_dumps(json_object_get(object, key), JSON_COMPACT | JSON_ENCODE_ANY);
    assert_non_null(text);
    assert_string_equal(text, expected);
    free(text);
}

static inline const json_t *row_of(const json_t *object, const char *key, size_t index)
{
    const json_t *row = json_array_get(json_object_get(object, key), index);
    assert_non_null(row);
    return row;
}

#endif
