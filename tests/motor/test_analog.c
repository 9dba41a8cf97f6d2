/* SPDX-License-Identifier: MIT */
/* From a signal at the terminals to a frequency, and what a job may get wrong there. */
#include "motor/analog.h"
#include "sheets.h"

/* 4-20 mA to 0-60 Hz: 4, 8, 12, 16, 20 mA are 0, 15, 30, 45, 60 Hz; 3.8 and 20.5 mA stay at the ends. Straight line. */
static void a_loop_of_milliamperes(void **state)
{
    (void)state;
    static const struct analog_scale scale = {4e-3, 20e-3, 0, 60};
    static const double signal_ma[] = {4, 8, 12, 16, 20, 3.8, 20.5}, hz[] = {0, 15, 30, 45, 60, 0, 60};
    for (size_t i = 0; i < sizeof hz / sizeof hz[0]; i++)
        assert_near(analog_frequency_hz(&scale, signal_ma[i] / 1000), hz[i], 1e-9);
    assert_near(analog_signal_for(&scale, 45), 16e-3, 1e-12);
}

/* 0-10 V to 0-50 Hz: 2.5 and 7.5 V are 12.5 and 37.5 Hz; 2-10 V to 0-60 Hz: 6 V is 30 Hz. Straight line. */
static void a_signal_of_volts(void **state)
{
    (void)state;
    static const struct analog_scale plain = {0, 10, 0, 50}, live_zero = {2, 10, 0, 60}, falling = {0, 10, 50, 0};
    assert_near(analog_frequency_hz(&plain, 2.5), 12.5, 1e-12);
    assert_near(analog_frequency_hz(&plain, 7.5), 37.5, 1e-12);
    assert_near(analog_frequency_hz(&live_zero, 6), 30, 1e-12);
    assert_near(analog_frequency_hz(&falling, 2.5), 37.5, 1e-12);
}

/* 10 V at 20 mA feed 500 ohm and more. Ohm's law. */
static void a_potentiometer_on_ten_volts(void **state)
{
    (void)state;
    assert_near(potentiometer_least_ohm(10, 20e-3), 500, 1e-9);
    assert_near(potentiometer_current_a(10, 500, 1e12), 20e-3, 1e-9);
    assert_near(potentiometer_current_a(10, 1000, 20000), 10.5e-3, 1e-9);
    assert_near(potentiometer_current_a(10, 10000, 20000), 1.5e-3, 1e-9);
}

/* Half way, 10 kohm with 20 kohm at the wiper: 5 || 20 = 4 kohm of 9. Voltage divider. */
static void a_potentiometer_bends_under_load(void **state)
{
    (void)state;
    assert_near(potentiometer_share(0.5, 10000, 20000), 4.0 / 9, 1e-12);
    assert_near(potentiometer_share(0, 10000, 20000), 0, 0);
    assert_near(potentiometer_share(1, 10000, 20000), 1, 1e-12);
    assert_near(potentiometer_share(0.5, 1000, 1e12), 0.5, 1e-6);
}

/* NAMUR NE 43: 3.8 to 20.5 mA are values; below 3.6 and from 21 mA failures. Read in three articles. */
static void what_a_loop_current_says(void **state)
{
    (void)state;
    static const struct {
        double ma;
        enum loop_state state;
    } rows[] = {{3.59, LOOP_FAILED}, {3.7, LOOP_DOUBTFUL},  {3.8, LOOP_VALUE}, {4, LOOP_VALUE},
                {20.5, LOOP_VALUE},  {20.7, LOOP_DOUBTFUL}, {21, LOOP_FAILED}, {0, LOOP_FAILED}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(loop_state_of(rows[i].ma / 1000), rows[i].state);
}

static struct job *signal_job(const char *low, const char *high)
{
    struct job *job = pump_job();
    sheet_add_number(&job->sheet, MEANS_ANALOG_LOW_SIGNAL, low);
    sheet_add_number(&job->sheet, MEANS_ANALOG_HIGH_SIGNAL, high);
    job_compute(job);
    return job;
}

static void signals_that_can_be(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {{"4 mA", "20 mA"}, {"0 V", "10 V"},   {"2 V", "10 V"},
                                           {"20 mA", "4 mA"}, {"20 %", "100 %"}, {"-10 V", "10 V"}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        struct job *job = signal_job(pairs[i][0], pairs[i][1]);
        assert_plausible(job);
        assert_no_doubt(job);
        job_free(job);
    }
}

static void signals_that_cannot_be(void **state)
{
    (void)state;
    struct job *job = signal_job("4 mA", "10 V");
    (void)assert_one_finding(job, "sheet.settings.analog.high_signal", "different kinds");
    job_free(job);
    job = signal_job("20 mA", "20 mA");
    (void)assert_one_finding(job, "sheet.settings.analog.high_signal", "leaves nothing between");
    job_free(job);
    job = signal_job("4 mA", "200 mA");
    (void)assert_one_doubt(job, "sheet.settings.analog.high_signal", "usually end at 20 mA, not 200 mA");
    job_free(job);
}

static void a_signal_for_the_other_input(void **state)
{
    (void)state;
    struct job *job = signal_job("4 mA", "20 mA");
    sheet_add_word(&job->sheet, MEANS_CONTROL_FREQUENCY_SOURCE, "voltage-input");
    job_compute(job);
    (void)assert_one_finding(job, "sheet.settings.analog.high_signal", "follows voltage-input");
    job_free(job);
}

static void loss_cannot_be_seen_without_a_live_zero(void **state)
{
    (void)state;
    struct job *job = signal_job("0 V", "10 V");
    sheet_add_word(&job->sheet, MEANS_LOSS_SIGNAL_ACTION, "stop");
    job_compute(job);
    const struct finding *finding =
        assert_one_finding(job, "sheet.settings.loss.signal_action", "a broken wire looks like the lowest speed");
    assert_int_equal(finding->stake, STAKE_PEOPLE);
    job_free(job);
    job = signal_job("2 V", "10 V");
    sheet_add_word(&job->sheet, MEANS_LOSS_SIGNAL_ACTION, "stop");
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void the_signal_and_the_maximum_frequency(void **state)
{
    (void)state;
    struct job *job = signal_job("4 mA", "20 mA");
    sheet_add_number(&job->sheet, MEANS_ANALOG_LOW_FREQUENCY, "0 Hz");
    sheet_add_number(&job->sheet, MEANS_ANALOG_HIGH_FREQUENCY, "60 Hz");
    sheet_add_number(&job->sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, "45 Hz");
    job_compute(job);
    (void)assert_one_doubt(job, "sheet.settings.analog.high_frequency", "from 16 mA on it changes nothing");
    job->sheet.settings[4].low = job->sheet.settings[4].high = quantity_of("60 Hz");
    job_compute(job);
    assert_no_doubt(job);
    job->sheet.settings[2].low = job->sheet.settings[2].high = quantity_of("60 Hz");
    job_compute(job);
    (void)assert_one_finding(job, "sheet.settings.analog.high_frequency", "60 Hz at both its ends");
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_loop_of_milliamperes),
        cmocka_unit_test(a_signal_of_volts),
        cmocka_unit_test(a_potentiometer_on_ten_volts),
        cmocka_unit_test(a_potentiometer_bends_under_load),
        cmocka_unit_test(what_a_loop_current_says),
        cmocka_unit_test(signals_that_can_be),
        cmocka_unit_test(signals_that_cannot_be),
        cmocka_unit_test(a_signal_for_the_other_input),
        cmocka_unit_test(loss_cannot_be_seen_without_a_live_zero),
        cmocka_unit_test(the_signal_and_the_maximum_frequency),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
