/* SPDX-License-Identifier: MIT */
/* The job's frequency limits, judged against what motor and load stand. */
#include "motor/frequency_check.h"

#include "motor/figure.h"
#include "motor/frequency_limits.h"
#include "motor/job.h"
#include "motor/plausibility.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

/* One thing that limits the frequency. */
struct limit {
    double hz;          /* NAN: it does not limit */
    bool sure;          /* from figures of the sheet; else an estimate */
    bool is_mechanical; /* something flies apart beyond it */
    char *basis;        /* owned; "what = figures = result" */
};

enum { LIMITS_MOST = 4 };

struct limits {
    struct limit items[LIMITS_MOST];
    size_t count;
};

static void add_limit(struct limits *limits, struct limit limit)
{
    if (isfinite(limit.hz))
        limits->items[limits->count++] = limit;
    else
        free(limit.basis);
}

static void limits_free(struct limits *limits)
{
    for (size_t i = 0; i < limits->count; i++)
        free(limits->items[i].basis);
    limits->count = 0;
}

static double frequency_of_speed_hz(const struct installation *installation, const struct quantity *speed)
{
    unsigned poles = installation->plate->poles;
    return poles == 0 || !speed->given ? NAN : band_of(speed).high * poles / 120.0;
}

static void limit_by_speed(const struct installation *installation, const struct quantity *speed, const char *whose,
                           struct limits *limits)
{
    double hz = frequency_of_speed_hz(installation, speed);
    if (isnan(hz))
        return;
    add_limit(limits, (struct limit){.hz = hz,
                                     .sure = true,
                                     .is_mechanical = true,
                                     .basis = text_format("highest speed of the %s: %s x %u poles / 120 = %s Hz", whose,
                                                          figure_written(speed).text, installation->plate->poles,
                                                          figure(hz).text)});
}

/* Without a highest speed on the plate: standard motors stand half above rated speed, two-pole ones a fifth. Common
 * practice, no source. */
static void limit_by_usual_speed(const struct installation *installation, struct limits *limits)
{
    const double usual = installation->plate->poles > 2 ? 1.5 : 1.2;
    double rated_hz = installation->plate->bands[FIELD_FREQUENCY].nominal;
    double run_hz = installation->work.bands[FIELD_FREQUENCY].nominal;
    if (installation->sheet->motor.highest_speed.given || isnan(rated_hz) || run_hz > usual * rated_hz)
        return;
    add_limit(limits, (struct limit){.hz = usual * rated_hz,
                                     .basis = text_format("the plate has no highest speed; standard motors of that "
                                                          "speed usually stand %s x %s = %s (common practice)",
                                                          figure(usual).text, figure_in(rated_hz, UNIT_HZ).text,
                                                          figure_in(usual * rated_hz, UNIT_HZ).text)});
}

static const char *load_word(enum load_torque torque)
{
    switch (torque) {
    case LOAD_UNSAID:
        break;
    case LOAD_SQUARE:
        return "square";
    case LOAD_CONSTANT:
        return "constant";
    case LOAD_CONSTANT_POWER:
        return "constant-power";
    }
    return "";
}

/* Rounding leaves the load its least torque and the motor its most: so the highest frequency. */
static void limit_by_torque(const struct installation *installation, double asked_hz, struct limits *limits)
{
    const struct load_curve *load = &installation->load;
    double rated_hz = installation->plate->bands[FIELD_FREQUENCY].nominal;
    double motor_nm = installation->rated_torque_nm.high;
    double hz = highest_frequency_by_torque_hz(load, motor_nm, rated_hz, installation->base_hz);
    if (!isfinite(hz))
        return;
    char *basis = text_format(
        "torque of the motor for long: %s N.m up to %s, above it as 1 / f; a %s load of %s at rated speed asks %s%s; "
        "at "
        "%s it takes %s times its power at rated speed",
        figure(installation->rated_torque_nm.nominal).text, figure_in(installation->base_hz, UNIT_HZ).text,
        load_word(load->shape), figure_written(&installation->sheet->load.torque_at_rated_speed).text,
        hz > 0 ? "no more only up to " : "more at every frequency", hz > 0 ? figure_in(hz, UNIT_HZ).text : "",
        figure_in(asked_hz, UNIT_HZ).text, figure(load_power_share(load, asked_hz, rated_hz)).text);
    add_limit(limits, (struct limit){.hz = hz, .sure = true, .basis = basis});
}

