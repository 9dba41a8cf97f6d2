/* SPDX-License-Identifier: MIT */
/* Setpoints that the nameplate gives, with their bands, sentences and sources. */
#include "sheets.h"

static void a_band_is_the_plates_own_rounding(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job_compute(job);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT), 2.95, 3.0, 3.05);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_VOLTAGE), 459.5, 460, 460.5);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_FREQUENCY), 59.5, 60, 60.5);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_SPEED), 1744.5, 1745, 1745.5);
    assert_range(job_setpoint(job, MEANS_MOTOR_POWER_FACTOR), 0.715, 0.72, 0.725);
    assert_range(job_setpoint(job, MEANS_MOTOR_EFFICIENCY), 0.8645, 0.865, 0.8655);
    assert_range(job_setpoint(job, MEANS_OUTPUT_BASE_FREQUENCY), 59.5, 60, 60.5);
    assert_range(job_setpoint(job, MEANS_OUTPUT_BASE_VOLTAGE), 459.5, 460, 460.5);
    job_free(job);
}

static void sentences_name_the_column(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job_compute(job);
    const struct setpoint *current = job_setpoint(job, MEANS_MOTOR_RATED_CURRENT);
    assert_string_equal(current->basis, "nameplate current in the 460 V column");
    assert_int_equal(current->source, SOURCE_NAMEPLATE);
    assert_int_equal(current->stake, STAKE_EQUIPMENT);
    assert_int_equal(current->unit, UNIT_A);
    assert_int_equal(job_setpoint(job, MEANS_MOTOR_RATED_POWER)->unit, UNIT_HP);
    job_free(job);
}

static void a_plate_of_one_column_needs_no_name(void **state)
{
    (void)state;
    struct job *job = job_of(pump_columns, 1, 0);
    job->sheet.motor.connected_given = false;
    job_compute(job);
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT)->basis, "nameplate current");
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT), 5.95, 6, 6.05);
    job_free(job);
}

static void columns_of_other_frequencies_are_named_with_it(void **state)
{
    (void)state;
    static const struct plate_text columns[] = {
        {"3 kW", "400 V", "6.1 A", "50 Hz", "1430 rpm", NULL, NULL},
        {"3.5 kW", "460 V", "6.1 A", "60 Hz", "1730 rpm", NULL, NULL},
    };
    struct job *job = job_of(columns, 2, 1);
    job_compute(job);
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_RATED_SPEED)->basis, "nameplate speed in the 460 V 60 Hz column");
    assert_plausible(job);
    job_free(job);
}

static void a_range_of_voltages_is_a_band(void **state)
{
    (void)state;
    static const struct plate_text column = {"5.5 kW", "380 V", "11.0 A", "50 Hz", "1440 rpm", NULL, NULL};
    struct job *job = job_of(&column, 1, 0);
    job->sheet.motor.columns[0].voltage_high = quantity_of("420 V");
    job_compute(job);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_VOLTAGE), 379.5, 400, 420.5);
    assert_plausible(job);
    job_free(job);
}

