/* SPDX-License-Identifier: MIT */
/* Whether the job asks for a ramp that drive and motor cannot follow. */
#include "motor/dynamics.h"

#include "motor/figure.h"
#include "motor/job.h"
#include "motor/plausibility.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

/* What is said of the two directions. */
struct direction_row {
    enum means means;
    const char *what_happens;
};

static const struct direction_row directions[DIRECTIONS] = {
    [SPEEDING_UP] = {MEANS_RAMP_ACCELERATION_TIME,
                     "the drive would run into its current limit and take longer, or trip on overcurrent"},
    [SLOWING_DOWN] = {MEANS_RAMP_DECELERATION_TIME, "the bus voltage would rise until the drive trips and the machine "
                                                    "coasts, or stretches the ramp where it has that function"},
};

/* The shortest time that the job lets the drive have, in s: of bounds the lower, or the upper where it is the only
 * one. NAN where it asks for none. */
static double asked_s(const struct sheet *sheet, enum means means, const struct setting **setting)
{
    struct band band;
    *setting = sheet_setting(sheet, means);
    if (*setting == NULL || !setting_band(*setting, &band))
        return NAN;
    double seconds = isfinite(band.low) ? band.low : band.high;
    return seconds > 0 ? seconds : (double)NAN; /* no time at all is doubted elsewhere */
}

/* Stopping late may let a load fall or run; a late start only keeps the process waiting. */
static enum stake stake_of(const struct drivetrain *drivetrain, enum direction direction)
{
    return direction == SLOWING_DOWN && drivetrain->is_overhauling ? STAKE_PEOPLE : STAKE_PROCESS;
}

static struct finding *add_for_ramp(const struct drivetrain *drivetrain, enum direction direction,
                                    struct findings *findings, char *basis)
{
    char *means = text_format("sheet.settings.%s", means_table[directions[direction].means].name);
    struct finding *finding = plausibility_add(findings, means, stake_of(drivetrain, direction), SOURCE_DERIVED, basis);
    free(means);
    return finding;
}

/* "0 Hz to 60 Hz" in the direction of the ramp */
static char *span_words(enum direction direction, const struct ramp_times *times)
{
    struct figure low = figure_in(times->from_hz, UNIT_HZ);
    struct figure high = figure_in(times->to_hz, UNIT_HZ);
    return direction == SPEEDING_UP ? text_format("%s to %s", low.text, high.text)
                                    : text_format("%s to %s", high.text, low.text);
}

static void too_short(const struct drivetrain *drivetrain, enum direction direction, const struct ramp_times *times,
                      double seconds, struct findings *findings)
{
    const struct direction_row *row = &directions[direction];
    bool by_current = direction == SPEEDING_UP || drivetrain->feeds_back;
    char *span = span_words(direction, times);
    char *basis = text_format(
        "the job asks for %s from %s, but with every doubt in the drive's favour a straight ramp takes %s: %s x %s "
        "rad/s / %s, all that is left over at %s; %s; ask for a longer time, or look at inertia, load and %s on the "
        "sheet",
        figure_in(seconds, UNIT_S).text, span, figure_in(times->possible_s, UNIT_S).text,
        figure_in(drivetrain_inertia_kgm2(drivetrain), UNIT_KGM2).text,
        figure(angular_speed(times->to_rpm - times->from_rpm)).text,
        figure_in(times->least_nm[DOUBT_FAVOURABLE], UNIT_NM).text,
        figure_in(times->least_at_rpm[DOUBT_FAVOURABLE], UNIT_RPM).text,
        by_current ? directions[SPEEDING_UP].what_happens : row->what_happens,
        by_current ? "current" : "braking resistor");
    free(span);
    struct finding *finding = add_for_ramp(drivetrain, direction, findings, basis);
    plausibility_figures(finding, (struct band){times->possible_s, NAN, INFINITY}, seconds, UNIT_S);
}

/* More than the drive's rated current for longer than its overload may last. */
static void check_overload(const struct drivetrain *drivetrain, enum direction direction,
                           const struct ramp_times *times, double seconds, struct findings *findings)
{
    struct case_of at;
    struct run lasting =
        ramp_run(drivetrain, direction, times, DOUBT_FAVOURABLE, ramp_lasting_a(drivetrain, direction), &at);
    double over_s = run_seconds_short_s(&lasting, seconds);
    if (!(over_s > drivetrain->overload_s))
        return;
    char *span = span_words(direction, times);
    double unhurried_s = run_straight_s(&lasting);
    char *advice =
        isinf(unhurried_s)
            ? text_copy("it would trip on overload; look at the load and at the drive's rated current")
            : text_format("it would trip on overload; from %s on it needs none", figure_in(unhurried_s, UNIT_S).text);
    char *basis = text_format("the ramp of %s from %s needs more than the drive's %s for %s, and its overload may last "
                              "%s; %s",
                              figure_in(seconds, UNIT_S).text, span, figure_in(drivetrain->rated_a, UNIT_A).text,
                              figure_in(over_s, UNIT_S).text, figure_in(drivetrain->overload_s, UNIT_S).text, advice);
    free(span);
    free(advice);
    struct finding *finding = add_for_ramp(drivetrain, direction, findings, basis);
    plausibility_figures(finding, (struct band){unhurried_s, NAN, INFINITY}, seconds, UNIT_S);
}

