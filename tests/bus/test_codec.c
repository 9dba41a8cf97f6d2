/* SPDX-License-Identifier: MIT */
/* The codec against published register examples, IEEE 754, and itself in both directions. */
#include "bus/codec.h"

#include <float.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static double number_of(enum value_type type, uint32_t raw, double scale, double offset)
{
    double number = 0;
    assert_true(codec_number(type, raw, scale, offset, &number));
    return number;
}

#define assert_number(is, due)                                                                                         \
    do {                                                                                                               \
        double is_value = (is), due_value = (due);                                                                     \
        if (!(is_value == due_value))                                                                                  \
            fail_msg("%.17g is due, not %.17g", due_value, is_value);                                                  \
    } while (0)

/* MODBUS Application Protocol Specification V1.1b3 s 6.3 and 6.4: registers 108 to 110 hold 555, 0, 100, and input
 * register 9 holds 10. */
static void registers_of_the_specification(void **state)
{
    (void)state;
    static const uint8_t sent[] = {0x02, 0x2b, 0x00, 0x00, 0x00, 0x64, 0x00, 0x0a};
    static const double due[] = {555, 0, 100, 10};
    for (size_t i = 0; i < 4; i++) {
        uint16_t word = (uint16_t)(sent[2 * i] << 8 | sent[2 * i + 1]);
        assert_number(number_of(TYPE_U16, codec_raw(&word, 1, ORDER_UNKNOWN), 1, 0), due[i]);
    }
}

