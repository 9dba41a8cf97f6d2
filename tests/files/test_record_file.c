/* SPDX-License-Identifier: MIT */
/* A record as a file: exactly what persons see, and what comes back is what went in, whatever a drive said. */
#include "files_bench.h"

#include "files/record_file.h"

#include <math.h>

static struct record_value *add_value(struct record *record, const char *parameter, uint16_t raw)
{
    record->values = memory_grow(record->values, record->value_count, sizeof *record->values);
    struct record_value *value = &record->values[record->value_count++];
    *value = (struct record_value){.parameter = text_copy(parameter), .number = NAN};
    value->raw = memory_new(1, sizeof *value->raw);
    value->raw[0] = raw;
    value->raw_count = 1;
    return value;
}

static struct record small_record(void)
{
    struct record record = {.kind = RECORD_LEFT,
                            .tag = text_copy("P-204"),
                            .service = text_copy("Brine transfer pump"),
                            .line = text_copy("192.0.2.10:502"),
                            .unit = 4,
                            .map_name = text_copy("quayside-compact"),
                            .who = text_copy("mb"),
                            .host = text_copy("panel-pc"),
                            .tool = text_copy("asleft 0.1.0"),
                            .began_ms = 1769846400000, /* 2026-01-31T08:00:00Z */
                            .ended_ms = 1769846401234,
                            .traffic = {.requests = 9, .retries = 1, .timeouts = 1}};
    for (size_t i = 0; i < sizeof record.id.bytes; i++)
        record.id.bytes[i] = (uint8_t)(0x1a + i);
    (void)snprintf(record.map_sha256, sizeof record.map_sha256, "%064d", 1);
    (void)snprintf(record.sheet_sha256, sizeof record.sheet_sha256, "%064d", 2);
    return record;
}

static void save(const struct record *record, const char *path)
{
    (void)unlink(path);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    record_write(file, record);
    assert_int_equal(ferror(file), 0);
    assert_int_equal(fclose(file), 0);
}

static struct record loaded(const char *path)
{
    struct record record = {0};
    struct problems problems = {0};
    bool fine = record_load(path, &record, &problems);
    bench_print("error", &problems.errors);
    problems_free(&problems);
    assert_true(fine);
    return record;
}

static void same_text(const char *a, const char *b)
{
    assert_int_equal(a == NULL, b == NULL);
    if (a != NULL)
        assert_string_equal(a, b);
}

static void same_value(const struct record_value *a, const struct record_value *b)
{
    same_text(a->parameter, b->parameter);
    same_text(a->means, b->means);
    same_text(a->unit, b->unit);
    same_text(a->shown, b->shown);
    same_text(a->symptom, b->symptom);
    assert_int_equal(a->raw_count, b->raw_count);
    if (a->raw_count > 0)
        assert_memory_equal(a->raw, b->raw, a->raw_count * sizeof *a->raw);
    assert_true(a->number == b->number || (isnan(a->number) && isnan(b->number)));
}

static void same_record(const struct record *a, const struct record *b)
{
    assert_true(record_id_equal(&a->id, &b->id));
    assert_int_equal(a->kind, b->kind);
    assert_int_equal(a->after_power_cycle, b->after_power_cycle);
    same_text(a->tag, b->tag);
    same_text(a->service, b->service);
    same_text(a->line, b->line);
    assert_int_equal(a->unit, b->unit);
    same_text(a->serial_number, b->serial_number);
    same_text(a->firmware, b->firmware);
    same_text(a->map_name, b->map_name);
    assert_string_equal(a->map_sha256, b->map_sha256);
    assert_string_equal(a->sheet_sha256, b->sheet_sha256);
    same_text(a->who, b->who);
    same_text(a->host, b->host);
    same_text(a->tool, b->tool);
    assert_true(a->began_ms == b->began_ms && a->ended_ms == b->ended_ms);
    assert_memory_equal(&a->traffic, &b->traffic, sizeof a->traffic);
    assert_int_equal(a->value_count, b->value_count);
    for (size_t i = 0; i < a->value_count; i++)
        same_value(&a->values[i], &b->values[i]);
}

