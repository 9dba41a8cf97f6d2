/* SPDX-License-Identifier: MIT */
/* OpenMetrics: gauges a drive, each metric together and once, values in base units. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/results.h"

#include <stdlib.h>
#include <string.h>

static size_t count(const char *text, const char *word)
{
    size_t found = 0;
    for (; (text = strstr(text, word)) != NULL; text += strlen(word))
        found++;
    return found;
}

static void a_whole_report(void **state)
{
    (void)state;
    struct result result;
    struct paper paper;
    result_start(&result);
    result_findings(&result);
    paper_start(&paper, "openmetrics", false, 80);
    doc_verify(&paper.sink, &result.report, false);
    assert_string_equal(
        paper_read(&paper),
        "# HELP asleft_drive_info Which drive it is; the value is always 1.\n"
        "# TYPE asleft_drive_info gauge\n"
        "asleft_drive_info{tag=\"P-204\",service=\"Brine transfer pump\",line=\"192.0.2.10:502\",unit=\"4\","
        "map=\"quayside-compact\"} 1\n"
        "# HELP asleft_drive_verdict 1 for the verdict of the last run, 0 for the others.\n"
        "# TYPE asleft_drive_verdict gauge\n"
        "asleft_drive_verdict{tag=\"P-204\",verdict=\"agrees\"} 0\n"
        "asleft_drive_verdict{tag=\"P-204\",verdict=\"differs\"} 1\n"
        "asleft_drive_verdict{tag=\"P-204\",verdict=\"incomplete\"} 0\n"
        "# HELP asleft_findings How many findings the last run has, by verdict.\n"
        "# TYPE asleft_findings gauge\n"
        "asleft_findings{tag=\"P-204\",verdict=\"agrees\"} 2\n"
        "asleft_findings{tag=\"P-204\",verdict=\"differs\"} 2\n"
        "asleft_findings{tag=\"P-204\",verdict=\"implausible\"} 1\n"
        "asleft_findings{tag=\"P-204\",verdict=\"unchecked\"} 3\n"
        "asleft_findings{tag=\"P-204\",verdict=\"unread\"} 1\n"
        "# HELP asleft_last_run_timestamp_seconds When the last run ended, since 1970 UTC.\n"
        "# TYPE asleft_last_run_timestamp_seconds gauge\n"
        "# UNIT asleft_last_run_timestamp_seconds seconds\n"
        "asleft_last_run_timestamp_seconds{tag=\"P-204\"} 1769846401.234\n"
        "# HELP asleft_read_duration_seconds How long reading the drive took.\n"
        "# TYPE asleft_read_duration_seconds gauge\n"
        "# UNIT asleft_read_duration_seconds seconds\n"
        "asleft_read_duration_seconds{tag=\"P-204\"} 1.234\n"
        "# HELP asleft_traffic What the last run did on the line, by kind.\n"
        "# TYPE asleft_traffic gauge\n"
        "asleft_traffic{tag=\"P-204\",kind=\"bad_frames\"} 0\n"
        "asleft_traffic{tag=\"P-204\",kind=\"discarded\"} 0\n"
        "asleft_traffic{tag=\"P-204\",kind=\"exceptions\"} 0\n"
        "asleft_traffic{tag=\"P-204\",kind=\"requests\"} 9\n"
        "asleft_traffic{tag=\"P-204\",kind=\"retries\"} 1\n"
        "asleft_traffic{tag=\"P-204\",kind=\"timeouts\"} 1\n"
        "# HELP asleft_deviation 1 for each parameter that differs.\n"
        "# TYPE asleft_deviation gauge\n"
        "asleft_deviation{tag=\"P-204\",parameter=\"motor_current\",means=\"motor.rated_current\","
        "at_stake=\"equipment\"} 1\n"
        "asleft_deviation{tag=\"P-204\",parameter=\"start_source\",means=\"control.start_source\","
        "at_stake=\"people\"} 1\n"
        "# HELP asleft_found_amperes Value found in a parameter that differs.\n"
        "# TYPE asleft_found_amperes gauge\n"
        "# UNIT asleft_found_amperes amperes\n"
        "asleft_found_amperes{tag=\"P-204\",parameter=\"motor_current\",means=\"motor.rated_current\"} 6\n"
        "# HELP asleft_expected_amperes Value that a parameter that differs should have.\n"
        "# TYPE asleft_expected_amperes gauge\n"
        "# UNIT asleft_expected_amperes amperes\n"
        "asleft_expected_amperes{tag=\"P-204\",parameter=\"motor_current\",means=\"motor.rated_current\"} 3\n"
        "# EOF\n");
    paper_free(&paper);
    result_free(&result);
}

/* Writes the report of a drive in which one parameter differs. */
static void one_deviation(struct sink *sink, const char *tag, const char *parameter, double found, enum unit unit,
                          double nominal)
{
    struct result result;
    result_start(&result);
    free(result.sheet.tag);
    result.sheet.tag = text_copy(tag);
    struct finding *finding =
        add_finding(&result.findings, parameter, MEANS_MOTOR_RATED_POWER, VERDICT_DIFFERS, "basis");
    has_number(finding, found, 1, unit, 0.1);
    should_be(finding, 0, nominal, 9, SOURCE_JOB);
    doc_verify(sink, &result.report, false);
    result_free(&result);
}