/* A load that no ramp, however long, brings up or down. */
static void check_never(const struct drivetrain *drivetrain, enum direction direction, const struct ramp_times *times,
                        struct findings *findings)
{
    struct figure at = figure_in(times->least_at_rpm[DOUBT_FAVOURABLE], UNIT_RPM);
    double load_nm = load_torque_nm(&drivetrain->load, times->least_at_rpm[DOUBT_FAVOURABLE]);
    double motor_nm = load_nm + times->least_nm[DOUBT_FAVOURABLE];
    struct figure load = figure_in(load_nm, UNIT_NM);
    struct figure given = figure_in(fmax(motor_nm, 0), UNIT_NM);
    if (direction == SPEEDING_UP)
        (void)plausibility_add(
            findings, "sheet.load.torque_at_rated_speed", STAKE_EQUIPMENT, SOURCE_DERIVED,
            text_format(
                "the load takes %s at %s, and %s gives the motor at most %s there: it never gets to %s; look at "
                "the load, and at the drive's current and overload",
                load.text, at.text, figure_in(ramp_most_a(drivetrain, direction), UNIT_A).text, given.text,
                figure_in(times->to_hz, UNIT_HZ).text));
    else
        (void)plausibility_add(
            findings, "sheet.load.overhauling", STAKE_PEOPLE, SOURCE_DERIVED,
            text_format("the load drives the motor with %s at %s, and drive and motor hold at most %s there%s: the bus "
                        "voltage would rise until the drive trips and the load runs away, unless a mechanical brake "
                        "holds it; look at the braking resistor, and at the brake",
                        load.text, at.text, given.text,
                        isnan(drivetrain->resistance_ohm) && !drivetrain->feeds_back ? " without a braking resistor"
                                                                                     : ""));
}

static void append(char **text, char *more)
{
    char *longer = text_format("%s; %s", *text, more);
    free(*text);
    free(more);
    *text = longer;
}

/* Between what is impossible and what can be counted on nothing is proved: the setpoint's basis says so. */
static void note_doubt(enum direction direction, const struct ramp_times *times, double seconds,
                       struct setpoints *setpoints)
{
    for (size_t i = 0; i < setpoints->count && seconds < times->straight_s; i++)
        if (setpoints->items[i].means == directions[direction].means)
            append(&setpoints->items[i].basis,
                   text_format("on the safe side it takes %s%s, so watch the %s on the first runs",
                               isinf(times->straight_s) ? "" : figure_in(times->straight_s, UNIT_S).text,
                               isinf(times->straight_s) ? "more than the drive has" : "",
                               direction == SPEEDING_UP ? "current" : "bus voltage"));
}

/* What one stop puts into the resistor, against what it bears. */
static void check_resistor_energy(const struct sheet *sheet, const struct drivetrain *drivetrain,
                                  const struct ramp_times *times, double seconds, struct setpoints *setpoints)
{
    /* Wire-wound braking resistors bear about ten times their continuous power for the seconds of a stop, if they may
     * cool down afterwards. Common practice, no source. */
    const double most_share = 10;
    double continuous_w = quantity_base(&sheet->drive.resistor_power);
    double energy_j = resistor_energy_j(drivetrain, times->from_rpm, times->to_rpm, seconds) * drivetrain->motors;
    double mean_w = energy_j / seconds;
    if (continuous_w > 0)
        append(&setpoints->deceleration_basis,
               text_format("a stop in %s puts %s kJ into the resistor, which its %s carry off in %s",
                           figure_in(seconds, UNIT_S).text, figure(energy_j / 1000).text,
                           figure_written(&sheet->drive.resistor_power).text,
                           figure_in(energy_j / continuous_w, UNIT_S).text));
    if (!(mean_w > most_share * continuous_w))
        return;
    struct finding *finding = plausibility_add(
        &setpoints->implausible, "sheet.drive.braking_resistor.continuous_power", STAKE_PEOPLE, SOURCE_DERIVED,
        text_format("a stop in %s puts %s kJ into the braking resistor, %s on average, which is %s times its "
                    "continuous power; more than about %s times overheats it even once (fire); ask for a longer "
                    "deceleration, or look at the resistor's plate",
                    figure_in(seconds, UNIT_S).text, figure(energy_j / 1000).text, figure_in(mean_w, UNIT_W).text,
                    figure(mean_w / continuous_w).text, figure(most_share).text));
    plausibility_figures(finding, (struct band){mean_w / most_share, NAN, INFINITY}, continuous_w, UNIT_W);
}

void ramp_judge(const struct sheet *sheet, const struct drivetrain *drivetrain, enum direction direction,
                const struct ramp_times *times, struct setpoints *setpoints)
{
    struct findings *findings = &setpoints->implausible;
    const struct setting *setting;
    double seconds = asked_s(sheet, directions[direction].means, &setting);
    if (isinf(times->possible_s)) {
        check_never(drivetrain, direction, times, findings);
        return;
    }
    if (isnan(seconds))
        return;
    /* The asked time's own rounding counts: "5 s" does not contradict 5.2 s. */
    double rounding = quantity_rounding_base(setting->kind == SETTING_AT_MOST ? &setting->high : &setting->low);
    if (seconds + rounding < times->possible_s) {
        too_short(drivetrain, direction, times, seconds, findings);
    } else {
        check_overload(drivetrain, direction, times, seconds, findings);
        note_doubt(direction, times, seconds, setpoints);
    }
    if (direction == SLOWING_DOWN && !isnan(drivetrain->resistance_ohm) && !drivetrain->feeds_back)
        check_resistor_energy(sheet, drivetrain, times, fmax(seconds, times->possible_s), setpoints);
}