/* Sources: 10 CFR 431.25(a) Table 1 pairs 1 hp with 0.75 kW and so on; 0.5, 125 and 200 hp are from memory. */
static void preferred_ratings_accept_the_size_in_the_other_unit(void **state)
{
    (void)state;
    static const struct {
        const char *hp, *kw;
    } rows[] = {{"0.5 hp", "0.37 kW"}, {"1 hp", "0.75 kW"}, {"1.5 hp", "1.1 kW"}, {"2 hp", "1.5 kW"},
                {"3 hp", "2.2 kW"},    {"5 hp", "3.7 kW"},  {"7.5 hp", "5.5 kW"}, {"10 hp", "7.5 kW"},
                {"15 hp", "11 kW"},    {"20 hp", "15 kW"},  {"25 hp", "18.5 kW"}, {"30 hp", "22 kW"},
                {"40 hp", "30 kW"},    {"50 hp", "37 kW"},  {"60 hp", "45 kW"},   {"100 hp", "75 kW"},
                {"125 hp", "90 kW"},   {"200 hp", "150 kW"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct quantity hp = quantity_of(rows[i].hp);
        struct quantity kw = quantity_of(rows[i].kw);
        double low = fmin(quantity_base(&hp), quantity_base(&kw));
        double high = fmax(quantity_base(&hp), quantity_base(&kw));
        struct plate_text plates[] = {{.power = rows[i].hp}, {.power = rows[i].kw}};
        for (size_t way = 0; way < 2; way++) {
            struct job *job = job_of(&plates[way], 1, 0);
            job_compute(job);
            struct quantity own = quantity_of(plates[way].power);
            assert_range(job_setpoint(job, MEANS_MOTOR_RATED_POWER), low, quantity_base(&own), high);
            job_free(job);
        }
    }
}

static void the_size_in_the_other_unit_is_said(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job_compute(job);
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_RATED_POWER)->basis,
                        "nameplate power in the 460 V column; 2 hp is also plated as 1.5 kW");
    job_free(job);
}

/* The names of sizes are exact: the next size, 1.5 hp, must not pass for "2 hp" through a half of its last digit. */
static void a_preferred_rating_does_not_reach_the_next_size(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job_compute(job);
    assert_true(job_setpoint(job, MEANS_MOTOR_RATED_POWER)->low > unit_to_base(1.9, UNIT_HP));
    job_free(job);
}

static void other_powers_are_rounded_like_any_number(void **state)
{
    (void)state;
    struct plate_text plate = {.power = "1.28 kW"};
    struct job *job = job_of(&plate, 1, 0);
    job_compute(job);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_POWER), 1275, 1280, 1285);
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_RATED_POWER)->basis, "nameplate power");
    job_free(job);
}

static void poles_follow_from_speed(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job_compute(job);
    const struct setpoint *poles = job_setpoint(job, MEANS_MOTOR_POLES);
    assert_range(poles, 4, 4, 4);
    assert_string_equal(poles->basis, "poles = 2 x floor(60 x 60 Hz / 1745 rpm) = 4");
    assert_int_equal(poles->source, SOURCE_DERIVED);
    job_free(job);
}

/* 60 Hz names the supply and is exact; the speed's half digit is 0.5 rpm, 1/60 Hz with four poles. */
static void slip_carries_the_rounding_of_speed(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job_compute(job);
    const struct setpoint *slip = job_setpoint(job, MEANS_MOTOR_RATED_SLIP);
    assert_range(slip, 60 - 1745.5 / 30, 60 - 1745.0 / 30, 60 - 1744.5 / 30);
    assert_string_equal(slip->basis, "slip = 60 Hz - 1745 rpm x 4 poles / 120 = 1.833 Hz");
    job_free(job);
}

static void an_odd_frequency_was_rounded(void **state)
{
    (void)state;
    struct plate_text plate = {.frequency = "87.0 Hz", .speed = "2540 rpm"};
    struct job *job = job_of(&plate, 1, 0);
    job_compute(job);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_SLIP), 86.95 - 2540.5 / 30, 87 - 2540.0 / 30, 87.05 - 2539.5 / 30);
    job_free(job);
}

static void motors_without_slip_have_no_slip_setpoint(void **state)
{
    (void)state;
    static const enum motor_kind kinds[] = {MOTOR_PERMANENT_MAGNET, MOTOR_SYNCHRONOUS_RELUCTANCE, MOTOR_SINGLE_PHASE};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        struct plate_text plate = {.frequency = "60 Hz", .speed = "1800 rpm"};
        struct job *job = job_of(&plate, 1, 0);
        job->sheet.motor.kind = kinds[i];
        job_compute(job);
        assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_SLIP), "three-phase induction motors only");
        assert_range(job_setpoint(job, MEANS_MOTOR_POLES), 4, 4, 4);
        job_free(job);
    }
}

