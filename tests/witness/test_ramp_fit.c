/* SPDX-License-Identifier: MIT */
/* Single ramps of known truth, fitted. */
#include "runs.h"

#include "witness/ramp_fit.h"

static struct series *series_of(struct samples *samples, const struct course *course, const struct sight *sight)
{
    uint64_t random = 11;
    return samples_watch(samples, MEANS_LIVE_OUTPUT_FREQUENCY, course, sight, &random);
}

static struct phase phase_of(enum phase_kind kind, double from_s, double to_s, double from_hz, double to_hz)
{
    return (struct phase){.kind = kind,
                          .from_us = llround(from_s * 1e6),
                          .to_us = llround(to_s * 1e6),
                          .from_hz = from_hz,
                          .to_hz = to_hz,
                          .is_whole = true};
}

/* 0 to 60 Hz in 10 s from second 2 on. */
static struct ramp_fit fit_of(const struct leg *leg, const struct sight *sight)
{
    struct samples samples = {0};
    struct course course = {.legs = {*leg}, .count = 1};
    struct ramp_fit fit;
    const struct phase phase =
        phase_of(PHASE_RAMP_UP, leg->begins_s, leg->begins_s + leg->took_s + leg->rounded_s, 0, leg->to);
    ramp_fit(series_of(&samples, &course, sight), &phase, &fit);
    samples_free(&samples);
    return fit;
}

static const struct leg straight = {2, 10, 60, 0};

static void a_straight_ramp(void **state)
{
    (void)state;
    const struct ramp_fit fit = fit_of(&straight, &(struct sight){.every_s = 0.5, .step = 0.01, .to_s = 20});
    double time_s;
    double below_s;
    double above_s;
    assert_true(fit.found && !fit.s_shaped && fit.one_rate && isnan(fit.shape_s));
    assert_near(fit.rate_hz_per_s, 6, 0.01);
    assert_near(fit.took_s, 10, 0.02);
    assert_int_equal(fit.samples, 21);
    ramp_time(&fit, 30, &time_s, &below_s, &above_s);
    assert_near(time_s, 5, 0.01);
    assert_true(below_s > 0 && below_s <= above_s && above_s < 0.01);
    assert_true(fit.overshoot_hz == 0);
}

static void a_ramp_down_backwards(void **state)
{
    (void)state;
    struct samples samples = {0};
    struct course course = {.from = -50};
    struct ramp_fit fit;
    course_add(&course, 2, 8, -10, 0);
    const struct phase phase = phase_of(PHASE_RAMP_DOWN, 2, 10, -50, -10);
    ramp_fit(series_of(&samples, &course, &(struct sight){.every_s = 0.2, .step = 0.01, .to_s = 15}), &phase, &fit);
    assert_true(fit.found && !fit.s_shaped);
    assert_near(fit.rate_hz_per_s, 5, 0.01);
    samples_free(&samples);
}

static void twenty_samples_tell_within_2_percent(void **state)
{
    (void)state;
    uint64_t random = 3;
    for (int i = 0; i < 200; i++) {
        struct sight sight = {
            .every_s = 0.5, .step = 0.1, .noise = 0.05, .jitter_s = 0.05, .unknown_s = 0.03, .to_s = 20};
        sight.from_s = between(&random, 0, 0.5);
        const struct ramp_fit fit = fit_of(&straight, &sight);
        assert_true(fit.found);
        assert_near(60 / fit.rate_hz_per_s, 10, 0.2);
    }
}

static void a_rounded_ramp(void **state)
{
    (void)state;
    const struct leg rounded = {2, 10, 60, 4};
    const struct ramp_fit fit = fit_of(&rounded, &(struct sight){.every_s = 0.2, .step = 0.01, .to_s = 25});
    assert_true(fit.found && fit.s_shaped);
    assert_near(fit.rate_hz_per_s, 6, 0.03);
    assert_near(fit.shape_s, 4, fmax(fit.shape_above, 0.05));
    assert_near(fit.took_s, 14, 0.1);
}