/* IEEE 754 binary32: 60.0 is 4270 0000 and 123456.0 is 47F1 2000; 1 000 000 is 000F 4240. */
static void wide_values_in_both_orders(void **state)
{
    (void)state;
    static const struct {
        enum value_type type;
        uint16_t high, low;
        double due;
    } rows[] = {
        {TYPE_F32, 0x4270, 0x0000, 60},
        {TYPE_F32, 0x47f1, 0x2000, 123456},
        {TYPE_U32, 0x000f, 0x4240, 1000000},
        {TYPE_S32, 0xffff, 0xfffe, -2},
        {TYPE_F32, 0xbf80, 0x0000, -1},
        {TYPE_F32, 0x7f7f, 0xffff, (double)FLT_MAX},
        {TYPE_F32, 0x0000, 0x0001, (double)FLT_TRUE_MIN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        uint16_t high_first[] = {rows[i].high, rows[i].low};
        uint16_t low_first[] = {rows[i].low, rows[i].high};
        assert_number(number_of(rows[i].type, codec_raw(high_first, 2, ORDER_HIGH_FIRST), 1, 0), rows[i].due);
        assert_number(number_of(rows[i].type, codec_raw(low_first, 2, ORDER_LOW_FIRST), 1, 0), rows[i].due);
        assert_int_equal(codec_raw(high_first, 2, ORDER_UNKNOWN), codec_raw(high_first, 2, ORDER_HIGH_FIRST));
    }
}

static void words_follow_the_order(void **state)
{
    (void)state;
    uint16_t words[2] = {0};
    codec_words(0x12345678, 2, ORDER_HIGH_FIRST, words);
    assert_int_equal(words[0], 0x1234);
    assert_int_equal(words[1], 0x5678);
    codec_words(0x12345678, 2, ORDER_LOW_FIRST, words);
    assert_int_equal(words[0], 0x5678);
    assert_int_equal(words[1], 0x1234);
    codec_words(0xffff8000, 1, ORDER_LOW_FIRST, words);
    assert_int_equal(words[0], 0x8000);
}

static void every_type_at_its_extremes(void **state)
{
    (void)state;
    static const struct {
        enum value_type type;
        uint32_t raw;
        double due;
    } rows[] = {
        {TYPE_U16, 0, 0},
        {TYPE_U16, 0xffff, 65535},
        {TYPE_S16, 0x7fff, 32767},
        {TYPE_S16, 0x8000, -32768},
        {TYPE_S16, 0xffff, -1},
        {TYPE_U32, 0xffffffff, 4294967295.0},
        {TYPE_S32, 0x7fffffff, 2147483647},
        {TYPE_S32, 0x80000000, -2147483648.0},
        {TYPE_F32, 0xff7fffff, -(double)FLT_MAX},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_number(number_of(rows[i].type, rows[i].raw, 1, 0), rows[i].due);
}

/* SunSpec scale factors: raw 1234 with a factor of -2 is 12.34; the rest is arithmetic. */
static void scaled_numbers_are_the_decimals_a_person_expects(void **state)
{
    (void)state;
    static const struct {
        enum value_type type;
        uint32_t raw;
        double scale, offset, due;
    } rows[] = {
        {TYPE_U16, 600, 0.01, 0, 6},
        {TYPE_U16, 1234, 0.01, 0, 12.34},
        {TYPE_U16, 3, 0.1, 0, 0.3},
        {TYPE_U16, 57, 0.1, 0, 5.7},
        {TYPE_U16, 7, 0.7, 0, 4.9},
        {TYPE_U16, 3, 0.025, 0, 0.075},
        {TYPE_U16, 29, 0.01, 0, 0.29},
        {TYPE_U16, 401, 0.1, -40, 0.1},
        {TYPE_U16, 2731, 0.1, -273.15, -0.05},
        {TYPE_S16, 0xfffd, 0.1, 0, -0.3},
        {TYPE_U16, 5, 100, 0, 500},
        {TYPE_U16, 5, -0.1, 0, -0.5},
        {TYPE_U32, 4294967295U, 0.001, 0, 4294967.295},
        {TYPE_U16, 0, 0.1, 0, 0},
        {TYPE_S32, 0x80000000, 0.0001, 0, -214748.3648},
        {TYPE_F32, 0x42700000, 0.5, 1, 31},
        {TYPE_U16, 3, 1.0 / 3, 0, 3 * (1.0 / 3)},
        {TYPE_U16, 2, 1e-12, 0, 2e-12},
        {TYPE_U16, 9, 1e17, 0, 9e17},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_number(number_of(rows[i].type, rows[i].raw, rows[i].scale, rows[i].offset), rows[i].due);
}

/* Every 16-bit raw value, read as the decimal that its digits spell: nothing like 5.999999. */
static void no_hundredth_is_off_by_a_bit(void **state)
{
    (void)state;
    for (uint32_t raw = 0; raw <= 0xffff; raw++) {
        char spelled[32];
        (void)snprintf(spelled, sizeof spelled, "%u.%02u", raw / 100, raw % 100);
        if (!(number_of(TYPE_U16, raw, 0.01, 0) == strtod(spelled, NULL)))
            fail_msg("raw %u is not %s", raw, spelled);
    }
}

/* SunSpec's "not implemented" float32 is 0x7FC00000; infinities are no numbers either. */
static void floats_that_are_no_numbers(void **state)
{
    (void)state;
    static const uint32_t rows[] = {0x7fc00000, 0x7f800000, 0xff800000, 0x7f800001, 0xffffffff};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double number = 0;
        assert_false(codec_number(TYPE_F32, rows[i], 1, 0, &number));
        assert_true(isnan(number));
        assert_number(codec_step(TYPE_F32, rows[i], 1), 0);
    }
}

/* IEEE 754: at 60 a float's last bit is 2^-18; the largest is 2^104 above its neighbour. */
static void a_step_is_one_count(void **state)
{
    (void)state;
    assert_number(codec_step(TYPE_U16, 600, 0.01), 0.01);
    assert_number(codec_step(TYPE_S32, 5, -0.1), 0.1);
    assert_number(codec_step(TYPE_F32, 0x42700000, 1), ldexp(1, -18));
    assert_number(codec_step(TYPE_F32, 0xc2700000, 2), ldexp(1, -17));
    assert_number(codec_step(TYPE_F32, 0x7f7fffff, 1), ldexp(1, 104));
    assert_number(codec_step(TYPE_F32, 0, 1), ldexp(1, -149));
    assert_number(codec_step(TYPE_BITS, 1, 1), 0);
    assert_number(codec_step(TYPE_BOOL, 1, 1), 0);
}

static const double scales[] = {1, 0.1, 0.01, 0.001, 0.025, 0.7, 10, 100, -0.1, 1.0 / 3, 1.0 / 60};
static const double offsets[] = {0, -40, 0.5, -273.15, 1000};

static void expect_round_trip(enum value_type type, uint32_t raw, double scale, double offset)
{
    uint32_t back = ~raw;
    if (!codec_encode(type, number_of(type, raw, scale, offset), scale, offset, &back) || back != raw)
        fail_msg("type %d raw %u scale %g offset %g comes back as %u", (int)type, raw, scale, offset, back);
}

static void every_16_bit_value_comes_back(void **state)
{
    (void)state;
    for (size_t s = 0; s < sizeof scales / sizeof *scales; s++)
        for (size_t o = 0; o < sizeof offsets / sizeof *offsets; o++)
            for (uint32_t raw = 0; raw <= 0xffff; raw += s + o == 0 ? 1 : 7) {
                expect_round_trip(TYPE_U16, raw, scales[s], offsets[o]);
                expect_round_trip(TYPE_S16, raw, scales[s], offsets[o]);
            }
}

static void wide_values_come_back(void **state)
{
    (void)state;
    static const uint32_t rows[] = {0,          1,          2,          0xffff,     0x10000,
                                    0x7fffffff, 0x80000000, 0x80000001, 0xfffffffe, 0xffffffff};
    for (size_t s = 0; s < sizeof scales / sizeof *scales; s++)
        for (size_t o = 0; o < sizeof offsets / sizeof *offsets; o++)
            for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
                expect_round_trip(TYPE_U32, rows[i], scales[s], offsets[o]);
                expect_round_trip(TYPE_S32, rows[i], scales[s], offsets[o]);
            }
}

static void floats_come_back(void **state)
{
    (void)state;
    static const uint32_t rows[] = {0,          1,          0x007fffff, 0x3f800000, 0x42700000,
                                    0x47f12000, 0x7f7fffff, 0xff7fffff, 0xbf800001};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        expect_round_trip(TYPE_F32, rows[i], 1, 0);
}

static void words_come_back_in_every_order(void **state)
{
    (void)state;
    static const enum word_order orders[] = {ORDER_HIGH_FIRST, ORDER_LOW_FIRST};
    for (size_t i = 0; i < 2; i++) {
        uint16_t words[2] = {0};
        codec_words(0xdeadbeef, 2, orders[i], words);
        assert_int_equal(codec_raw(words, 2, orders[i]), 0xdeadbeef);
        codec_words(0xbeef, 1, orders[i], words);
        assert_int_equal(codec_raw(words, 1, orders[i]), 0xbeef);
    }
}

static void encoding_takes_the_nearest(void **state)
{
    (void)state;
    static const struct {
        enum value_type type;
        double number, scale, offset;
        uint32_t due;
    } rows[] = {
        {TYPE_U16, 0.29, 0.01, 0, 29},    {TYPE_U16, 3.004, 0.01, 0, 300},   {TYPE_U16, 3.006, 0.01, 0, 301},
        {TYPE_U16, 2.5, 1, 0, 3},         {TYPE_S16, -2.5, 1, 0, 0xfffd},    {TYPE_S16, -1, 1, 0, 0xffff},
        {TYPE_U16, 65535.4, 1, 0, 65535}, {TYPE_S32, -1, 1, 0, 0xffffffff},  {TYPE_U16, -0.4, 1, 0, 0},
        {TYPE_F32, 60, 1, 0, 0x42700000}, {TYPE_F32, 0.1, 1, 0, 0x3dcccccd}, {TYPE_U16, 20, 0.1, -40, 600},
        {TYPE_F32, 1e-60, 1, 0, 0},       {TYPE_S16, 32767.49, 1, 0, 32767},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        uint32_t raw = 0;
        assert_true(codec_encode(rows[i].type, rows[i].number, rows[i].scale, rows[i].offset, &raw));
        assert_int_equal(raw, rows[i].due);
    }
}

static void encoding_refuses_what_does_not_fit(void **state)
{
    (void)state;
    static const struct {
        enum value_type type;
        double number, scale;
    } rows[] = {
        {TYPE_U16, 65535.5, 1}, {TYPE_U16, -0.5, 1},         {TYPE_S16, 32767.5, 1},      {TYPE_S16, -32768.5, 1},
        {TYPE_U32, -1, 1},      {TYPE_U32, 4294967296.0, 1}, {TYPE_S32, 2147483648.0, 1}, {TYPE_S32, -2147483649.0, 1},
        {TYPE_F32, 1e39, 1},    {TYPE_F32, -1e39, 1},        {TYPE_U16, NAN, 1},          {TYPE_U16, INFINITY, 1},
        {TYPE_U16, 1, 0},       {TYPE_U16, 656, 0.01},       {TYPE_BITS, 1, 1},           {TYPE_TEXT, 1, 1},
        {TYPE_BOOL, 1, 1},      {TYPE_F32, NAN, 1},          {TYPE_U32, 1e300, 1e-300},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        uint32_t raw = 0xa5a5a5a5;
        if (codec_encode(rows[i].type, rows[i].number, rows[i].scale, 0, &raw))
            fail_msg("type %d takes %g at scale %g", (int)rows[i].type, rows[i].number, rows[i].scale);
        assert_int_equal(raw, 0xa5a5a5a5);
    }
}

static struct named_raw name_items[] = {{.raw = 0, .word = (char[]){"keypad"}},
                                        {.raw = 2, .word = (char[]){"network"}},
                                        {.raw = 15, .word = (char[]){"tripped"}},
                                        {.raw = 31, .word = (char[]){"tuned"}},
                                        {.raw = 40, .same_as = MEANS_MOTOR_POLES}};
static const struct named_raws names = {name_items, sizeof name_items / sizeof *name_items};

static void choices_are_found_both_ways(void **state)
{
    (void)state;
    uint32_t raw = 77;
    assert_string_equal(codec_find(&names, 2)->word, "network");
    assert_null(codec_find(&names, 1));
    assert_true(codec_find_word(&names, "network", &raw));
    assert_int_equal(raw, 2);
    assert_false(codec_find_word(&names, "Network", &raw));
    assert_int_equal(raw, 2);
}

static void bits_give_the_names_that_are_set(void **state)
{
    (void)state;
    struct texts words = {0};
    codec_bits(&names, 0x80008006, &words); /* bit 1 has no name, and there is no bit 40 */
    assert_int_equal(words.count, 3);
    assert_string_equal(words.items[0], "network");
    assert_string_equal(words.items[1], "tripped");
    assert_string_equal(words.items[2], "tuned");
    texts_free(&words);
}

static void expect_text(const char *bytes, size_t length, const char *due)
{
    uint16_t words[16] = {0};
    for (size_t i = 0; i < length; i++)
        words[i / 2] = (uint16_t)(words[i / 2] | (unsigned)(unsigned char)bytes[i] << (i % 2 == 0 ? 8 : 0));
    char *text = codec_text(words, (length + 1) / 2);
    assert_string_equal(text, due);
    free(text);
}
#define EXPECT_TEXT(bytes, due) expect_text(bytes, sizeof bytes - 1, due)

static void text_loses_its_padding(void **state)
{
    (void)state;
    EXPECT_TEXT("QC-7", "QC-7");
    EXPECT_TEXT("QC-75", "QC-75");
    EXPECT_TEXT("QC  \0\0 \0", "QC");
    EXPECT_TEXT("  QC", "  QC");
    EXPECT_TEXT("\0\0\0\0", "");
    expect_text("", 0, "");
}

static void text_that_is_utf8_stays(void **state)
{
    (void)state;
    EXPECT_TEXT("22\xc2\xb0 \xce\xa9", "22\xc2\xb0 \xce\xa9");
    EXPECT_TEXT("\xe2\x82\xac\xf0\x9f\x94\xa7", "\xe2\x82\xac\xf0\x9f\x94\xa7");
    EXPECT_TEXT("\xf4\x8f\xbf\xbf", "\xf4\x8f\xbf\xbf");
}

static void other_bytes_are_latin_1(void **state)
{
    (void)state;
    EXPECT_TEXT("22 \xb0"
                "C",
                "22 \xc2\xb0"
                "C");
    EXPECT_TEXT("\xff\xc3", "\xc3\xbf\xc3\x83");                         /* a lead byte at the end */
    EXPECT_TEXT("\xc0\xaf", "\xc3\x80\xc2\xaf");                         /* overlong */
    EXPECT_TEXT("\xed\xa0\xa0 ", "\xc3\xad\xc2\xa0\xc2\xa0");            /* a surrogate */
    EXPECT_TEXT("\xf4\xbf\xbf\xbf", "\xc3\xb4\xc2\xbf\xc2\xbf\xc2\xbf"); /* above U+10FFFF */
}

static void control_characters_are_spelled_out(void **state)
{
    (void)state;
    EXPECT_TEXT("\x1b[2J", "\\x1b[2J");
    EXPECT_TEXT("A\0B\n\x7f.", "A\\x00B\\x0a\\x7f.");
    EXPECT_TEXT("\x9b.", "\\x9b.");        /* C1 in Latin-1 */
    EXPECT_TEXT("\xc2\x9b", "\\xc2\\x9b"); /* C1 in UTF-8 */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(registers_of_the_specification),
        cmocka_unit_test(wide_values_in_both_orders),
        cmocka_unit_test(words_follow_the_order),
        cmocka_unit_test(every_type_at_its_extremes),
        cmocka_unit_test(scaled_numbers_are_the_decimals_a_person_expects),
        cmocka_unit_test(no_hundredth_is_off_by_a_bit),
        cmocka_unit_test(floats_that_are_no_numbers),
        cmocka_unit_test(a_step_is_one_count),
        cmocka_unit_test(every_16_bit_value_comes_back),
        cmocka_unit_test(wide_values_come_back),
        cmocka_unit_test(floats_come_back),
        cmocka_unit_test(words_come_back_in_every_order),
        cmocka_unit_test(encoding_takes_the_nearest),
        cmocka_unit_test(encoding_refuses_what_does_not_fit),
        cmocka_unit_test(choices_are_found_both_ways),
        cmocka_unit_test(bits_give_the_names_that_are_set),
        cmocka_unit_test(text_loses_its_padding),
        cmocka_unit_test(text_that_is_utf8_stays),
        cmocka_unit_test(other_bytes_are_latin_1),
        cmocka_unit_test(control_characters_are_spelled_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
