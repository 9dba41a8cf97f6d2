/* SPDX-License-Identifier: MIT */
/* The document of a history: records, changes, and a write that did not come to its end. */
#include "report/kept.h"

static void tell(struct sink *sink, const struct texts *interrupted)
{
    struct record left = kept_record(RECORD_LEFT, 0x9f, 1767168000000);   /* 2025-12-31T08:00:00Z */
    struct record found = kept_record(RECORD_FOUND, 0x1a, 1769846400000); /* 2026-01-31T08:00:00Z */
    left.after_power_cycle = true;
    left.firmware = text_copy("1.4");
    keep_value(&left, "motor_current", 300, 3, "A", "3.00 A");
    keep_value(&found, "motor_current", 600, 6, "A", "6.00 A");
    keep_value(&left, "start_source", 1, NAN, NULL, "terminals");
    keep_unread(&found, "start_source", "exception-02");
    keep_value(&left, "spare", 7, NAN, NULL, "=7");
    struct history_doc doc;
    doc_history_begin(&doc, sink, "P-204");
    doc_history_record(&doc, &left);
    doc_history_record(&doc, &found);
    doc_history_change(&doc, &left, NULL, &left.values[0]);
    doc_history_change(&doc, &found, &left.values[0], &found.values[0]);
    doc_history_change(&doc, &found, &left.values[1], &found.values[1]);
    doc_history_change(&doc, &found, &left.values[2], NULL);
    doc_history_end(&doc, interrupted);
    record_free(&left);
    record_free(&found);
}

static char *written(const char *format, const struct texts *interrupted)
{
    struct paper paper;
    paper_start(&paper, format, false, 80);
    tell(&paper.sink, interrupted);
    char *text = text_copy(paper_read(&paper));
    paper_free(&paper);
    return text;
}

static void a_history_is_told_in_order(void **state)
{
    (void)state;
    char *text = written("text", NULL);
    assert_string_equal(text, "history of P-204\n"
                              "\n"
                              "RECORDS\n"
                              "  at                                   as  by                          record\n"
                              "  2025-12-31T08:00:00.000Z           left  mb at panel-pc              9f2b3c4d\n"
                              "      with asleft 0.1.0, after a power cycle, serial number QC-0042, firmware\n"
                              "      1.4\n"
                              "  2026-01-31T08:00:00.000Z          found  mb at panel-pc              1a2b3c4d\n"
                              "      with asleft 0.1.0, serial number QC-0042\n"
                              "\n"
                              "CHANGES\n"
                              "  parameter                           was  now                         seen by\n"
                              "  motor_current                     (new)  3.00 A                      9f2b3c4d\n"
                              "      2025-12-31T08:00:00.000Z, left\n"
                              "  motor_current                    3.00 A  6.00 A                      1a2b3c4d\n"
                              "      2026-01-31T08:00:00.000Z, found\n"
                              "  start_source                  terminals  exception-02                1a2b3c4d\n"
                              "      2026-01-31T08:00:00.000Z, found\n"
                              "  spare                                =7  (not asked)                 1a2b3c4d\n"
                              "      2026-01-31T08:00:00.000Z, found\n"
                              "\n"
                              "P-204: 2 records, 4 changes\n");
    free(text);
}

static void an_interrupted_write_is_told_loudly(void **state)
{
    (void)state;
    struct texts lines = {0};
    texts_add(&lines, text_copy("a write by mb was interrupted"));
    texts_add(&lines, text_copy("put back what was there: asleft restore P-204.yaml 1a2b3c4d"));
    char *text = written("text", &lines);
    assert_non_null(strstr(text, "\n"
                                 "A WRITE DID NOT COME TO ITS END (2)\n"
                                 "  1       a write by mb was interrupted\n"
                                 "  2       put back what was there: asleft restore P-204.yaml 1a2b3c4d\n"
                                 "\n"
                                 "P-204: 2 records, 4 changes; a write did not come to its end\n"));
    free(text);
    text = written("json", &lines);
    json_t *json = json_of(text);
    free(text);
    expect_json(json, "interrupted",
                "[\"a write by mb was interrupted\",\"put back what was there: asleft restore P-204.yaml 1a2b3c4d\"]");
    json_decref(json);
    texts_free(&lines);
}

