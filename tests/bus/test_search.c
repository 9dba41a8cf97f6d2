/* SPDX-License-Identifier: MIT */
/* Searching a serial line on a virtual clock: what is found, how soon, and what is told from what. */
#include "bus/search_bench.h"

#include <math.h>

static const struct search_bounds everything = {0};

static struct serial_format only_format(const struct search_result *result)
{
    assert_int_equal(result->unit_count, 1);
    assert_true(found_unit_sure(&result->units[0]));
    return result->units[0].format;
}

static bool is_found(void *user)
{
    struct bench *bench = user;
    return bench->done || search_progress(bench->search).found > 0;
}

/* Until the first unit is confirmed. */
static double find_s(uint8_t unit, unsigned baud, enum parity parity)
{
    struct bench bench;
    bench_start(&bench, false);
    struct bench_drive *drive = bench_drive(&bench, unit, baud, parity);
    drive->turnaround_us = 10000;
    int64_t began_us = bench.line->now_us;
    bench_begin(&bench, &everything);
    assert_true(loop_run(bench.line->loop, is_found, &bench, -1));
    double took_s = (double)(bench.line->now_us - began_us) / 1e6;
    const struct search_result *result = bench_result(&bench);
    struct serial_format format = only_format(result);
    assert_true(bench_reaches(&format, &drive->format));
    assert_int_equal(result->units[0].unit, unit);
    bench_stop(&bench);
    return took_s;
}

/* ---- how soon ---- */

static void unit_1_is_found_within_60_s_at_whatever_format(void **state)
{
    (void)state;
    static const unsigned speeds[] = {1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200};
    double longest_s = 0, sum_s = 0;
    for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++)
        for (enum parity parity = PARITY_NONE; parity <= PARITY_ODD; parity++) {
            double took_s = find_s(1, speeds[i], parity);
            print_message("unit 1 at %u %c: found after %.1f s of wire time\n", speeds[i], "NEO"[parity], took_s);
            longest_s = took_s > longest_s ? took_s : longest_s;
            sum_s += took_s;
        }
    print_message("unit 1: at most %.1f s, %.1f s on average of all formats\n", longest_s, sum_s / 24);
    assert_true(longest_s < 60);
}

static void a_high_unit_is_found_at_the_standards_format(void **state)
{
    (void)state;
    double took_s = find_s(200, 19200, PARITY_EVEN);
    print_message("unit 200 at 19200 8E1: found after %.1f s of wire time\n", took_s);
    assert_true(took_s < 120);
}

/* ---- the estimate ---- */

static void the_estimate_of_a_silent_line_comes_true(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    int64_t began_us = bench.line->now_us;
    bench_begin(&bench, &everything);
    double whole_s = (double)search_progress(bench.search).left_us / 1e6, worst_s = 0;
    for (unsigned i = 1; !bench.done; i++) {
        (void)loop_run(bench.line->loop, bench_is_done, &bench, began_us + (int64_t)i * 7000000);
        struct search_progress progress = search_progress(bench.search);
        double off_s = fabs((double)(progress.spent_us + progress.left_us) / 1e6 - whole_s);
        worst_s = off_s > worst_s ? off_s : worst_s;
    }
    double took_s = (double)(bench.line->now_us - began_us) / 1e6;
    print_message("a silent line: %.1f s announced, %.1f s taken, meanwhile off by at most %.2f s\n", whole_s, took_s,
                  worst_s);
    assert_true(fabs(took_s - whole_s) < 0.0005 * whole_s);
    assert_true(worst_s < 0.0005 * whole_s);
    assert_int_equal(bench_result(&bench)->verdict, SEARCH_NOTHING);
    assert_int_equal(bench_result(&bench)->formats_tried, 24);
    assert_int_equal(bench_result(&bench)->probes, 24 * 247 + SEARCH_SLOW_FORMATS * SEARCH_SLOW_LAST_UNIT);
    assert_int_equal(search_progress(bench.search).left_us, 0);
    bench_stop(&bench);
}

/* ---- what is a find ---- */