static void values_are_in_base_units(void **state)
{
    (void)state;
    static const char labels[] = "{tag=\"P-1\",parameter=\"a\",means=\"motor.rated_power\"}";
    const struct {
        enum unit unit;
        double found, nominal;
        const char *ending, *found_shown, *expected_shown;
    } rows[] = {
        {UNIT_KW, 1.5, 2.2, "_watts", "1500", "2200"},
        {UNIT_PERCENT, 150, 86.5, "_ratio", "1.5", "0.865"},
        {UNIT_MIN, 2, 0.5, "_seconds", "120", "30"},
        {UNIT_KHZ, 4, 8, "_hertz", "4000", "8000"},
        {UNIT_RPM, 1745, 1750, "_rpm", "1745", "1750"},
        {UNIT_DEGC, 40, 50, "_celsius", "40", "50"},
        {UNIT_HZ_PER_S, 6, -2.5, "_hertz_per_second", "6", "-2.5"},
        {UNIT_NONE, 7, 8, "", "7", "8"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct paper paper;
        paper_start(&paper, "openmetrics", false, 80);
        one_deviation(&paper.sink, "P-1", "a", rows[i].found, rows[i].unit, rows[i].nominal);
        const char *text = paper_read(&paper);
        char *found = text_format("\nasleft_found%s%s %s\n", rows[i].ending, labels, rows[i].found_shown);
        char *expected = text_format("\nasleft_expected%s%s %s\n", rows[i].ending, labels, rows[i].expected_shown);
        assert_non_null(strstr(text, found));
        assert_non_null(strstr(text, expected));
        free(found);
        free(expected);
        paper_free(&paper);
    }
}

static void without_a_nominal_value_none_is_given(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "openmetrics", false, 80);
    one_deviation(&paper.sink, "P-1", "a", 5, UNIT_S, NAN);
    const char *text = paper_read(&paper);
    assert_non_null(strstr(text, "asleft_found_seconds{"));
    assert_null(strstr(text, "asleft_expected"));
    assert_null(strstr(text, "nan"));
    paper_free(&paper);
}