static void synchronous_speed_leaves_no_slip(void **state)
{
    (void)state;
    struct plate_text plate = {.frequency = "50 Hz", .speed = "1500 rpm"};
    struct job *job = job_of(&plate, 1, 0);
    job_compute(job);
    assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_SLIP), "synchronous");
    assert_range(job_setpoint(job, MEANS_MOTOR_POLES), 4, 4, 4);
    job_free(job);
}

static void several_motors_sum_current_and_power(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.motors = (struct motors){.given = true, .count = 3, .own_overloads = ANSWER_YES};
    job->sheet.motor.no_load_current = quantity_of("1.1 A");
    job_compute(job);
    const struct setpoint *current = job_setpoint(job, MEANS_MOTOR_RATED_CURRENT);
    assert_range(current, 8.85, 9, 9.15);
    assert_string_equal(current->basis, "3 motors x 3 A (nameplate current in the 460 V column) = 9 A");
    assert_int_equal(current->source, SOURCE_DERIVED);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_POWER), 6 * unit_to_base(1, UNIT_HP), 6 * unit_to_base(1, UNIT_HP),
                 4500);
    assert_range(job_setpoint(job, MEANS_MOTOR_NO_LOAD_CURRENT), 3.15, 3.3, 3.45);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_VOLTAGE), 459.5, 460, 460.5);
    assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_SLIP), "3 motors share the drive");
    job_free(job);
}

static struct setpoint *overload_of(struct job *job, enum overload_is overload_is, const char *current,
                                    const char *service_factor, const char *rise)
{
    map_parameter(&job->map, MEANS_MOTOR_OVERLOAD_CURRENT)->overload_is = overload_is;
    if (current != NULL)
        job->sheet.motor.columns[1].current = quantity_of(current);
    job->sheet.motor.service_factor = quantity_of(service_factor);
    job->sheet.motor.temperature_rise = quantity_of(rise);
    job_compute(job);
    return &job->setpoints.items[job_setpoint(job, MEANS_MOTOR_OVERLOAD_CURRENT) - job->setpoints.items];
}

static void an_overload_reference_is_the_plates_current(void **state)
{
    (void)state;
    struct job *job = pump_job();
    struct setpoint *overload = overload_of(job, OVERLOAD_REFERENCE, NULL, "1.15", NULL);
    assert_range(overload, 2.95, 3, 3.05);
    assert_string_equal(overload->basis, "nameplate current in the 460 V column");
    job_free(job);
}

/* Source: NEC 430.32(A)(1), 2008 text: 125 % for a marked service factor of 1.15 or more or a marked rise of 40 degC or
 * less, else 115 %. 14.0 A: 17.5 A and 16.1 A. */
static void a_trip_current_reaches_to_the_codes_bound(void **state)
{
    (void)state;
    static const struct {
        const char *service_factor, *rise;
        double share;
    } rows[] = {{"1.15", NULL, 1.25}, {"1.25", "80 degC", 1.25}, {"1.0", "40 degC", 1.25},
                {"1.0", NULL, 1.15},  {NULL, "41 degC", 1.15},   {NULL, NULL, 1.15}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct job *job = pump_job();
        struct setpoint *overload =
            overload_of(job, OVERLOAD_TRIP_CURRENT, "14.0 A", rows[i].service_factor, rows[i].rise);
        assert_near(overload->low, 13.95, 1e-9);
        assert_near(overload->high, 14.05 * rows[i].share, 1e-9);
        assert_near(14.0 * rows[i].share, rows[i].share == 1.25 ? 17.5 : 16.1, 0.01);
        assert_true(isnan(overload->nominal));
        assert_non_null(
            strstr(overload->basis, rows[i].share == 1.25 ? "125 % of it = 17.5 A" : "115 % of it = 16.1 A"));
        assert_non_null(strstr(overload->basis, "NEC 430.32(A)(1)"));
        job_free(job);
    }
}

static void an_overload_that_the_map_does_not_explain_is_missing(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job_compute(job);
    assert_missing(job_setpoint(job, MEANS_MOTOR_OVERLOAD_CURRENT), "the map does not say overload_is");
    job->sheet.motor.columns[1].current.given = false;
    struct setpoint *overload = overload_of(job, OVERLOAD_TRIP_CURRENT, NULL, NULL, NULL);
    assert_missing(overload, "the sheet's motor has no rated_current");
    job_free(job);
}

