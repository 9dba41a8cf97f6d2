/* SPDX-License-Identifier: MIT */
/* One mistake of each kind in one value: the cause that is named, with its figures. */
#include "verdict/cause_bench.h"

/* One register, one wrong value. */
static void one(struct bench bench, uint32_t raw, enum cause_kind kind, const char *text, enum cause_kind also)
{
    bench_answer(&bench, 0, raw);
    bench_explain(&bench);
    assert_int_equal(bench.findings.items[0].verdict, VERDICT_DIFFERS);
    assert_cause(&bench, bench.map.parameters[0].name, kind, text, also);
    bench_free(&bench);
}

static struct bench current_of(struct bench bench)
{
    bench_register(&bench, "current", MEANS_MOTOR_RATED_CURRENT, TYPE_U16, 0.01, UNIT_A);
    return bench;
}

static struct bench voltage_of(struct bench bench)
{
    bench_register(&bench, "voltage", MEANS_MOTOR_RATED_VOLTAGE, TYPE_U16, 1, UNIT_V);
    return bench;
}

static struct bench speed_of(struct bench bench)
{
    bench_register(&bench, "speed", MEANS_MOTOR_RATED_SPEED, TYPE_U16, 1, UNIT_RPM);
    return bench;
}

static struct bench power_of(struct bench bench, enum unit unit)
{
    bench_register(&bench, "power", MEANS_MOTOR_RATED_POWER, TYPE_U16, 0.01, unit);
    return bench;
}

static void current_of_another_column(void **state)
{
    (void)state;
    one(current_of(bench_nema()), 600, CAUSE_OTHER_VOLTAGE_COLUMN,
        "6.00 A is the nameplate current for 230 V; the motor is connected for 460 V", CAUSE_NONE);
}

static void voltage_of_another_column(void **state)
{
    (void)state;
    one(voltage_of(bench_nema()), 230, CAUSE_OTHER_VOLTAGE_COLUMN,
        "230 V is another voltage of the nameplate; the motor is connected for 460 V", CAUSE_NONE);
}

static void currents_of_several_motors_are_taken_from_another_column(void **state)
{
    (void)state;
    struct bench bench = current_of(bench_nema());
    bench.sheet.motors.count = 3;
    one(bench, 1800, CAUSE_OTHER_VOLTAGE_COLUMN,
        "18.00 A is the nameplate current for 230 V; the motor is connected for 460 V", CAUSE_NONE);
}

static void overload_current_of_another_column(void **state)
{
    (void)state;
    struct bench bench = bench_nema();
    bench_register(&bench, "overload", MEANS_MOTOR_OVERLOAD_CURRENT, TYPE_U16, 0.01, UNIT_A)->overload_is =
        OVERLOAD_REFERENCE;
    one(bench, 600, CAUSE_OTHER_VOLTAGE_COLUMN,
        "6.00 A is the nameplate current for 230 V; the motor is connected for 460 V", CAUSE_NONE);
}

static void a_column_rounded_differently_is_still_that_column(void **state)
{
    (void)state;
    one(current_of(bench_nema()), 597, CAUSE_OTHER_VOLTAGE_COLUMN,
        "5.97 A is the nameplate current for 230 V; the motor is connected for 460 V", CAUSE_NONE);
}

static void star_and_delta_columns_name_both(void **state)
{
    (void)state;
    one(current_of(bench_iec()), 610, CAUSE_OTHER_VOLTAGE_COLUMN,
        "6.10 A is the nameplate current for 400 V; the motor is connected for 230 V", CAUSE_STAR_FOR_DELTA);
}

static void speed_of_another_frequency(void **state)
{
    (void)state;
    one(speed_of(bench_iec()), 1730, CAUSE_OTHER_MAINS_FREQUENCY,
        "1730 rpm is the nameplate speed for 60 Hz; the motor is connected for 50 Hz", CAUSE_NONE);
}

