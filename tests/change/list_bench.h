/* SPDX-License-Identifier: MIT */
/* A map and a sheet as text, and what a drive answered, for the tests of lists of writes. */
#ifndef ASLEFT_TESTS_CHANGE_LIST_BENCH_H
#define ASLEFT_TESTS_CHANGE_LIST_BENCH_H

#include "files/files_bench.h"

#include "bus/codec.h"
#include "bus/decode.h"
#include "bus/map_builder.h"
#include "change/code.h"
#include "change/list.h"
#include "motor/setpoints.h"
#include "verdict/judge.h"
#include "visit/recorded.h"

/* What every map here begins with; more top-level keys go before the parameters. */
#define LIST_MAP(keys, parameters)                                                                                     \
    "map: invented\n"                                                                                                  \
    "modbus: {count_from: 0, word_order: high-first, longest_write: 4}\n" keys "parameters:\n"                         \
    "  model: {at: holding 0, type: u16, means: drive.model}\n"                                                        \
    "  serial: {at: holding 1, type: text(4), means: drive.serial_number}\n"                                           \
    "  firmware: {at: holding 5, type: u16, means: drive.firmware}\n"                                                  \
    "  state: {at: input 0, type: bits, bits: {0: running, 1: reverse, 7: tripped}, means: live.state}\n" parameters

#define LIST_IDENTITY    "identity:\n  - {parameter: model, equals: 0x5143}\n"
#define LIST_KEYS        LIST_IDENTITY "keeps: at-once\n"
#define LIST_SHEET(rest) "tag: T-1\ndrive: {map: m.yaml}\nline: {host: h, unit: 4}\n" rest

struct list_bench {
    struct map map;
    struct sheet sheet;
    struct setpoints setpoints;
    struct readings readings;
    struct findings findings;
    struct change_order order;
    struct change_list list;
};

static inline size_t list_index(const struct list_bench *bench, const char *name)
{
    size_t index = map_find(&bench->map, name);
    if (index == PARAMETER_NOT_FOUND)
        fail_msg("no parameter %s", name);
    return index;
}

static inline void list_answer(struct list_bench *bench, const char *name, uint32_t raw)
{
    size_t index = list_index(bench, name);
    uint16_t words[2];
    codec_words(raw, bench->map.parameters[index].words, bench->map.modbus.word_order, words);
    reading_put(&bench->readings, index, words, bench->map.parameters[index].words);
}

static inline void list_answer_text(struct list_bench *bench, const char *name, const char *text)
{
    size_t index = list_index(bench, name), count = bench->map.parameters[index].words;
    uint16_t words[16] = {0};
    for (size_t i = 0; i < strlen(text); i++)
        words[i / 2] |= (uint16_t)(i % 2 == 0 ? text[i] << 8 : text[i]);
    reading_put(&bench->readings, index, words, count);
}

static inline void list_fail(struct list_bench *bench, const char *name, enum symptom_kind kind)
{
    struct reading *reading = &bench->readings.items[list_index(bench, name)];
    free(reading->raw);
    reading->raw = NULL;
    reading->raw_count = 0;
    reading->symptom = (struct symptom){.kind = kind};
}

/* Everything reads 0, but the drive is the right one, and stands. Warnings of the map pass: some of these maps lack
 * what proofread wants. */
static inline void list_open(struct list_bench *bench, const char *map, const char *sheet)
{
    struct problems problems = {0};
    *bench = (struct list_bench){0};
    bench_write("m.yaml", map);
    bench_write("s.yaml", sheet);
    bool fine = sheet_load("s.yaml", &bench->sheet, &bench->map, &problems);
    bench_print("error", &problems.errors);
    problems_free(&problems);
    assert_true(fine);
    setpoints_compute(&bench->sheet, &bench->map, &bench->setpoints);
    readings_init(&bench->readings, bench->map.count);
    for (size_t i = 0; i < bench->map.count; i++) {
        static const uint16_t zeros[16];
        reading_put(&bench->readings, i, zeros, bench->map.parameters[i].words);
    }
    list_answer(bench, "model", 0x5143);
    list_answer_text(bench, "serial", "S-100");
    list_answer(bench, "firmware", 102);
    bench->order = (struct change_order){.map = &bench->map,
                                         .sheet = &bench->sheet,
                                         .setpoints = &bench->setpoints,
                                         .unit = 4,
                                         .readings = &bench->readings,
                                         .findings = &bench->findings};
}

