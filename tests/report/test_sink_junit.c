/* SPDX-License-Identifier: MIT */
/* JUnit XML: a suite a drive, a case a verdict, and no more than both common schemas take. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/results.h"

#include <stdlib.h>
#include <string.h>

static const char *const columns[] = {NULL};

/* The report of one finding of each kind. The caller's. */
static char *written_report(void)
{
    struct result result;
    struct paper paper;
    result_start(&result);
    result_findings(&result);
    result.report.remark = "the drive was exchanged";
    paper_start(&paper, "junit", false, 80);
    doc_verify(&paper.sink, &result.report, false);
    (void)paper_read(&paper);
    result_free(&result);
    return paper.text;
}

static void a_whole_report(void **state)
{
    (void)state;
    char *text = written_report();
    assert_string_equal(
        text,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
        "<testsuites>\n"
        "<testsuite id=\"0\" package=\"asleft.verify\" name=\"P-204\" hostname=\"localhost\" "
        "timestamp=\"2026-01-31T08:00:00\" tests=\"9\" failures=\"3\" errors=\"1\" time=\"1.234\">\n"
        "<properties>\n"
        "<property name=\"service\" value=\"Brine transfer pump\"/>\n"
        "<property name=\"line\" value=\"192.0.2.10:502\"/>\n"
        "<property name=\"unit\" value=\"4\"/>\n"
        "<property name=\"map.name\" value=\"quayside-compact\"/>\n"
        "<property name=\"map.sha256\" value=\"0000000000000000000000000000000000000000000000000000000000000001\"/>\n"
        "<property name=\"sheet.sha256\" value=\"0000000000000000000000000000000000000000000000000000000000000002\"/>\n"
        "<property name=\"verdict\" value=\"differs\"/>\n"
        "</properties>\n"
        "<testcase classname=\"P-204\" name=\"start_source\" time=\"0.000\">\n"
        "<failure message=\"found network, should be terminals\" type=\"differs\">"
        "the job: control.start_source: terminals\nat stake: people\n</failure>\n"
        "</testcase>\n"
        "<testcase classname=\"P-204\" name=\"motor_current\" time=\"0.000\">\n"
        "<failure message=\"found 6.000 A, should be 3.000 A (2.948 to 3.052)\" type=\"differs\">"
        "read as: 150.0 % of 4.00 A\nnameplate current in the 460 V column: 3.0 A\nat stake: equipment\n</failure>\n"
        "</testcase>\n"
        "<testcase classname=\"P-204\" name=\"sheet.motor.rated_current\" time=\"0.000\">\n"
        "<failure message=\"says 3 A, should be 2.63 A (2.58 to 2.68)\" type=\"implausible\">"
        "2 hp at 460 V with 86.5 % and 82 % take 2.63 A; look at current, efficiency and power factor on the plate\n"
        "at stake: equipment\n</failure>\n"
        "</testcase>\n"
        "<testcase classname=\"P-204\" name=\"acceleration_time\" time=\"0.000\">\n"
        "<error message=\"locked\" type=\"locked\">"
        "raise the level at the keypad (access_level is 0)\nthe job: at least 10 s from 0 Hz to 60 Hz\n"
        "at stake: process\n</error>\n"
        "</testcase>\n"
        "<testcase classname=\"P-204\" name=\"restart_after_power_return\" time=\"0.000\">\n"
        "<skipped message=\"the sheet does not say\"/>\n"
        "</testcase>\n"
        "<testcase classname=\"P-204\" name=\"rated_speed\" time=\"0.000\"/>\n"
        "<testcase classname=\"P-204\" name=\"stop_method\" time=\"0.000\"/>\n"
        "<testcase classname=\"P-204\" name=\"no_load_current\" time=\"0.000\">\n"
        "<skipped message=\"an estimate only: 30 % to 60 % of 3.0 A for four poles\"/>\n"
        "</testcase>\n"
        "<testcase classname=\"P-204\" name=\"access_code\" time=\"0.000\">\n"
        "<skipped message=\"the sheet does not say\"/>\n"
        "</testcase>\n"
        "<system-out>P-204 differs: 2 differ, 1 contradiction, 1 not read; 2 agree, 3 not checked</system-out>\n"
        "<system-err>the drive was exchanged</system-err>\n"
        "</testsuite>\n"
        "</testsuites>\n");
    free(text);
}

