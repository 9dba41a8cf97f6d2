/* SPDX-License-Identifier: MIT */
/* Reading, converting and showing of quantities. */
#include "sheets.h"

static void assert_unit(const char *text, enum unit expected)
{
    enum unit unit = UNIT_NONE;
    if (!unit_find(text, &unit) || unit != expected)
        fail_msg("\"%s\" is not %s", text, unit_name(expected));
}

static void every_unit_is_found_by_its_name(void **state)
{
    (void)state;
    for (int unit = UNIT_NONE + 1; unit < UNIT_COUNT; unit++) {
        assert_true(strlen(unit_name((enum unit)unit)) > 0);
        assert_unit(unit_name((enum unit)unit), (enum unit)unit);
    }
    assert_string_equal(unit_name(UNIT_NONE), "");
}

static void further_spellings_are_found(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum unit unit;
    } rows[] = {
        {"1/min", UNIT_RPM},
        {"\xCE\xA9", UNIT_OHM},
        {"\xE2\x84\xA6", UNIT_OHM},
        {"Nm", UNIT_NM},
        {"N\xC2\xB7m", UNIT_NM},
        {"lbf.ft", UNIT_LBFT},
        {"lb-ft", UNIT_LBFT},
        {"kg\xC2\xB7m\xC2\xB2", UNIT_KGM2},
        {"kgm2", UNIT_KGM2},
        {"lb.ft2", UNIT_LBFT2},
        {"\xC2\xB0"
         "C",
         UNIT_DEGC},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_unit(rows[i].text, rows[i].unit);
}

static void spellings_are_exact_in_case(void **state)
{
    (void)state;
    static const char *const wrong[] = {"KW", "MA", "HZ", "RPM", "Hp", "v", "S", ""};
    enum unit unit;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        assert_false(unit_find(wrong[i], &unit));
}