static void an_exception_is_a_find(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench_drive(&bench, 3, 9600, PARITY_NONE)->exception = 0x02;
    (void)bench_search_s(&bench, &everything);
    const struct search_result *result = bench_result(&bench);
    assert_int_equal(result->verdict, SEARCH_FOUND);
    assert_int_equal(only_format(result).baud, 9600);
    assert_int_equal(result->units[0].answered.kind, SYMPTOM_EXCEPTION);
    assert_int_equal(result->units[0].answered.exception, 0x02);
    bench_stop(&bench);
}

static void all_units_at_the_format_are_found(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench_drive(&bench, 1, 9600, PARITY_EVEN);
    bench_drive(&bench, 77, 9600, PARITY_EVEN);
    bench_drive(&bench, 247, 9600, PARITY_EVEN);
    bench_drive(&bench, 5, 1200, PARITY_ODD); /* not on this line's format: a line has one */
    (void)bench_search_s(&bench, &everything);
    const struct search_result *result = bench_result(&bench);
    assert_int_equal(result->unit_count, 3);
    assert_int_equal(result->units[0].unit, 1);
    assert_int_equal(result->units[1].unit, 77);
    assert_int_equal(result->units[2].unit, 247);
    bench_stop(&bench);
}

/* The unit number in a reply tells whose it is: 180 ms are more than a question is given. */
static void a_late_answer_is_credited_to_who_sent_it(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench_drive(&bench, 5, 19200, PARITY_EVEN)->turnaround_us = 180000;
    int64_t began_us = bench.line->now_us;
    bench_begin(&bench, &(struct search_bounds){.baud = 19200, .parity_given = true, .parity = PARITY_EVEN});
    assert_true(loop_run(bench.line->loop, is_found, &bench, -1));
    assert_true(bench.line->now_us - began_us < 5000000); /* in the first pass, for which it is too slow */
    const struct search_result *result = bench_result(&bench);
    assert_int_equal(result->unit_count, 1);
    assert_int_equal(result->units[0].unit, 5);
    assert_true(found_unit_sure(&result->units[0]));
    assert_true(result->units[0].slowest_us >= 180000);
    bench_stop(&bench);
}

static void a_unit_that_answers_once_is_not_found(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    struct bench_drive *drive = bench_drive(&bench, 1, 19200, PARITY_EVEN);
    drive->answers_at_most = 1;
    drive->exception = 0x04;
    (void)bench_search_s(&bench, &(struct search_bounds){.baud = 19200});
    const struct search_result *result = bench_result(&bench);
    assert_int_equal(result->verdict, SEARCH_SOMETHING);
    assert_int_equal(result->unit_count, 1);
    assert_int_equal(result->units[0].confirmed, 0);
    assert_int_equal(result->units[0].answered.exception, 0x04);
    bench_stop(&bench);
}

static void an_adapter_that_hears_itself_is_no_unit(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench.echo = true;
    bench_drive(&bench, 2, 19200, PARITY_EVEN);
    (void)bench_search_s(&bench, &(struct search_bounds){.baud = 19200});
    const struct search_result *result = bench_result(&bench);
    assert_int_equal(result->verdict, SEARCH_FOUND);
    assert_int_equal(result->unit_count, 1);
    assert_int_equal(result->units[0].unit, 2);
    bench_stop(&bench);
}

/* ---- bounds ---- */

static void options_narrow_the_search(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    const struct search_bounds bounds = {
        .baud = 9600, .parity_given = true, .parity = PARITY_ODD, .unit_given = true, .unit = 30};
    double took_s = bench_search_s(&bench, &bounds);
    assert_int_equal(bench.line->frames, 2); /* and once more with more patience */
    assert_int_equal(bench.asked[30], 2);
    assert_int_equal(bench.formats_set, 1);
    assert_true(took_s < 4);
    bench_stop(&bench);
}

