/* SPDX-License-Identifier: MIT */
/* The document of a record: who made it, what changed since the one before, every value. */
#include "report/kept.h"

/* P-204 with six parameters: three that are watched, a live one, one that is a fact, and one that is neither. */
struct visited {
    struct result result;
    struct record record, against;
    struct record_report report;
};

static const size_t all[] = {0, 1, 2, 3, 4, 5};

static void put_number(struct readings *readings, size_t index, uint16_t raw, double number, enum unit unit)
{
    struct reading *reading = &readings->items[index];
    reading_put(readings, index, &raw, 1);
    reading->value = (struct value){.kind = VALUE_NUMBER, .number = number};
    reading->unit = unit;
    reading->step = 0.01;
}

static void add_parameters(struct map *map)
{
    static const struct {
        const char *name;
        enum means means;
        bool watch;
    } rows[] = {{"motor_current", MEANS_MOTOR_RATED_CURRENT, true},
                {"start_source", MEANS_CONTROL_START_SOURCE, true},
                {"boost", MEANS_NONE, true},
                {"current_now", MEANS_LIVE_OUTPUT_CURRENT, false},
                {"drive_current", MEANS_DRIVE_RATED_CURRENT, false},
                {"counter", MEANS_NONE, false}};
    for (unsigned i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct parameter *parameter = map_add(map, rows[i].name, TABLE_HOLDING, i, TYPE_U16);
        parameter->means = rows[i].means;
        parameter->watch = rows[i].watch;
    }
}

static void start(struct visited *visited)
{
    *visited = (struct visited){0};
    result_start(&visited->result);
    add_parameters(&visited->result.map);
    struct readings *readings = &visited->result.readings;
    readings->items = memory_new(6, sizeof *readings->items);
    readings->count = 6;
    put_number(readings, 0, 600, 6, UNIT_A);
    put_number(readings, 1, 2, 2, UNIT_NONE);
    readings->items[2].symptom = (struct symptom){.kind = SYMPTOM_EXCEPTION, .exception = 2};
    put_number(readings, 3, 123, 1.23, UNIT_A);
    put_number(readings, 4, 420, 4.2, UNIT_A);
    put_number(readings, 5, 99, 99, UNIT_NONE);
    visited->result.report.parameters = all;
    visited->result.report.parameter_count = 6;

    struct record *record = &visited->record, *against = &visited->against;
    *record = kept_record(RECORD_FOUND, 0x1a, 1769846400000);
    *against = kept_record(RECORD_LEFT, 0x9f, 1767168000000); /* 2025-12-31T08:00:00Z */
    keep_value(record, "motor_current", 600, 6, "A", "6.00 A");
    keep_value(against, "motor_current", 300, 3, "A", "3.00 A");
    keep_value(record, "start_source", 2, NAN, NULL, "network");
    keep_value(against, "start_source", 2, NAN, NULL, "network");
    keep_unread(record, "boost", "exception-02");
    keep_value(against, "boost", 7, 7, "V", "7 V");
    keep_value(record, "current_now", 123, 1.23, "A", "1.23 A");
    keep_value(against, "current_now", 0, 0, "A", "0.00 A");
    keep_value(record, "drive_current", 420, 4.2, "A", "4.20 A");
    keep_value(against, "drive_current", 210, 2.1, "A", "2.10 A");
    keep_value(record, "counter", 99, 99, "", "99");
    keep_value(against, "counter", 98, 98, "", "98");
    visited->report = (struct record_report){.visit = &visited->result.report, .record = record, .against = against};
}

static void finish(struct visited *visited)
{
    record_free(&visited->record);
    record_free(&visited->against);
    result_free(&visited->result);
}

static char *written(const struct visited *visited, const char *format)
{
    struct paper paper;
    paper_start(&paper, format, false, 80);
    doc_record(&paper.sink, &visited->report);
    char *text = text_copy(paper_read(&paper));
    paper_free(&paper);
    return text;
}

static const char page[] =
    "P-204: Brine transfer pump\n"
    "drive     quayside-compact, unit 4 on 192.0.2.10:502\n"
    "read      2026-01-31T08:00:00.000Z, 9 requests, 1 retry, 1 timeout\n"
    "recorded  as found, by mb at panel-pc with asleft 0.1.0\n"
    "serial    QC-0042\n"
    "\n"
    "CHANGED SINCE 2025-12-31T08:00:00.000Z\n"
    "  parameter                           was  now\n"
    "  motor_current                    3.00 A  6.00 A\n"
    "  drive_current                    2.10 A  4.20 A\n"
    "\n"
    "VALUES\n"
    "  parameter                         value  means                       raw (hex)\n"
    "  motor_current                    6.00 A  motor.rated_current         0258\n"
    "  start_source                       2.00  control.start_source        0002\n"
    "  boost                      exception-02                              -\n"
    "  current_now                      1.23 A  live.output_current         007B\n"
    "  drive_current                    4.20 A  drive.rated_current         01A4\n"
    "  counter                           99.00                              0063\n"
    "\n"
    "P-204: recorded as found, 5 values, 2 changed since 2025-12-31, 1 not read; record 1a2b3c4d\n";