static void supply_for_motor_voltage(void **state)
{
    (void)state;
    one(voltage_of(bench_nema()), 480, CAUSE_SUPPLY_VOLTAGE_FOR_MOTOR_VOLTAGE,
        "480 V is the voltage of the supply; the motor's is 460 V", CAUSE_NONE);
}

static void horsepower_where_kilowatts_belong(void **state)
{
    (void)state;
    one(power_of(bench_nema(), UNIT_KW), 200, CAUSE_HORSEPOWER_FOR_KILOWATT,
        "2.00 kW takes 2 hp for kilowatts; the motor has 1.491 kW", CAUSE_NONE);
    one(power_of(bench_plain(), UNIT_KW), 200, CAUSE_HORSEPOWER_FOR_KILOWATT,
        "2.00 kW takes 2 hp for kilowatts; the motor has 1.5 kW", CAUSE_NONE);
}

static void kilowatts_where_horsepower_belongs(void **state)
{
    (void)state;
    one(power_of(bench_plain(), UNIT_HP), 150, CAUSE_KILOWATT_FOR_HORSEPOWER,
        "1.50 hp takes 1.5 kW for horsepower; the motor has 2.012 hp", CAUSE_NONE);
    one(power_of(bench_nema(), UNIT_HP), 149, CAUSE_KILOWATT_FOR_HORSEPOWER,
        "1.49 hp takes 1.491 kW for horsepower; the motor has 2 hp", CAUSE_NONE);
}

static void synchronous_speed(void **state)
{
    (void)state;
    one(speed_of(bench_nema()), 1800, CAUSE_SYNCHRONOUS_SPEED,
        "1800 rpm is the synchronous speed of 4 poles at 60 Hz; at rated load the motor turns at 1745 rpm", CAUSE_NONE);
}

static void the_other_mains_frequency(void **state)
{
    (void)state;
    struct bench bench = bench_nema();
    bench_register(&bench, "base", MEANS_OUTPUT_BASE_FREQUENCY, TYPE_U16, 0.1, UNIT_HZ);
    one(bench, 500, CAUSE_OTHER_MAINS_FREQUENCY, "50.0 Hz is the other mains frequency; here it is 60 Hz", CAUSE_NONE);
    one(speed_of(bench_nema()), 1454, CAUSE_OTHER_MAINS_FREQUENCY,
        "1454 rpm is 1745 rpm x 50 / 60, the speed at the other mains frequency", CAUSE_NONE);
    one(speed_of(bench_nema()), 1445, CAUSE_OTHER_MAINS_FREQUENCY,
        "1445 rpm is the speed at the other mains frequency, 50 Hz, with the slip of 1745 rpm at 60 Hz", CAUSE_NONE);
}

static void a_factor_of_root_three(void **state)
{
    (void)state;
    one(current_of(bench_plain()), 589, CAUSE_STAR_FOR_DELTA,
        "5.89 A is 3.4 A x 1.732, the root of 3: star and delta are mixed up", CAUSE_NONE);
    one(voltage_of(bench_plain()), 231, CAUSE_STAR_FOR_DELTA,
        "231 V is 400 V / 1.732, the root of 3: star and delta are mixed up", CAUSE_NONE);
    one(voltage_of(bench_plain()), 230, CAUSE_STAR_FOR_DELTA, "230 V is to 400 V as star is to delta (230/400 V)",
        CAUSE_NONE);
}

static void a_point_that_slipped(void **state)
{
    (void)state;
    one(current_of(bench_plain()), 3400, CAUSE_DECIMAL_SHIFT, "34.00 A is ten times 3.4 A: the decimal point slipped",
        CAUSE_NONE);
    one(current_of(bench_plain()), 34, CAUSE_DECIMAL_SHIFT, "0.34 A is a tenth of 3.4 A: the decimal point slipped",
        CAUSE_NONE);
    one(speed_of(bench_plain()), 14, CAUSE_DECIMAL_SHIFT,
        "14 rpm is a hundredth of 1420 rpm: the decimal point slipped", CAUSE_NONE);
    one(voltage_of(bench_plain()), 40000, CAUSE_DECIMAL_SHIFT,
        "40000 V is a hundred times 400 V: the decimal point slipped", CAUSE_NONE);
}

