/* SPDX-License-Identifier: MIT */
/* A run cut into its phases, on courses whose truth is known. */
#include "runs.h"

#include "witness/phases.h"

#include <stdio.h>

/* Everything of one synthetic run. */
struct run {
    struct course frequency, current, bus, state, command;
    struct sight sight;
    struct samples samples;
    struct witnessed witnessed;
    uint64_t random;
};

/* A value that changes at once. */
static void becomes(struct course *course, double at_s, double value)
{
    course_add(course, at_s, 1e-6, value, 0);
}

/* 50 Hz reached in 5 s from second 2 on, held until 12, stopped in 4 s: until 16. Sampled ten times a second to 20 s.
 */
static struct run *usual_run(void)
{
    struct run *run = memory_new(1, sizeof *run);
    run->random = 7;
    course_add(&run->frequency, 2, 5, 50, 0);
    course_add(&run->frequency, 12, 4, 0, 0);
    becomes(&run->command, 1.5, 50);
    run->state.from = RUN_STOPPED;
    becomes(&run->state, 2, RUN_RUNNING);
    becomes(&run->state, 12, RUN_STOPPING);
    becomes(&run->state, 16, RUN_STOPPED);
    becomes(&run->current, 2, 4);
    becomes(&run->current, 16, 0);
    run->sight = (struct sight){.every_s = 0.1, .jitter_s = 0.01, .step = 0.01, .to_s = 20};
    return run;
}

static void watch(struct run *run, enum means means, const struct course *course)
{
    struct sight sight = run->sight;
    if (means == MEANS_LIVE_STATE) {
        sight.noise = sight.filter_s = sight.held_s = 0;
        sight.step = 0;
    }
    (void)samples_watch(&run->samples, means, course, &sight, &run->random);
}

static void find(struct run *run)
{
    phases_find(&run->samples, &run->witnessed);
}

static void run_free(struct run *run)
{
    samples_free(&run->samples);
    witnessed_free(&run->witnessed);
    free(run);
}

static const char *kinds_of(const struct run *run)
{
    static char text[512];
    text[0] = '\0';
    for (size_t i = 0; i < run->witnessed.phase_count; i++) {
        const size_t used = strlen(text);
        (void)snprintf(text + used, sizeof text - used, "%s%s", i > 0 ? " " : "",
                       phase_word(run->witnessed.phases[i].kind));
    }
    return text;
}

/* They follow one another without holes, from the first frequency sample to the last. */
static void assert_without_holes(const struct run *run)
{
    const struct series *series = samples_find(&run->samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    const struct witnessed *witnessed = &run->witnessed;
    assert_true(witnessed->phase_count > 0);
    assert_int_equal(witnessed->phases[0].from_us, series->items[0].at_us);
    for (size_t i = 1; i < witnessed->phase_count; i++)
        assert_int_equal(witnessed->phases[i].from_us, witnessed->phases[i - 1].to_us);
    assert_int_equal(witnessed->phases[witnessed->phase_count - 1].to_us, series->items[series->count - 1].at_us);
}

static void assert_phases(const struct run *run, const char *kinds)
{
    assert_string_equal(kinds_of(run), kinds);
    assert_without_holes(run);
}

static const struct phase *phase_of(const struct run *run, size_t i)
{
    assert_true(i < run->witnessed.phase_count);
    return &run->witnessed.phases[i];
}

static void assert_times(const struct phase *phase, double from_s, double to_s, double within_s)
{
    assert_near((double)phase->from_us * 1e-6, from_s, within_s);
    assert_near((double)phase->to_us * 1e-6, to_s, within_s);
}

static void a_run_from_rest_to_rest(void **state)
{
    (void)state;
    struct run *run = usual_run();
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    find(run);
    assert_phases(run, "rest ramp-up steady ramp-down rest");
    assert_times(phase_of(run, 1), 2, 7, 0.15);
    assert_times(phase_of(run, 3), 12, 16, 0.15);
    assert_near(phase_of(run, 1)->from_hz, 0, 1e-9);
    assert_near(phase_of(run, 1)->to_hz, 50, 0.02);
    assert_true(phase_of(run, 1)->is_whole && phase_of(run, 3)->is_whole && phase_of(run, 2)->is_whole);
    assert_false(phase_of(run, 0)->is_whole || phase_of(run, 4)->is_whole);
    assert_false(phase_of(run, 1)->command_settled); /* the command was not read */
    run_free(run);
}

static void noise_makes_no_phases(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        struct run *run = usual_run();
        run->random = seed * 7919;
        run->sight.noise = 0.1;
        run->sight.unknown_s = 0.02;
        run->sight.to_s = 40;
        watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
        find(run);
        assert_phases(run, "rest ramp-up steady ramp-down rest");
        assert_times(phase_of(run, 1), 2, 7, 0.25);
        run_free(run);
    }
}

