/* SPDX-License-Identifier: MIT */
/* Full-load currents of the National Electrical Code: each cell as a plate must be plausible. */
#include "sheets.h"

/* Source: NFPA 70 (NEC) 2008, Table 430.250, three-phase squirrel-cage motors, read in a stored page of the code.
 * 0: no such cell. */
static const double three_phase_volts[] = {115, 200, 208, 230, 460, 575};
enum { THREE_PHASE_COLUMNS = 6 };

struct three_phase_row {
    double hp;
    double amperes[THREE_PHASE_COLUMNS];
};

static const struct three_phase_row three_phase[] = {
    {0.5, {4.4, 2.5, 2.4, 2.2, 1.1, 0.9}},  {0.75, {6.4, 3.7, 3.5, 3.2, 1.6, 1.3}}, {1, {8.4, 4.8, 4.6, 4.2, 2.1, 1.7}},
    {1.5, {12.0, 6.9, 6.6, 6.0, 3.0, 2.4}}, {2, {13.6, 7.8, 7.5, 6.8, 3.4, 2.7}},   {3, {0, 11.0, 10.6, 9.6, 4.8, 3.9}},
    {5, {0, 17.5, 16.7, 15.2, 7.6, 6.1}},   {7.5, {0, 25.3, 24.2, 22, 11, 9}},      {10, {0, 32.2, 30.8, 28, 14, 11}},
    {15, {0, 48.3, 46.2, 42, 21, 17}},      {20, {0, 62.1, 59.4, 54, 27, 22}},      {25, {0, 78.2, 74.8, 68, 34, 27}},
    {30, {0, 92, 88, 80, 40, 32}},          {40, {0, 120, 114, 104, 52, 41}},       {50, {0, 150, 143, 130, 65, 52}},
    {60, {0, 177, 169, 154, 77, 62}},       {75, {0, 221, 211, 192, 96, 77}},       {100, {0, 285, 273, 248, 124, 99}},
};
enum { THREE_PHASE_ROWS = sizeof three_phase / sizeof three_phase[0] };

/* Source: NEC 1999, Table 430-148, single-phase motors, read in a stored copy. */
static const double single_phase_volts[] = {115, 200, 208, 230};
enum { SINGLE_PHASE_COLUMNS = 4 };

struct single_phase_row {
    double hp;
    double amperes[SINGLE_PHASE_COLUMNS];
};

static const struct single_phase_row single_phase[] = {
    {1.0 / 6, {4.4, 2.5, 2.4, 2.2}}, {0.25, {5.8, 3.3, 3.2, 2.9}},  {1.0 / 3, {7.2, 4.1, 4.0, 3.6}},
    {0.5, {9.8, 5.6, 5.4, 4.9}},     {0.75, {13.8, 7.9, 7.6, 6.9}}, {1, {16, 9.2, 8.8, 8.0}},
    {1.5, {20, 11.5, 11.0, 10}},     {2, {24, 13.8, 13.2, 12}},     {3, {34, 19.6, 18.7, 17}},
    {5, {56, 32.2, 30.8, 28}},       {7.5, {80, 46.0, 44.0, 40}},   {10, {100, 57.5, 55.0, 50}},
};
enum { SINGLE_PHASE_ROWS = sizeof single_phase / sizeof single_phase[0] };

static struct quantity exact(double value, enum unit unit)
{
    return (struct quantity){.given = true, .value = value, .unit = unit, .rounding = 0};
}

/* Rounding is left out, so that the checks themselves must leave the room. */
static void assert_cell_plausible(enum motor_kind kind, double hp, double volts, double amperes)
{
    struct job *job = pump_job();
    job->sheet.motor.kind = kind;
    job->sheet.motor.column_count = 1;
    job->sheet.motor.columns[0] = (struct plate_column){.voltage_low = exact(volts, UNIT_V),
                                                        .voltage_high = exact(volts, UNIT_V),
                                                        .frequency = exact(60, UNIT_HZ),
                                                        .power = exact(hp, UNIT_HP),
                                                        .current = exact(amperes, UNIT_A)};
    job_compute(job);
    if (job->setpoints.implausible.count > 0)
        print_message("%g hp, %g V, %g A\n", hp, volts, amperes);
    assert_plausible(job);
    job_free(job);
}