static void a_bound_with_its_point_slipped(void **state)
{
    (void)state;
    struct bench bench = bench_plain();
    bench_register(&bench, "limit", MEANS_LIMIT_CURRENT, TYPE_U16, 0.01, UNIT_A);
    bench_setting(&bench, MEANS_LIMIT_CURRENT, SETTING_AT_MOST, NULL, "4.5 A");
    one(bench, 4500, CAUSE_DECIMAL_SHIFT, "45.00 A is ten times 4.5 A: the decimal point slipped", CAUSE_NONE);
}

static void factory_default(void **state)
{
    (void)state;
    struct bench bench = current_of(bench_plain());
    bench.map.parameters[0].default_value = quantity_of("4.0 A");
    one(bench, 400, CAUSE_FACTORY_DEFAULT, "4.00 A is the factory default", CAUSE_NONE);
}

static void a_default_is_told_before_what_else_it_may_be(void **state)
{
    (void)state;
    struct bench bench = bench_nema();
    bench_register(&bench, "base", MEANS_OUTPUT_BASE_FREQUENCY, TYPE_U16, 0.1, UNIT_HZ)->default_value =
        quantity_of("50 Hz");
    one(bench, 500, CAUSE_FACTORY_DEFAULT, "50.0 Hz is the factory default", CAUSE_OTHER_MAINS_FREQUENCY);
}

static struct bench choice(const char *default_word)
{
    struct bench bench = bench_plain();
    struct parameter *source = bench_register(&bench, "start", MEANS_CONTROL_START_SOURCE, TYPE_U16, 1, UNIT_NONE);
    names_add(&source->choices, 0, "keypad");
    names_add(&source->choices, 1, "terminals");
    names_add(&source->choices, 2, "network");
    source->default_word = text_copy(default_word);
    bench_word(&bench, MEANS_CONTROL_START_SOURCE, "terminals");
    return bench;
}

static void a_choice_that_is_the_default(void **state)
{
    (void)state;
    one(choice("keypad"), 0, CAUSE_FACTORY_DEFAULT, "keypad is the factory default", CAUSE_NONE);
    one(choice("keypad"), 2, CAUSE_NONE, NULL, CAUSE_NONE);
    one(choice("keypad"), 0x0100, CAUSE_BYTES_SWAPPED,
        "with the bytes of each word exchanged it is terminals: look at the gateway or whatever fills the register",
        CAUSE_NONE);
}

static void never_set(void **state)
{
    (void)state;
    one(current_of(bench_plain()), 0, CAUSE_NEVER_SET, "0.00 A is what a register holds that was never set (nothing)",
        CAUSE_NONE);
    one(current_of(bench_plain()), 0xffff, CAUSE_NEVER_SET,
        "655.35 A is what a register holds that was never set (all bits)", CAUSE_NONE);
    one(choice(NULL), 0, CAUSE_NEVER_SET, "keypad is what a register holds that was never set (nothing)", CAUSE_NONE);
}

static void a_percentage_is_compared_with_its_default(void **state)
{
    (void)state;
    struct bench bench = current_of(bench_plain());
    struct parameter *percent = &bench.map.parameters[0];
    percent->unit = UNIT_PERCENT;
    percent->scale = 0.1;
    percent->is_percent = true;
    percent->percent_of = MEANS_DRIVE_RATED_CURRENT;
    percent->base = BASE_SHEET;
    percent->default_value = quantity_of("100 %");
    bench_register(&bench, "drive", MEANS_DRIVE_RATED_CURRENT, TYPE_U16, 0.1, UNIT_A);
    bench.sheet.drive.rated_current = quantity_of("4.0 A");
    bench_answer(&bench, 1, 40);
    one(bench, 1000, CAUSE_FACTORY_DEFAULT, "4.000 A is the factory default", CAUSE_NONE);
}

