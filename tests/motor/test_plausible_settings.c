/* SPDX-License-Identifier: MIT */
/* Settings of a job that contradict each other or the motor. */
#include "sheets.h"

static struct job *frequencies_job(enum setting_kind minimum_kind, const char *minimum, enum setting_kind maximum_kind,
                                   const char *maximum)
{
    struct job *job = pump_job();
    bool at_most = maximum_kind == SETTING_AT_MOST;
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_MINIMUM_FREQUENCY, minimum_kind, minimum, NULL);
    (void)sheet_add_setting(&job->sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY, maximum_kind, at_most ? NULL : maximum,
                            at_most ? maximum : NULL);
    job_compute(job);
    return job;
}

static void a_minimum_above_the_maximum(void **state)
{
    (void)state;
    struct job *job = frequencies_job(SETTING_QUANTITY, "60 Hz", SETTING_QUANTITY, "20 Hz");
    (void)assert_one_finding(job, "sheet.settings.limit.minimum_frequency",
                             "minimum frequency 60 Hz is above its maximum frequency 20 Hz");
    job_free(job);
    job = frequencies_job(SETTING_AT_LEAST, "30 Hz", SETTING_AT_MOST, "25 Hz");
    (void)assert_one_finding(job, "sheet.settings.limit.minimum_frequency", "minimum frequency 30 Hz");
    job_free(job);
    job = frequencies_job(SETTING_AT_LEAST, "20 Hz", SETTING_AT_LEAST, "20 Hz");
    assert_plausible(job);
    job_free(job);
}

static void a_maximum_beyond_the_motors_highest_speed(void **state)
{
    (void)state;
    struct job *job = frequencies_job(SETTING_QUANTITY, "20 Hz", SETTING_QUANTITY, "90 Hz");
    assert_plausible(job);
    job->sheet.motor.highest_speed = quantity_of("2400 rpm");
    job_compute(job);
    const struct finding *finding = assert_one_finding(job, "sheet.settings.limit.maximum_frequency",
                                                       "90 Hz is above 2400 rpm x 4 poles / 120 = 80 Hz");
    assert_int_equal(finding->source, SOURCE_JOB);
    job->sheet.motor.highest_speed = quantity_of("2700 rpm");
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void settings_that_cannot_be(void **state)
{
    (void)state;
    static const struct {
        enum means means;
        enum setting_kind kind;
        const char *low, *high, *says;
    } rows[] = {
        {MEANS_RAMP_ACCELERATION_TIME, SETTING_QUANTITY, "0 s", NULL, "a ramp takes a time above zero"},
        {MEANS_RAMP_DECELERATION_TIME, SETTING_QUANTITY, "-5 s", NULL, "a ramp takes a time above zero"},
        {MEANS_LOSS_NETWORK_TIME, SETTING_QUANTITY, "-1 s", NULL, "it is negative"},
        {MEANS_LIMIT_CURRENT, SETTING_QUANTITY, "-3 A", NULL, "it is negative"},
        {MEANS_LIMIT_SKIP_BAND, SETTING_BETWEEN, "25 Hz", "20 Hz", "its lower bound is above its upper bound"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct job *job = pump_job();
        (void)sheet_add_setting(&job->sheet, rows[i].means, rows[i].kind, rows[i].low, rows[i].high);
        job_compute(job);
        char *means = text_format("sheet.settings.%s", means_table[rows[i].means].name);
        (void)assert_one_finding(job, means, rows[i].says);
        free(means);
        job_free(job);
    }
}

static void a_ramp_from_and_to_the_same_frequency(void **state)
{
    (void)state;
    struct job *job = pump_job();
    struct setting *ramp = sheet_add_setting(&job->sheet, MEANS_RAMP_ACCELERATION_TIME, SETTING_RAMP, "5 s", NULL);
    ramp->ramp_from = quantity_of("50 Hz");
    ramp->ramp_to = quantity_of("50 Hz");
    job_compute(job);
    (void)assert_one_finding(job, "sheet.settings.ramp.acceleration_time", "ends where it begins");
    job_free(job);
}

static void a_negative_end_of_an_analogue_signal_is_plausible(void **state)
{
    (void)state;
    struct job *job = pump_job();
    (void)sheet_add_setting(&job->sheet, MEANS_ANALOG_LOW_FREQUENCY, SETTING_QUANTITY, "-50 Hz", NULL);
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_minimum_above_the_maximum),
        cmocka_unit_test(a_maximum_beyond_the_motors_highest_speed),
        cmocka_unit_test(settings_that_cannot_be),
        cmocka_unit_test(a_ramp_from_and_to_the_same_frequency),
        cmocka_unit_test(a_negative_end_of_an_analogue_signal_is_plausible),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