static void every_three_phase_cell_is_plausible(void **state)
{
    (void)state;
    for (size_t row = 0; row < THREE_PHASE_ROWS; row++)
        for (size_t column = 0; column < THREE_PHASE_COLUMNS; column++)
            if (three_phase[row].amperes[column] > 0)
                assert_cell_plausible(MOTOR_INDUCTION, three_phase[row].hp, three_phase_volts[column],
                                      three_phase[row].amperes[column]);
}

static void every_single_phase_cell_is_plausible(void **state)
{
    (void)state;
    for (size_t row = 0; row < SINGLE_PHASE_ROWS; row++)
        for (size_t column = 0; column < SINGLE_PHASE_COLUMNS; column++)
            assert_cell_plausible(MOTOR_SINGLE_PHASE, single_phase[row].hp, single_phase_volts[column],
                                  single_phase[row].amperes[column]);
}

/* 200 V = 1.15 x the 230 V value, 208 V = 1.10 x, 460 V = half: a slip in the rows above would show here. */
static void columns_obey_the_ratio_rule(void **state)
{
    (void)state;
    for (size_t row = 0; row < THREE_PHASE_ROWS; row++) {
        const double *amperes = three_phase[row].amperes;
        double half_digit = amperes[3] > 100 ? 0.5 : 0.05;
        assert_near(amperes[1], 1.15 * amperes[3], half_digit + 1e-9);
        assert_near(amperes[2], 1.10 * amperes[3], (amperes[3] > 100 ? 0.5 : 0.05) + 1e-9);
        assert_near(amperes[4], amperes[3] / 2, 1e-9);
    }
}

/* A row as one plate with all its columns. */
static void a_row_as_a_plate_of_many_columns_is_plausible(void **state)
{
    (void)state;
    for (size_t row = 0; row < THREE_PHASE_ROWS; row++) {
        struct job *job = pump_job();
        free(job->sheet.motor.columns);
        job->sheet.motor.columns = memory_new(THREE_PHASE_COLUMNS, sizeof *job->sheet.motor.columns);
        job->sheet.motor.column_count = 0;
        sheet_connect(&job->sheet, 0);
        for (size_t column = 0; column < THREE_PHASE_COLUMNS; column++)
            if (three_phase[row].amperes[column] > 0)
                job->sheet.motor.columns[job->sheet.motor.column_count++] =
                    (struct plate_column){.voltage_low = exact(three_phase_volts[column], UNIT_V),
                                          .voltage_high = exact(three_phase_volts[column], UNIT_V),
                                          .frequency = exact(60, UNIT_HZ),
                                          .power = exact(three_phase[row].hp, UNIT_HP),
                                          .current = exact(three_phase[row].amperes[column], UNIT_A)};
        job_compute(job);
        assert_plausible(job);
        job_free(job);
    }
}

/* The range for a size is not so wide that it passes everything: twice and half the current of a row never fit. */
static void twice_and_a_third_of_a_row_are_implausible(void **state)
{
    (void)state;
    for (size_t row = 0; row < THREE_PHASE_ROWS; row++) {
        struct job *job = pump_job();
        job->sheet.motor.column_count = 1;
        struct plate_column *plate = &job->sheet.motor.columns[0];
        *plate = (struct plate_column){.voltage_low = exact(460, UNIT_V),
                                       .voltage_high = exact(460, UNIT_V),
                                       .frequency = exact(60, UNIT_HZ),
                                       .power = exact(three_phase[row].hp, UNIT_HP),
                                       .current = exact(2 * three_phase[row].amperes[4], UNIT_A)};
        job_compute(job);
        assert_int_equal(job->setpoints.implausible.count, 1);
        plate->current = exact(three_phase[row].amperes[4] / 3, UNIT_A);
        job_compute(job);
        assert_int_equal(job->setpoints.implausible.count, 1);
        job_free(job);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_three_phase_cell_is_plausible),
        cmocka_unit_test(every_single_phase_cell_is_plausible),
        cmocka_unit_test(columns_obey_the_ratio_rule),
        cmocka_unit_test(a_row_as_a_plate_of_many_columns_is_plausible),
        cmocka_unit_test(twice_and_a_third_of_a_row_are_implausible),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