/* Decodes, judges, and makes the list anew. */
static inline const struct change_list *list_make(struct list_bench *bench)
{
    change_list_free(&bench->list);
    findings_free(&bench->findings);
    readings_decode(&bench->map, &bench->setpoints, &bench->readings);
    judge(&bench->map, &bench->setpoints, &bench->readings, &bench->findings);
    change_list_make(&bench->order, &bench->list);
    return &bench->list;
}

/* A record of what is read now. */
static inline struct record list_record(struct list_bench *bench)
{
    const struct recorder recorder = {.who = "w", .host = "h", .tool = "t", .line = "l"};
    struct record record;
    readings_decode(&bench->map, &bench->setpoints, &bench->readings);
    bench->readings.began_ms = 1769846400000; /* 2026-01-31 08:00 UTC, by date(1) */
    record_readings(&bench->map, &bench->sheet, bench->order.unit, &bench->readings, &recorder, RECORD_LEFT, &record);
    record.id.bytes[0] = 0xab;
    return record;
}

static inline void list_close(struct list_bench *bench)
{
    change_list_free(&bench->list);
    findings_free(&bench->findings);
    readings_free(&bench->readings);
    setpoints_free(&bench->setpoints);
    sheet_free(&bench->sheet);
    map_free(&bench->map);
}

static inline void list_print(const struct list_bench *bench)
{
    const struct change_list *list = &bench->list;
    for (size_t i = 0; i < list->count; i++)
        print_error("  change %s: %s to %s\n", bench->map.parameters[list->items[i].parameter].name,
                    list->items[i].now_shown, list->items[i].to_shown);
    for (size_t i = 0; i < list->refusal_count; i++)
        print_error("  refusal %s: %s\n", list->refusals[i].parameter == NULL ? "-" : list->refusals[i].parameter,
                    list->refusals[i].reason);
    bench_print("  left", &list->left);
}

/* The changes are exactly these, "name=raw" in their order, one space between; and nothing is refused. */
static inline void expect_changes(struct list_bench *bench, const char *expected)
{
    const struct change_list *list = list_make(bench);
    struct texts parts = {0};
    for (size_t i = 0; i < list->count; i++) {
        const struct change *item = &list->items[i];
        texts_add(&parts, text_format("%s=%u", bench->map.parameters[item->parameter].name,
                                      codec_raw(item->to, item->words, bench->map.modbus.word_order)));
    }
    char *all = texts_join(&parts, " ");
    bool fine = strcmp(all, expected) == 0 && list->refusal_count == 0;
    if (!fine) {
        print_error("expected: %s\n", expected);
        list_print(bench);
    }
    free(all);
    texts_free(&parts);
    assert_true(fine);
}

/* Exactly one refusal, about `parameter` (NULL: the whole), whose reason contains `part`; and so no code. */
static inline void expect_refusal(struct list_bench *bench, const char *parameter, const char *part)
{
    struct change_list *list = &bench->list;
    (void)list_make(bench);
    const struct refusal *refusal = list->refusals;
    bool fine = list->refusal_count == 1 && strstr(refusal->reason, part) != NULL &&
                (parameter == NULL ? refusal->parameter == NULL
                                   : refusal->parameter != NULL && strcmp(refusal->parameter, parameter) == 0);
    if (!fine) {
        print_error("expected of %s: %s\n", parameter == NULL ? "-" : parameter, part);
        list_print(bench);
    }
    assert_true(fine);
    code_make(&bench->order, "l", list, 1769846400000);
    assert_string_equal(list->code, "");
}

/* Something of what is left contains that. */
static inline void expect_left(struct list_bench *bench, const char *part)
{
    bool found = false;
    for (size_t i = 0; i < bench->list.left.count; i++)
        found = found || strstr(bench->list.left.items[i], part) != NULL;
    if (!found) {
        print_error("expected left: %s\n", part);
        list_print(bench);
    }
    assert_true(found);
}

#endif
