/* SPDX-License-Identifier: MIT */
/* The simulator's register encoding, against words worked out by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sim/near.h"
#include "sim/registers.h"

#include <math.h>

static struct parameter of_type(enum value_type type, unsigned words)
{
    return (struct parameter){.type = type, .words = words, .scale = 1};
}

static uint32_t nearest(enum value_type type, unsigned words, double number)
{
    const struct parameter parameter = of_type(type, words);
    uint32_t raw = 0xdeadbeef;
    assert_true(registers_nearest_raw(&parameter, number, &raw));
    return raw;
}

static bool fits(enum value_type type, unsigned words, double number)
{
    const struct parameter parameter = of_type(type, words);
    uint32_t raw = 0;
    return registers_nearest_raw(&parameter, number, &raw);
}

static void u16_is_rounded_to_the_nearest_step(void **state)
{
    (void)state;
    assert_int_equal(nearest(TYPE_U16, 1, 600), 0x0258);
    assert_int_equal(nearest(TYPE_U16, 1, 600.4), 0x0258);
    assert_int_equal(nearest(TYPE_U16, 1, 599.6), 0x0258);
}

static void s16_is_twos_complement(void **state)
{
    (void)state;
    const struct parameter parameter = of_type(TYPE_S16, 1);
    assert_int_equal(nearest(TYPE_S16, 1, -1), 0xffff);
    assert_int_equal(nearest(TYPE_S16, 1, -32768), 0x8000);
    assert_near(registers_number(&parameter, 0xffff), -1, 0);
    assert_near(registers_number(&parameter, 0x7fff), 32767, 0);
}

static void s32_is_twos_complement(void **state)
{
    (void)state;
    const struct parameter parameter = of_type(TYPE_S32, 2);
    assert_int_equal(nearest(TYPE_S32, 2, -2), 0xfffffffe);
    assert_near(registers_number(&parameter, 0xfffffffe), -2, 0);
}

static void u32_high_first(void **state)
{
    (void)state;
    const struct parameter parameter = of_type(TYPE_U32, 2);
    uint16_t words[2];
    registers_from_raw(&parameter, ORDER_HIGH_FIRST, 100000, words); /* 0x000186A0 */
    assert_int_equal(words[0], 0x0001);
    assert_int_equal(words[1], 0x86a0);
    assert_int_equal(registers_to_raw(&parameter, ORDER_HIGH_FIRST, words), 100000);
}

static void u32_low_first(void **state)
{
    (void)state;
    const struct parameter parameter = of_type(TYPE_U32, 2);
    uint16_t words[2];
    registers_from_raw(&parameter, ORDER_LOW_FIRST, 100000, words);
    assert_int_equal(words[0], 0x86a0);
    assert_int_equal(words[1], 0x0001);
    assert_int_equal(registers_to_raw(&parameter, ORDER_LOW_FIRST, words), 100000);
}

static void f32_of_60_is_4270_0000(void **state)
{
    (void)state;
    const struct parameter parameter = of_type(TYPE_F32, 2);
    uint16_t words[2];
    const uint32_t raw = nearest(TYPE_F32, 2, 60.0);
    registers_from_raw(&parameter, ORDER_HIGH_FIRST, raw, words);
    assert_int_equal(words[0], 0x4270);
    assert_int_equal(words[1], 0x0000);
    registers_from_raw(&parameter, ORDER_LOW_FIRST, raw, words);
    assert_int_equal(words[0], 0x0000);
    assert_int_equal(words[1], 0x4270);
    assert_near(registers_number(&parameter, raw), 60.0, 0);
}

static void bits_of_two_registers_have_32(void **state)
{
    (void)state;
    const struct parameter one = of_type(TYPE_BITS, 1);
    const struct parameter two = of_type(TYPE_BITS, 2);
    assert_int_equal(registers_width(&one), 16);
    assert_int_equal(registers_width(&two), 32);
}

static void what_does_not_fit_is_refused(void **state)
{
    (void)state;
    assert_true(fits(TYPE_U16, 1, 65535));
    assert_false(fits(TYPE_U16, 1, 65536));
    assert_false(fits(TYPE_U16, 1, -1));
    assert_false(fits(TYPE_S16, 1, 32768));
    assert_false(fits(TYPE_S16, 1, -32769));
    assert_true(fits(TYPE_U32, 2, 4294967295.0));
    assert_false(fits(TYPE_U32, 2, 4294967296.0));
    assert_false(fits(TYPE_BOOL, 1, 2));
    assert_false(fits(TYPE_F32, 2, 1e39));
    assert_false(fits(TYPE_F32, 2, (double)NAN));
}

static void texts_are_two_bytes_a_register_high_first(void **state)
{
    (void)state;
    uint16_t words[3];
    char text[7];
    registers_from_text("A-42b", words, 3);
    assert_int_equal(words[0], 0x412d);
    assert_int_equal(words[1], 0x3432);
    assert_int_equal(words[2], 0x6200);
    registers_to_text(words, 3, text);
    assert_string_equal(text, "A-42b");
}

static void texts_are_cut_at_their_registers(void **state)
{
    (void)state;
    uint16_t words[2];
    char text[5];
    registers_from_text("ABCDEF", words, 2);
    registers_to_text(words, 2, text);
    assert_string_equal(text, "ABCD");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(u16_is_rounded_to_the_nearest_step),
        cmocka_unit_test(s16_is_twos_complement),
        cmocka_unit_test(s32_is_twos_complement),
        cmocka_unit_test(u32_high_first),
        cmocka_unit_test(u32_low_first),
        cmocka_unit_test(f32_of_60_is_4270_0000),
        cmocka_unit_test(bits_of_two_registers_have_32),
        cmocka_unit_test(what_does_not_fit_is_refused),
        cmocka_unit_test(texts_are_two_bytes_a_register_high_first),
        cmocka_unit_test(texts_are_cut_at_their_registers),
    };
    return cmocka_run_group_tests_name("sim_registers", tests, NULL, NULL);
}
