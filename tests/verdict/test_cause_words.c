/* SPDX-License-Identifier: MIT */
/* Causes in how words travelled, causes that several values share, and those of a sheet's own contradictions. */
#include "verdict/cause_bench.h"

static struct bench ramp_of(enum value_type type, double scale)
{
    struct bench bench = bench_nema();
    bench_setting(&bench, MEANS_RAMP_ACCELERATION_TIME, SETTING_QUANTITY, "10 s", NULL);
    struct parameter *ramp = bench_register(&bench, "ramp", MEANS_RAMP_ACCELERATION_TIME, type, scale, UNIT_S);
    ramp->ramp_span = (struct ramp_span){.given = true, .value = quantity_of("60 Hz")};
    return bench;
}

static void one(struct bench bench, uint32_t raw, enum cause_kind kind, const char *text)
{
    bench_answer(&bench, 0, raw);
    bench_explain(&bench);
    assert_int_equal(bench.findings.items[0].verdict, VERDICT_DIFFERS);
    assert_cause(&bench, bench.map.parameters[0].name, kind, text, CAUSE_NONE);
    bench_free(&bench);
}

static void two_words_exchanged(void **state)
{
    (void)state;
    one(ramp_of(TYPE_U32, 0.1), 100U << 16, CAUSE_WORDS_SWAPPED,
        "with its two words exchanged it is 10.0 s: look at word_order in the map");
    struct bench bench = ramp_of(TYPE_F32, 1);
    bench.map.modbus.word_order = ORDER_LOW_FIRST;
    one(bench, 0x00004120, CAUSE_WORDS_SWAPPED,
        "with its two words exchanged it is 10 s: look at word_order in the map");
}

static void bytes_exchanged(void **state)
{
    (void)state;
    one(ramp_of(TYPE_U16, 0.1), 0x6400, CAUSE_BYTES_SWAPPED,
        "with the bytes of each word exchanged it is 10.0 s: look at the gateway or whatever fills the register");
    one(ramp_of(TYPE_U32, 0.01), 0x0000e803, CAUSE_BYTES_SWAPPED,
        "with the bytes of each word exchanged it is 10.00 s: look at the gateway or whatever fills the register");
    one(ramp_of(TYPE_U32, 0.01), 0xe8030000, CAUSE_BYTES_SWAPPED,
        "with its four bytes in reverse it is 10.00 s: look at the gateway, and at word_order in the map");
}

static struct bench signal_of(enum value_type type)
{
    struct bench bench = bench_nema();
    bench_setting(&bench, MEANS_ANALOG_LOW_FREQUENCY, SETTING_QUANTITY, "-12 Hz", NULL);
    bench_register(&bench, "signal", MEANS_ANALOG_LOW_FREQUENCY, type, 0.1, UNIT_HZ);
    return bench;
}

static void a_sign_that_is_lost(void **state)
{
    (void)state;
    one(signal_of(TYPE_S16), 120, CAUSE_SIGN_LOST, "12.0 Hz is -12 Hz with the other sign");
    one(signal_of(TYPE_U16), 0xff88, CAUSE_SIGN_LOST, "read with a sign it is -12.0 Hz: look at the type in the map");
    one(signal_of(TYPE_S32), 0x0000ff88, CAUSE_SIGN_LOST,
        "its low word alone is -12.0 Hz: the sign did not reach the high word");
    struct bench bench = bench_nema();
    bench_register(&bench, "speed", MEANS_MOTOR_RATED_SPEED, TYPE_S16, 0.05, UNIT_RPM);
    one(bench, 34900, CAUSE_SIGN_LOST, "read without a sign it is 1745.00 rpm: look at the type in the map");
}

static struct bench limits(void)
{
    struct bench bench = bench_nema();
    bench_setting(&bench, MEANS_LIMIT_MINIMUM_FREQUENCY, SETTING_QUANTITY, "20 Hz", NULL);
    bench_setting(&bench, MEANS_LIMIT_MAXIMUM_FREQUENCY, SETTING_QUANTITY, "60 Hz", NULL);
    bench_register(&bench, "highest", MEANS_LIMIT_MAXIMUM_FREQUENCY, TYPE_U16, 0.1, UNIT_HZ);
    bench_register(&bench, "lowest", MEANS_LIMIT_MINIMUM_FREQUENCY, TYPE_U16, 0.01, UNIT_HZ);
    return bench;
}

