/* SPDX-License-Identifier: MIT */
/* Text for a person: columns that align, lines that fit the page, colour only where it is asked for. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/escape.h"
#include "report/results.h"

static const char *const columns[] = {NULL};

static void begin(struct paper *paper, bool color, unsigned width)
{
    paper_start(paper, "text", color, width);
    sink_begin(&paper->sink, "s", columns);
}

static void item(struct sink *sink, const char *name, const char *found, const char *expected, const char *stake)
{
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, NULL, ROLE_NAME, "name", cell_text(name));
    sink_field(sink, NULL, ROLE_FOUND, "found", cell_text(found));
    sink_field(sink, NULL, ROLE_EXPECTED, "should be", cell_text(expected));
    sink_field(sink, NULL, ROLE_STAKE, "at stake", cell_text(stake));
}

static void expect_paper(struct paper *paper, const char *expected)
{
    sink_end(&paper->sink);
    assert_string_equal(paper_read(paper), expected);
    paper_free(paper);
}

static void items_stand_in_columns_under_their_labels(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, false, 80);
    struct sink *sink = &paper.sink;
    sink_open(sink, "rows", GROUP_ROWS);
    sink_heading(sink, ROLE_BAD, "DIFFERS (2)");
    item(sink, "motor_current", "6.00 A", "3.00 A", "equipment");
    sink_close(sink);
    item(sink, "start_source", "network", "terminals", "people");
    sink_field(sink, NULL, ROLE_NOTE, NULL, cell_text("a note"));
    sink_field(sink, NULL, ROLE_NOTE, "labelled:", cell_text("another"));
    sink_close(sink);
    sink_close(sink);
    expect_paper(&paper, "DIFFERS (2)\n"
                         "  name                              found  should be                   at stake\n"
                         "  motor_current                    6.00 A  3.00 A                      equipment\n"
                         "  start_source                    network  terminals                   people\n"
                         "      a note\n"
                         "      labelled: another\n");
}

static void labels_stand_once_under_each_heading(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, false, 60);
    struct sink *sink = &paper.sink;
    sink_open(sink, "rows", GROUP_ROWS);
    for (int i = 0; i < 2; i++) {
        sink_heading(sink, ROLE_BAD, "HEADING");
        item(sink, "a", "b", "c", "d");
        sink_close(sink);
        item(sink, "a", "b", "c", "d");
        sink_close(sink);
    }
    sink_close(sink);
    sink_end(sink);
    size_t labels = 0;
    for (const char *at = paper_read(&paper); (at = strstr(at, "should be")) != NULL; at++)
        labels++;
    assert_int_equal(labels, 2);
    paper_free(&paper);
}

static void what_is_found_reaches_into_what_the_name_leaves_free(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, false, 80);
    struct sink *sink = &paper.sink;
    sink_open(sink, "rows", GROUP_ROWS);
    item(sink, "run_state", "running, at_speed", "stopped", "process");
    sink_close(sink);
    item(sink, "of_26_letters_of_26_letter", "exception-02", "3.00 A", "equipment");
    sink_close(sink);
    item(sink, "a_name_that_is_longer_than_its_column", "6.00 A", "3.00 A", "equipment");
    sink_close(sink);
    item(sink, "of_27_letters_of_27_letters", "exception-02", "3.00 A", "equipment");
    sink_close(sink);
    sink_close(sink);
    expect_paper(&paper, "  run_state             running, at_speed  stopped                     process\n"
                         "  of_26_letters_of_26_letter exception-02  3.00 A                      equipment\n"
                         "  a_name_that_is_longer_than_its_column\n"
                         "                                   6.00 A  3.00 A                      equipment\n"
                         "  of_27_letters_of_27_letters\n"
                         "                             exception-02  3.00 A                      equipment\n");
}

static void what_does_not_fit_at_all_becomes_a_note(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, false, 80);
    struct sink *sink = &paper.sink;
    sink_open(sink, "rows", GROUP_ROWS);
    item(sink, "of_38", "12345678901234567890123456789012345678", "3.00 A", "equipment");
    sink_close(sink);
    item(sink, "of_39", "123456789012345678901234567890123456789", "1234567890123456789012345678", "process");
    sink_close(sink);
    sink_close(sink);
    expect_paper(&paper, "  of_38\n"
                         "   12345678901234567890123456789012345678  3.00 A                      equipment\n"
                         "  of_39                                                                process\n"
                         "      found 123456789012345678901234567890123456789\n"
                         "      should be 1234567890123456789012345678\n");
}

static void characters_of_several_bytes_do_not_shift_columns(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, false, 80);
    struct sink *sink = &paper.sink;
    sink_open(sink, "rows", GROUP_ROWS);
    item(sink, "K\xC3\xBChl",
         "35 \xC2\xB0"
         "C",
         "-", "process");
    sink_close(sink);
    sink_close(sink);
    expect_paper(&paper, "  K\xC3\xBChl                              35 \xC2\xB0"
                         "C  -                           process\n");
}

static void long_texts_are_broken_at_spaces(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, false, 40);
    sink_field(&paper.sink, NULL, ROLE_TITLE, NULL, cell_text("P-204: the pump that fills the tank behind the hall"));
    sink_field(&paper.sink, NULL, ROLE_FACT, "drive", cell_text("quayside-compact, unit 4 on 192.0.2.10:502"));
    sink_field(&paper.sink, NULL, ROLE_FACT, "but", cell_text("a-word-that-is-longer-than-the-whole-page-is-wide x"));
    expect_paper(&paper, "P-204: the pump that fills the tank\n"
                         "behind the hall\n"
                         "drive     quayside-compact, unit 4 on\n"
                         "          192.0.2.10:502\n"
                         "but       a-word-that-is-longer-than-the-whole-page-is-wide\n"
                         "          x\n");
}

static void a_word_that_just_fits_stays_on_its_line(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, false, 40);
    sink_field(&paper.sink, NULL, ROLE_FACT, "a", cell_text("123456789 123456789 1234567890 x"));
    expect_paper(&paper, "a         123456789 123456789 1234567890\n"
                         "          x\n");
}

/* All that can be broken stays within the page, whatever its width. */
static void no_line_passes_the_page(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_findings(&result);
    for (unsigned width = 80; width <= 120; width += 20) {
        struct paper paper;
        paper_start(&paper, "text", false, width);
        doc_verify(&paper.sink, &result.report, false);
        char *text = text_copy(paper_read(&paper));
        char *rest = NULL;
        for (char *line = strtok_r(text, "\n", &rest); line != NULL; line = strtok_r(NULL, "\n", &rest))
            assert_true(text_columns(line) <= width);
        free(text);
        paper_free(&paper);
    }
    result_free(&result);
}