static void a_given_unit_ends_the_search_when_it_is_found(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench_drive(&bench, 4, 9600, PARITY_NONE);
    (void)bench_search_s(&bench, &(struct search_bounds){.unit_given = true, .unit = 4});
    assert_int_equal(only_format(bench_result(&bench)).baud, 9600);
    for (unsigned unit = 0; unit < 256; unit++)
        assert_true(unit == 4 || bench.asked[unit] == 0);
    bench_stop(&bench);
}

static void what_the_port_refuses_is_left_out(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench.refuses = 19200;
    bench_drive(&bench, 1, 57600, PARITY_ODD);
    (void)bench_search_s(&bench, &everything);
    assert_int_equal(only_format(bench_result(&bench)).baud, 57600);
    assert_int_equal(bench_result(&bench)->formats_refused, 3);
    bench_stop(&bench);
}

/* ---- signs ---- */

static bool is_sign(void *user)
{
    struct bench *bench = user;
    return bench->done || bench_result(bench)->sign_count > 0;
}

static void a_garbled_answer_keeps_the_search_at_that_speed(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench_drive(&bench, 40, 2400, PARITY_ODD)->heeds_no_parity = true;
    bench_begin(&bench, &everything);
    assert_true(loop_run(bench.line->loop, is_sign, &bench, -1));
    int64_t sign_us = bench.line->now_us;
    assert_true(loop_run(bench.line->loop, is_found, &bench, -1));
    double took_s = (double)(bench.line->now_us - sign_us) / 1e6;
    assert_int_equal(only_format(bench_result(&bench)).parity, PARITY_ODD);
    assert_in_range(bench_result(&bench)->sign_count, 1, 2); /* without parity, and even */
    print_message("unit 40 at 2400 8O1: found %.1f s after the first garbled answer\n", took_s);
    assert_true(took_s < 2);
    bench_stop(&bench);
}

static void bytes_that_make_no_frame_are_something(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench_drive(&bench, 1, 9600, PARITY_ODD)->heeds_no_parity = true;
    (void)bench_search_s(&bench, &(struct search_bounds){.baud = 9600, .parity_given = true, .parity = PARITY_EVEN});
    const struct search_result *result = bench_result(&bench);
    assert_int_equal(result->verdict, SEARCH_SOMETHING);
    assert_int_equal(result->sign_count, 1);
    assert_int_equal(result->signs[0].format.baud, 9600);
    assert_false(result->signs[0].unasked);
    assert_true(result->signs[0].bytes >= 7);
    bench_stop(&bench);
}

static void a_glitch_of_the_adapter_is_nothing(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench.glitches = true;
    double took_s = bench_search_s(&bench, &(struct search_bounds){.unit_given = true, .unit = 3});
    assert_int_equal(bench_result(&bench)->verdict, SEARCH_NOTHING);
    assert_true(took_s < 30); /* and no reason to listen at all 24 formats */
    bench_stop(&bench);
}

static void counted_framing_errors_are_something(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench.errors.counted = true;
    bench.framing_a_question = 2;
    (void)bench_search_s(&bench, &(struct search_bounds){.baud = 9600, .unit_given = true, .unit = 1});
    const struct search_result *result = bench_result(&bench);
    assert_int_equal(result->verdict, SEARCH_SOMETHING);
    assert_true(result->errors_counted);
    assert_int_equal(result->sign_count, 3);
    assert_int_equal(result->signs[0].framing, 2 * 2); /* both passes */
    assert_int_equal(result->signs[0].bytes, 0);
    bench_stop(&bench);
}

/* ---- another master ---- */

static void another_master_is_heard_before_anything_is_sent(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench.has_master = true;
    bench.master = (struct serial_format){.baud = 19200, .parity = PARITY_EVEN, .stop_bits = 1};
    bench_drive(&bench, 1, 19200, PARITY_EVEN);
    (void)bench_search_s(&bench, &everything);
    assert_int_equal(bench_result(&bench)->verdict, SEARCH_OTHER_MASTER);
    assert_int_equal(bench.line->frames, 0);
    bench_stop(&bench);
}

