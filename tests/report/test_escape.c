/* SPDX-License-Identifier: MIT */
/* Text from a drive or a file: harmless on a terminal, valid for a machine. */
#include "report/escape.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

struct row {
    const char *text, *expected;
};

static void check(char *(*escape)(const char *text), const struct row *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char *found = escape(rows[i].text);
        assert_string_equal(found, rows[i].expected);
        free(found);
    }
}

#define CHECK(escape, rows) check(escape, rows, sizeof(rows) / sizeof *(rows))

static void ordinary_text_passes(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"", ""},
        {"Brine pump #4 (spare)", "Brine pump #4 (spare)"},
        {"35 \xC2\xB0"
         "C",
         "35 \xC2\xB0"
         "C"},
        {"K\xC3\xBChlwasser", "K\xC3\xBChlwasser"},
        {"\xE2\x84\xA6 \xE6\xB0\xB4", "\xE2\x84\xA6 \xE6\xB0\xB4"},
        {"\xF0\x9F\x94\xA7", "\xF0\x9F\x94\xA7"},
        {"a\\x1B", "a\\x1B"},
    };
    CHECK(escape_terminal, rows);
    CHECK(escape_invalid, rows);
}

static void control_characters_are_shown_on_a_terminal(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"\033[31mred", "\\x1B[31mred"},
        {"a\nb\tc\rd", "a\\x0Ab\\x09c\\x0Dd"},
        {"\001\037", "\\x01\\x1F"},
        {"\177", "\\x7F"},
        {"\xC2\x80\xC2\x9B", "\\xC2\\x80\\xC2\\x9B"},
        {"\xC2\x9F|", "\\xC2\\x9F|"},
        {"\xC2\xA0", "\xC2\xA0"},
    };
    CHECK(escape_terminal, rows);
}

static void marks_that_turn_the_writing_are_shown_on_a_terminal(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"\xE2\x80\xAE", "\\xE2\\x80\\xAE"}, /* U+202E right-to-left override */
        {"\xE2\x80\xAA", "\\xE2\\x80\\xAA"}, /* U+202A */
        {"\xE2\x80\x8E", "\\xE2\\x80\\x8E"}, /* U+200E */
        {"\xE2\x80\x8F", "\\xE2\\x80\\x8F"}, /* U+200F */
        {"\xE2\x80\xA8", "\\xE2\\x80\\xA8"}, /* U+2028 line separator */
        {"\xE2\x81\xA6", "\\xE2\\x81\\xA6"}, /* U+2066 isolate */
        {"\xE2\x81\xA9", "\\xE2\\x81\\xA9"}, /* U+2069 */
        {"\xD8\x9C", "\\xD8\\x9C"},          /* U+061C Arabic letter mark */
        {"\xEF\xBB\xBF", "\\xEF\\xBB\\xBF"}, /* U+FEFF */
        {"\xE2\x80\x90", "\xE2\x80\x90"},    /* U+2010 hyphen: harmless */
    };
    CHECK(escape_terminal, rows);
}

/* RFC 3629, section 3: no overlong forms, no surrogates, nothing above U+10FFFF. */
static void what_is_no_utf8_is_shown_or_replaced(void **state)
{
    (void)state;
    static const struct row shown[] = {
        {"\xFF", "\\xFF"},
        {"\x80", "\\x80"},
        {"a\xC3", "a\\xC3"},
        {"\xC3z", "\\xC3z"},
        {"\xC0\xAF", "\\xC0\\xAF"},                               /* overlong '/' */
        {"\xE0\x80\xAF", "\\xE0\\x80\\xAF"},                      /* overlong */
        {"\xF0\x80\x80\xAF", "\\xF0\\x80\\x80\\xAF"},             /* overlong */
        {"\xED\xA0\x80", "\\xED\\xA0\\x80"},                      /* surrogate U+D800 */
        {"\xF4\x90\x80\x80", "\\xF4\\x90\\x80\\x80"},             /* U+110000 */
        {"\xE2\x84", "\\xE2\\x84"},                               /* cut */
        {"\xED\x9F\xBF\xEE\x80\x80", "\xED\x9F\xBF\xEE\x80\x80"}, /* U+D7FF, U+E000: beside the surrogates */
        {"\xF4\x8F\xBF\xBF", "\xF4\x8F\xBF\xBF"},                 /* U+10FFFF */
    };
    static const struct row replaced[] = {
        {"\xFF", "\xEF\xBF\xBD"},
        {"\xC0\xAF", "\xEF\xBF\xBD\xEF\xBF\xBD"},
        {"\xED\xA0\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"},
        {"a\xE2\x84z", "a\xEF\xBF\xBD\xEF\xBF\xBDz"},
        {"\033", "\033"}, /* valid UTF-8: the format quotes it */
    };
    CHECK(escape_terminal, shown);
    CHECK(escape_invalid, replaced);
}