/* A 230 V delta / 400 V star motor run in delta to 400 V: 50 Hz x 400 / 230 is about 87 Hz; sqrt(3) x 50 = 86.6 Hz.
 * Source: arithmetic; the speed keeps the slip speed, 2528 rpm, and is not sqrt(3) x 1430 = 2477 rpm. */
static struct job *extended_job(enum plate_at plate_at)
{
    static const struct plate_text columns[] = {
        {"3 kW", "230 V", "10.6 A", "50 Hz", "1430 rpm", "86 %", "82 %"},
        {"3 kW", "400 V", "6.1 A", "50 Hz", "1430 rpm", "86 %", "82 %"},
    };
    struct job *job = job_of(columns, 2, 0);
    job->sheet.motor.run_to_voltage = quantity_of("400 V");
    job->sheet.motor.run_to_frequency = quantity_of("86.6 Hz");
    job->sheet.supply = (struct supply){.given = true, .voltage = quantity_of("400 V"), .phases = 3};
    job->map.plate_at = plate_at;
    job_compute(job);
    return job;
}

static void an_extended_plate_has_the_values_of_run_to(void **state)
{
    (void)state;
    struct job *job = extended_job(PLATE_EXTENDED);
    assert_plausible(job);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_VOLTAGE), 399.5, 400, 400.5);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_FREQUENCY), 86.55, 86.6, 86.65);
    assert_range(job_setpoint(job, MEANS_OUTPUT_BASE_FREQUENCY), 86.55, 86.6, 86.65);
    assert_range(job_setpoint(job, MEANS_OUTPUT_BASE_VOLTAGE), 399.5, 400, 400.5);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT), 10.55, 10.6, 10.65);
    const struct setpoint *speed = job_setpoint(job, MEANS_MOTOR_RATED_SPEED);
    assert_range(speed, 2526, 2528, 2530);
    assert_string_equal(speed->basis,
                        "speed at run_to, same slip speed = 1430 rpm + 120 x (86.6 Hz - 50 Hz) / 4 poles = 2528 rpm");
    assert_near(job_setpoint(job, MEANS_MOTOR_RATED_POWER)->nominal, 3000 * sqrt(3), 1);
    assert_near(job_setpoint(job, MEANS_MOTOR_RATED_SLIP)->nominal, 70.0 / 30, 1e-9);
    job_free(job);
}

/* Source: arithmetic: 400 V / 86.6 Hz and 230 V / 50 Hz differ by 0.4 %. */
static void volts_per_hertz_stay_when_extended(void **state)
{
    (void)state;
    struct job *job = extended_job(PLATE_EXTENDED);
    double extended =
        job_setpoint(job, MEANS_OUTPUT_BASE_VOLTAGE)->nominal / job_setpoint(job, MEANS_OUTPUT_BASE_FREQUENCY)->nominal;
    assert_near(extended, 4.619, 0.001);
    assert_near(job->setpoints.derived.volts_per_hertz, 4.6, 1e-9);
    job_free(job);
}

static void a_map_that_wants_the_plate_gets_the_plate(void **state)
{
    (void)state;
    struct job *job = extended_job(PLATE_NAMEPLATE);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_VOLTAGE), 229.5, 230, 230.5);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_SPEED), 1429.5, 1430, 1430.5);
    job_free(job);
}

static void a_map_that_does_not_say_plate_at_leaves_it_open(void **state)
{
    (void)state;
    struct job *job = extended_job(PLATE_UNSAID);
    assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_VOLTAGE), "the map does not say plate_at");
    assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_POWER), "the map does not say plate_at");
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT), 10.55, 10.6, 10.65);
    job_free(job);
}