/* At 19200 baud its frames are noise: nothing is sent before every format has been listened to. */
static void another_master_at_an_unlikely_format_is_heard_too(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench.has_master = true;
    bench.master = (struct serial_format){.baud = 1200, .parity = PARITY_ODD, .stop_bits = 1};
    (void)bench_search_s(&bench, &everything);
    assert_int_equal(bench_result(&bench)->verdict, SEARCH_OTHER_MASTER);
    assert_int_equal(bench.line->frames, 0);
    assert_true(bench_result(&bench)->sign_count > 0 && bench_result(&bench)->signs[0].unasked);
    bench_stop(&bench);
}

static size_t say_foreign(struct bench *bench, int64_t after_us)
{
    uint8_t frame[RTU_BYTES];
    struct pdu pdu;
    (void)pdu_read(&pdu, FUNCTION_READ_INPUT_REGISTERS, 0x0107, 2);
    size_t length = rtu_build(frame, 9, &pdu);
    fake_say(bench->line, after_us, frame, length);
    return length;
}

static void foreign_question(struct line_fake *line, const uint8_t *frame, size_t length)
{
    bench_drives(line, frame, length);
    if (line->frames == 5)
        (void)say_foreign(line->user, 50000);
}

static void a_master_that_begins_later_ends_the_search(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench.line->drive = foreign_question;
    (void)bench_search_s(&bench, &everything);
    assert_int_equal(bench_result(&bench)->verdict, SEARCH_OTHER_MASTER);
    assert_int_equal(bench.line->frames, 5);
    bench_stop(&bench);
}

/* ---- the end ---- */

static void an_unplugged_port_ends_the_search(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench_drive(&bench, 1, 19200, PARITY_EVEN);
    bench_begin(&bench, &everything);
    assert_true(loop_run(bench.line->loop, is_found, &bench, -1));
    bench.line->closed = true;
    bench.line->contact = CONTACT_CLOSED;
    assert_true(loop_run(bench.line->loop, bench_is_done, &bench, -1));
    assert_int_equal(bench_result(&bench)->verdict, SEARCH_FOUND);
    assert_string_equal(bench_result(&bench)->remark, "the port went away");
    bench_stop(&bench);
}

static void an_interrupted_search_tells_what_it_found(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, false);
    bench_drive(&bench, 1, 19200, PARITY_EVEN);
    bench_begin(&bench, &everything);
    assert_true(loop_run(bench.line->loop, is_found, &bench, -1));
    assert_true(bench_result(&bench)->interrupted);
    assert_int_equal(bench_result(&bench)->verdict, SEARCH_FOUND);
    assert_true(bench_result(&bench)->traffic.requests > 0);
    bench_stop(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unit_1_is_found_within_60_s_at_whatever_format),
        cmocka_unit_test(a_high_unit_is_found_at_the_standards_format),
        cmocka_unit_test(the_estimate_of_a_silent_line_comes_true),
        cmocka_unit_test(an_exception_is_a_find),
        cmocka_unit_test(all_units_at_the_format_are_found),
        cmocka_unit_test(a_late_answer_is_credited_to_who_sent_it),
        cmocka_unit_test(a_unit_that_answers_once_is_not_found),
        cmocka_unit_test(an_adapter_that_hears_itself_is_no_unit),
        cmocka_unit_test(options_narrow_the_search),
        cmocka_unit_test(a_given_unit_ends_the_search_when_it_is_found),
        cmocka_unit_test(what_the_port_refuses_is_left_out),
        cmocka_unit_test(a_garbled_answer_keeps_the_search_at_that_speed),
        cmocka_unit_test(bytes_that_make_no_frame_are_something),
        cmocka_unit_test(a_glitch_of_the_adapter_is_nothing),
        cmocka_unit_test(counted_framing_errors_are_something),
        cmocka_unit_test(another_master_is_heard_before_anything_is_sent),
        cmocka_unit_test(another_master_at_an_unlikely_format_is_heard_too),
        cmocka_unit_test(a_master_that_begins_later_ends_the_search),
        cmocka_unit_test(an_unplugged_port_ends_the_search),
        cmocka_unit_test(an_interrupted_search_tells_what_it_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
