/* SPDX-License-Identifier: MIT */
/* How values, bands, lines, times and traffic are put for a person. */
#include "motor/show.h"
#include "report/words.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static void expect_text(char *found, const char *expected)
{
    assert_string_equal(found, expected);
    free(found);
}

static void a_number_has_the_decimals_of_its_step_and_its_unit(void **state)
{
    (void)state;
    struct value value = {.kind = VALUE_NUMBER, .number = 6};
    expect_text(show_value(&value, UNIT_A, 0.01), "6.00 A");
    expect_text(show_value(&value, UNIT_RPM, 1), "6 rpm");
    expect_text(show_value(&value, UNIT_NONE, 0.5), "6.0");
    expect_text(show_value(&value, UNIT_KW, 0), "6 kW");
}

static void other_values_are_words(void **state)
{
    (void)state;
    struct value value = {.kind = VALUE_NOTHING};
    expect_text(show_value(&value, UNIT_A, 0.01), "-");
    value = (struct value){.kind = VALUE_BOOL, .truth = true};
    expect_text(show_value(&value, UNIT_NONE, 0), "true");
    value = (struct value){.kind = VALUE_WORD, .text = text_copy("off")};
    expect_text(show_value(&value, UNIT_HZ, 0.01), "off"); /* a special value has no unit */
    value_free(&value);
    value.kind = VALUE_BITS;
    expect_text(show_value(&value, UNIT_NONE, 0), "none set");
    texts_add(&value.words, text_copy("running"));
    texts_add(&value.words, text_copy("at_speed"));
    expect_text(show_value(&value, UNIT_NONE, 0), "running, at_speed");
    value_free(&value);
}

static void expect_range(double low, double nominal, double high, enum unit unit, double step, const char *text)
{
    struct expected expected = {.kind = EXPECTED_RANGE, .low = low, .nominal = nominal, .high = high};
    expect_text(words_expected(&expected, unit, step), text);
}

static void a_band_shows_half_a_step(void **state)
{
    (void)state;
    expect_range(2.945, 3, 3.055, UNIT_A, 0.01, "3.00 A (2.945 to 3.055)");
    expect_range(1490, 1500, 1510, UNIT_W, 0, "1500 W (1490 to 1510)");
}

static void a_band_has_no_zeros_that_say_nothing(void **state)
{
    (void)state;
    expect_range(1744, 1745, 1746, UNIT_RPM, 1, "1745 rpm (1744 to 1746)");
    expect_range(399.5, 400, 400.5, UNIT_V, 0.1, "400.0 V (399.5 to 400.5)");
    expect_range(59.9, 60, 60.1, UNIT_HZ, 0.01, "60.00 Hz (59.9 to 60.1)");
    expect_range(59, 60, 60.05, UNIT_HZ, 0.01, "60.00 Hz (59.00 to 60.05)");
    expect_range(100, 110, 120, UNIT_V, 10, "110 V (100 to 120)");
}

static void a_band_without_width_is_its_number(void **state)
{
    (void)state;
    expect_range(4, 4, 4, UNIT_NONE, 0, "4");
}

static void open_bands_say_their_end(void **state)
{
    (void)state;
    expect_range(9.95, (double)NAN, (double)INFINITY, UNIT_S, 0.1, "at least 9.95 s");
    expect_range(-(double)INFINITY, (double)NAN, 150.05, UNIT_PERCENT, 0.1, "at most 150.05 %");
    expect_range(19.995, (double)NAN, 25.005, UNIT_HZ, 0.01, "19.995 to 25.005 Hz");
}

static void expected_words_are_joined(void **state)
{
    (void)state;
    struct expected expected = {.kind = EXPECTED_NOTHING};
    expect_text(words_expected(&expected, UNIT_A, 0.01), "-");
    expected.kind = EXPECTED_ONE_OF;
    texts_add(&expected.one_of, text_copy("coast"));
    expect_text(words_expected(&expected, UNIT_NONE, 0), "coast");
    texts_add(&expected.one_of, text_copy("ramp"));
    expect_text(words_expected(&expected, UNIT_NONE, 0), "coast or ramp");
    texts_free(&expected.one_of);
}

static void lines_are_written_as_the_trade_does(void **state)
{
    (void)state;
    struct line line = {.serial = text_copy("/dev/ttyUSB0"), .baud = 19200, .parity = PARITY_EVEN, .stop_bits = 1};
    expect_text(words_line(&line), "/dev/ttyUSB0 19200 8E1");
    line.parity = PARITY_NONE;
    line.stop_bits = 2;
    expect_text(words_line(&line), "/dev/ttyUSB0 19200 8N2");
    line.parity = PARITY_ODD;
    expect_text(words_line(&line), "/dev/ttyUSB0 19200 8O2");
    line_free(&line);
    expect_text(words_line(&line), "no line");
    line = (struct line){.host = text_copy("192.0.2.10"), .port = 502};
    expect_text(words_line(&line), "192.0.2.10:502");
    line_free(&line);
    line = (struct line){.host = text_copy("2001:db8::1"), .port = 5020};
    expect_text(words_line(&line), "[2001:db8::1]:5020");
    line_free(&line);
}

static void times_are_utc_to_the_millisecond(void **state)
{
    (void)state;
    expect_text(words_time(0), "1970-01-01T00:00:00.000Z");
    expect_text(words_time(1769846400007), "2026-01-31T08:00:00.007Z"); /* date -u -d @1769846400 */
}

static void traffic_tells_what_happened_and_no_more(void **state)
{
    (void)state;
    struct traffic traffic = {0};
    expect_text(words_traffic(&traffic), "0 requests");
    traffic.requests = 1;
    expect_text(words_traffic(&traffic), "1 request");
    traffic =
        (struct traffic){.requests = 9, .retries = 1, .exceptions = 2, .timeouts = 1, .bad_frames = 3, .discarded = 1};
    expect_text(words_traffic(&traffic),
                "9 requests, 1 retry, 2 exceptions, 1 timeout, 3 bad frames, 1 frame discarded");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_number_has_the_decimals_of_its_step_and_its_unit),
        cmocka_unit_test(other_values_are_words),
        cmocka_unit_test(a_band_shows_half_a_step),
        cmocka_unit_test(a_band_has_no_zeros_that_say_nothing),
        cmocka_unit_test(a_band_without_width_is_its_number),
        cmocka_unit_test(open_bands_say_their_end),
        cmocka_unit_test(expected_words_are_joined),
        cmocka_unit_test(lines_are_written_as_the_trade_does),
        cmocka_unit_test(times_are_utc_to_the_millisecond),
        cmocka_unit_test(traffic_tells_what_happened_and_no_more),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
