/* SPDX-License-Identifier: MIT */
/* The order of a search against the best of all orders, what it contains, and how long it takes. */
#include "bus/search_order.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static struct search_order first_of(const struct search_bounds *bounds)
{
    struct search_order order;
    search_order_first(bounds, &order);
    return order;
}

static const struct serial_format *format_of(const struct search_order *order, size_t step)
{
    return &order->formats[order->steps[step].format];
}

static void everything_is_tried_once(void **state)
{
    (void)state;
    struct search_order order = first_of(&(struct search_bounds){0});
    assert_int_equal(order.format_count, 24);
    assert_int_equal(order.count, 24 * 247);
    bool seen[24][256] = {{false}};
    for (size_t i = 0; i < order.count; i++) {
        bool *here = &seen[order.steps[i].format][order.steps[i].unit];
        assert_false(*here);
        assert_in_range(order.steps[i].unit, 1, 247);
        *here = true;
    }
    search_order_free(&order);
}

static void the_likeliest_comes_first(void **state)
{
    (void)state;
    struct search_order order = first_of(&(struct search_bounds){0});
    assert_int_equal(order.steps[0].unit, 1);
    assert_int_equal(format_of(&order, 0)->baud, 19200);
    assert_int_equal(format_of(&order, 0)->parity, PARITY_EVEN);
    assert_int_equal(format_of(&order, 0)->stop_bits, 1);
    search_order_free(&order);
}

/* 8N2 reaches drives that are set to 8N1 as well as those set to 8N2 (UART logic, common practice). */
static void no_parity_goes_with_two_stop_bits(void **state)
{
    (void)state;
    struct search_order order = first_of(&(struct search_bounds){.baud = 9600, .parity_given = true});
    assert_int_equal(order.format_count, 1);
    assert_int_equal(order.formats[0].stop_bits, 2);
    search_order_free(&order);
}

static void bounds_leave_what_is_asked_for(void **state)
{
    (void)state;
    const struct search_bounds bounds = {
        .baud = 14400, .parity_given = true, .parity = PARITY_ODD, .stop_bits = 2, .unit_given = true, .unit = 200};
    struct search_order order = first_of(&bounds);
    assert_int_equal(order.count, 1);
    assert_int_equal(order.steps[0].unit, 200);
    assert_int_equal(format_of(&order, 0)->baud, 14400);
    assert_int_equal(format_of(&order, 0)->parity, PARITY_ODD);
    assert_int_equal(format_of(&order, 0)->stop_bits, 2);
    search_order_free(&order);
}

/* ---- against the best of all orders ----
 *
 * Unit 1 at 24 formats: 8 speeds of 3 formats each. Of each speed so many steps may be done, the likeliest first, which
 * makes 4 to the 8th states; the least expected time from each to the end is found backwards. */

enum { SPEEDS = 8, EACH = 3, STATES = 1 << (2 * SPEEDS) };

struct chain {
    unsigned baud;
    double likely[EACH], time_s[EACH];
};

static int by_worth(const void *left, const void *right)
{
    const double *a = left, *b = right; /* likely, time */
    double worth = b[0] / b[1] - a[0] / a[1];
    return worth < 0 ? -1 : worth > 0 ? 1 : 0;
}

static void chains_of(const struct search_order *order, struct chain chains[SPEEDS])
{
    size_t made = 0;
    for (size_t i = 0; i < order->format_count; i++) {
        size_t at = 0;
        while (at < made && chains[at].baud != order->formats[i].baud)
            at++;
        if (at < made)
            continue;
        double pairs[EACH][2];
        size_t count = 0;
        for (size_t j = 0; j < order->format_count; j++)
            if (order->formats[j].baud == order->formats[i].baud) {
                assert_true(count < EACH);
                pairs[count][0] = order->likely[j];
                pairs[count++][1] = (double)search_probe_us(&order->formats[j], order->answers_within_us) / 1e6;
            }
        qsort(pairs, count, sizeof pairs[0], by_worth);
        chains[made].baud = order->formats[i].baud;
        for (size_t j = 0; j < EACH; j++) {
            chains[made].likely[j] = pairs[j][0];
            chains[made].time_s[j] = pairs[j][1] + (j == 0 ? SEARCH_LISTEN_US / 1e6 : 0);
        }
        made++;
    }
    assert_int_equal(made, SPEEDS);
}