static void a_held_or_coarse_value_makes_no_phases(void **state)
{
    (void)state;
    static const struct sight sights[] = {
        {.every_s = 0.05, .step = 0.01, .held_s = 0.5, .hold_phase_s = 0.13, .to_s = 20},
        {.every_s = 0.05, .step = 0.01, .held_s = 0.5, .hold_phase_s = 0.13, .to_s = 20, .tells_refresh = true},
        {.every_s = 0.05, .step = 1, .to_s = 20},
        {.every_s = 0.02, .step = 2, .to_s = 20},
        {.every_s = 0.5, .step = 0.1, .to_s = 20},
        {.every_s = 0.1, .step = 0.1, .filter_s = 0.2, .to_s = 20},
    };
    for (size_t i = 0; i < sizeof sights / sizeof sights[0]; i++) {
        struct run *run = usual_run();
        run->sight = sights[i];
        watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
        find(run);
        assert_phases(run, "rest ramp-up steady ramp-down rest");
        assert_times(phase_of(run, 1), 2, 7, 1.2);
        run_free(run);
    }
}

static void slow_ramps_are_ramps(void **state)
{
    (void)state;
    static const double noises[] = {0.001, 0.03, 0.2};
    for (uint64_t seed = 1; seed <= 30; seed++) {
        struct run *run = usual_run();
        memset(&run->frequency, 0, sizeof run->frequency);
        course_add(&run->frequency, 60, 600, 50, 0);
        course_add(&run->frequency, 800, 600, 20, 0);
        run->sight = (struct sight){.every_s = 0.1, .step = 0.01, .noise = noises[seed % 3], .to_s = 1500};
        run->random = seed * 104729;
        watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
        find(run);
        assert_phases(run, "rest ramp-up steady ramp-down steady");
        assert_times(phase_of(run, 1), 60, 660, 20);
        assert_times(phase_of(run, 3), 800, 1400, 20);
        run_free(run);
    }
}

static void a_failed_request_or_two_is_no_gap(void **state)
{
    (void)state;
    struct run *run = usual_run();
    run->sight.gap_from_s = 4;
    run->sight.gap_to_s = 4.35;
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    find(run);
    assert_phases(run, "rest ramp-up steady ramp-down rest");
    run_free(run);
}

static void a_gap_cuts_a_ramp(void **state)
{
    (void)state;
    struct run *run = usual_run();
    run->sight.gap_from_s = 4;
    run->sight.gap_to_s = 5.5;
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    find(run);
    assert_phases(run, "rest ramp-up gap ramp-up steady ramp-down rest");
    assert_false(phase_of(run, 1)->is_whole || phase_of(run, 3)->is_whole);
    assert_times(phase_of(run, 2), 4, 5.5, 0.12);
    assert_near(phase_of(run, 1)->to_hz, 20, 1.2);
    assert_near(phase_of(run, 3)->from_hz, 35, 1.2);
    run_free(run);
}

static void sampling_may_begin_and_end_within_a_ramp(void **state)
{
    (void)state;
    struct run *run = usual_run();
    run->sight.from_s = 4;
    run->sight.to_s = 14;
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    find(run);
    assert_phases(run, "ramp-up steady ramp-down");
    assert_false(phase_of(run, 0)->is_whole || phase_of(run, 2)->is_whole);
    assert_true(phase_of(run, 1)->is_whole);
    run_free(run);
}

