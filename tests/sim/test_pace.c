/* SPDX-License-Identifier: MIT */
/* Wire time, computed: characters, silences, and a line clock that never drifts. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sim/pace.h"

enum { REQUEST = 8, REPLY = 7, MS = 1000000 };

static void characters_take_their_bits(void **state)
{
    (void)state;
    const struct pace eleven = {.baud = 9600, .character_bits = 11};
    const struct pace ten = {.baud = 9600, .character_bits = 10};
    assert_int_equal(pace_characters_ns(&eleven, 9600), INT64_C(11000000000));
    assert_int_equal(pace_characters_ns(&ten, 1), 1041666);
}

/* Source: MODBUS over Serial Line V1.02, section 2.5.1.1: 3.5 characters, and 1.750 ms for rates above 19200 bit/s. */
static void silence_is_three_and_a_half_characters_or_1750_us(void **state)
{
    (void)state;
    assert_int_equal(pace_silence_ns(&(struct pace){.baud = 9600, .character_bits = 11}), 4010416);
    assert_int_equal(pace_silence_ns(&(struct pace){.baud = 19200, .character_bits = 11}), 2005208);
    assert_int_equal(pace_silence_ns(&(struct pace){.baud = 19201, .character_bits = 11}), 1750000);
    assert_int_equal(pace_silence_ns(&(struct pace){.baud = 115200, .character_bits = 11}), 1750000);
    assert_int_equal(pace_silence_ns(&(struct pace){0}), 0);
}

static void without_a_speed_only_the_turnaround_counts(void **state)
{
    (void)state;
    struct line_clock clock;
    line_clock_init(&clock, &(struct pace){.turnaround_us = 2500});
    const struct line_turn turn = line_clock_request(&clock, 7 * MS, REQUEST);
    assert_int_equal(turn.start_ns, 7 * MS);
    assert_int_equal(turn.heard_ns, 7 * MS);
    assert_int_equal(line_clock_reply_ns(&clock, turn.heard_ns, REPLY), 7 * MS + 2500000);
}

/* A master that asks again the moment it has its reply: each request starts the silence after the reply before, so a
 * thousand of them take a thousand times as long as one, to the nanosecond. */
static void a_thousand_requests_take_a_thousand_times_as_long(void **state)
{
    (void)state;
    const struct pace pace = {.baud = 19200, .character_bits = 12, .turnaround_us = 5000};
    struct line_clock clock;
    line_clock_init(&clock, &pace);
    int64_t now_ns = 0;
    for (int i = 0; i < 1000; i++) {
        const struct line_turn turn = line_clock_request(&clock, now_ns, REQUEST);
        const int64_t release_ns = line_clock_reply_ns(&clock, turn.heard_ns, REPLY);
        line_clock_occupy(&clock, release_ns);
        now_ns = release_ns + 1; /* late by a trifle every time, well within the silence: it must not add up */
    }
    /* 12 bits at 19200 baud are 625 us: 3.5 of them before each request but the first and before each reply. */
    const int64_t once_ns = 8 * 625000 + 2187500 + 5 * MS + 7 * 625000;
    assert_int_equal(clock.free_ns, 1000 * once_ns + 999 * INT64_C(2187500));
}

static void a_request_that_comes_later_starts_when_it_comes(void **state)
{
    (void)state;
    struct line_clock clock;
    line_clock_init(&clock, &(struct pace){.baud = 19200, .character_bits = 12});
    line_clock_occupy(&clock, 10 * MS);
    assert_int_equal(line_clock_request(&clock, 12 * MS, REQUEST).start_ns, 10 * MS + 2187500);
    line_clock_occupy(&clock, 20 * MS);
    assert_int_equal(line_clock_request(&clock, 30 * MS, REQUEST).start_ns, 30 * MS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(characters_take_their_bits),
        cmocka_unit_test(silence_is_three_and_a_half_characters_or_1750_us),
        cmocka_unit_test(without_a_speed_only_the_turnaround_counts),
        cmocka_unit_test(a_thousand_requests_take_a_thousand_times_as_long),
        cmocka_unit_test(a_request_that_comes_later_starts_when_it_comes),
    };
    return cmocka_run_group_tests_name("sim_pace", tests, NULL, NULL);
}
