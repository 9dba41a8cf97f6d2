/* SPDX-License-Identifier: MIT */
/* CSV as RFC 4180 has it, and cells that no spreadsheet takes for formulas. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/results.h"

static const char *const columns[] = {"tag", "name", "expected.low", "list", NULL};

static void row_begin(struct sink *sink)
{
    sink_open(sink, "rows", GROUP_ROWS);
    sink_open(sink, NULL, GROUP_OBJECT);
}

static void row_end(struct sink *sink)
{
    sink_close(sink);
    sink_close(sink);
}

/* A document whose only row has that name. */
static void expect_name(struct cell cell, const char *expected)
{
    struct paper paper;
    paper_start(&paper, "csv", false, 80);
    sink_begin(&paper.sink, "s", columns);
    row_begin(&paper.sink);
    sink_field(&paper.sink, "name", ROLE_DATA, NULL, cell);
    row_end(&paper.sink);
    sink_end(&paper.sink);
    char *whole = text_format("tag,name,expected.low,list\r\n,%s,,\r\n", expected);
    assert_string_equal(paper_read(&paper), whole);
    free(whole);
    paper_free(&paper);
}

/* RFC 4180, section 2, rules 5 to 7. */
static void commas_quotes_and_line_ends_are_quoted(void **state)
{
    (void)state;
    expect_name(cell_text("plain"), "plain");
    expect_name(cell_text("a,b"), "\"a,b\"");
    expect_name(cell_text("a\"b"), "\"a\"\"b\"");
    expect_name(cell_text("a\nb"), "\"a\nb\"");
    expect_name(cell_text("a\rb"), "\"a\rb\"");
    expect_name(cell_text(""), "");
    expect_name(cell_text("\xFF"), "\xEF\xBF\xBD");
}

static void no_text_starts_a_formula(void **state)
{
    (void)state;
    expect_name(cell_text("=1+1"), "'=1+1");
    expect_name(cell_text("+1"), "'+1");
    expect_name(cell_text("-1"), "'-1");
    expect_name(cell_text("@sum"), "'@sum");
    expect_name(cell_text("\t=1"), "'\t=1");
    expect_name(cell_text("\r=1"), "\"'\r=1\"");
    expect_name(cell_text("\n=1"), "\"'\n=1\"");
    expect_name(cell_text("=\"a,b\""), "\"'=\"\"a,b\"\"\"");
    expect_name(cell_text("a=1"), "a=1");
    struct texts words = {0};
    texts_add(&words, text_copy("=cmd"));
    texts_add(&words, text_copy("x"));
    expect_name(cell_words(&words), "'=cmd x");
    texts_free(&words);
}

static void numbers_stay_numbers(void **state)
{
    (void)state;
    const uint16_t raw[] = {600, 0};
    expect_name(cell_number(-1.5), "-1.5");
    expect_name(cell_number(3 - 0.05 - 0.005), "2.945");
    expect_name(cell_number((double)NAN), "");
    expect_name(cell_number((double)INFINITY), "");
    expect_name(cell_integer(-3), "-3");
    expect_name(cell_bool(true), "true");
    expect_name(cell_bool(false), "false");
    expect_name(cell_null(), "");
    expect_name(cell_raw(raw, 2), "600 0");
}

static void fields_of_the_document_stand_in_each_row(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "csv", false, 80);
    struct sink *sink = &paper.sink;
    struct texts words = {0};
    texts_add(&words, text_copy("a"));
    texts_add(&words, text_copy("b"));
    sink_begin(sink, "s", columns);
    sink_field(sink, "tag", ROLE_DATA, NULL, cell_text("P-204"));
    sink_field(sink, "unlisted", ROLE_DATA, NULL, cell_text("no column"));
    sink_field(sink, NULL, ROLE_TITLE, NULL, cell_text("for persons"));
    sink_heading(sink, ROLE_BAD, "FOR PERSONS");
    sink_open(sink, "rows", GROUP_ROWS);
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, "name", ROLE_DATA, NULL, cell_text("first"));
    sink_open(sink, "expected", GROUP_OBJECT);
    sink_field(sink, "low", ROLE_DATA, NULL, cell_number(2.5));
    sink_close(sink);
    sink_close(sink);
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, "name", ROLE_DATA, NULL, cell_text("second"));
    sink_field(sink, NULL, ROLE_NOTE, NULL, cell_text("for persons"));
    sink_field(sink, "list", ROLE_DATA, NULL, cell_words(&words));
    sink_close(sink);
    sink_close(sink);
    sink_end(sink);
    texts_free(&words);
    assert_string_equal(paper_read(&paper), "tag,name,expected.low,list\r\n"
                                            "P-204,first,2.5,\r\n"
                                            "P-204,second,,a b\r\n");
    paper_free(&paper);
}

static void the_header_stands_once_for_several_documents(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "csv", false, 80);
    for (int i = 0; i < 2; i++) {
        sink_begin(&paper.sink, "s", columns);
        if (i == 0) /* the second document must not inherit it */
            sink_field(&paper.sink, "tag", ROLE_DATA, NULL, cell_text("P-204"));
        row_begin(&paper.sink);
        sink_field(&paper.sink, "name", ROLE_DATA, NULL, cell_integer(i));
        row_end(&paper.sink);
        sink_end(&paper.sink);
    }
    assert_string_equal(paper_read(&paper), "tag,name,expected.low,list\r\nP-204,0,,\r\n,1,,\r\n");
    paper_free(&paper);
}

static void rows_on_the_side_are_left_out(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "csv", false, 80);
    sink_begin(&paper.sink, "s", columns);
    sink_open(&paper.sink, "side", GROUP_SIDE_ROWS);
    sink_open(&paper.sink, NULL, GROUP_OBJECT);
    sink_field(&paper.sink, "name", ROLE_DATA, NULL, cell_text("aside"));
    sink_close(&paper.sink);
    sink_close(&paper.sink);
    sink_end(&paper.sink);
    assert_string_equal(paper_read(&paper), "tag,name,expected.low,list\r\n");
    paper_free(&paper);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(commas_quotes_and_line_ends_are_quoted),
        cmocka_unit_test(no_text_starts_a_formula),
        cmocka_unit_test(numbers_stay_numbers),
        cmocka_unit_test(fields_of_the_document_stand_in_each_row),
        cmocka_unit_test(the_header_stands_once_for_several_documents),
        cmocka_unit_test(rows_on_the_side_are_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
