/* SPDX-License-Identifier: MIT */
/* JSON: one object a line, typed values, and nothing that is no JSON. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/results.h"

static const char *const columns[] = {NULL};

/* Writes one document with that one field, and compares it. */
static void expect_cell(struct cell cell, const char *expected)
{
    struct paper paper;
    paper_start(&paper, "json", false, 80);
    sink_begin(&paper.sink, "asleft/test/1", columns);
    sink_field(&paper.sink, "x", ROLE_DATA, NULL, cell);
    sink_end(&paper.sink);
    char *line = text_format("{\"schema\":\"asleft/test/1\",\"x\":%s}\n", expected);
    assert_string_equal(paper_read(&paper), line);
    free(line);
    paper_free(&paper);
}

static void values_keep_their_types(void **state)
{
    (void)state;
    struct texts words = {0};
    expect_cell(cell_words(&words), "[]");
    texts_add(&words, text_copy("running"));
    texts_add(&words, text_copy("at_speed"));
    const uint16_t raw[] = {0, 65535};
    expect_cell(cell_null(), "null");
    expect_cell(cell_bool(true), "true");
    expect_cell(cell_bool(false), "false");
    expect_cell(cell_integer(-7), "-7");
    expect_cell(cell_text("3"), "\"3\"");
    expect_cell(cell_text(NULL), "null");
    expect_cell(cell_words(&words), "[\"running\",\"at_speed\"]");
    expect_cell(cell_raw(raw, 2), "[0,65535]");
    texts_free(&words);
}

static void numbers_show_no_binary_dust(void **state)
{
    (void)state;
    expect_cell(cell_number(3 - 0.05 - 0.005), "2.945"); /* 2.9450000000000003 */
    expect_cell(cell_number(6), "6.0");
    expect_cell(cell_number(0.1 + 0.2), "0.3");
}

static void what_is_no_finite_number_is_null(void **state)
{
    (void)state;
    expect_cell(cell_number((double)NAN), "null");
    expect_cell(cell_number((double)INFINITY), "null");
    expect_cell(cell_number(-(double)INFINITY), "null");
}

static void texts_are_quoted_and_made_valid(void **state)
{
    (void)state;
    expect_cell(cell_text("a\"b\\c\n\033"), "\"a\\\"b\\\\c\\n\\u001B\"");
    expect_cell(cell_text("\xFF|"), "\"\xEF\xBF\xBD|\"");
    struct texts words = {0};
    texts_add(&words, text_copy("\x80"));
    expect_cell(cell_words(&words), "[\"\xEF\xBF\xBD\"]");
    texts_free(&words);
}

static void values_of_a_drive_become_what_they_are(void **state)
{
    (void)state;
    struct value value = {.kind = VALUE_NOTHING};
    expect_cell(cell_value(&value), "null");
    value = (struct value){.kind = VALUE_NUMBER, .number = 2.5};
    expect_cell(cell_value(&value), "2.5");
    value = (struct value){.kind = VALUE_BOOL, .truth = true};
    expect_cell(cell_value(&value), "true");
    value = (struct value){.kind = VALUE_WORD, .text = text_copy("keypad")};
    expect_cell(cell_value(&value), "\"keypad\"");
    value.kind = VALUE_TEXT;
    expect_cell(cell_value(&value), "\"keypad\"");
    value_free(&value);
    value = (struct value){.kind = VALUE_BITS};
    texts_add(&value.words, text_copy("reverse"));
    expect_cell(cell_value(&value), "[\"reverse\"]");
    value_free(&value);
}

static void groups_nest_and_what_is_for_persons_is_left_out(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "json", true, 80);
    struct sink *sink = &paper.sink;
    sink_begin(sink, "asleft/test/1", columns);
    sink_field(sink, NULL, ROLE_TITLE, NULL, cell_text("title"));
    sink_heading(sink, ROLE_BAD, "HEADING");
    sink_open(sink, "rows", GROUP_ROWS);
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, NULL, ROLE_NAME, "name", cell_text("shown"));
    sink_field(sink, "a", ROLE_DATA, NULL, cell_integer(1));
    sink_open(sink, "of", GROUP_OBJECT);
    sink_field(sink, "b", ROLE_DATA, NULL, cell_integer(2));
    sink_close(sink);
    sink_close(sink);
    sink_close(sink);
    sink_open(sink, "list", GROUP_LIST);
    sink_field(sink, NULL, ROLE_FACT, "fact", cell_integer(3)); /* in a list, too, it is for persons */
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_close(sink);
    sink_close(sink);
    sink_open(sink, "side", GROUP_SIDE_ROWS);
    sink_close(sink);
    sink_field(sink, NULL, ROLE_GOOD, NULL, cell_text("verdict"));
    sink_end(sink);
    assert_string_equal(
        paper_read(&paper),
        "{\"schema\":\"asleft/test/1\",\"rows\":[{\"a\":1,\"of\":{\"b\":2}}],\"list\":[{}],\"side\":[]}\n");
    paper_free(&paper);
}

static void each_document_is_a_line(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "json", false, 80);
    for (int i = 0; i < 2; i++) {
        sink_begin(&paper.sink, "s", columns);
        sink_end(&paper.sink);
    }
    assert_string_equal(paper_read(&paper), "{\"schema\":\"s\"}\n{\"schema\":\"s\"}\n");
    paper_free(&paper);
}

static void formats_are_found_by_name(void **state)
{
    (void)state;
    char names[] = SINK_FORMATS_OF_VERDICTS;
    for (char *rest = NULL, *name = strtok_r(names, "|", &rest); name != NULL; name = strtok_r(NULL, "|", &rest))
        assert_string_equal(sink_format_find(name)->name, name);
    assert_null(sink_format_find("JSON"));
    assert_null(sink_format_find("js"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_keep_their_types),
        cmocka_unit_test(numbers_show_no_binary_dust),
        cmocka_unit_test(what_is_no_finite_number_is_null),
        cmocka_unit_test(texts_are_quoted_and_made_valid),
        cmocka_unit_test(values_of_a_drive_become_what_they_are),
        cmocka_unit_test(groups_nest_and_what_is_for_persons_is_left_out),
        cmocka_unit_test(each_document_is_a_line),
        cmocka_unit_test(formats_are_found_by_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
