/* SPDX-License-Identifier: MIT */
/* Settings that hurt people together, and the words that say so. */
#include "motor/choice_words.h"
#include "sheets.h"

static void a_word_is_read_by_its_parts(void **state)
{
    (void)state;
    assert_true(word_has("wait-for-new-start", "start"));
    assert_true(word_has("run_on", "run"));
    assert_false(word_has("restarted", "start"));
    assert_false(word_has("starting", "start"));
    assert_false(word_has("st", "start"));
    assert_false(word_has("--", "start"));
    assert_false(word_has(NULL, "start"));
}

static void words_that_start_and_words_that_do_not(void **state)
{
    (void)state;
    static const char *const starts[] = {"restart", "always", "once", "three-times", "start", "on", "yes", "true"};
    static const char *const refuses[] = {"never", "stay-stopped", "wait-for-new-start", "off", "no", "false"};
    for (size_t i = 0; i < sizeof starts / sizeof starts[0]; i++) {
        assert_true(word_starts(starts[i]));
        assert_false(word_refuses(starts[i]));
    }
    for (size_t i = 0; i < sizeof refuses / sizeof refuses[0]; i++) {
        assert_false(word_starts(refuses[i]));
        assert_true(word_refuses(refuses[i]));
    }
    assert_false(word_starts("mode-b") || word_refuses("mode-b"));
}

static void words_of_protections(void **state)
{
    (void)state;
    static const char *const passes[] = {"ignore", "run-on", "off", "none"}, *const acts[] = {"trip", "stop", "warn"};
    for (size_t i = 0; i < 4; i++)
        assert_true(word_lets_pass(passes[i]));
    for (size_t i = 0; i < 3; i++)
        assert_false(word_lets_pass(acts[i]));
    assert_true(word_coasts("coast") && word_coasts("free-run") && !word_coasts("ramp-then-hold"));
    assert_true(word_lets_reverse("both-ways") && !word_lets_reverse("forward-only"));
}

/* A job that says nothing dangerous by itself. */
static struct job *hazard_job(enum answer overhauling, enum answer reverse_harmful)
{
    struct job *job = pump_job();
    job->sheet.load.overhauling = overhauling;
    job->sheet.load.reverse_harmful = reverse_harmful;
    return job;
}

static void assert_people(const struct job *job, const char *means, const char *says)
{
    const struct finding *finding = assert_one_finding(job, means, says);
    assert_int_equal(finding->stake, STAKE_PEOPLE);
    assert_non_null(finding->found.text);
}