static void the_end_of_a_range(void **state)
{
    (void)state;
    struct bench bench = current_of(bench_iec());
    bench.map.parameters[0].accepts_high = (struct bound){.kind = BOUND_VALUE, .value = quantity_of("9.9 A")};
    one(bench, 990, CAUSE_TRUNCATED_TO_RANGE, "9.90 A is the most that the register takes; 10.6 A lies beyond",
        CAUSE_NONE);
}

static void the_end_of_a_range_that_is_another_value(void **state)
{
    (void)state;
    struct bench bench = bench_nema();
    bench_register(&bench, "minimum", MEANS_LIMIT_MINIMUM_FREQUENCY, TYPE_U16, 0.1, UNIT_HZ)->accepts_high =
        (struct bound){.kind = BOUND_MEANS, .means = MEANS_LIMIT_MAXIMUM_FREQUENCY};
    bench_register(&bench, "maximum", MEANS_LIMIT_MAXIMUM_FREQUENCY, TYPE_U16, 0.1, UNIT_HZ);
    bench_setting(&bench, MEANS_LIMIT_MINIMUM_FREQUENCY, SETTING_QUANTITY, "25 Hz", NULL);
    bench_answer(&bench, 1, 205);
    one(bench, 205, CAUSE_TRUNCATED_TO_RANGE, "20.5 Hz is the most that the register takes; 25 Hz lies beyond",
        CAUSE_NONE);
}

static void a_count_that_wrapped_around(void **state)
{
    (void)state;
    struct bench bench = speed_of(bench_nema());
    bench.map.parameters[0].scale = 0.01;
    one(bench, 174500 - 2 * 65536, CAUSE_TRUNCATED_TO_RANGE,
        "434.28 rpm is what the low 16 bits hold of 1745 rpm: its count of 174500 does not fit into one word",
        CAUSE_NONE);
}

static struct bench identified(enum means means, enum value_type type, double scale)
{
    struct bench bench = bench_plain();
    bench_register(&bench, "who", means, type, scale, UNIT_NONE)->settable = SETTABLE_NEVER;
    bench.sheet.drive.serial_number = text_copy("0048213");
    bench.sheet.drive.firmware = text_copy("1.20");
    return bench;
}

static void another_drive(void **state)
{
    (void)state;
    one(identified(MEANS_DRIVE_SERIAL_NUMBER, TYPE_U32, 1), 48231, CAUSE_DRIVE_EXCHANGED,
        "the sheet is for serial number 0048213, this drive has 48231: it was exchanged, or the line leads to another "
        "drive",
        CAUSE_NONE);
    one(identified(MEANS_DRIVE_FIRMWARE, TYPE_U16, 0.01), 130, CAUSE_FIRMWARE_CHANGED,
        "the sheet is for firmware 1.20, this drive has 1.30", CAUSE_NONE);
}

static void a_serial_number_as_text(void **state)
{
    (void)state;
    struct bench bench = identified(MEANS_DRIVE_SERIAL_NUMBER, TYPE_TEXT, 1);
    const uint16_t words[] = {0x4e37, 0x3100}; /* "N71" */
    bench.map.parameters[0].words = 2;
    readings_init(&bench.readings, 1);
    reading_put(&bench.readings, 0, words, 2);
    bench_explain(&bench);
    assert_cause(&bench, "who", CAUSE_DRIVE_EXCHANGED,
                 "the sheet is for serial number 0048213, this drive has N71: it was exchanged, or the line leads to "
                 "another drive",
                 CAUSE_NONE);
    assert_string_equal(bench.remark, "this is not the drive of the sheet: its serial number differs");
    bench_free(&bench);
}