static void the_verdict_is_the_last_line_and_one_line(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, false, 40);
    sink_field(&paper.sink, NULL, ROLE_GOOD, NULL, cell_text("P-204 agrees: a verdict that is longer than the page"));
    sink_field(&paper.sink, NULL, ROLE_FACT, "fact", cell_text("said later"));
    expect_paper(&paper, "fact      said later\n"
                         "\n"
                         "P-204 agrees: a verdict that is longer than the page\n");
}

static void documents_are_set_apart_unless_they_are_only_a_verdict(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "text", false, 80);
    for (int i = 0; i < 2; i++) {
        sink_begin(&paper.sink, "s", columns);
        sink_field(&paper.sink, NULL, ROLE_GOOD, NULL, cell_text("verdict"));
        sink_end(&paper.sink);
    }
    sink_begin(&paper.sink, "s", columns);
    sink_field(&paper.sink, NULL, ROLE_TITLE, NULL, cell_text("title"));
    sink_end(&paper.sink);
    sink_begin(&paper.sink, "s", columns);
    sink_field(&paper.sink, NULL, ROLE_GOOD, NULL, cell_text("verdict"));
    sink_end(&paper.sink);
    sink_begin(&paper.sink, "s", columns);
    sink_heading(&paper.sink, ROLE_BAD, "HEADING");
    sink_heading(&paper.sink, ROLE_BAD, "HEADING");
    expect_paper(&paper, "verdict\n"
                         "verdict\n"
                         "\n"
                         "title\n"
                         "verdict\n"
                         "\n"
                         "HEADING\n"
                         "\n"
                         "HEADING\n");
}