static void an_extended_speed_needs_the_poles(void **state)
{
    (void)state;
    struct job *job = extended_job(PLATE_EXTENDED);
    job->sheet.motor.columns[0].speed = quantity_of("1100 rpm");
    job_compute(job);
    assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_SPEED), "the extended speed does not follow from the sheet");
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_VOLTAGE), 399.5, 400, 400.5);
    job_free(job);
}

static void what_the_plate_lacks_is_missing_with_the_reason(void **state)
{
    (void)state;
    struct plate_text plate = {.voltage = "460 V"};
    struct job *job = job_of(&plate, 1, 0);
    job_compute(job);
    assert_missing(job_setpoint(job, MEANS_MOTOR_EFFICIENCY), "the sheet's motor has no efficiency");
    assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_POWER), "the sheet's motor has no rated_power");
    assert_missing(job_setpoint(job, MEANS_MOTOR_POLES), "the sheet's motor has no rated_frequency");
    assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_SLIP), "the sheet's motor has no rated_frequency");
    assert_missing(job_setpoint(job, MEANS_MOTOR_NO_LOAD_CURRENT), "no no_load_current");
    assert_missing(job_setpoint(job, MEANS_SUPPLY_VOLTAGE), "no supply voltage");
    assert_missing(job_setpoint(job, MEANS_SUPPLY_PHASES), "phases");
    assert_missing(job_setpoint(job, MEANS_DRIVE_RATED_CURRENT), "no rated_current");
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_VOLTAGE), 459.5, 460, 460.5);
    job_free(job);
}

static void an_unknown_column_leaves_all_of_the_plate_open(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.motor.connected_given = false;
    job_compute(job);
    static const enum means all[] = {MEANS_MOTOR_RATED_POWER, MEANS_MOTOR_RATED_CURRENT, MEANS_MOTOR_POLES,
                                     MEANS_MOTOR_RATED_SLIP, MEANS_OUTPUT_BASE_VOLTAGE};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
        assert_missing(job_setpoint(job, all[i]), "the sheet does not say connected_for");
    job_free(job);
}

static void a_sheet_without_motor_says_so(void **state)
{
    (void)state;
    struct job *job = job_of(NULL, 0, 0);
    job_compute(job);
    assert_missing(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT), "the sheet has no motor");
    job_free(job);
}

static void supply_and_drive_are_setpoints(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.supply = (struct supply){.given = true, .voltage = quantity_of("480 V"), .phases = 3};
    job->sheet.drive.rated_current = quantity_of("4.2 A");
    job->sheet.motor.no_load_current = quantity_of("1.4 A");
    job_compute(job);
    assert_range(job_setpoint(job, MEANS_SUPPLY_VOLTAGE), 479.5, 480, 480.5);
    assert_range(job_setpoint(job, MEANS_SUPPLY_PHASES), 3, 3, 3);
    assert_range(job_setpoint(job, MEANS_DRIVE_RATED_CURRENT), 4.15, 4.2, 4.25);
    assert_range(job_setpoint(job, MEANS_MOTOR_NO_LOAD_CURRENT), 1.35, 1.4, 1.45);
    job_free(job);
}

static void only_what_the_map_has_or_needs_becomes_a_setpoint(void **state)
{
    (void)state;
    struct job *job = pump_job();
    map_free(&job->map);
    struct parameter *limit = map_add(&job->map, "current_limit", MEANS_LIMIT_CURRENT);
    limit->is_percent = true;
    limit->percent_of = MEANS_MOTOR_RATED_CURRENT;
    limit->accepts_high = (struct bound){.kind = BOUND_MEANS, .means = MEANS_DRIVE_RATED_CURRENT};
    struct parameter *ramp = map_add(&job->map, "up", MEANS_RAMP_ACCELERATION_TIME);
    ramp->ramp_span = (struct ramp_span){.given = true, .means = MEANS_MOTOR_RATED_FREQUENCY};
    ramp = map_add(&job->map, "down", MEANS_RAMP_DECELERATION_TIME);
    ramp->ramp_span = (struct ramp_span){.given = true, .by = {.given = true, .count = 1}};
    ramp->ramp_span.by.rows = memory_new(1, sizeof *ramp->ramp_span.by.rows);
    ramp->ramp_span.by.rows[0].span_means = MEANS_OUTPUT_BASE_FREQUENCY;
    job_compute(job);
    assert_int_equal(job->setpoints.count, 3); /* and the drive's current, which the sheet lacks, is not missed */
    assert_range(job_setpoint(job, MEANS_OUTPUT_BASE_FREQUENCY), 59.5, 60, 60.5);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT), 2.95, 3, 3.05);
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_FREQUENCY), 59.5, 60, 60.5);
    job_free(job);
}