static void limits_exchanged(void **state)
{
    (void)state;
    struct bench bench = limits();
    bench_answer(&bench, 0, 200);
    bench_answer(&bench, 1, 6000);
    bench_explain(&bench);
    assert_cause(&bench, "highest", CAUSE_LIMITS_EXCHANGED,
                 "20.0 Hz belongs in lowest, which holds 60.00 Hz: the two are exchanged", CAUSE_NONE);
    assert_cause(&bench, "lowest", CAUSE_LIMITS_EXCHANGED,
                 "60.00 Hz belongs in highest, which holds 20.0 Hz: the two are exchanged", CAUSE_NONE);
    bench_answer(&bench, 0, 600); /* both at 60 Hz are not exchanged */
    bench_explain(&bench);
    assert_cause(&bench, "lowest", CAUSE_NONE, NULL, CAUSE_NONE);
    bench_free(&bench);
}

/* Six registers in a row and what a right drive holds in them. */
static struct bench row(void)
{
    struct bench bench = bench_nema();
    bench_register(&bench, "power", MEANS_MOTOR_RATED_POWER, TYPE_U16, 0.01, UNIT_KW)->default_value =
        quantity_of("0.75 kW");
    bench_register(&bench, "voltage", MEANS_MOTOR_RATED_VOLTAGE, TYPE_U16, 1, UNIT_V)->default_value =
        quantity_of("400 V");
    bench_register(&bench, "current", MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A)->default_value =
        quantity_of("2.2 A");
    bench_register(&bench, "frequency", MEANS_MOTOR_RATED_FREQUENCY, TYPE_U16, 0.1, UNIT_HZ)->default_value =
        quantity_of("50 Hz");
    bench_register(&bench, "speed", MEANS_MOTOR_RATED_SPEED, TYPE_U16, 1, UNIT_RPM)->default_value =
        quantity_of("1400 rpm");
    bench_register(&bench, "base", MEANS_OUTPUT_BASE_VOLTAGE, TYPE_U16, 1, UNIT_V);
    return bench;
}

static const uint32_t right_row[] = {149, 460, 300, 600, 1745, 460};
enum { ROW = sizeof right_row / sizeof right_row[0] };

static void a_map_that_is_one_off(void **state)
{
    (void)state;
    struct bench bench = row();
    for (size_t i = 0; i < ROW; i++)
        bench_answer(&bench, i, i + 1 < ROW ? right_row[i + 1] : 7);
    bench_explain(&bench);
    assert_cause(&bench, "power", CAUSE_ADDRESS_OFF_BY_ONE,
                 "voltage, at the address behind, should hold what stands here: look at count_from and the addresses "
                 "of the map",
                 CAUSE_NONE);
    assert_cause(&bench, "base", CAUSE_ADDRESS_OFF_BY_ONE,
                 "what should stand here stands one address before: look at count_from and the addresses of the map",
                 CAUSE_NONE);
    assert_string_equal(bench.remark, "6 values stand one address off: the map is off by one; look at its count_from "
                                      "and addresses");
    bench_free(&bench);
}

static void one_value_like_its_neighbour_is_no_wrong_address(void **state)
{
    (void)state;
    struct bench bench = row();
    for (size_t i = 0; i < ROW; i++)
        bench_answer(&bench, i, i == 3 ? 1745 : right_row[i]);
    bench_explain(&bench);
    assert_cause(&bench, "frequency", CAUSE_NONE, NULL, CAUSE_NONE);
    bench_free(&bench);
}