static void a_reversal_passes_zero(void **state)
{
    (void)state;
    for (int has_sign = 0; has_sign <= 1; has_sign++) {
        struct run *run = usual_run();
        memset(&run->frequency, 0, sizeof run->frequency);
        course_add(&run->frequency, 2, 5, 50, 0);
        course_add(&run->frequency, 10, 10, -50, 0);
        course_add(&run->frequency, 24, 5, 0, 0);
        run->sight.to_s = 32;
        run->sight.every_s = 0.13;
        watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
        struct series *series = &run->samples.items[0];
        for (size_t i = 0; has_sign == 0 && i < series->count; i++)
            series->items[i].value = fabs(series->items[i].value);
        find(run);
        assert_phases(run, "rest ramp-up steady ramp-down ramp-up steady ramp-down rest");
        assert_times(phase_of(run, 3), 10, 15, 0.2);
        assert_times(phase_of(run, 4), 15, 20, 0.2);
        assert_true(phase_of(run, 3)->is_whole && phase_of(run, 4)->is_whole);
        assert_near(phase_of(run, 4)->to_hz, has_sign ? -50 : 50, 0.02);
        run_free(run);
    }
}

static void jog_pulses_are_short_ramps(void **state)
{
    (void)state;
    struct run *run = usual_run();
    memset(&run->frequency, 0, sizeof run->frequency);
    for (int pulse = 0; pulse < 3; pulse++) {
        course_add(&run->frequency, 2 + 5 * pulse, 1, 5, 0);
        course_add(&run->frequency, 3.5 + 5 * pulse, 1, 0, 0);
    }
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    find(run);
    assert_phases(run,
                  "rest ramp-up steady ramp-down rest ramp-up steady ramp-down rest ramp-up steady ramp-down rest");
    run_free(run);
}

static void an_overshoot_belongs_to_what_follows(void **state)
{
    (void)state;
    struct run *run = usual_run();
    memset(&run->frequency, 0, sizeof run->frequency);
    course_add(&run->frequency, 2, 5, 52, 0);
    course_add(&run->frequency, 7, 0.5, 49.4, 0);
    course_add(&run->frequency, 7.5, 0.5, 50, 0);
    course_add(&run->frequency, 13, 4, 0, 0);
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    find(run);
    assert_phases(run, "rest ramp-up steady ramp-down rest");
    assert_near(phase_of(run, 1)->to_hz, 50, 0.02);
    run_free(run);
}

static void a_trip_while_ramping(void **state)
{
    (void)state;
    for (int lag = 0; lag <= 2; lag++) {
        struct run *run = usual_run();
        memset(&run->frequency, 0, sizeof run->frequency);
        memset(&run->state, 0, sizeof run->state);
        course_add(&run->frequency, 2, 5, 50, 0);
        becomes(&run->frequency, 5.02, 0); /* the register shows none at once */
        run->frequency.legs[1].to = -20;   /* what the first leg still adds is taken away again */
        run->frequency.count = 1;
        run->state.from = RUN_STOPPED;
        becomes(&run->state, 2, RUN_RUNNING);
        becomes(&run->state, 5.05 + 0.1 * lag, RUN_TRIPPED);
        watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
        struct series *series = &run->samples.items[0];
        for (size_t i = 0; i < series->count; i++)
            if (series->items[i].at_us > 5020000)
                series->items[i].value = 0;
        watch(run, MEANS_LIVE_STATE, &run->state);
        find(run);
        assert_phases(run, "rest ramp-up tripped");
        assert_times(phase_of(run, 2), 5.02, 20, 0.15);
        run_free(run);
    }
}

static void a_motor_that_coasts(void **state)
{
    (void)state;
    /* The drive shows none at once and goes on saying that it stops; or shows the shaft's frequency without current. */
    for (int shows = 0; shows <= 1; shows++) {
        struct run *run = usual_run();
        memset(&run->frequency, 0, sizeof run->frequency);
        memset(&run->current, 0, sizeof run->current);
        course_add(&run->frequency, 2, 5, 50, 0);
        course_add(&run->frequency, 12, shows ? 4 : 0.01, 0, 0);
        becomes(&run->current, 2, 4);
        becomes(&run->current, 12, 0);
        watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
        watch(run, MEANS_LIVE_OUTPUT_CURRENT, &run->current);
        watch(run, MEANS_LIVE_STATE, &run->state);
        find(run);
        assert_phases(run, "rest ramp-up steady coasting rest");
        assert_times(phase_of(run, 3), 12, 16, 0.2);
        run_free(run);
    }
}