static void near_misses_are_suggested(void **state)
{
    (void)state;
    static const struct {
        const char *text, *suggested;
    } rows[] = {
        {"KW", "kW"},       {"HP", "hp"},      {"amps", "A"},      {"sec", "s"},     {"rmp", "rpm"},
        {"kg.m3", "kg.m2"}, {"per cent", "%"}, {"pu", "per unit"}, {"percent", "%"}, {"Volts", "V"},
        {"ft-lb", "lb.ft"}, {"furlong", NULL}, {"x", NULL},        {"", NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const char *found = unit_suggest(rows[i].text);
        if (rows[i].suggested == NULL)
            assert_null(found);
        else if (found == NULL || strcmp(found, rows[i].suggested) != 0)
            fail_msg("\"%s\" suggests \"%s\"", rows[i].text, found == NULL ? "nothing" : found);
    }
}

static void conversion_there_and_back(void **state)
{
    (void)state;
    for (int unit = UNIT_NONE; unit < UNIT_COUNT; unit++)
        assert_near(unit_from_base(unit_to_base(12.34, (enum unit)unit), (enum unit)unit), 12.34, 1e-13);
}

static void base_units_have_size_one(void **state)
{
    (void)state;
    for (int dimension = DIMENSION_NONE; dimension <= DIMENSION_SPEED_RATE; dimension++) {
        enum unit base = dimension_unit((enum dimension)dimension);
        assert_int_equal(unit_dimension(base), dimension);
        assert_true(unit_to_base(1, base) == 1);
        assert_true(strlen(dimension_name((enum dimension)dimension)) > 0);
    }
}

/* Source: definition of the foot, the pound and standard gravity; 1 hp = 550 ft.lbf/s (textbooks round to 746 W). */
static void horsepower_and_pound_feet(void **state)
{
    (void)state;
    assert_near(unit_to_base(1, UNIT_HP), 745.69987158227022, 1e-10);
    assert_near(unit_to_base(1, UNIT_LBFT), 1.3558179483314004, 1e-14);
    assert_near(unit_to_base(1, UNIT_LBFT2), 0.042140110093805, 1e-14);
    assert_near(unit_from_base(1500, UNIT_HP), 2.0115331, 1e-7);
}

static void percent_is_the_nearest_double(void **state)
{
    (void)state;
    assert_true(unit_to_base(86.5, UNIT_PERCENT) == 0.865);
    assert_true(unit_to_base(70.0, UNIT_PERCENT) == 0.7); /* 70.0 x 0.01 is not */
    assert_true(unit_to_base(300, UNIT_MS) == 0.3);
}

static void assert_number(const char *text, double value, double rounding)
{
    double found = NAN;
    double found_rounding = NAN;
    struct error error = {0};
    if (!number_parse(text, true, &found, &found_rounding, &error))
        fail_msg("\"%s\": %s", text, error.text);
    assert_true(found == value);
    assert_true(found_rounding == rounding);
}

static void numbers_are_read_with_their_rounding(void **state)
{
    (void)state;
    assert_number("3.0", 3.0, 0.05);
    assert_number("1745", 1745, 0.5);
    assert_number("-0.25", -0.25, 0.005);
    assert_number("+7", 7, 0.5);
    assert_number("0", 0, 0.5);
    assert_number("1.5e3", 1500, 50);
    assert_number("15E-1", 1.5, 0.05);
    double value;
    double rounding;
    assert_true(number_parse("-0", false, &value, &rounding, NULL));
    assert_false(signbit(value));
}

/* 2^53 + 1 lies between two doubles and goes to the even one; the other rows are the nearest doubles that the compiler
 * finds for the same digits. */
static void numbers_are_rounded_correctly(void **state)
{
    (void)state;
    assert_number("9007199254740993", 9007199254740992.0, 0.5);
    assert_number("0.1", 0.1, 0.05);
    assert_number("745.69987158227022", 745.69987158227022, 5e-15);
    assert_number("2.2250738585072014e-308", 2.2250738585072014e-308, 0);
    assert_number("179769313486231570000000000000000000000000", 179769313486231570000000000000000000000000.0, 0.5);
}

static void assert_refused(const char *text, bool allow_exponent, const char *says)
{
    double value;
    double rounding;
    struct error error = {0};
    assert_false(number_parse(text, allow_exponent, &value, &rounding, &error));
    assert_int_equal(error.kind, ERROR_FILE);
    if (strstr(error.text, says) == NULL)
        fail_msg("\"%s\": \"%s\" does not say \"%s\"", text, error.text, says);
}

static void what_is_no_number_is_refused_with_the_reason(void **state)
{
    (void)state;
    assert_refused("", false, "missing");
    assert_refused("010", false, "needless zero");
    assert_refused("-00.5", false, "needless zero");
    assert_refused("1:30", false, "90 s");
    assert_refused("1_000", false, "without separators");
    assert_refused("0,1", false, "behind a point");
    assert_refused(" 1", false, "is not a number");
    assert_refused("1 ", false, "leave the space out");
    assert_refused("inf", true, "is not a number");
    assert_refused("nan", true, "is not a number");
    assert_refused("0x10", true, "in decimal");
    assert_refused("1.", false, "no digit behind the point");
    assert_refused(".5", false, "is not a number");
    assert_refused("1e3", false, "exponent");
    assert_refused("1e", true, "exponent");
    assert_refused("1e999", true, "too large");
    assert_refused("1.2.3", false, "unexpected '.'");
    assert_refused("5\xC2\xBD", false, "unexpected character");
    assert_refused("--1", false, "is not a number");
}

static void quantities_carry_value_unit_and_rounding(void **state)
{
    (void)state;
    struct quantity quantity;
    assert_true(quantity_parse("1.5 hp", DIMENSION_POWER, &quantity, NULL));
    assert_true(quantity.given);
    assert_true(quantity.value == 1.5);
    assert_true(quantity.rounding == 0.05);
    assert_int_equal(quantity.unit, UNIT_HP);
    assert_near(quantity_base(&quantity), 1118.549807, 1e-6);
    assert_near(quantity_rounding_base(&quantity), 37.28499358, 1e-8);
    assert_true(quantity_parse("0.86 per unit", DIMENSION_RATIO, &quantity, NULL));
    assert_true(quantity.value == 0.86);
    assert_true(quantity_parse("86.5%", DIMENSION_RATIO, &quantity, NULL));
    assert_true(quantity_base(&quantity) == 0.865);
    assert_true(quantity_parse("1750 1/min", DIMENSION_SPEED, &quantity, NULL));
    assert_int_equal(quantity.unit, UNIT_RPM);
    assert_true(quantity_parse("35 \xC2\xB0"
                               "C",
                               DIMENSION_TEMPERATURE, &quantity, NULL));
    assert_true(quantity_parse("12", DIMENSION_NONE, &quantity, NULL));
    assert_int_equal(quantity.unit, UNIT_NONE);
}

static void a_quantity_that_is_not_given_has_no_value(void **state)
{
    (void)state;
    struct quantity quantity = {0};
    assert_true(isnan(quantity_base(&quantity)));
    assert_true(quantity_rounding_base(&quantity) == 0);
}

static void assert_no_quantity(const char *text, enum dimension dimension, const char *says)
{
    struct quantity quantity = {.value = 99};
    struct error error = {0};
    assert_false(quantity_parse(text, dimension, &quantity, &error));
    assert_true(quantity.value == 99);
    assert_int_equal(error.kind, ERROR_FILE);
    if (strstr(error.text, says) == NULL)
        fail_msg("\"%s\": \"%s\" does not say \"%s\"", text, error.text, says);
}

static void wrong_quantities_say_what_was_expected(void **state)
{
    (void)state;
    assert_no_quantity("10", DIMENSION_TIME, "expected a time in s, ms, min or h");
    assert_no_quantity("10 A", DIMENSION_TIME, "is a current; expected a time");
    assert_no_quantity("2 KW", DIMENSION_POWER, "did you mean \"kW\"");
    assert_no_quantity("2 furlongs", DIMENSION_POWER, "expected a power in W, kW or hp");
    assert_no_quantity("10 s", DIMENSION_NONE, "expected a bare number");
    assert_no_quantity("", DIMENSION_TIME, "missing");
    assert_no_quantity("fast", DIMENSION_TIME, "does not begin with a number");
    assert_no_quantity("010 s", DIMENSION_TIME, "needless zero");
    assert_no_quantity("1e3 s", DIMENSION_TIME, "exponent");
    assert_no_quantity("1:30 min", DIMENSION_TIME, "90 s");
    assert_no_quantity("3,0 A", DIMENSION_CURRENT, "behind a point");
}

static void assert_shown(double value, double step, const char *expected)
{
    char text[64];
    assert_string_equal(number_format(value, step, text, sizeof text), expected);
}

static void numbers_are_shown_with_the_decimals_of_a_step(void **state)
{
    (void)state;
    assert_shown(3, 0.01, "3.00");
    assert_shown(2.945, 0.001, "2.945");
    assert_shown(59.96, 0.1, "60.0");
    assert_shown(1745, 1, "1745");
    assert_shown(1750, 10, "1750");
    assert_shown(12.5, 0.25, "12.50");
    assert_shown(12.5, 0.5, "12.5");
    assert_shown(1, 1.0 / 3, "1.0");
    assert_shown(1.23456789, 1e-9, "1.234568");
    assert_shown(-0.001, 0.1, "0.0");
    assert_shown(-0.0, 1, "0");
}

static void numbers_without_a_step_have_six_digits(void **state)
{
    (void)state;
    assert_shown(3, 0, "3");
    assert_shown(1.0 / 3, 0, "0.333333");
    assert_shown(2598.07621, 0, "2598.08");
    assert_shown(1234567, 0, "1234567");
    assert_shown(0.000012345, 0, "0.000012345");
    assert_shown(-1.5, -1, "-1.5");
    assert_shown(NAN, 0.1, "nan");
    assert_shown(100, 0, "100");
}

static void a_quantity_is_shown_as_it_was_written(void **state)
{
    (void)state;
    static const char *const texts[] = {"3.0 A", "86.5 %", "0.86 per unit", "2 hp", "12", "0.006 kg.m2"};
    char text[64];
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        struct quantity quantity = quantity_of(texts[i]);
        assert_string_equal(quantity_format(&quantity, text, sizeof text), texts[i]);
    }
    struct quantity none = {0};
    assert_string_equal(quantity_format(&none, text, sizeof text), "");
}