static void the_same_drive_agrees(void **state)
{
    (void)state;
    struct bench bench = identified(MEANS_DRIVE_SERIAL_NUMBER, TYPE_U32, 1);
    bench_answer(&bench, 0, 48213);
    bench_explain(&bench);
    assert_int_equal(bench_finding(&bench, "who")->verdict, VERDICT_AGREES);
    free(bench.sheet.drive.serial_number);
    bench.sheet.drive.serial_number = NULL; /* then it is not judged at all */
    bench_explain(&bench);
    assert_int_equal(bench.findings.count, 0);
    bench_free(&bench);
}

static void a_serial_number_that_is_no_number_is_not_checked(void **state)
{
    (void)state;
    struct bench bench = identified(MEANS_DRIVE_SERIAL_NUMBER, TYPE_U32, 1);
    free(bench.sheet.drive.serial_number);
    bench.sheet.drive.serial_number = text_copy("SN-71");
    bench_answer(&bench, 0, 71);
    bench_explain(&bench);
    assert_int_equal(bench.findings.items[0].verdict, VERDICT_UNCHECKED);
    assert_string_equal(bench.findings.items[0].basis, "the sheet says 'SN-71', and the register holds a number");
    bench_free(&bench);
}

static void none_where_none_fits(void **state)
{
    (void)state;
    one(current_of(bench_nema()), 317, CAUSE_NONE, NULL, CAUSE_NONE);
    one(speed_of(bench_nema()), 1733, CAUSE_NONE, NULL, CAUSE_NONE);
}

static void none_for_what_agrees_is_unread_or_unchecked(void **state)
{
    (void)state;
    struct bench bench = current_of(bench_nema());
    bench.map.parameters[0].default_value = quantity_of("3 A");
    bench_register(&bench, "speed", MEANS_MOTOR_RATED_SPEED, TYPE_U16, 1, UNIT_RPM)->tuned = true;
    bench_answer(&bench, 0, 300);
    bench_answer(&bench, 1, 1800);
    bench_explain(&bench);
    assert_cause(&bench, "current", CAUSE_NONE, NULL, CAUSE_NONE);
    assert_cause(&bench, "speed", CAUSE_NONE, NULL, CAUSE_NONE);
    bench_free(&bench);
}

static void exact_before_rounded(void **state)
{
    (void)state;
    struct bench bench = current_of(bench_iec()); /* 6.1 A in the other column; 10.6 A / 1.732 is 6.12 A */
    bench.sheet.motor.columns[0].connection = bench.sheet.motor.columns[1].connection = CONNECTION_UNSAID;
    one(bench, 612, CAUSE_STAR_FOR_DELTA, "6.12 A is 10.6 A / 1.732, the root of 3: star and delta are mixed up",
        CAUSE_NONE);
}

static void rounding_ends_with_the_plate_and_half_a_step(void **state)
{
    (void)state;
    one(current_of(bench_nema()), 595, CAUSE_OTHER_VOLTAGE_COLUMN,
        "5.95 A is the nameplate current for 230 V; the motor is connected for 460 V", CAUSE_NONE);
    one(current_of(bench_nema()), 594, CAUSE_NONE, NULL, CAUSE_NONE);
    struct bench bench = current_of(bench_nema());
    bench.sheet.allow = memory_new(1, sizeof *bench.sheet.allow);
    bench.sheet.allow[bench.sheet.allow_count++] = (struct allowance){
        .means = MEANS_MOTOR_RATED_CURRENT, .within = quantity_of("0.5 A"), .because = text_copy("rewound in 2019")};
    one(bench, 594, CAUSE_NONE, NULL, CAUSE_NONE); /* what is allowed does not make a guess better */
}