static void direct_current_at_the_end(void **state)
{
    (void)state;
    for (int told = 0; told <= 1; told++) {
        struct run *run = usual_run();
        run->current.legs[1].begins_s = 18;
        run->state.legs[2].to = told ? RUN_DC_BRAKING : RUN_STOPPING;
        becomes(&run->state, 18, RUN_STOPPED);
        watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
        if (told)
            watch(run, MEANS_LIVE_STATE, &run->state);
        else
            watch(run, MEANS_LIVE_OUTPUT_CURRENT, &run->current);
        find(run);
        assert_phases(run, "rest ramp-up steady ramp-down braking rest");
        assert_times(phase_of(run, 4), 16, 18, 0.2);
        run_free(run);
    }
}

static void the_command_was_there_before(void **state)
{
    (void)state;
    struct run *run = usual_run();
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    watch(run, MEANS_LIVE_FREQUENCY_COMMAND, &run->command);
    find(run);
    assert_true(phase_of(run, 1)->command_settled);
    assert_true(phase_of(run, 3)->command_settled); /* a stop, with the command left as it is */
    run_free(run);
}

static void the_command_was_turned_up_by_hand(void **state)
{
    (void)state;
    struct run *run = usual_run();
    memset(&run->command, 0, sizeof run->command);
    course_add(&run->command, 2, 4.9, 50, 0);
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    watch(run, MEANS_LIVE_FREQUENCY_COMMAND, &run->command);
    find(run);
    assert_false(phase_of(run, 1)->command_settled);
    run_free(run);
}

static void a_current_limit_stretches(void **state)
{
    (void)state;
    /* From second 4 to 8 at a third of the rate, with the current at its limit. */
    for (int limited = 0; limited <= 1; limited++) {
        struct run *run = usual_run();
        memset(&run->frequency, 0, sizeof run->frequency);
        memset(&run->current, 0, sizeof run->current);
        course_add(&run->frequency, 2, 2, 20, 0);
        course_add(&run->frequency, 4, 4, 33.3, 0);
        course_add(&run->frequency, 8, 1.67, 50, 0);
        becomes(&run->current, 2, 5);
        if (limited)
            becomes(&run->current, 4, 9);
        becomes(&run->current, 8, 5);
        becomes(&run->current, 9.67, 4.6);
        watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
        watch(run, MEANS_LIVE_OUTPUT_CURRENT, &run->current);
        find(run);
        assert_string_equal(phase_word(phase_of(run, 1)->kind), "ramp-up");
        assert_int_equal(phase_of(run, 1)->stretched, limited);
        run_free(run);
    }
}

/* A coarse register and a held value look flat again and again on a slow ramp. */
static void what_looks_flat_on_the_way_is_no_phase(void **state)
{
    (void)state;
    static const struct sight sights[] = {
        {.every_s = 0.2, .step = 0.5, .noise = 0.1, .to_s = 160},
        {.every_s = 0.2, .step = 0.01, .held_s = 3, .hold_phase_s = 0.4, .to_s = 160},
        {.every_s = 0.2, .step = 0.1, .held_s = 1.7, .hold_phase_s = 0.4, .noise = 0.1, .to_s = 160},
    };
    for (size_t i = 0; i < 3 * sizeof sights / sizeof sights[0]; i++) {
        struct run *run = usual_run();
        memset(&run->frequency, 0, sizeof run->frequency);
        course_add(&run->frequency, 10, 60, 30, i >= 3 ? 20 : 0);
        run->sight = sights[i % 3];
        run->random = i + 1;
        watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
        find(run);
        assert_phases(run, "rest ramp-up steady");
        run_free(run);
    }
}