static void colour_marks_headings_and_verdict_and_ends_on_their_line(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, true, 80);
    sink_heading(&paper.sink, ROLE_BAD, "BAD");
    sink_heading(&paper.sink, ROLE_OPEN, "OPEN");
    sink_field(&paper.sink, NULL, ROLE_GOOD, NULL, cell_text("good"));
    expect_paper(&paper, "\033[1;31mBAD\033[0m\n"
                         "\n\033[1;33mOPEN\033[0m\n"
                         "\n\033[1;32mgood\033[0m\n");
}

static void without_colour_there_is_no_escape(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, false, 80);
    sink_heading(&paper.sink, ROLE_BAD, "BAD");
    sink_field(&paper.sink, NULL, ROLE_TITLE, NULL, cell_text("\033[2J"));
    sink_field(&paper.sink, NULL, ROLE_BAD, NULL, cell_text("\033[0m"));
    sink_end(&paper.sink);
    assert_null(strchr(paper_read(&paper), '\033')); /* neither ours nor one of the drive's */
    paper_free(&paper);
}

static void data_is_not_for_persons(void **state)
{
    (void)state;
    struct paper paper;
    begin(&paper, false, 80);
    sink_field(&paper.sink, "key", ROLE_DATA, NULL, cell_text("value"));
    sink_open(&paper.sink, "group", GROUP_OBJECT);
    sink_close(&paper.sink);
    expect_paper(&paper, "");
}

static void cells_are_shown_by_their_kind(void **state)
{
    (void)state;
    const uint16_t raw[] = {0x0258, 0xffff};
    struct texts words = {0};
    texts_add(&words, text_copy("running"));
    texts_add(&words, text_copy("\033"));
    struct paper paper;
    begin(&paper, false, 80);
    const struct cell cells[] = {cell_null(),        cell_bool(true),    cell_integer(-3),
                                 cell_number(2.945), cell_words(&words), cell_raw(raw, 2)};
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++)
        sink_field(&paper.sink, NULL, ROLE_FACT, "x", cells[i]);
    texts_free(&words);
    expect_paper(&paper, "x         -\n"
                         "x         true\n"
                         "x         -3\n"
                         "x         2.945\n"
                         "x         running \\x1B\n"
                         "x         0258 FFFF\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(items_stand_in_columns_under_their_labels),
        cmocka_unit_test(labels_stand_once_under_each_heading),
        cmocka_unit_test(what_is_found_reaches_into_what_the_name_leaves_free),
        cmocka_unit_test(what_does_not_fit_at_all_becomes_a_note),
        cmocka_unit_test(characters_of_several_bytes_do_not_shift_columns),
        cmocka_unit_test(long_texts_are_broken_at_spaces),
        cmocka_unit_test(a_word_that_just_fits_stays_on_its_line),
        cmocka_unit_test(no_line_passes_the_page),
        cmocka_unit_test(the_verdict_is_the_last_line_and_one_line),
        cmocka_unit_test(documents_are_set_apart_unless_they_are_only_a_verdict),
        cmocka_unit_test(colour_marks_headings_and_verdict_and_ends_on_their_line),
        cmocka_unit_test(without_colour_there_is_no_escape),
        cmocka_unit_test(data_is_not_for_persons),
        cmocka_unit_test(cells_are_shown_by_their_kind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