/* Where the plate does not say: twice rated torque. Common practice, no source. */
static void limit_by_breakdown(const struct installation *installation, struct limits *limits)
{
    const double usual = 2;
    const struct quantity *plated = &installation->sheet->motor.breakdown_torque;
    double breakdown = plated->given ? band_of(plated).high : usual;
    double rated_hz = installation->plate->bands[FIELD_FREQUENCY].nominal;
    double hz = highest_frequency_by_breakdown_hz(&installation->load, breakdown * installation->rated_torque_nm.high,
                                                  rated_hz, installation->base_hz);
    bool known = !isnan(hz);
    if (!known)
        hz = breakdown * installation->base_hz;
    if (installation->plate->kind != MOTOR_INDUCTION || !isfinite(hz))
        return;
    const char *load = known ? "the load reaches it at" : "constant power ends at";
    add_limit(limits, (struct limit){.hz = hz,
                                     .sure = known && plated->given,
                                     .basis = text_format("breakdown torque: %s times rated%s up to %s, above it as "
                                                          "1 / f^2; %s %s Hz",
                                                          figure(breakdown).text, plated->given ? "" : " (estimate)",
                                                          figure_in(installation->base_hz, UNIT_HZ).text, load,
                                                          figure(hz).text)});
}

static void limit_by_magnets(const struct installation *installation, struct limits *limits)
{
    if (installation->plate->kind == MOTOR_PERMANENT_MAGNET && installation->base_hz > 0)
        add_limit(limits, (struct limit){.hz = installation->base_hz,
                                         .basis = text_format("magnets induce a voltage that rises with speed: above "
                                                              "%s it is more than the drive's unless the field is "
                                                              "weakened, and a trip leaves all of it on the bus",
                                                              figure_in(installation->base_hz, UNIT_HZ).text)});
}

/* The tightest of the sure limits, or of the estimates; NULL where there is none. `sign` 1: the lowest is the
 * tightest, -1: the highest. */
static const struct limit *tightest(const struct limits *limits, bool sure, int sign)
{
    const struct limit *best = NULL;
    for (size_t i = 0; i < limits->count; i++)
        if (limits->items[i].sure == sure && (best == NULL || sign * limits->items[i].hz < sign * best->hz))
            best = &limits->items[i];
    return best;
}

static bool exceeds(const struct limit *limit, double asked_hz, int sign)
{
    const double slack = 1e-6;
    return limit != NULL && sign * asked_hz > sign * limit->hz * (1 + sign * slack);
}

static struct band band_of_limit(const struct limit *limit, int sign)
{
    return sign > 0 ? (struct band){-INFINITY, NAN, limit->hz} : (struct band){limit->hz, NAN, INFINITY};
}

static void judge(const struct setting *setting, double asked_hz, const struct limits *limits, int sign,
                  struct setpoints *setpoints)
{
    const char *what = sign > 0 ? "maximum" : "minimum", *where = sign > 0 ? "above" : "below";
    const struct limit *sure = tightest(limits, true, sign), *estimate = tightest(limits, false, sign);
    const enum stake stake = means_table[MEANS_LIMIT_MAXIMUM_FREQUENCY].stake;
    if (exceeds(sure, asked_hz, sign)) {
        struct finding *finding =
            setting_refuse(setpoints, setting, stake,
                           text_format("the job's %s frequency %s is %s what the sheet allows: %s", what,
                                       figure_in(asked_hz, UNIT_HZ).text, where, sure->basis));
        plausibility_figures(finding, band_of_limit(sure, sign), asked_hz, UNIT_HZ);
    } else if (exceeds(estimate, asked_hz, sign)) {
        struct finding *finding = setting_doubt(setpoints, setting, stake,
                                                text_format("the job's %s frequency %s is %s the usual: %s", what,
                                                            figure_in(asked_hz, UNIT_HZ).text, where, estimate->basis));
        plausibility_figures(finding, band_of_limit(estimate, sign), asked_hz, UNIT_HZ);
    }
}

/* What stands on the motor's plate is checked with the settings (plausibility). */
static void add_open_maximum(const struct installation *installation, struct limits *limits,
                             struct setpoints *setpoints)
{
    const enum means means = MEANS_LIMIT_MAXIMUM_FREQUENCY;
    limit_by_speed(installation, &installation->sheet->motor.highest_speed, "motor", limits);
    const struct limit *best = NULL;
    for (size_t i = 0; i < limits->count; i++)
        if (best == NULL || (limits->items[i].is_mechanical && !best->is_mechanical) ||
            (limits->items[i].is_mechanical == best->is_mechanical && limits->items[i].hz < best->hz))
            best = &limits->items[i];
    if (best != NULL)
        installation_setpoint(installation, setpoints, means, band_of_limit(best, 1), UNIT_HZ,
                              best->is_mechanical ? SOURCE_DERIVED : SOURCE_ESTIMATE, text_copy(best->basis));
}