static unsigned done_of(size_t state, size_t chain)
{
    return (unsigned)(state >> (2 * chain)) & 3U;
}

static double least_expected_s(const struct chain chains[SPEEDS])
{
    double *least = test_malloc(STATES * sizeof *least);
    for (size_t state = STATES; state-- > 0;) {
        double open = 0, best = -1;
        for (size_t i = 0; i < SPEEDS; i++)
            for (unsigned j = done_of(state, i); j < EACH; j++)
                open += chains[i].likely[j];
        for (size_t i = 0; i < SPEEDS; i++) {
            unsigned done = done_of(state, i);
            if (done == EACH)
                continue;
            double with = open * chains[i].time_s[done] + least[state + ((size_t)1 << (2 * i))];
            best = best < 0 || with < best ? with : best;
        }
        least[state] = best < 0 ? 0 : best;
    }
    double all = least[0];
    test_free(least);
    return all;
}

static double expected_s(const struct search_order *order)
{
    struct search_ground ground = {.format = SEARCH_FORMATS};
    double now_s = 0, expected = 0;
    for (size_t i = 0; i < order->count; i++) {
        size_t format = order->steps[i].format;
        size_t listen = search_to_listen(order, &ground, format);
        if (listen != SEARCH_FORMATS) {
            ground.listened[listen] = true;
            now_s += SEARCH_LISTEN_US / 1e6;
        }
        now_s += (double)search_probe_us(&order->formats[format], order->answers_within_us) / 1e6;
        expected += now_s * order->likely[format];
    }
    return expected;
}

static void no_order_finds_sooner_on_average(void **state)
{
    (void)state;
    struct search_order order = first_of(&(struct search_bounds){.unit_given = true, .unit = 1});
    struct chain chains[SPEEDS];
    chains_of(&order, chains);
    double least = least_expected_s(chains), ours = expected_s(&order);
    print_message("unit 1 at 24 formats: found after %.3f s on average, the best of all orders %.3f s\n", ours, least);
    assert_true(ours <= least * (1 + 1e-9) && ours >= least * (1 - 1e-9));
    search_order_free(&order);
}

/* ---- favour ---- */

static void a_sign_brings_its_speed_forward(void **state)
{
    (void)state;
    struct search_order order = first_of(&(struct search_bounds){0});
    struct search_ground ground = {.format = 0};
    for (size_t i = 0; i < order.format_count; i++)
        ground.listened[i] = true;
    enum { DONE = 40 };
    struct search_step done[DONE];
    memcpy(done, order.steps, sizeof done);
    search_order_favour(&order, DONE, &ground, 2400, 9);
    assert_memory_equal(order.steps, done, sizeof done);
    for (size_t i = DONE; i < DONE + 3; i++) {
        assert_int_equal(format_of(&order, i)->baud, 2400);
        assert_true(order.steps[i].unit == 9 || order.steps[i].unit == 1);
    }
    assert_int_equal(order.count, 24 * 247);
    search_order_free(&order);
}

/* ---- the second pass ---- */

static void the_second_pass_asks_the_likeliest_formats_again(void **state)
{
    (void)state;
    const struct search_bounds bounds = {0};
    struct search_order first = first_of(&bounds), second;
    search_order_second(&bounds, &first, &second);
    assert_int_equal(second.count, SEARCH_SLOW_FORMATS * SEARCH_SLOW_LAST_UNIT);
    assert_int_equal(second.answers_within_us, SEARCH_SLOW_US);
    for (size_t i = 0; i < second.count; i++) {
        assert_true(format_of(&second, i)->baud == 19200 || format_of(&second, i)->baud == 9600);
        assert_int_not_equal(format_of(&second, i)->parity, PARITY_ODD);
        assert_in_range(second.steps[i].unit, 1, SEARCH_SLOW_LAST_UNIT);
    }
    search_order_free(&first);
    search_order_free(&second);
}