/* OpenMetrics 1.0: the lines of a metric stand together, its type and help once; a series stands once. */
static void metrics_of_many_drives_stand_together(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "openmetrics", false, 80);
    for (int i = 0; i < 40; i++) {
        char tag[16];
        (void)snprintf(tag, sizeof tag, "P-%d", i % 30); /* ten of them twice */
        one_deviation(&paper.sink, tag, i < 30 ? "first" : "second", i, i % 2 == 0 ? UNIT_A : UNIT_V, 3);
    }
    const char *text = paper_read(&paper);
    assert_int_equal(count(text, "# TYPE "), count(text, "# HELP "));
    assert_int_equal(count(text, "# TYPE asleft_findings gauge\n"), 1);
    assert_int_equal(count(text, "\nasleft_findings{"), 30 * 5);
    assert_int_equal(count(text, "\nasleft_found_amperes{"), 15);
    assert_int_equal(count(text, "\nasleft_found_volts{"), 15);
    /* of a drive that was visited twice, what it was the last time */
    assert_int_equal(count(text, "tag=\"P-9\",parameter=\"first\""), 0);
    assert_int_equal(count(text, "tag=\"P-9\",parameter=\"second\""), 3);
    assert_int_equal(count(text, "# EOF\n"), 1);
    assert_string_equal(text + strlen(text) - strlen("\n# EOF\n"), "\n# EOF\n");

    char family[64] = "";
    for (const char *line = text; *line != '\0'; line = strchr(line, '\n') + 1) {
        if (strncmp(line, "# TYPE ", 7) == 0)
            (void)snprintf(family, sizeof family, "%.*s{", (int)strcspn(line + 7, " "), line + 7);
        else if (line[0] != '#')
            assert_int_equal(strncmp(line, family, strlen(family)), 0);
    }
    paper_free(&paper);
}

static void no_series_stands_twice(void **state)
{
    (void)state;
    struct result result;
    struct paper paper;
    result_start(&result);
    for (int i = 0; i < 3; i++) {
        struct finding *finding =
            add_finding(&result.findings, "a", MEANS_MOTOR_RATED_CURRENT, VERDICT_DIFFERS, "basis");
        has_number(finding, i, 1, UNIT_A, 0.1);
    }
    paper_start(&paper, "openmetrics", false, 80);
    doc_verify(&paper.sink, &result.report, false);
    const char *text = paper_read(&paper);
    assert_int_equal(count(text, "\nasleft_deviation{"), 1);
    assert_int_equal(count(text, "\nasleft_found_amperes{"), 1);
    paper_free(&paper);
    result_free(&result);
}

static void labels_are_escaped(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "openmetrics", false, 80);
    one_deviation(&paper.sink, "P\"1\\2\n\xff\xC2\xB0", "a", 5, UNIT_S, 6);
    const char *text = paper_read(&paper);
    assert_non_null(
        strstr(text, "\nasleft_findings{tag=\"P\\\"1\\\\2\\\\x0A\\\\xFF\xC2\xB0\",verdict=\"agrees\"} 0\n"));
    assert_null(strchr(text, '\xff'));
    for (const char *line = text; *line != '\0'; line = strchr(line, '\n') + 1)
        assert_true(line[0] == '#' || strncmp(line, "asleft_", 7) == 0);
    paper_free(&paper);
}

static void without_a_drive_there_is_the_end_alone(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "openmetrics", false, 80);
    assert_string_equal(paper_read(&paper), "# EOF\n");
    paper_free(&paper);
}

static void a_dropped_result_is_nothing(void **state)
{
    (void)state;
    static const char *const columns[] = {NULL};
    struct paper paper;
    paper_start(&paper, "openmetrics", false, 80);
    one_deviation(&paper.sink, "P-1", "a", 5, UNIT_S, 6);
    sink_begin(&paper.sink, "asleft/verify/1", columns);
    sink_field(&paper.sink, "tag", ROLE_DATA, NULL, cell_text("P-2"));
    sink_open(&paper.sink, "findings", GROUP_ROWS);
    sink_drop(&paper.sink);
    assert_string_equal(paper_read(&paper), "");
    paper_free(&paper);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_whole_report),
        cmocka_unit_test(values_are_in_base_units),
        cmocka_unit_test(without_a_nominal_value_none_is_given),
        cmocka_unit_test(metrics_of_many_drives_stand_together),
        cmocka_unit_test(no_series_stands_twice),
        cmocka_unit_test(labels_are_escaped),
        cmocka_unit_test(without_a_drive_there_is_the_end_alone),
        cmocka_unit_test(a_dropped_result_is_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