/* A document of one row, as it would come with nothing but what is given. */
static void one_row(struct sink *sink, const char *tag, const char *name_key, const char *name, const char *verdict)
{
    sink_begin(sink, "asleft/witness/1", columns);
    sink_field(sink, "tag", ROLE_DATA, NULL, cell_text(tag));
    sink_open(sink, "measures", GROUP_SIDE_ROWS);
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, name_key, ROLE_DATA, NULL, cell_text(name));
    sink_field(sink, "verdict", ROLE_DATA, NULL, cell_text(verdict));
    sink_close(sink);
    sink_close(sink);
    sink_end(sink);
}

static size_t count(const char *text, const char *word)
{
    size_t found = 0;
    for (; (text = strstr(text, word)) != NULL; text += strlen(word))
        found++;
    return found;
}

static void suites_are_numbered_and_counted_anew(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "junit", false, 80);
    one_row(&paper.sink, "P-1", "parameter", "a", "differs");
    one_row(&paper.sink, "P-2", "means", "motor.rated_current", "agrees");
    one_row(&paper.sink, "P-3", "name", "acceleration_time", "unread");
    const char *text = paper_read(&paper);
    assert_int_equal(count(text, "<?xml "), 1);
    assert_int_equal(count(text, "<testsuites>"), 1);
    assert_int_equal(count(text, "</testsuites>\n"), 1);
    static const char *const due[] = {
        "<testsuite id=\"0\" package=\"asleft.witness\" name=\"P-1\" hostname=\"localhost\" "
        "timestamp=\"1970-01-01T00:00:00\" tests=\"1\" failures=\"1\" errors=\"0\" time=\"0.000\">\n",
        "<testsuite id=\"1\" package=\"asleft.witness\" name=\"P-2\" hostname=\"localhost\" "
        "timestamp=\"1970-01-01T00:00:00\" tests=\"1\" failures=\"0\" errors=\"0\" time=\"0.000\">\n",
        "<testsuite id=\"2\" package=\"asleft.witness\" name=\"P-3\" hostname=\"localhost\" "
        "timestamp=\"1970-01-01T00:00:00\" tests=\"1\" failures=\"0\" errors=\"1\" time=\"0.000\">\n",
        "<properties>\n</properties>\n<testcase classname=\"P-2\" name=\"motor.rated_current\" time=\"0.000\"/>\n",
        "name=\"acceleration_time\" time=\"0.000\">\n<error message=\"not read\" type=\"unread\">at stake: "
        "-\n</error>\n",
    };
    for (size_t i = 0; i < sizeof due / sizeof *due; i++)
        assert_non_null(strstr(text, due[i]));
    paper_free(&paper);
}

static void cases_of_one_name_are_told_apart(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "junit", false, 80);
    struct sink *sink = &paper.sink;
    sink_begin(sink, "asleft/verify/1", columns);
    sink_open(sink, "findings", GROUP_ROWS);
    for (int i = 0; i < 3; i++) {
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field(sink, "parameter", ROLE_DATA, NULL, cell_text("a"));
        sink_field(sink, "verdict", ROLE_DATA, NULL, cell_text("agrees"));
        sink_close(sink);
    }
    sink_open(sink, NULL, GROUP_OBJECT); /* a row without a verdict is no case */
    sink_field(sink, "parameter", ROLE_DATA, NULL, cell_text("b"));
    sink_close(sink);
    sink_close(sink);
    sink_end(sink);
    const char *text = paper_read(&paper);
    assert_int_equal(count(text, "<testcase "), 3);
    assert_int_equal(count(text, " name=\"a\""), 1);
    assert_int_equal(count(text, " name=\"a (2)\""), 1);
    assert_int_equal(count(text, " name=\"a (3)\""), 1);
    assert_non_null(strstr(text, " tests=\"3\" "));
    paper_free(&paper);
}

