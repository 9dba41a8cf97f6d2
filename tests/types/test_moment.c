/* SPDX-License-Identifier: MIT */
/* Moments as text, and back. */
#include "types/moment.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>

#include <cmocka.h>

static void known_moments(void **state)
{
    (void)state;
    static const struct {
        int64_t ms;
        const char *text;
    } rows[] = {
        /* date -u -d @SECONDS, GNU coreutils 9.1 */
        {0, "1970-01-01T00:00:00.000Z"},
        {951782400001, "2000-02-29T00:00:00.001Z"},
        {1769846400000, "2026-01-31T08:00:00.000Z"},
        {INT64_C(253402300799999), "9999-12-31T23:59:59.999Z"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *text = moment_text(rows[i].ms);
        assert_string_equal(text, rows[i].text);
        free(text);
        int64_t ms = -1;
        assert_true(moment_parse(rows[i].text, &ms));
        assert_true(ms == rows[i].ms);
    }
}

static void what_no_date_can_be(void **state)
{
    (void)state;
    static const char *const wrong[] = {"",
                                        "2026-01-31",
                                        "2026-01-31T08:00:00Z",
                                        "2026-01-31T08:00:00.000",
                                        "2026-01-31 08:00:00.000Z",
                                        "2026-02-29T08:00:00.000Z",
                                        "2026-13-01T08:00:00.000Z",
                                        "2026-00-01T08:00:00.000Z",
                                        "2026-01-31T24:00:00.000Z",
                                        "2026-01-31T08:60:00.000Z",
                                        "2026-01-31T08:00:61.000Z",
                                        "2026-01-31T08:00:00.000Zx",
                                        "+026-01-31T08:00:00.000Z",
                                        "1969-12-31T23:59:59.999Z"};
    int64_t ms = 7;
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        assert_false(moment_parse(wrong[i], &ms));
    assert_true(ms == 7);
    char *text = moment_text(-1);
    assert_string_equal(text, "");
    free(text);
    text = moment_text(INT64_MAX);
    assert_string_equal(text, "");
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(known_moments),
        cmocka_unit_test(what_no_date_can_be),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