static void comes_back(const struct record *record)
{
    save(record, "r.yaml");
    struct record again = loaded("r.yaml");
    same_record(record, &again);
    record_free(&again);
}

static void a_record_is_a_line_a_parameter(void **state)
{
    (void)state;
    struct record record = small_record();
    record.serial_number = text_copy("0042");
    struct record_value *value = add_value(&record, "motor_current", 600);
    value->shown = text_copy("6.00 A");
    value->number = 6;
    value->unit = text_copy("A");
    value->means = text_copy("motor.rated_current");
    add_value(&record, "start_source", 1)->shown = text_copy("terminals");
    value = add_value(&record, "spare", 0);
    value->raw_count = 0;
    value->symptom = text_copy("exception-02");
    save(&record, "r.yaml");
    size_t length = 0;
    char *text = bench_read("r.yaml", &length);
    assert_string_equal(text,
                        "record: 1a1b1c1d1e1f20212223242526272829\n"
                        "as: left\n"
                        "tag: P-204\n"
                        "service: Brine transfer pump\n"
                        "drive: {serial_number: '0042'}\n"
                        "map: {name: quayside-compact, sha256: "
                        "0000000000000000000000000000000000000000000000000000000000000001}\n"
                        "sheet: {sha256: 0000000000000000000000000000000000000000000000000000000000000002}\n"
                        "line: '192.0.2.10:502'\n"
                        "unit: 4\n"
                        "who: mb\n"
                        "host: panel-pc\n"
                        "tool: asleft 0.1.0\n"
                        "began: 2026-01-31T08:00:00.000Z\n"
                        "ended: 2026-01-31T08:00:01.234Z\n"
                        "traffic: {requests: 9, retries: 1, exceptions: 0, timeouts: 1, bad_frames: 0, discarded: 0}\n"
                        "values:\n"
                        "  motor_current: {raw: [600], value: 6.00 A, number: 6, unit: A, means: motor.rated_current}\n"
                        "  start_source: {raw: [1], value: terminals}\n"
                        "  spare: {symptom: exception-02}\n");
    free(text);
    comes_back(&record);
    record_free(&record);
}

static void every_kind_comes_back(void **state)
{
    (void)state;
    for (unsigned kind = 0; kind < RECORD_KINDS; kind++) {
        struct record record = small_record();
        record.kind = (enum record_kind)kind;
        record.after_power_cycle = record.kind == RECORD_LEFT;
        free(record.service);
        record.service = NULL;
        record.firmware = text_copy("1.4");
        comes_back(&record); /* without any values, too */
        record_free(&record);
    }
}

static const char *const hostile[] = {
    "",
    " ",
    " a ",
    "no",
    "~",
    "null",
    "-",
    "- a",
    "? a",
    "a: b",
    "a:b",
    "a # b",
    "#",
    "&a",
    "*a",
    "!a",
    "|",
    ">",
    "%a",
    "@",
    "`",
    "{a: 1}",
    "[1, 2]",
    "a, b]}",
    "'",
    "''",
    "it's",
    "\"",
    "\\",
    "\\x41",
    "\\\\",
    "a\\",
    "---",
    "...",
    "<<",
    "=1+1",
    "\t",
    "a\tb",
    "\n",
    "a\nb: c\n",
    "\r\n",
    "\x01\x1b[2J\x7f",
    "\xc2\x80\xc2\x85\xc2\x9f",         /* C1 */
    "\xc2\xa0",                         /* a space that is none to YAML */
    "\xe2\x80\xa8\xe2\x80\xa9",         /* line breaks to some readers */
    "\xe2\x80\xae.abc",                 /* written backwards */
    "\xef\xbb\xbf",                     /* a byte order mark */
    "\xef\xbf\xbe\xef\xbf\xbf",         /* no characters */
    "\xff\xfe\xc0\x80\xed\xa0\x80\xe2", /* no UTF-8 */
    "\xc3\xa4\xe2\x82\xac\xf0\x9f\x94\xa7 \xce\xa9",
    "010",
    "1:30",
    "1e3",
    "0x10",
    "2026-01-31",
};

