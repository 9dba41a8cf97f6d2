/* SPDX-License-Identifier: MIT */
/* Efficiency classes, and plates that are better than any. */
#include "motor/efficiency_class.h"
#include "sheets.h"

/* kW, then % of IE2 4 poles, IE3 4, IE4 4, IE3 2, IE3 6, IE4 2, IE4 6 poles at 50 Hz. IE3 at 0.75, 2.2, 7.5, 11, 22 and
 * 45 kW: read in an extract of JIS C 4034-30, which equals IEC 60034-30; the rest from the coefficients. */
static void classes_by_the_standard(void **state)
{
    (void)state;
    enum { COLUMNS = 7 };
    static const struct {
        enum efficiency_class class;
        unsigned poles;
    } columns[COLUMNS] = {{CLASS_IE2, 4}, {CLASS_IE3, 4}, {CLASS_IE4, 4}, {CLASS_IE3, 2},
                          {CLASS_IE3, 6}, {CLASS_IE4, 2}, {CLASS_IE4, 6}};
    static const double rows[][1 + COLUMNS] = {
        {0.75, 79.6, 82.5, 85.7, 80.7, 78.9, 83.5, 82.7}, {1.1, 81.4, 84.1, 87.2, 82.7, 81.0, 85.2, 84.5},
        {2.2, 84.3, 86.7, 89.5, 85.9, 84.3, 88.0, 87.4},  {4, 86.6, 88.6, 91.1, 88.1, 86.8, 90.0, 89.5},
        {7.5, 88.7, 90.4, 92.6, 90.1, 89.1, 91.7, 91.3},  {11, 89.8, 91.4, 93.3, 91.2, 90.3, 92.6, 92.3},
        {22, 91.6, 93.0, 94.5, 92.7, 92.2, 94.0, 93.7},   {45, 93.1, 94.2, 95.4, 94.0, 93.7, 95.0, 94.8},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (size_t j = 0; j < COLUMNS; j++)
            assert_near(100 * class_efficiency(columns[j].class, columns[j].poles, 1000 * rows[i][0]), rows[i][1 + j],
                        0.001);
}

static void outside_its_range_a_class_says_nothing(void **state)
{
    (void)state;
    assert_true(isnan(class_efficiency(CLASS_IE3, 4, 500)));
    assert_true(isnan(class_efficiency(CLASS_IE3, 4, 250e3)));
    assert_true(isnan(class_efficiency(CLASS_IE3, 10, 5e3)));
    assert_true(isnan(class_efficiency(CLASS_IE3, 0, 5e3)));
    assert_true(isnan(class_efficiency(CLASS_IE3, 4, NAN)));
}

/* 2 hp with 96.5 % for 86.5 %: 1.5 kW of class IE4 has 88.2 %. */
static void a_plate_better_than_any_is_doubted(void **state)
{
    (void)state;
    static const struct plate_text better = {"1.5 kW", "460 V", "3.0 A", "60 Hz", "1745 rpm", "96.5 %", NULL};
    struct job *job = job_of(&better, 1, 0);
    job_compute(job);
    (void)assert_one_doubt(job, "sheet.motor.efficiency", "class IE4, whose least efficiency is 88.2 %");
    job_free(job);
    job = pump_job();
    job_compute(job);
    assert_no_doubt(job);
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(classes_by_the_standard),
        cmocka_unit_test(outside_its_range_a_class_says_nothing),
        cmocka_unit_test(a_plate_better_than_any_is_doubted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