static void markup_has_nothing_to_take_for_its_own(void **state)
{
    (void)state;
    const struct row rows[] = {
        {"a < b > c & \"d\" 'e' ]]>", "a &lt; b &gt; c &amp; &quot;d&quot; &#39;e&#39; ]]&gt;"},
        {"\x01\n\x7f\xff", "\\x01\\x0A\\x7F\\xFF"},
        {"\xEF\xBF\xBE \xEF\xBF\xBF", "\xEF\xBF\xBD \xEF\xBF\xBD"}, /* U+FFFE and U+FFFF */
        {"\xEF\xB7\x90 \xEF\xB7\xAF", "\xEF\xBF\xBD \xEF\xBF\xBD"}, /* U+FDD0 and U+FDEF */
        {"\xEF\xB7\xB0", "\xEF\xB7\xB0"},                           /* U+FDF0 is one */
        {"\xF0\x9F\xBF\xBF \xF0\x9F\x94\xA7", "\xEF\xBF\xBD \xF0\x9F\x94\xA7"},
        {"\xD7\x9E\xD7\x94 35 \xC2\xB0", "\xD7\x9E\xD7\x94 35 \xC2\xB0"},
    };
    CHECK(escape_markup, rows);
}

static void long_text_is_shortened_between_characters(void **state)
{
    (void)state;
    const struct {
        const char *text;
        size_t columns;
        const char *expected;
    } rows[] = {
        {"start", 5, "start"},
        {"start", 4, "sta\xE2\x80\xA6"},
        {"start", 1, "\xE2\x80\xA6"},
        {"\xC2\xB0\xC2\xB0\xC2\xB0", 3, "\xC2\xB0\xC2\xB0\xC2\xB0"},
        {"\xC2\xB0\xC2\xB0\xC2\xB0", 2, "\xC2\xB0\xE2\x80\xA6"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *shorter = text_shortened(rows[i].text, rows[i].columns);
        assert_string_equal(shorter, rows[i].expected);
        free(shorter);
    }
}

static void columns_count_characters(void **state)
{
    (void)state;
    assert_int_equal(text_columns(""), 0);
    assert_int_equal(text_columns("3.00 A"), 6);
    assert_int_equal(text_columns("35 \xC2\xB0"
                                  "C"),
                     5);
    assert_int_equal(text_columns("\xF0\x9F\x94\xA7"), 1);
}

/* Quoting as The Open Group Base Specifications, Shell Command Language, 2.2 has it; tests/command/test_confirm.c asks
 * a shell. */
static void a_shell_gets_one_word(void **state)
{
    (void)state;
    static const char *const rows[][2] = {{"sheets/P-204.yaml", "sheets/P-204.yaml"},
                                          {"", "''"},
                                          {"a b", "'a b'"},
                                          {"it's", "'it'\\''s'"},
                                          {"$HOME", "'$HOME'"},
                                          {"-a.yaml", "./-a.yaml"},
                                          {"-a b", "'./-a b'"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *word = escape_shell(rows[i][0]);
        assert_string_equal(word, rows[i][1]);
        free(word);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_shell_gets_one_word),
        cmocka_unit_test(ordinary_text_passes),
        cmocka_unit_test(control_characters_are_shown_on_a_terminal),
        cmocka_unit_test(marks_that_turn_the_writing_are_shown_on_a_terminal),
        cmocka_unit_test(what_is_no_utf8_is_shown_or_replaced),
        cmocka_unit_test(markup_has_nothing_to_take_for_its_own),
        cmocka_unit_test(long_text_is_shortened_between_characters),
        cmocka_unit_test(columns_count_characters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