static void a_drive_that_was_reset(void **state)
{
    (void)state;
    static const uint32_t defaults[] = {75, 400, 220, 500, 1400, 460};
    struct bench bench = row();
    for (size_t i = 0; i < ROW; i++)
        bench_answer(&bench, i, defaults[i]);
    bench_explain(&bench);
    assert_cause(&bench, "voltage", CAUSE_FACTORY_DEFAULT, "400 V is the factory default", CAUSE_NONE);
    assert_cause(&bench, "frequency", CAUSE_FACTORY_DEFAULT, "50.0 Hz is the factory default",
                 CAUSE_OTHER_MAINS_FREQUENCY);
    assert_string_equal(bench.remark, "5 values are factory defaults: the drive was reset, or never set up");
    bench_free(&bench);
}

static void voltage_and_current_of_the_same_column(void **state)
{
    (void)state;
    struct bench bench = row();
    bench.map.parameters[1].default_value = quantity_of("230 V"); /* explains one value only */
    for (size_t i = 0; i < ROW; i++)
        bench_answer(&bench, i, i == 1 ? 230 : i == 2 ? 600 : right_row[i]);
    bench_explain(&bench);
    assert_cause(&bench, "voltage", CAUSE_OTHER_VOLTAGE_COLUMN,
                 "230 V is another voltage of the nameplate; the motor is connected for 460 V", CAUSE_FACTORY_DEFAULT);
    assert_cause(&bench, "current", CAUSE_OTHER_VOLTAGE_COLUMN,
                 "6.00 A is the nameplate current for 230 V; the motor is connected for 460 V", CAUSE_NONE);
    assert_string_equal(bench.remark, "2 values are those of another column of the nameplate: look at how the motor is "
                                      "connected");
    bench_free(&bench);
}

static void all_wide_values_with_their_words_exchanged(void **state)
{
    (void)state;
    struct bench bench = ramp_of(TYPE_U32, 0.1);
    bench_register(&bench, "speed", MEANS_MOTOR_RATED_SPEED, TYPE_U32, 0.1, UNIT_RPM);
    bench_answer(&bench, 0, 100U << 16);
    bench_answer(&bench, 1, 17450U << 16);
    bench_explain(&bench);
    assert_cause(&bench, "speed", CAUSE_WORDS_SWAPPED,
                 "with its two words exchanged it is 1745.0 rpm: look at word_order in the map", CAUSE_NONE);
    assert_string_equal(bench.remark, "2 values have their two words exchanged: look at word_order in the map");
    bench_free(&bench);
}

/* The sheet's own contradiction about `means`. */
static void of_sheet(struct bench bench, const char *means, enum cause_kind kind, const char *text)
{
    readings_init(&bench.readings, bench.map.count);
    bench_explain(&bench);
    assert_int_equal(bench_finding(&bench, means)->verdict, VERDICT_IMPLAUSIBLE);
    assert_cause(&bench, means, kind, text, CAUSE_NONE);
    bench_free(&bench);
}

static struct bench plate(const char *power, const char *voltage, const char *current, const char *speed)
{
    struct bench bench = {.map = map_start(ORDER_HIGH_FIRST)};
    struct plate_column *column = bench_column(&bench, power, voltage, current, "60 Hz", speed);
    column->efficiency = quantity_of("86.5 %");
    column->power_factor = quantity_of("72 %");
    return bench;
}

static void a_sheet_with_synchronous_speed(void **state)
{
    (void)state;
    of_sheet(plate("2 hp", "460 V", "3.0 A", "1800 rpm"), "sheet.motor.rated_speed", CAUSE_SYNCHRONOUS_SPEED,
             "1800 rpm is the synchronous speed of 4 poles at 60 Hz; the plate's speed at rated load is lower");
}

static void a_sheet_with_the_speed_of_the_other_frequency(void **state)
{
    (void)state;
    of_sheet(plate("2 hp", "460 V", "3.0 A", "1450 rpm"), "sheet.motor.rated_speed", CAUSE_OTHER_MAINS_FREQUENCY,
             "1450 rpm is a usual speed of 4 poles at 50 Hz; the sheet says 60 Hz");
}

static void a_sheet_with_horsepower_for_kilowatts(void **state)
{
    (void)state;
    of_sheet(plate("2.0 kW", "460 V", "3.0 A", "1745 rpm"), "sheet.motor.rated_power", CAUSE_HORSEPOWER_FOR_KILOWATT,
             "2.00 kW would fit as 2 hp: look at the unit beside the power on the plate");
}