static void a_history_is_json(void **state)
{
    (void)state;
    char *text = written("json", NULL);
    json_t *json = json_of(text);
    free(text);
    expect_json(json, "schema", "\"asleft/history/1\"");
    expect_json(json, "tag", "\"P-204\"");
    expect_json(json, "interrupted", "[]");
    assert_int_equal(json_array_size(json_object_get(json, "records")), 2);
    const json_t *record = row_of(json, "records", 0);
    expect_json(record, "record", "\"9f2b3c4d5e0000000000000000000000\"");
    expect_json(record, "kind", "\"left\"");
    expect_json(record, "after_power_cycle", "true");
    expect_json(record, "began", "\"2025-12-31T08:00:00.000Z\"");
    expect_json(record, "ended", "\"2025-12-31T08:00:01.234Z\"");
    expect_json(record, "firmware", "\"1.4\"");
    expect_json(record, "unit", "4");
    const json_t *first = row_of(json, "changes", 0), *second = row_of(json, "changes", 1);
    expect_json(first, "was", "null");
    expect_json(first, "raw_was", "null");
    expect_json(first, "now", "3.0");
    expect_json(second, "was", "3.0");
    expect_json(second, "now", "6.0");
    expect_json(second, "unit", "\"A\"");
    expect_json(second, "raw_was", "[300]");
    expect_json(second, "raw_now", "[600]");
    expect_json(second, "record", "\"1a2b3c4d5e0000000000000000000000\"");
    expect_json(second, "kind", "\"found\"");
    expect_json(second, "time", "\"2026-01-31T08:00:00.000Z\"");
    const json_t *third = row_of(json, "changes", 2), *fourth = row_of(json, "changes", 3);
    expect_json(third, "was", "\"terminals\"");
    expect_json(third, "now", "null");
    expect_json(third, "symptom", "\"exception-02\"");
    expect_json(third, "symptom_was", "null");
    expect_json(fourth, "parameter", "\"spare\"");
    expect_json(fourth, "raw_now", "null");
    json_decref(json);
}

static void changes_are_rows_of_csv(void **state)
{
    (void)state;
    char *text = written("csv", NULL);
    assert_string_equal(text, "tag,time,parameter,means,was,now,unit,unit_was,kind,record,raw_was,raw_now,symptom_was,"
                              "symptom\r\n"
                              "P-204,2025-12-31T08:00:00.000Z,motor_current,,,3,A,,left,"
                              "9f2b3c4d5e0000000000000000000000,,300,,\r\n"
                              "P-204,2026-01-31T08:00:00.000Z,motor_current,,3,6,A,A,found,"
                              "1a2b3c4d5e0000000000000000000000,300,600,,\r\n"
                              "P-204,2026-01-31T08:00:00.000Z,start_source,,terminals,,,,found,"
                              "1a2b3c4d5e0000000000000000000000,1,,,exception-02\r\n"
                              "P-204,2026-01-31T08:00:00.000Z,spare,,'=7,,,,found,"
                              "1a2b3c4d5e0000000000000000000000,7,,,\r\n");
    free(text);
}

static void an_empty_history_is_whole(void **state)
{
    (void)state;
    static const char *const formats[] = {"text", "json", "html"};
    for (size_t i = 0; i < sizeof formats / sizeof *formats; i++) {
        struct paper paper;
        struct history_doc doc;
        paper_start(&paper, formats[i], false, 80);
        doc_history_begin(&doc, &paper.sink, "P-204");
        doc_history_end(&doc, NULL);
        const char *text = paper_read(&paper);
        if (i == 0)
            assert_string_equal(text, "history of P-204\n\nP-204: 0 records, 0 changes\n");
        if (i == 1)
            assert_string_equal(text,
                                "{\"schema\":\"asleft/history/1\",\"tag\":\"P-204\",\"records\":[],\"changes\":[],"
                                "\"interrupted\":[]}\n");
        if (i == 2)
            assert_non_null(strstr(text, "<p class=\"verdict good\">P-204: 0 records, 0 changes</p>\n</article>\n"));
        paper_free(&paper);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_history_is_told_in_order), cmocka_unit_test(an_interrupted_write_is_told_loudly),
        cmocka_unit_test(a_history_is_json),          cmocka_unit_test(changes_are_rows_of_csv),
        cmocka_unit_test(an_empty_history_is_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