/* Where many are unread for one reason, persons are told once; each case still has the reason. */
static void what_persons_are_told_once_stands_in_each_case(void **state)
{
    (void)state;
    struct result result;
    struct paper paper;
    result_start(&result);
    for (int i = 0; i < 4; i++) {
        struct finding *finding =
            add_finding(&result.findings, "a", MEANS_MOTOR_RATED_CURRENT, VERDICT_UNREAD, "basis");
        finding->symptom = (struct symptom){.kind = SYMPTOM_NO_REPLY};
        finding->remark = text_copy("three requests");
    }
    paper_start(&paper, "junit", false, 80);
    doc_verify(&paper.sink, &result.report, false);
    const char *text = paper_read(&paper);
    assert_int_equal(count(text, "<error message=\"no-reply\" type=\"no-reply\">three requests\nbasis\n"
                                 "at stake: equipment\n</error>\n"),
                     4);
    paper_free(&paper);
    result_free(&result);
}

/* XML 1.0, productions 2 and 14: no control characters, no U+FFFE, no "]]>" in text. */
static void text_of_a_drive_stays_text(void **state)
{
    (void)state;
    static const char hostile[] = "</failure><x a='\"&\">]]>\001\n\xff\xef\xbf\xbf";
    static const char harmless[] =
        "&lt;/failure&gt;&lt;x a=&#39;&quot;&amp;&quot;&gt;]]&gt;\\x01\\x0A\\xFF\xEF\xBF\xBD";
    struct result result;
    struct paper paper;
    result_start(&result);
    free(result.sheet.tag);
    free(result.sheet.service);
    result.sheet.tag = text_copy(hostile);
    result.sheet.service = text_copy(hostile);
    struct finding *finding =
        add_finding(&result.findings, hostile, MEANS_MOTOR_RATED_CURRENT, VERDICT_DIFFERS, hostile);
    finding->found = (struct value){.kind = VALUE_TEXT, .text = text_copy(hostile)};
    finding->remark = text_copy(hostile);
    result.report.remark = hostile;
    paper_start(&paper, "junit", false, 80);
    doc_verify(&paper.sink, &result.report, false);
    const char *text = paper_read(&paper);
    assert_null(strstr(text, "<x"));
    assert_null(strstr(text, "]]>"));
    assert_null(strchr(text, '\001'));
    assert_null(strchr(text, '\xff'));
    /* suite, service, class, case, found, remark, basis, both outputs */
    assert_int_equal(count(text, harmless), 9);
    paper_free(&paper);
    result_free(&result);
}

static void without_a_document_there_is_an_empty_list(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "junit", false, 80);
    assert_string_equal(paper_read(&paper),
                        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites>\n</testsuites>\n");
    paper_free(&paper);
}

static void a_dropped_result_is_not_ended(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "junit", false, 80);
    one_row(&paper.sink, "P-1", "parameter", "a", "agrees");
    sink_begin(&paper.sink, "asleft/verify/1", columns); /* and cut off within a document */
    sink_open(&paper.sink, "findings", GROUP_ROWS);
    sink_drop(&paper.sink);
    assert_null(strstr(paper_read(&paper), "</testsuites>"));
    paper_free(&paper);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_whole_report),
        cmocka_unit_test(suites_are_numbered_and_counted_anew),
        cmocka_unit_test(cases_of_one_name_are_told_apart),
        cmocka_unit_test(what_persons_are_told_once_stands_in_each_case),
        cmocka_unit_test(text_of_a_drive_stays_text),
        cmocka_unit_test(without_a_document_there_is_an_empty_list),
        cmocka_unit_test(a_dropped_result_is_not_ended),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