static void short_buffers_are_not_overrun(void **state)
{
    (void)state;
    char text[4] = "???";
    assert_string_equal(number_format(1234.5, 0.1, text, sizeof text), "123");
    struct quantity quantity = quantity_of("12 kW");
    assert_string_equal(quantity_format(&quantity, text, sizeof text), "12 ");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_unit_is_found_by_its_name),
        cmocka_unit_test(further_spellings_are_found),
        cmocka_unit_test(spellings_are_exact_in_case),
        cmocka_unit_test(near_misses_are_suggested),
        cmocka_unit_test(conversion_there_and_back),
        cmocka_unit_test(base_units_have_size_one),
        cmocka_unit_test(horsepower_and_pound_feet),
        cmocka_unit_test(percent_is_the_nearest_double),
        cmocka_unit_test(numbers_are_read_with_their_rounding),
        cmocka_unit_test(numbers_are_rounded_correctly),
        cmocka_unit_test(what_is_no_number_is_refused_with_the_reason),
        cmocka_unit_test(quantities_carry_value_unit_and_rounding),
        cmocka_unit_test(a_quantity_that_is_not_given_has_no_value),
        cmocka_unit_test(wrong_quantities_say_what_was_expected),
        cmocka_unit_test(numbers_are_shown_with_the_decimals_of_a_step),
        cmocka_unit_test(numbers_without_a_step_have_six_digits),
        cmocka_unit_test(a_quantity_is_shown_as_it_was_written),
        cmocka_unit_test(short_buffers_are_not_overrun),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