static void an_overhauling_load_is_not_left_to_coast(void **state)
{
    (void)state;
    struct job *job = hazard_job(ANSWER_YES, ANSWER_UNSAID);
    sheet_add_word(&job->sheet, MEANS_CONTROL_STOP_METHOD, "coast");
    job_compute(job);
    assert_people(job, "sheet.settings.control.stop_method", "it would run away");
    job->sheet.load.overhauling = ANSWER_NO;
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void an_overhauling_load_whose_stop_is_not_said(void **state)
{
    (void)state;
    struct job *job = hazard_job(ANSWER_YES, ANSWER_UNSAID);
    job_compute(job);
    assert_plausible(job);
    const struct setpoint *stop = job_setpoint(job, MEANS_CONTROL_STOP_METHOD);
    assert_missing(stop, "the load is overhauling");
    assert_int_equal(stop->stake, STAKE_PEOPLE);
    job->sheet.load.overhauling = ANSWER_NO;
    job_compute(job);
    assert_null(setpoints_find(&job->setpoints, MEANS_CONTROL_STOP_METHOD));
    job_free(job);
}

static void an_overhauling_load_without_a_place_for_its_energy(void **state)
{
    (void)state;
    struct job *job = hazard_job(ANSWER_YES, ANSWER_UNSAID);
    sheet_add_word(&job->sheet, MEANS_CONTROL_STOP_METHOD, "ramp");
    job->sheet.drive.has_resistor = ANSWER_NO;
    job_compute(job);
    assert_int_equal(assert_one_doubt(job, "sheet.drive.braking_resistor", "let go")->stake, STAKE_PEOPLE);
    job->sheet.drive.front_end = FRONT_ACTIVE;
    job_compute(job);
    assert_no_doubt(job);
    job_free(job);
}

static void an_overhauling_load_that_loses_its_signal(void **state)
{
    (void)state;
    struct job *job = hazard_job(ANSWER_YES, ANSWER_UNSAID);
    sheet_add_word(&job->sheet, MEANS_LOSS_SIGNAL_ACTION, "run-on");
    job_compute(job);
    assert_people(job, "sheet.settings.loss.signal_action", "when the speed signal is lost");
    job_free(job);
}

static void a_shaft_that_must_not_turn_backwards(void **state)
{
    (void)state;
    struct job *job = hazard_job(ANSWER_UNSAID, ANSWER_YES);
    sheet_add_word(&job->sheet, MEANS_CONTROL_DIRECTION_LOCK, "both-ways");
    job_compute(job);
    assert_people(job, "sheet.settings.control.direction_lock", "turning backwards does harm");
    job_free(job);
    job = hazard_job(ANSWER_UNSAID, ANSWER_YES);
    sheet_add_word(&job->sheet, MEANS_CONTROL_DIRECTION_LOCK, "forward-only");
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void a_restart_into_a_shaft_that_turns_backwards(void **state)
{
    (void)state;
    struct job *job = hazard_job(ANSWER_UNSAID, ANSWER_YES);
    sheet_add_word(&job->sheet, MEANS_RESTART_AFTER_POWER_RETURN, "restart");
    sheet_add_word(&job->sheet, MEANS_CONTROL_START_SOURCE, "terminals");
    job_compute(job);
    assert_people(job, "sheet.settings.restart.after_power_return", "look at restart.catch_spinning");
    sheet_add_word(&job->sheet, MEANS_RESTART_CATCH_SPINNING, "yes");
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void an_overhauling_load_that_starts_by_itself(void **state)
{
    (void)state;
    struct job *job = hazard_job(ANSWER_YES, ANSWER_UNSAID);
    sheet_add_word(&job->sheet, MEANS_RESTART_AFTER_TRIP, "always");
    job_compute(job);
    assert_people(job, "sheet.settings.restart.after_trip", "always after a trip");
    job_free(job);
}

/* Where the register counts restarts, any number above 0 is one. */
static void restarts_may_be_counted(void **state)
{
    (void)state;
    struct job *job = hazard_job(ANSWER_YES, ANSWER_UNSAID);
    sheet_add_number(&job->sheet, MEANS_RESTART_AFTER_TRIP, "3");
    job_compute(job);
    (void)assert_one_finding(job, "sheet.settings.restart.after_trip", "restarts after a trip");
    job->sheet.settings[0].low = job->sheet.settings[0].high = quantity_of("0");
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void two_settings_that_contradict_each_other_at_power_up(void **state)
{
    (void)state;
    struct job *job = pump_job();
    sheet_add_word(&job->sheet, MEANS_RESTART_AFTER_POWER_RETURN, "restart");
    sheet_add_word(&job->sheet, MEANS_RESTART_RUN_HELD_AT_POWER_UP, "wait-for-new-start");
    sheet_add_word(&job->sheet, MEANS_CONTROL_START_SOURCE, "terminals");
    job_compute(job);
    assert_people(job, "sheet.settings.restart.after_power_return", "look which is meant");
    free(job->sheet.settings[2].word);
    job->sheet.settings[2].word = text_copy("keypad"); /* where no run signal is held */
    job_compute(job);
    assert_plausible(job);
    free(job->sheet.settings[2].word);
    job->sheet.settings[2].word = text_copy("terminals");
    free(job->sheet.settings[1].word);
    job->sheet.settings[1].word = text_copy("start");
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void a_network_that_may_be_lost(void **state)
{
    (void)state;
    struct job *job = pump_job();
    sheet_add_word(&job->sheet, MEANS_CONTROL_START_SOURCE, "network");
    sheet_add_word(&job->sheet, MEANS_LOSS_NETWORK_ACTION, "run-on");
    job_compute(job);
    assert_people(job, "sheet.settings.loss.network_action", "nobody there can stop it");
    free(job->sheet.settings[0].word);
    job->sheet.settings[0].word = text_copy("terminals");
    job_compute(job);
    assert_plausible(job);
    job_free(job);
    job = pump_job();
    sheet_add_word(&job->sheet, MEANS_CONTROL_START_SOURCE, "network");
    sheet_add_word(&job->sheet, MEANS_LOSS_NETWORK_TIME, "off");
    job_compute(job);
    assert_people(job, "sheet.settings.loss.network_time", "its supervision off");
    job_free(job);
}

static void a_thermistor_that_is_not_heard(void **state)
{
    (void)state;
    struct job *job = pump_job();
    job->sheet.motor.thermistor = ANSWER_YES;
    sheet_add_word(&job->sheet, MEANS_PROTECT_MOTOR_THERMISTOR, "ignore");
    job_compute(job);
    assert_people(job, "sheet.settings.protect.motor_thermistor", "could burn unnoticed");
    job->sheet.motor.thermistor = ANSWER_NO;
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void a_setting_by_the_parameters_name_or_number(void **state)
{
    (void)state;
    struct job *job = hazard_job(ANSWER_YES, ANSWER_UNSAID);
    sheet_add_number(&job->sheet, MEANS_NONE, "1");
    free(job->sheet.settings[0].name);
    job->sheet.settings[0].name = text_copy("control.stop_method");
    struct parameter *stop = map_parameter(&job->map, MEANS_CONTROL_STOP_METHOD);
    stop->choices.items = memory_new(1, sizeof *stop->choices.items);
    stop->choices.items[0] = (struct named_raw){.raw = 1, .word = text_copy("coast")};
    stop->choices.count = 1;
    job_compute(job);
    assert_people(job, "sheet.settings.control.stop_method", "the job asks for coast");
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_word_is_read_by_its_parts),
        cmocka_unit_test(words_that_start_and_words_that_do_not),
        cmocka_unit_test(words_of_protections),
        cmocka_unit_test(an_overhauling_load_is_not_left_to_coast),
        cmocka_unit_test(an_overhauling_load_whose_stop_is_not_said),
        cmocka_unit_test(an_overhauling_load_without_a_place_for_its_energy),
        cmocka_unit_test(an_overhauling_load_that_loses_its_signal),
        cmocka_unit_test(a_shaft_that_must_not_turn_backwards),
        cmocka_unit_test(a_restart_into_a_shaft_that_turns_backwards),
        cmocka_unit_test(an_overhauling_load_that_starts_by_itself),
        cmocka_unit_test(restarts_may_be_counted),
        cmocka_unit_test(two_settings_that_contradict_each_other_at_power_up),
        cmocka_unit_test(a_network_that_may_be_lost),
        cmocka_unit_test(a_thermistor_that_is_not_heard),
        cmocka_unit_test(a_setting_by_the_parameters_name_or_number),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