/* ---- listening and time ---- */

static void each_speed_is_listened_to_once(void **state)
{
    (void)state;
    struct search_order order = first_of(&(struct search_bounds){0});
    struct search_ground ground = {.format = SEARCH_FORMATS};
    unsigned times = 0;
    for (size_t i = 0; i < order.count; i++) {
        size_t listen = search_to_listen(&order, &ground, order.steps[i].format);
        if (listen == SEARCH_FORMATS)
            continue;
        assert_int_equal(listen, order.steps[i].format);
        ground.listened[listen] = true;
        times++;
    }
    assert_int_equal(times, 8);
    search_order_free(&order);
}

static void a_noisy_line_is_listened_to_at_every_format(void **state)
{
    (void)state;
    struct search_order order = first_of(&(struct search_bounds){0});
    struct search_ground ground = {.format = SEARCH_FORMATS, .noisy = true};
    unsigned times = 0;
    size_t listen;
    while ((listen = search_to_listen(&order, &ground, order.steps[0].format)) != SEARCH_FORMATS) {
        assert_false(ground.listened[listen]);
        ground.listened[listen] = true;
        times++;
    }
    assert_int_equal(times, 24);
    search_order_free(&order);
}

/* 15 characters of 11 bits at 9600 baud, 100 ms for the unit, 20 ms for the adapter. */
static void a_question_takes_its_characters_and_its_patience(void **state)
{
    (void)state;
    const struct serial_format format = {.baud = 9600, .parity = PARITY_EVEN, .stop_bits = 1};
    assert_in_range(search_probe_us(&format, 100000), 120000 + 15 * 11 * 1000000 / 9600,
                    120002 + 15 * 11 * 1000000 / 9600);
}

static void what_is_left_is_the_sum_of_what_is_left(void **state)
{
    (void)state;
    struct search_order order = first_of(&(struct search_bounds){.baud = 9600});
    const struct serial_format n = {9600, PARITY_NONE, 2}, e = {9600, PARITY_EVEN, 1}, o = {9600, PARITY_ODD, 1};
    int64_t sum_us = SEARCH_LISTEN_US;
    sum_us += 247 * (search_probe_us(&n, SEARCH_FAST_US) + search_probe_us(&e, SEARCH_FAST_US) +
                     search_probe_us(&o, SEARCH_FAST_US));
    size_t before = order.steps[0].format; /* it is set while the line is listened to */
    for (size_t i = 0; i < order.count; before = order.steps[i++].format)
        sum_us += order.steps[i].format != before ? search_change_us(format_of(&order, i)) : 0;
    struct search_ground ground = {.format = SEARCH_FORMATS};
    assert_int_equal(search_left_us(&order, 0, &ground), sum_us);
    assert_int_equal(search_left_us(&order, order.count, &ground), 0);
    search_order_free(&order);
}

static void what_the_port_refuses_takes_no_time(void **state)
{
    (void)state;
    struct search_order order = first_of(&(struct search_bounds){.baud = 9600, .unit_given = true, .unit = 3});
    struct search_ground ground = {.format = SEARCH_FORMATS, .refused = {true, true, true}};
    assert_int_equal(search_left_us(&order, 0, &ground), 0);
    search_order_free(&order);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(everything_is_tried_once),
        cmocka_unit_test(the_likeliest_comes_first),
        cmocka_unit_test(no_parity_goes_with_two_stop_bits),
        cmocka_unit_test(bounds_leave_what_is_asked_for),
        cmocka_unit_test(no_order_finds_sooner_on_average),
        cmocka_unit_test(a_sign_brings_its_speed_forward),
        cmocka_unit_test(the_second_pass_asks_the_likeliest_formats_again),
        cmocka_unit_test(each_speed_is_listened_to_once),
        cmocka_unit_test(a_noisy_line_is_listened_to_at_every_format),
        cmocka_unit_test(a_question_takes_its_characters_and_its_patience),
        cmocka_unit_test(what_is_left_is_the_sum_of_what_is_left),
        cmocka_unit_test(what_the_port_refuses_takes_no_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