static void a_filter_is_no_rounding(void **state)
{
    (void)state;
    for (int told = 0; told <= 1; told++) {
        const struct sight sight = {
            .every_s = 0.1, .step = 0.01, .filter_s = 0.4, .tells_filter = told != 0, .to_s = 25};
        const struct ramp_fit fit = fit_of(&straight, &sight);
        assert_true(fit.found && !fit.s_shaped);
        assert_near(fit.rate_hz_per_s, 6, 0.02);
    }
}

static void a_held_value_counts_when_it_changes(void **state)
{
    (void)state;
    const struct sight sight = {.every_s = 0.05, .step = 0.01, .held_s = 0.42, .hold_phase_s = 0.1, .to_s = 25};
    const struct ramp_fit fit = fit_of(&straight, &sight);
    assert_true(fit.found && !fit.s_shaped);
    assert_near(fit.rate_hz_per_s, 6, 0.05);
    /* Twenty true values, not two hundred. */
    assert_true(fit.rate_above > 0.005);
}

static void a_bent_ramp_has_not_one_rate(void **state)
{
    (void)state;
    struct samples samples = {0};
    struct course course = {0};
    struct ramp_fit fit;
    course_add(&course, 2, 5, 20, 0);
    course_add(&course, 7, 5, 60, 0);
    const struct phase phase = phase_of(PHASE_RAMP_UP, 2, 12, 0, 60);
    ramp_fit(series_of(&samples, &course, &(struct sight){.every_s = 0.1, .step = 0.01, .to_s = 20}), &phase, &fit);
    assert_true(fit.found && !fit.one_rate);
    samples_free(&samples);
}

static void an_overshoot_is_told_from_noise(void **state)
{
    (void)state;
    struct samples samples = {0};
    struct course course = {0};
    struct ramp_fit fit;
    const struct sight sight = {.every_s = 0.1, .step = 0.01, .noise = 0.1, .to_s = 20};
    course_add(&course, 2, 10, 62, 0);
    course_add(&course, 12.4, 0.4, 60, 0);
    const struct phase phase = phase_of(PHASE_RAMP_UP, 2, 11.7, 0, 60);
    ramp_fit(series_of(&samples, &course, &sight), &phase, &fit);
    assert_near(fit.overshoot_hz, 2, fit.overshoot_above);
    samples_free(&samples);
    assert_true(fit_of(&straight, &sight).overshoot_hz == 0);
}

static void too_few_samples(void **state)
{
    (void)state;
    assert_false(fit_of(&straight, &(struct sight){.every_s = 4, .from_s = 1, .step = 0.01, .to_s = 20}).found);
    struct series empty = {.means = MEANS_LIVE_OUTPUT_FREQUENCY};
    struct ramp_fit fit;
    const struct phase phase = phase_of(PHASE_RAMP_UP, 2, 12, 0, 60);
    ramp_fit(&empty, &phase, &fit);
    assert_true(!fit.found && fit.samples == 0);
}

/* As many as a day of readings: linear in time. */
static void a_million_samples(void **state)
{
    (void)state;
    const struct sight sight = {.every_s = 20.0 / 1000000, .step = 0.01, .noise = 0.05, .to_s = 20};
    const struct ramp_fit fit = fit_of(&straight, &sight);
    assert_true(fit.found && !fit.s_shaped);
    assert_near(fit.rate_hz_per_s, 6, 0.001);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_straight_ramp),
        cmocka_unit_test(a_ramp_down_backwards),
        cmocka_unit_test(twenty_samples_tell_within_2_percent),
        cmocka_unit_test(a_rounded_ramp),
        cmocka_unit_test(a_filter_is_no_rounding),
        cmocka_unit_test(a_held_value_counts_when_it_changes),
        cmocka_unit_test(a_bent_ramp_has_not_one_rate),
        cmocka_unit_test(an_overshoot_is_told_from_noise),
        cmocka_unit_test(too_few_samples),
        cmocka_unit_test(a_million_samples),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