/* What flows just now, what was not read, and what nobody has a name for has not changed. */
static void a_record_says_what_changed(void **state)
{
    (void)state;
    struct visited visited;
    start(&visited);
    char *text = written(&visited, "text");
    assert_string_equal(text, page);
    free(text);
    finish(&visited);
}

static void a_first_record_has_nothing_to_compare_with(void **state)
{
    (void)state;
    struct visited visited;
    start(&visited);
    visited.report.against = NULL;
    visited.record.kind = RECORD_LEFT;
    visited.record.after_power_cycle = true;
    visited.record.firmware = text_copy("1.4");
    char *text = written(&visited, "text");
    assert_null(strstr(text, "CHANGED"));
    assert_non_null(strstr(text, "recorded  as left after a power cycle, by mb at panel-pc with asleft 0.1.0\n"));
    assert_non_null(strstr(text, "firmware  1.4\n"));
    assert_non_null(
        strstr(text, "\n\nP-204: recorded as left after a power cycle, 5 values, 1 not read; record 1a2b3c4d\n"));
    free(text);
    text = written(&visited, "json");
    json_t *json = json_of(text);
    free(text);
    expect_json(json, "against", "null");
    expect_json(json, "changed", "[]");
    expect_json(json, "after_power_cycle", "true");
    expect_json(json, "firmware", "\"1.4\"");
    json_decref(json);
    finish(&visited);
}

static void a_record_is_json(void **state)
{
    (void)state;
    struct visited visited;
    start(&visited);
    char *text = written(&visited, "json");
    json_t *json = json_of(text);
    free(text);
    expect_json(json, "schema", "\"asleft/record/1\"");
    expect_json(json, "tag", "\"P-204\"");
    expect_json(json, "unit", "4");
    expect_json(json, "record", "\"1a2b3c4d5e0000000000000000000000\"");
    expect_json(json, "kind", "\"found\"");
    expect_json(json, "who", "\"mb\"");
    expect_json(json, "host", "\"panel-pc\"");
    expect_json(json, "tool", "\"asleft 0.1.0\"");
    expect_json(json, "serial_number", "\"QC-0042\"");
    expect_json(json, "firmware", "null");
    expect_json(json, "against",
                "{\"record\":\"9f2b3c4d5e0000000000000000000000\",\"kind\":\"left\","
                "\"began\":\"2025-12-31T08:00:00.000Z\"}");
    assert_int_equal(json_array_size(json_object_get(json, "changed")), 2);
    const json_t *changed = row_of(json, "changed", 0);
    expect_json(changed, "parameter", "\"motor_current\"");
    expect_json(changed, "was", "3.0");
    expect_json(changed, "now", "6.0");
    expect_json(changed, "unit", "\"A\"");
    expect_json(changed, "raw_was", "[300]");
    expect_json(changed, "raw_now", "[600]");
    assert_int_equal(json_array_size(json_object_get(json, "values")), 6);
    const json_t *value = row_of(json, "values", 2);
    expect_json(value, "parameter", "\"boost\"");
    expect_json(value, "value", "null");
    expect_json(value, "symptom", "\"exception-02\"");
    json_decref(json);
    finish(&visited);
}

static void a_record_is_rows_of_csv(void **state)
{
    (void)state;
    struct visited visited;
    start(&visited);
    char *text = written(&visited, "csv");
    static const char head[] =
        "tag,began,record,kind,parameter,means,value,unit,raw,symptom,remark\r\n"
        "P-204,2026-01-31T08:00:00.000Z,1a2b3c4d5e0000000000000000000000,found,motor_current,motor.rated_current,6,A,"
        "600,,\r\n"
        "P-204,2026-01-31T08:00:00.000Z,1a2b3c4d5e0000000000000000000000,found,start_source,control.start_source,2,,"
        "2,,\r\n"
        "P-204,2026-01-31T08:00:00.000Z,1a2b3c4d5e0000000000000000000000,found,boost,,,,,exception-02,\r\n";
    assert_memory_equal(text, head, strlen(head));
    free(text);
    finish(&visited);
}

static void a_record_is_a_page(void **state)
{
    (void)state;
    struct visited visited;
    start(&visited);
    char *text = written(&visited, "html");
    assert_non_null(strstr(text, "<article class=\"record\" id=\"document-1\">"));
    assert_non_null(strstr(
        text,
        "<h2 class=\"open\" id=\"document-1-1\">CHANGED SINCE 2025-12-31T08:00:00.000Z</h2>\n<table>\n<thead>\n"));
    assert_non_null(
        strstr(text, "<td class=\"found\"><bdi>3.00 A</bdi></td><td class=\"expected\"><bdi>6.00 A</bdi></td></tr>\n"));
    assert_non_null(strstr(text, "<p class=\"verdict open\">P-204: recorded as found, 5 values, 2 changed"));
    free(text);
    finish(&visited);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_record_says_what_changed), cmocka_unit_test(a_first_record_has_nothing_to_compare_with),
        cmocka_unit_test(a_record_is_json),           cmocka_unit_test(a_record_is_rows_of_csv),
        cmocka_unit_test(a_record_is_a_page),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
