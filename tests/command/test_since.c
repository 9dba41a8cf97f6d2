/* SPDX-License-Identifier: MIT */
/* Dates of the command line. Milliseconds checked with date(1) of GNU coreutils: date -u -d 2026-01-31 +%s */
#include "command/since.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static void expect(const char *text, int64_t ms)
{
    int64_t found = -1;
    assert_true(since_parse(text, &found));
    assert_int_equal(found, ms);
}

static void dates_and_times_are_read_as_utc(void **state)
{
    (void)state;
    expect("1970-01-01", 0);
    expect("2026-01-31", 1769817600000);
    expect("2026-01-31T08:00Z", 1769846400000);
    expect("2026-01-31T08:00:05Z", 1769846405000);
    expect("2026-01-31T08:00:05.042Z", 1769846405042);
    expect("2024-02-29", 1709164800000);
}

static void other_texts_are_refused(void **state)
{
    (void)state;
    static const char *const wrong[] = {"",
                                        "yesterday",
                                        "2026",
                                        "2026-1-31",
                                        "31.01.2026",
                                        "2026-01-31 ",
                                        "2026-01-31T08:00",
                                        "2026-01-31 08:00:00Z",
                                        "2026-01-31T08:00:00+01:00",
                                        "2026-01-31T08:00:00.1Z",
                                        "2026-02-30",
                                        "2025-02-29",
                                        "2026-00-10",
                                        "2026-13-01",
                                        "2026-01-00",
                                        "2026-01-31T24:00:00Z",
                                        "2026-01-31T08:60:00Z",
                                        "2026-01-31T08:00:60Z",
                                        "1969-12-31",
                                        "0000-00-00"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        int64_t ms;
        if (since_parse(wrong[i], &ms))
            fail_msg("'%s' was read", wrong[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(dates_and_times_are_read_as_utc),
                                       cmocka_unit_test(other_texts_are_refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