static void an_allowance_widens_and_is_recorded(void **state)
{
    (void)state;
    struct job *job = pump_job();
    sheet_add_allowance(&job->sheet, MEANS_MOTOR_RATED_SPEED, "10 rpm", "rewound in 2019");
    sheet_add_allowance(&job->sheet, MEANS_MOTOR_RATED_CURRENT, "10 %", "measured");
    sheet_add_allowance(&job->sheet, MEANS_MOTOR_POWER_FACTOR, "2 %", "estimated");
    job_compute(job);
    const struct setpoint *speed = job_setpoint(job, MEANS_MOTOR_RATED_SPEED);
    assert_range(speed, 1734.5, 1745, 1755.5);
    assert_near(speed->allow_within, 10, 0);
    assert_string_equal(speed->allow_because, "rewound in 2019");
    assert_range(job_setpoint(job, MEANS_MOTOR_RATED_CURRENT), 2.65, 3, 3.35);
    assert_range(job_setpoint(job, MEANS_MOTOR_POWER_FACTOR), 0.695, 0.72, 0.745);
    assert_null(job_setpoint(job, MEANS_MOTOR_RATED_VOLTAGE)->allow_because);
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_band_is_the_plates_own_rounding),
        cmocka_unit_test(sentences_name_the_column),
        cmocka_unit_test(a_plate_of_one_column_needs_no_name),
        cmocka_unit_test(columns_of_other_frequencies_are_named_with_it),
        cmocka_unit_test(a_range_of_voltages_is_a_band),
        cmocka_unit_test(preferred_ratings_accept_the_size_in_the_other_unit),
        cmocka_unit_test(the_size_in_the_other_unit_is_said),
        cmocka_unit_test(a_preferred_rating_does_not_reach_the_next_size),
        cmocka_unit_test(other_powers_are_rounded_like_any_number),
        cmocka_unit_test(poles_follow_from_speed),
        cmocka_unit_test(slip_carries_the_rounding_of_speed),
        cmocka_unit_test(an_odd_frequency_was_rounded),
        cmocka_unit_test(motors_without_slip_have_no_slip_setpoint),
        cmocka_unit_test(synchronous_speed_leaves_no_slip),
        cmocka_unit_test(several_motors_sum_current_and_power),
        cmocka_unit_test(an_overload_reference_is_the_plates_current),
        cmocka_unit_test(a_trip_current_reaches_to_the_codes_bound),
        cmocka_unit_test(an_overload_that_the_map_does_not_explain_is_missing),
        cmocka_unit_test(an_extended_plate_has_the_values_of_run_to),
        cmocka_unit_test(volts_per_hertz_stay_when_extended),
        cmocka_unit_test(a_map_that_wants_the_plate_gets_the_plate),
        cmocka_unit_test(a_map_that_does_not_say_plate_at_leaves_it_open),
        cmocka_unit_test(an_extended_speed_needs_the_poles),
        cmocka_unit_test(what_the_plate_lacks_is_missing_with_the_reason),
        cmocka_unit_test(an_unknown_column_leaves_all_of_the_plate_open),
        cmocka_unit_test(a_sheet_without_motor_says_so),
        cmocka_unit_test(supply_and_drive_are_setpoints),
        cmocka_unit_test(only_what_the_map_has_or_needs_becomes_a_setpoint),
        cmocka_unit_test(an_allowance_widens_and_is_recorded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