static void whatever_a_drive_says_comes_back(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof hostile / sizeof *hostile; i++) {
        struct record record = small_record();
        record.serial_number = text_copy(hostile[i]);
        record.firmware = text_format("%s%s", hostile[i], hostile[i]);
        free(record.line);
        record.line = text_copy(hostile[i]);
        free(record.who);
        record.who = text_format("a%s", hostile[i]);
        struct record_value *value = add_value(&record, "model", 0xFFFF);
        value->shown = text_copy(hostile[i]);
        value->unit = text_copy(hostile[i]);
        comes_back(&record);
        record_free(&record);
    }
}

/* Every single byte, alone and between letters: what is no text of its own is escaped. */
static void every_byte_comes_back(void **state)
{
    (void)state;
    struct record record = small_record();
    for (unsigned byte = 1; byte < 256; byte++) {
        char *name = text_format("p%u", byte);
        struct record_value *value = add_value(&record, name, (uint16_t)byte);
        value->shown = text_format("%c", (char)byte);
        value->unit = text_format("a%cb", (char)byte);
        free(name);
    }
    comes_back(&record);
    record_free(&record);
}

static void numbers_come_back_exactly(void **state)
{
    (void)state;
    static const double numbers[] = {0,    -1,      0.1,  1.0 / 3, 2.9450000000000003,   65535, 4294967295.0,
                                     1e30, 1.5e-45, -273, 1e-300,  3.4028234663852886e38};
    struct record record = small_record();
    for (unsigned i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        char *name = text_format("p%u", i);
        add_value(&record, name, 7)->number = numbers[i];
        free(name);
    }
    comes_back(&record);
    record_free(&record);
}

static void long_texts_and_many_words_come_back(void **state)
{
    (void)state;
    struct record record = small_record();
    struct record_value *value = add_value(&record, "name", 0);
    free(value->raw);
    value->raw_count = 125;
    value->raw = memory_new(value->raw_count, sizeof *value->raw);
    char text[251];
    for (size_t i = 0; i < value->raw_count; i++)
        value->raw[i] = (uint16_t)(i * 521);
    memset(text, 0x1b, sizeof text - 1);
    text[sizeof text - 1] = '\0';
    value->shown = text_copy(text);
    comes_back(&record);
    record_free(&record);
}

/* All lines of two records but those at the top are equal where the values are. */
static void equal_values_give_equal_lines(void **state)
{
    (void)state;
    struct record one = small_record(), other = small_record();
    add_value(&one, "motor_current", 600)->shown = text_copy("6.00 A");
    add_value(&other, "motor_current", 600)->shown = text_copy("6.00 A");
    other.id.bytes[0] = 0xee;
    other.kind = RECORD_FOUND;
    other.began_ms += 86400000;
    other.ended_ms += 86400001;
    other.traffic.requests = 1000;
    save(&one, "one.yaml");
    save(&other, "other.yaml");
    size_t length = 0;
    char *first = bench_read("one.yaml", &length), *second = bench_read("other.yaml", &length);
    assert_string_not_equal(first, second);
    assert_string_equal(strstr(first, "\nvalues:\n"), strstr(second, "\nvalues:\n"));
    free(first);
    free(second);
    record_free(&one);
    record_free(&other);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_record_is_a_line_a_parameter),      cmocka_unit_test(every_kind_comes_back),
        cmocka_unit_test(whatever_a_drive_says_comes_back),    cmocka_unit_test(every_byte_comes_back),
        cmocka_unit_test(numbers_come_back_exactly),           cmocka_unit_test(equal_values_give_equal_lines),
        cmocka_unit_test(long_texts_and_many_words_come_back),
    };
    return cmocka_run_group_tests(tests, bench_open, bench_close);
}