static void the_bus_stretches_a_stop(void **state)
{
    (void)state;
    struct run *run = usual_run();
    memset(&run->frequency, 0, sizeof run->frequency);
    course_add(&run->frequency, 2, 5, 50, 0);
    course_add(&run->frequency, 12, 3, 35, 0);
    course_add(&run->frequency, 15, 3, 0, 0);
    run->bus.from = 560;
    course_add(&run->bus, 12, 0.3, 690, 0);
    course_add(&run->bus, 15, 0.3, 640, 0);
    course_add(&run->bus, 18, 0.3, 560, 0);
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    watch(run, MEANS_LIVE_DC_BUS_VOLTAGE, &run->bus);
    find(run);
    assert_phases(run, "rest ramp-up steady ramp-down rest");
    assert_true(phase_of(run, 3)->stretched);
    assert_false(phase_of(run, 1)->stretched);
    run_free(run);
}

static void a_ramp_that_paused_below_its_command_is_one(void **state)
{
    (void)state;
    struct run *run = usual_run();
    memset(&run->frequency, 0, sizeof run->frequency);
    course_add(&run->frequency, 2, 2, 20, 0);
    course_add(&run->frequency, 7, 3, 50, 0);
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    watch(run, MEANS_LIVE_FREQUENCY_COMMAND, &run->command);
    find(run);
    assert_phases(run, "rest ramp-up steady");
    assert_true(phase_of(run, 1)->stretched);
    run_free(run);
}

static struct run_progress progress_until(struct run *run, double s, bool with_state)
{
    samples_free(&run->samples);
    run->sight.to_s = s;
    watch(run, MEANS_LIVE_OUTPUT_FREQUENCY, &run->frequency);
    if (with_state)
        watch(run, MEANS_LIVE_STATE, &run->state);
    return phases_progress(&run->samples);
}

static void a_run_goes_on(void **state)
{
    (void)state;
    struct run *run = usual_run();
    for (int told = 0; told <= 1; told++) {
        assert_false(progress_until(run, 1.9, told != 0).began);
        assert_true(progress_until(run, 3, told != 0).began);
        assert_false(progress_until(run, 15.9, told != 0).ended);
        assert_true(progress_until(run, 19.9, told != 0).ended);
    }
    assert_true(progress_until(run, 17, true).ended);
    assert_false(progress_until(run, 17, false).ended); /* it may be a reversal that pauses */
    run->state.legs[2].to = RUN_TRIPPED;
    assert_true(progress_until(run, 17, true).tripped && progress_until(run, 17, true).ended);
    run_free(run);
}

static void nothing_read_is_nothing_found(void **state)
{
    (void)state;
    struct samples samples = {0};
    struct witnessed witnessed = {0};
    phases_find(&samples, &witnessed);
    assert_int_equal(witnessed.phase_count, 0);
    assert_false(phases_progress(&samples).began);
    struct series one = {.means = MEANS_LIVE_OUTPUT_FREQUENCY};
    series_add(&one, &(struct sample){5, 1, 0});
    samples.items = &one;
    samples.count = 1;
    phases_find(&samples, &witnessed);
    assert_int_equal(witnessed.phase_count, 1);
    assert_int_equal(witnessed.phases[0].kind, PHASE_REST);
    free(one.items);
    witnessed_free(&witnessed);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_run_from_rest_to_rest),
        cmocka_unit_test(noise_makes_no_phases),
        cmocka_unit_test(a_held_or_coarse_value_makes_no_phases),
        cmocka_unit_test(slow_ramps_are_ramps),
        cmocka_unit_test(a_failed_request_or_two_is_no_gap),
        cmocka_unit_test(a_gap_cuts_a_ramp),
        cmocka_unit_test(sampling_may_begin_and_end_within_a_ramp),
        cmocka_unit_test(a_reversal_passes_zero),
        cmocka_unit_test(jog_pulses_are_short_ramps),
        cmocka_unit_test(an_overshoot_belongs_to_what_follows),
        cmocka_unit_test(a_trip_while_ramping),
        cmocka_unit_test(a_motor_that_coasts),
        cmocka_unit_test(direct_current_at_the_end),
        cmocka_unit_test(the_command_was_there_before),
        cmocka_unit_test(the_command_was_turned_up_by_hand),
        cmocka_unit_test(a_current_limit_stretches),
        cmocka_unit_test(what_looks_flat_on_the_way_is_no_phase),
        cmocka_unit_test(the_bus_stretches_a_stop),
        cmocka_unit_test(a_ramp_that_paused_below_its_command_is_one),
        cmocka_unit_test(a_run_goes_on),
        cmocka_unit_test(nothing_read_is_nothing_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