void highest_frequency_check(const struct installation *installation, struct setpoints *setpoints)
{
    const enum means means = MEANS_LIMIT_MAXIMUM_FREQUENCY;
    struct limits limits = {0};
    struct band asked;
    limit_by_speed(installation, &installation->sheet->load.highest_speed, "load", &limits);
    limit_by_usual_speed(installation, &limits);
    if (installation->plate->kind == MOTOR_PERMANENT_MAGNET)
        limit_by_magnets(installation, &limits);
    else
        limit_by_breakdown(installation, &limits);
    if (installation_band(installation, means, &asked)) {
        double asked_hz = isfinite(asked.high) ? asked.high : asked.low;
        limit_by_torque(installation, asked_hz, &limits);
        judge(installation_setting(installation, means), asked_hz, &limits, 1, setpoints);
    } else if (installation_leaves_open(installation, means)) {
        add_open_maximum(installation, &limits, setpoints);
    }
    limits_free(&limits);
}

/* What a motor with a fan on its own shaft stands at low speed, where its plate does not say: constant torque down to a
 * quarter, square torque to a tenth. Common practice, no source; NEMA MG 1 leaves it to the plate. */
static void limit_by_cooling(const struct installation *installation, struct limits *limits)
{
    const double usual_constant = 4, usual_square = 10;
    const struct motor *motor = &installation->sheet->motor;
    const enum load_torque torque = installation->sheet->load.torque;
    double rated_hz = installation->plate->bands[FIELD_FREQUENCY].nominal;
    bool is_square = torque == LOAD_SQUARE;
    bool plated = motor->constant_torque_turndown.given && !is_square;
    double turndown =
        plated ? quantity_base(&motor->constant_torque_turndown) : (is_square ? usual_square : usual_constant);
    double hz = lowest_frequency_by_cooling_hz(rated_hz, turndown);
    if (motor->cooling == COOLING_SEPARATE || isnan(rated_hz) || !(turndown > 0))
        return;
    bool sure = plated && torque != LOAD_UNSAID && motor->cooling == COOLING_SELF;
    add_limit(
        limits,
        (struct limit){.hz = hz,
                       .sure = sure,
                       .basis = text_format(
                           "cooling by its own fan: %s / %s = %s, %s", figure_in(rated_hz, UNIT_HZ).text,
                           figure(turndown).text, figure_in(hz, UNIT_HZ).text,
                           plated      ? "the plate's constant_torque_turndown"
                           : is_square ? "usual for a square load (common practice)"
                                       : "usual for constant torque where the plate does not say (common practice)")});
}

static void limit_by_static_head(const struct installation *installation, struct limits *limits)
{
    const struct load *load = &installation->sheet->load;
    double rated_hz = installation->plate->bands[FIELD_FREQUENCY].nominal;
    double share = quantity_base(&load->static_share);
    if (load->torque != LOAD_SQUARE || !(share > 0) || isnan(rated_hz))
        return;
    struct band hz = lowest_frequency_by_static_head_hz(rated_hz, share);
    add_limit(limits,
              (struct limit){.hz = hz.low,
                             .basis = text_format("static head: below %s x sqrt(%s / 1.3) = %s to %s x sqrt(%s) = %s a "
                                                  "centrifugal pump delivers nothing and heats what is in it",
                                                  figure_in(rated_hz, UNIT_HZ).text, figure(share).text,
                                                  figure_in(hz.low, UNIT_HZ).text, figure_in(rated_hz, UNIT_HZ).text,
                                                  figure(share).text, figure_in(hz.high, UNIT_HZ).text)});
}

void lowest_frequency_check(const struct installation *installation, struct setpoints *setpoints)
{
    const enum means means = MEANS_LIMIT_MINIMUM_FREQUENCY;
    struct limits limits = {0};
    struct band asked;
    limit_by_cooling(installation, &limits);
    limit_by_static_head(installation, &limits);
    if (installation_band(installation, means, &asked)) {
        double asked_hz = isfinite(asked.low) ? asked.low : asked.high;
        judge(installation_setting(installation, means), asked_hz, &limits, -1, setpoints);
    } else if (installation_leaves_open(installation, means) && installation->sheet->load.torque != LOAD_UNSAID) {
        const struct limit *sure = tightest(&limits, true, -1), *estimate = tightest(&limits, false, -1);
        const struct limit *best = sure == NULL || (estimate != NULL && estimate->hz > sure->hz) ? estimate : sure;
        if (best != NULL)
            installation_setpoint(installation, setpoints, means, band_of_limit(best, -1), UNIT_HZ, SOURCE_ESTIMATE,
                                  text_copy(best->basis));
    }
    limits_free(&limits);
}