static void a_sheet_with_a_point_that_slipped(void **state)
{
    (void)state;
    of_sheet(plate("2 hp", "460 V", "30 A", "1745 rpm"), "sheet.motor.rated_current", CAUSE_DECIMAL_SHIFT,
             "3 A would fit: the decimal point of 30.0 A slipped, or its unit is another");
}

static void a_sheet_with_its_columns_mixed_up(void **state)
{
    (void)state;
    struct bench bench = bench_nema();
    for (size_t i = 0; i < 2; i++) {
        bench.sheet.motor.columns[i].efficiency = quantity_of("86.5 %");
        bench.sheet.motor.columns[i].power_factor = quantity_of("72 %");
    }
    bench.sheet.motor.columns[0].current = quantity_of("3.0 A");
    bench.sheet.motor.columns[1].current = quantity_of("6.0 A");
    readings_init(&bench.readings, 0);
    bench_explain(&bench);
    assert_cause(&bench, "sheet.motor.rated_current", CAUSE_OTHER_VOLTAGE_COLUMN,
                 "3.0 A of the column for 230 V would fit: look at the voltage that the motor is connected for, and at "
                 "the order of the columns",
                 CAUSE_NONE);
    bench_free(&bench);
}

static void a_sheet_with_its_limits_exchanged(void **state)
{
    (void)state;
    struct bench bench = bench_nema();
    bench_setting(&bench, MEANS_LIMIT_MINIMUM_FREQUENCY, SETTING_QUANTITY, "60 Hz", NULL);
    bench_setting(&bench, MEANS_LIMIT_MAXIMUM_FREQUENCY, SETTING_QUANTITY, "20 Hz", NULL);
    of_sheet(bench, "sheet.settings.limit.minimum_frequency", CAUSE_LIMITS_EXCHANGED,
             "the minimum of 60.0 Hz is above the maximum of 20.0 Hz: exchanged, they would be in order");
}

static void a_setting_from_another_column(void **state)
{
    (void)state;
    struct bench bench = bench_nema();
    bench_register(&bench, "current", MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A);
    bench_setting(&bench, MEANS_MOTOR_RATED_CURRENT, SETTING_QUANTITY, "6.0 A", NULL);
    of_sheet(bench, "sheet.settings.motor.rated_current", CAUSE_OTHER_VOLTAGE_COLUMN,
             "6.00 A is the nameplate current for 230 V; the motor is connected for 460 V");
}

static void none_for_a_sheet_where_none_fits(void **state)
{
    (void)state;
    struct bench bench = plate("2 hp", "460 V", "3.0 A", "1745 rpm");
    bench.sheet.motor.columns[0].efficiency = quantity_of("68.5 %");
    of_sheet(bench, "sheet.motor.rated_current", CAUSE_NONE, NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_words_exchanged),
        cmocka_unit_test(bytes_exchanged),
        cmocka_unit_test(a_sign_that_is_lost),
        cmocka_unit_test(limits_exchanged),
        cmocka_unit_test(a_map_that_is_one_off),
        cmocka_unit_test(one_value_like_its_neighbour_is_no_wrong_address),
        cmocka_unit_test(a_drive_that_was_reset),
        cmocka_unit_test(voltage_and_current_of_the_same_column),
        cmocka_unit_test(all_wide_values_with_their_words_exchanged),
        cmocka_unit_test(a_sheet_with_synchronous_speed),
        cmocka_unit_test(a_sheet_with_the_speed_of_the_other_frequency),
        cmocka_unit_test(a_sheet_with_horsepower_for_kilowatts),
        cmocka_unit_test(a_sheet_with_a_point_that_slipped),
        cmocka_unit_test(a_sheet_with_its_columns_mixed_up),
        cmocka_unit_test(a_sheet_with_its_limits_exchanged),
        cmocka_unit_test(a_setting_from_another_column),
        cmocka_unit_test(none_for_a_sheet_where_none_fits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