static void a_wide_range_is_no_evidence(void **state)
{
    (void)state;
    struct bench bench = bench_nema();
    bench_register(&bench, "highest", MEANS_LIMIT_MAXIMUM_FREQUENCY, TYPE_U16, 0.1, UNIT_HZ);
    bench_setting(&bench, MEANS_LIMIT_MAXIMUM_FREQUENCY, SETTING_BETWEEN, "10 Hz", "50 Hz");
    one(bench, 3000, CAUSE_NONE, NULL, CAUSE_NONE);
    bench = current_of(bench_plain());
    bench_setting(&bench, MEANS_MOTOR_RATED_CURRENT, SETTING_BETWEEN, "3 A", "6 A");
    one(bench, 700, CAUSE_NONE, NULL, CAUSE_NONE);
    bench = bench_plain();
    bench_register(&bench, "limit", MEANS_LIMIT_CURRENT, TYPE_U16, 0.01, UNIT_A);
    bench_setting(&bench, MEANS_LIMIT_CURRENT, SETTING_AT_MOST, NULL, "4.5 A");
    one(bench, 0x9001, CAUSE_NONE, NULL, CAUSE_NONE); /* 4.00 A with its bytes exchanged, as good as any */
}

static void without_a_sheet_the_plate_is_not_asked(void **state)
{
    (void)state;
    struct bench bench = current_of(bench_nema());
    bench.map.parameters[0].default_value = quantity_of("6 A");
    bench_answer(&bench, 0, 600);
    bench_explain(&bench);
    assert_cause(&bench, "current", CAUSE_FACTORY_DEFAULT, "6.00 A is the factory default", CAUSE_OTHER_VOLTAGE_COLUMN);
    findings_free(&bench.findings);
    judge(&bench.map, &bench.setpoints, &bench.readings, &bench.findings);
    assert_null(causes_find(&bench.map, NULL, &bench.setpoints, &bench.readings, &bench.findings));
    assert_cause(&bench, "current", CAUSE_FACTORY_DEFAULT, "6.00 A is the factory default", CAUSE_NONE);
    bench_free(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(current_of_another_column),
        cmocka_unit_test(voltage_of_another_column),
        cmocka_unit_test(currents_of_several_motors_are_taken_from_another_column),
        cmocka_unit_test(overload_current_of_another_column),
        cmocka_unit_test(a_column_rounded_differently_is_still_that_column),
        cmocka_unit_test(star_and_delta_columns_name_both),
        cmocka_unit_test(speed_of_another_frequency),
        cmocka_unit_test(supply_for_motor_voltage),
        cmocka_unit_test(horsepower_where_kilowatts_belong),
        cmocka_unit_test(kilowatts_where_horsepower_belongs),
        cmocka_unit_test(synchronous_speed),
        cmocka_unit_test(the_other_mains_frequency),
        cmocka_unit_test(a_factor_of_root_three),
        cmocka_unit_test(a_point_that_slipped),
        cmocka_unit_test(a_bound_with_its_point_slipped),
        cmocka_unit_test(factory_default),
        cmocka_unit_test(a_default_is_told_before_what_else_it_may_be),
        cmocka_unit_test(a_choice_that_is_the_default),
        cmocka_unit_test(never_set),
        cmocka_unit_test(a_percentage_is_compared_with_its_default),
        cmocka_unit_test(the_end_of_a_range),
        cmocka_unit_test(the_end_of_a_range_that_is_another_value),
        cmocka_unit_test(a_count_that_wrapped_around),
        cmocka_unit_test(another_drive),
        cmocka_unit_test(a_serial_number_as_text),
        cmocka_unit_test(the_same_drive_agrees),
        cmocka_unit_test(a_serial_number_that_is_no_number_is_not_checked),
        cmocka_unit_test(none_where_none_fits),
        cmocka_unit_test(none_for_what_agrees_is_unread_or_unchecked),
        cmocka_unit_test(exact_before_rounded),
        cmocka_unit_test(rounding_ends_with_the_plate_and_half_a_step),
        cmocka_unit_test(a_wide_range_is_no_evidence),
        cmocka_unit_test(without_a_sheet_the_plate_is_not_asked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
