/* SPDX-License-Identifier: MIT */
/* Plates and sheets that contradict themselves or physics, and textbook motors that do not. */
#include "sheets.h"

static struct job *plate_job(struct plate_text plate)
{
    struct job *job = job_of(&plate, 1, 0);
    job_compute(job);
    return job;
}

static void the_example_is_plausible(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.supply = (struct supply){.given = true, .voltage = quantity_of("480 V"), .phases = 3};
    job->sheet.drive.rated_current = quantity_of("4.2 A");
    job->sheet.motor.service_factor = quantity_of("1.15");
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_MINIMUM_FREQUENCY, SETTING_QUANTITY, "20 Hz", NULL);
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, SETTING_QUANTITY, "60 Hz", NULL);
    (void)sheet_add_setting(&job->sheet, MEANS_RAMP_ACCELERATION_TIME, SETTING_QUANTITY, "10 s", NULL);
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

/* Read in a volunteer's worked transcription of the named book's example, not in the printed book; the last two are
 * computed from the efficiency tables of IEC 60034-30-1 and NEMA MG 1. */
struct book_row {
    struct plate_text plate;
    const char *source;
};

static const struct book_row book_rows[] = {
    {{"100 hp", "230 V", "248 A", "60 Hz", "1176 rpm", "91.0 %", "82.98 %"}, "Hubert Ex 4.6"},
    {{"5221.6 W", "220 V", "18.78 A", "60 Hz", "1176 rpm", "86.3 %", "84.56 %"}, "Fitzgerald Ex 6.2"},
    {{"22077 W", "440 V", "37.58 A", "60 Hz", "1746 rpm", "87.0 %", "88.6 %"}, "Hambley Ex 17.1, recomputed"},
    {{"4391.6 W", "230 V", "12.83 A", "60 Hz", "1170 rpm", NULL, NULL}, "Guru and Hiziroglu Ex 9.2"},
    {{"10478 W", "460 V", "18.892 A", "60 Hz", "1760.4 rpm", "83.66 %", "83.2 %"}, "Chapman Ex 7-3, recomputed"},
    {{"25 hp", "460 V", NULL, "60 Hz", "1760 rpm", NULL, NULL}, "Chapman Ex 7-3"},
    {{NULL, "400 V", NULL, "50 Hz", "1370 rpm", NULL, NULL}, "Dubey Ex 6.8"},
    {{"7.5 kW", "400 V", "14.088 A", "50 Hz", "1440 rpm", "90.4 %", "85 %"}, "formula, IE3 efficiency"},
    {{"10 hp", "460 V", "12.008 A", "60 Hz", "1750 rpm", "91.7 %", "85 %"}, "formula, premium efficiency"},
};

static void textbook_motors_are_plausible(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof book_rows / sizeof book_rows[0]; i++) {
        struct job *job = plate_job(book_rows[i].plate);
        if (job->setpoints.implausible.count > 0)
            print_message("%s\n", book_rows[i].source);
        assert_plausible(job);
        job_free(job);
    }
}

/* The speed ranges of ordinary motors by poles, both ends. Common practice, from memory. */
static void ordinary_speeds_are_plausible(void **state)
{
    (void)state;
    static const double at_60_hz[] = {3450, 3570, 1725, 1780, 1140, 1185, 850, 885};
    static const double at_50_hz[] = {2850, 2970, 1410, 1485, 930, 985, 690, 740};
    for (size_t i = 0; i < 8; i++) {
        char speed[2][32];
        (void)snprintf(speed[0], sizeof speed[0], "%g rpm", at_60_hz[i]);
        (void)snprintf(speed[1], sizeof speed[1], "%g rpm", at_50_hz[i]);
        for (size_t j = 0; j < 2; j++) {
            struct job *job = plate_job((struct plate_text){
                .power = i % 2 == 0 ? "1.5 kW" : "75 kW", .frequency = j == 0 ? "60 Hz" : "50 Hz", .speed = speed[j]});
            assert_plausible(job);
            job_free(job);
        }
    }
}

static void a_speed_at_or_above_synchronous(void **state)
{
    (void)state;
    static const struct {
        const char *speed, *frequency, *says;
    } rows[] = {
        {"1500 rpm", "50 Hz", "1500 rpm is at the synchronous speed of 4 poles at 50 Hz (1500 rpm)"},
        {"1805 rpm", "60 Hz", "1805 rpm is above the synchronous speed of 4 poles at 60 Hz (1800 rpm)"},
        {"3600 rpm", "60 Hz", "3600 rpm is at the synchronous speed of 2 poles"},
        {"3610 rpm", "60 Hz", "3610 rpm is above the synchronous speed of 2 poles"},
        {"1745 rpm", "50 Hz", "it would fit 60 Hz"},
        {"9000 rpm", "60 Hz", "look at speed and frequency on the plate"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct job *job =
            plate_job((struct plate_text){.power = "2 hp", .frequency = rows[i].frequency, .speed = rows[i].speed});
        const struct finding *finding = assert_one_finding(job, "sheet.motor.rated_speed", rows[i].says);
        assert_int_equal(finding->stake, STAKE_EQUIPMENT);
        assert_int_equal(finding->unit, UNIT_RPM);
        assert_int_equal(finding->found.kind, VALUE_NUMBER);
        job_free(job);
    }
}

static void a_slip_out_of_range_for_the_size(void **state)
{
    (void)state;
    static const struct {
        const char *power, *speed, *frequency, *says;
    } rows[] = {
        {"55 kW", "1340 rpm", "50 Hz", "1340 rpm at 50 Hz means 10.67 % slip from 1500 rpm (4 poles)"},
        {"200 kW", "1395 rpm", "50 Hz", "motors of 200 kW have 0.1 % to 5 %"},
        {"2 hp", "1430 rpm", "60 Hz", "it would fit 50 Hz"},
        {"10 kW", "1499.2 rpm", "50 Hz", "0.05333 % slip"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct job *job = plate_job(
            (struct plate_text){.power = rows[i].power, .frequency = rows[i].frequency, .speed = rows[i].speed});
        (void)assert_one_finding(job, "sheet.motor.rated_speed", rows[i].says);
        job_free(job);
    }
}

static void a_synchronous_motor_beside_its_speed(void **state)
{
    (void)state;
    struct plate_text plate = {.frequency = "50 Hz", .speed = "1450 rpm"};
    struct job *job = job_of(&plate, 1, 0);
    job->sheet.motor.kind = MOTOR_PERMANENT_MAGNET;
    job_compute(job);
    const struct finding *finding = assert_one_finding(job, "sheet.motor.rated_speed", "no synchronous speed at 50 Hz");
    assert_near(finding->expected.nominal, 1500, 1e-9);
    job->sheet.motor.kind = MOTOR_SINGLE_PHASE; /* no check of slip */
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void a_current_against_efficiency_and_power_factor(void **state)
{
    (void)state;
    struct job *job = plate_job((struct plate_text){"2 hp", "460 V", "6.0 A", NULL, NULL, "86.5 %", "72 %"});
    const struct finding *finding = assert_one_finding(job, "sheet.motor.rated_current", "2 hp from 6.0 A at 460 V");
    /* every figure at the end of its rounding, and 5 %; 2 hp is also 1.5 kW */
    assert_near(finding->expected.low, 1491.39974 / (sqrt(3) * 460.5 * 0.8655 * 0.725 * 1.05), 1e-6);
    assert_near(finding->expected.high, 1500 / (sqrt(3) * 459.5 * 0.8645 * 0.715 * 0.95), 1e-6);
    assert_near(finding->expected.nominal, 3.0055, 0.0005);
    assert_near(finding->found.number, 6, 0);
    assert_int_equal(finding->unit, UNIT_A);
    job_free(job);
}

/* The plate's figures agree within 5 % and their rounding. */
static void a_current_within_five_percent_is_plausible(void **state)
{
    (void)state;
    struct job *job = plate_job((struct plate_text){"7.5 kW", "400 V", "14.7 A", NULL, NULL, "90.4 %", "85 %"});
    assert_plausible(job);
    job_free(job);
    job = plate_job((struct plate_text){"7.5 kW", "400 V", "15.2 A", NULL, NULL, "90.4 %", "85 %"});
    (void)assert_one_finding(job, "sheet.motor.rated_current", "7.5 kW from 15.2 A at 400 V");
    job_free(job);
}

static void a_current_against_the_range_for_the_size(void **state)
{
    (void)state;
    struct job *job = plate_job((struct plate_text){.power = "7.5 kW", .voltage = "400 V", .current = "40 A"});
    (void)assert_one_finding(job, "sheet.motor.rated_current", "for this size");
    job_free(job);
    job = plate_job((struct plate_text){.power = "7.5 kW", .voltage = "400 V", .current = "5.0 A"});
    (void)assert_one_finding(job, "sheet.motor.rated_current", "more power than goes in");
    job_free(job);
}

static void an_efficiency_cuts_the_range(void **state)
{
    (void)state;
    /* 0.80 of the volt-amperes come out, which an efficiency of 55 % cannot give */
    struct job *job = plate_job(
        (struct plate_text){.power = "1.28 kW", .voltage = "400 V", .current = "2.31 A", .efficiency = "55 %"});
    (void)assert_one_finding(job, "sheet.motor.rated_current", "1.28 kW from 2.31 A at 400 V");
    job->sheet.motor.columns[0].efficiency.given = false;
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

/* The plate's own figures may come near to 100 %, but no more comes out than goes in. */
static void more_power_out_than_in(void **state)
{
    (void)state;
    struct job *job = plate_job((struct plate_text){"7.07 kW", "400 V", "10.0 A", NULL, NULL, "99 %", "99 %"});
    (void)assert_one_finding(job, "sheet.motor.rated_current", "more power than goes in");
    job_free(job);
}

static void horsepower_and_kilowatt_confused(void **state)
{
    (void)state;
    /* 2.2 kW, 400 V, 4.6 A, 86.7 %, 0.80, with the wrong unit; and 30 hp as 30 kW */
    struct job *job = plate_job((struct plate_text){"2.2 hp", "400 V", "4.6 A", NULL, NULL, "86.7 %", "80 %"});
    const struct finding *finding =
        assert_one_finding(job, "sheet.motor.rated_power", "2.2 hp does not fit 4.6 A at 400 V, but 2.2 kW would");
    assert_int_equal(finding->unit, UNIT_HP);
    assert_near(finding->found.number, 2.2, 1e-9);
    job_free(job);
    job = plate_job((struct plate_text){"30 kW", "460 V", "36 A", NULL, NULL, "93.6 %", "84 %"});
    (void)assert_one_finding(job, "sheet.motor.rated_power", "but 30 hp would");
    job_free(job);
    job = plate_job((struct plate_text){.power = "100 kW", .voltage = "460 V", .current = "124 A"});
    (void)assert_one_finding(job, "sheet.motor.rated_power", "but 100 hp would");
    job_free(job);
}

static void a_single_phase_motor_takes_current_without_root_three(void **state)
{
    (void)state;
    struct plate_text plate = {"1 hp", "230 V", "6.3 A", NULL, NULL, "70 %", "74 %"};
    struct job *job = job_of(&plate, 1, 0);
    job->sheet.motor.kind = MOTOR_SINGLE_PHASE;
    job_compute(job);
    assert_plausible(job);
    job->sheet.motor.kind = MOTOR_INDUCTION;
    job_compute(job);
    (void)assert_one_finding(job, "sheet.motor.rated_current", "1 hp from 6.3 A");
    job_free(job);
}

/* Without magnetising current from the supply the power factor may come near to one. */
static void a_permanent_magnet_motor_takes_less_current(void **state)
{
    (void)state;
    struct plate_text plate = {.power = "7.5 kW", .voltage = "400 V", .current = "11.6 A"};
    struct job *job = job_of(&plate, 1, 0);
    job->sheet.motor.kind = MOTOR_PERMANENT_MAGNET;
    job_compute(job);
    assert_plausible(job);
    job->sheet.motor.kind = MOTOR_INDUCTION;
    job_compute(job);
    assert_int_equal(job->setpoints.implausible.count, 1);
    job_free(job);
}

static void columns_with_exchanged_currents(void **state)
{
    (void)state;
    static const struct plate_text columns[] = {{.voltage = "230 V", .current = "3.0 A", .frequency = "60 Hz"},
                                                {.voltage = "460 V", .current = "6.0 A", .frequency = "60 Hz"}};
    struct job *job = job_of(columns, 2, 1);
    job_compute(job);
    const struct finding *finding = assert_one_finding(
        job, "sheet.motor.rated_current", "230 V x 3.0 A = 690 VA, but 460 V x 6.0 A = 2760 VA; look whether");
    assert_near(finding->expected.nominal, 1.5, 1e-9);
    job_free(job);
}

static void columns_with_the_same_current_for_other_voltages(void **state)
{
    (void)state;
    static const struct plate_text columns[] = {
        {.power = "7.5 kW", .voltage = "230 V", .current = "15.2 A", .frequency = "50 Hz"},
        {.power = "7.5 kW", .voltage = "400 V", .current = "15.2 A", .frequency = "50 Hz"}};
    struct job *job = job_of(columns, 2, 1);
    job_compute(job);
    (void)assert_one_finding(job, "sheet.motor.rated_current", "the columns contradict each other");
    job_free(job);
}

/* Without powers nothing says how the load differs between the frequencies. */
static void columns_of_other_frequencies_are_not_compared_without_powers(void **state)
{
    (void)state;
    static const struct plate_text columns[] = {{.voltage = "380 V", .current = "6.3 A", .frequency = "50 Hz"},
                                                {.voltage = "460 V", .current = "6.3 A", .frequency = "60 Hz"}};
    struct job *job = job_of(columns, 2, 1);
    job_compute(job);
    assert_plausible(job);
    job->sheet.motor.columns[0].frequency = quantity_of("60 Hz");
    job_compute(job);
    (void)assert_one_finding(job, "sheet.motor.rated_current", "the columns contradict each other");
    job_free(job);
}

static struct job *supply_job(const char *motor, const char *supply, enum front_end front_end)
{
    struct plate_text plate = {.voltage = motor};
    struct job *job = job_of(&plate, 1, 0);
    job->sheet.supply = (struct supply){.given = true, .voltage = quantity_of(supply), .phases = 3};
    job->sheet.drive.front_end = front_end;
    job_compute(job);
    return job;
}

/* Source: ANSI C84.1 and NEMA MG 1 practice, IEC 60038: nominal system and motor plate; 600 V and 575 V from memory. */
static void motors_for_their_system_are_plausible(void **state)
{
    (void)state;
    static const char *const rows[][2] = {
        {"115 V", "120 V"}, {"200 V", "208 V"}, {"230 V", "240 V"}, {"265 V", "277 V"}, {"460 V", "480 V"},
        {"575 V", "600 V"}, {"230 V", "208 V"}, {"400 V", "400 V"}, {"400 V", "415 V"}, {"440 V", "400 V"},
        {"690 V", "690 V"}, {"400 V", "480 V"}, {"460 V", "414 V"}, {"460 V", "506 V"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct job *job = supply_job(rows[i][0], rows[i][1], FRONT_UNSAID);
        assert_plausible(job);
        job_free(job);
    }
}

static void motor_voltage_against_the_supply(void **state)
{
    (void)state;
    struct job *job = supply_job("460 V", "400 V", FRONT_RECTIFIER);
    (void)assert_one_finding(job, "sheet.motor.rated_voltage",
                             "the motor's 460 V is more than a drive can give from the 400 V of the supply");
    job_free(job);
    job = supply_job("230 V", "480 V", FRONT_UNSAID);
    const struct finding *finding =
        assert_one_finding(job, "sheet.motor.rated_voltage", "230 V is far below the 480 V of the supply");
    assert_near(finding->expected.nominal, 460, 0);
    assert_near(finding->found.number, 230, 0);
    job_free(job);
}

static void front_ends_other_than_a_rectifier(void **state)
{
    (void)state;
    struct job *job = supply_job("230 V", "115 V", FRONT_DOUBLER);
    assert_plausible(job);
    job_free(job);
    job = supply_job("230 V", "115 V", FRONT_RECTIFIER);
    (void)assert_one_finding(job, "sheet.motor.rated_voltage", "more than a drive can give");
    job_free(job);
    job = supply_job("460 V", "400 V", FRONT_ACTIVE);
    assert_plausible(job);
    job_free(job);
    job = supply_job("460 V", "24 V", FRONT_COMMON_BUS);
    assert_plausible(job);
    job_free(job);
}

static void run_to_counts_against_the_supply(void **state)
{
    (void)state;
    struct job *job = supply_job("230 V", "400 V", FRONT_UNSAID);
    (void)assert_one_finding(job, "sheet.motor.rated_voltage", "far below");
    job->sheet.motor.run_to_voltage = quantity_of("400 V");
    job->sheet.motor.run_to_frequency = quantity_of("86.6 Hz");
    job_compute(job);
    assert_plausible(job);
    job->sheet.motor.run_to_voltage = quantity_of("480 V");
    job_compute(job);
    (void)assert_one_finding(job, "sheet.motor.run_to", "more than a drive can give");
    job_free(job);
}

static void a_drive_smaller_than_its_motor(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.drive.rated_current = quantity_of("2.4 A");
    job_compute(job);
    const struct finding *finding =
        assert_one_finding(job, "sheet.drive.rated_current", "the drive's 2.4 A is less than the 3 A of the motor;");
    assert_int_equal(finding->stake, STAKE_EQUIPMENT);
    assert_near(finding->found.number, 2.4, 1e-12);
    job->sheet.drive.rated_current = quantity_of("4.2 A");
    job->sheet.motors = (struct motors){.given = true, .count = 2};
    job_compute(job);
    (void)assert_one_finding(job, "sheet.drive.rated_current", "less than the 6 A of the motors together");
    job_free(job);
}

static void ratios_that_cannot_be(void **state)
{
    (void)state;
    static const struct {
        const char *efficiency, *power_factor, *service_factor, *means, *says;
    } rows[] = {
        {"865 %", NULL, NULL, "sheet.motor.efficiency", "efficiency 865 % is outside 10 % to 100 %"},
        {"0.865 %", NULL, NULL, "sheet.motor.efficiency", "the unit beside the number"},
        {NULL, "1.2 per unit", NULL, "sheet.motor.power_factor", "outside 0.1 per unit to 1 per unit"},
        {NULL, NULL, "0.9", "sheet.motor.service_factor", "service factor 0.9 is outside 1 to 1.5"},
        {NULL, NULL, "115", "sheet.motor.service_factor", "service factor 115 is outside 1 to 1.5"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct plate_text plate = {.efficiency = rows[i].efficiency, .power_factor = rows[i].power_factor};
        struct job *job = job_of(&plate, 1, 0);
        job->sheet.motor.service_factor = quantity_of(rows[i].service_factor);
        job_compute(job);
        (void)assert_one_finding(job, rows[i].means, rows[i].says);
        job_free(job);
    }
}

static void figures_must_be_above_zero(void **state)
{
    (void)state;
    struct job *job = plate_job((struct plate_text){"2 hp", "460 V", "0 A", "60 Hz", "1745 rpm", "86.5 %", "72 %"});
    (void)assert_one_finding(job, "sheet.motor.rated_current", "current is 0 A and must be above zero");
    assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT), "not above zero");
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_example_is_plausible),
        cmocka_unit_test(textbook_motors_are_plausible),
        cmocka_unit_test(ordinary_speeds_are_plausible),
        cmocka_unit_test(a_speed_at_or_above_synchronous),
        cmocka_unit_test(a_slip_out_of_range_for_the_size),
        cmocka_unit_test(a_synchronous_motor_beside_its_speed),
        cmocka_unit_test(a_current_against_efficiency_and_power_factor),
        cmocka_unit_test(a_current_within_five_percent_is_plausible),
        cmocka_unit_test(a_current_against_the_range_for_the_size),
        cmocka_unit_test(an_efficiency_cuts_the_range),
        cmocka_unit_test(more_power_out_than_in),
        cmocka_unit_test(horsepower_and_kilowatt_confused),
        cmocka_unit_test(a_single_phase_motor_takes_current_without_root_three),
        cmocka_unit_test(a_permanent_magnet_motor_takes_less_current),
        cmocka_unit_test(columns_with_exchanged_currents),
        cmocka_unit_test(columns_with_the_same_current_for_other_voltages),
        cmocka_unit_test(columns_of_other_frequencies_are_not_compared_without_powers),
        cmocka_unit_test(motors_for_their_system_are_plausible),
        cmocka_unit_test(motor_voltage_against_the_supply),
        cmocka_unit_test(front_ends_other_than_a_rectifier),
        cmocka_unit_test(run_to_counts_against_the_supply),
        cmocka_unit_test(a_drive_smaller_than_its_motor),
        cmocka_unit_test(ratios_that_cannot_be),
        cmocka_unit_test(figures_must_be_above_zero),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
