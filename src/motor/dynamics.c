/* SPDX-License-Identifier: MIT */
/* The shortest times of a machine's ramps, and how they come about. */
#include "motor/dynamics.h"

#include "motor/figure.h"
#include "motor/job.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

static const struct most_current *most_current(const struct drivetrain *drivetrain, enum direction direction)
{
    return direction == SPEEDING_UP ? &drivetrain->speeding_up : &drivetrain->slowing_down;
}

double ramp_most_a(const struct drivetrain *drivetrain, enum direction direction)
{
    return most_current(drivetrain, direction)->ampere;
}

double ramp_lasting_a(const struct drivetrain *drivetrain, enum direction direction)
{
    return fmin(ramp_most_a(drivetrain, direction), drivetrain->rated_a);
}

struct run ramp_run(const struct drivetrain *drivetrain, enum direction direction, const struct ramp_times *times,
                    enum doubt doubt, double current_a, struct case_of *at)
{
    *at = (struct case_of){.drivetrain = drivetrain, .doubt = doubt, .current_a = current_a};
    return (struct run){.inertia_kgm2 = drivetrain_inertia_kgm2(drivetrain),
                        .from_rpm = times->from_rpm,
                        .to_rpm = times->to_rpm,
                        .torque_nm = direction == SPEEDING_UP ? torque_upwards_nm : torque_downwards_nm,
                        .machine = at};
}

void ramp_times_compute(const struct drivetrain *drivetrain, enum direction direction, double from_hz, double to_hz,
                        struct ramp_times *times)
{
    double most_a = ramp_most_a(drivetrain, direction);
    double lasting_a = ramp_lasting_a(drivetrain, direction);
    struct case_of at[3];
    *times = (struct ramp_times){.from_hz = fmin(from_hz, to_hz), .to_hz = fmax(from_hz, to_hz)};
    times->from_rpm = times->from_hz * drivetrain->rpm_per_hz;
    times->to_rpm = times->to_hz * drivetrain->rpm_per_hz;
    struct run most = ramp_run(drivetrain, direction, times, DOUBT_SAFE, most_a, &at[0]);
    struct run lasting = ramp_run(drivetrain, direction, times, DOUBT_SAFE, lasting_a, &at[1]);
    struct run favourable = ramp_run(drivetrain, direction, times, DOUBT_FAVOURABLE, most_a, &at[2]);
    times->least_nm[DOUBT_SAFE] = run_least_torque_nm(&most, &times->least_at_rpm[DOUBT_SAFE]);
    times->least_nm[DOUBT_FAVOURABLE] = run_least_torque_nm(&favourable, &times->least_at_rpm[DOUBT_FAVOURABLE]);
    times->possible_s = run_straight_s(&favourable);
    times->unhurried_s = run_straight_s(&lasting);
    times->straight_s = run_straight_s(&most);
    if (times->straight_s > drivetrain->overload_s) /* such a ramp would need overload for too long */
        times->straight_s = times->unhurried_s;
    times->shortest_s = run_time_with_overload_s(&most, &lasting, drivetrain->overload_s);
}

static char *inertia_words(const struct drivetrain *drivetrain)
{
    struct figure load = figure_in(drivetrain->load_inertia_kgm2, UNIT_KGM2);
    if (!(drivetrain->motor_inertia_kgm2 > 0))
        return text_format("J = %s of the load (the sheet's motor has no inertia, so it takes longer than this)",
                           load.text);
    return text_format("J = %s of the motor + %s of the load = %s",
                       figure_in(drivetrain->motor_inertia_kgm2, UNIT_KGM2).text, load.text,
                       figure_in(drivetrain_inertia_kgm2(drivetrain), UNIT_KGM2).text);
}

static char *load_words(const struct load_curve *load)
{
    struct figure torque = figure_in(load->rated_torque_nm, UNIT_NM);
    struct figure speed = figure_in(load->rated_speed_rpm, UNIT_RPM);
    switch (load->shape) {
    case LOAD_UNSAID:
        break;
    case LOAD_SQUARE:
        if (load->static_share > 0)
            return text_format("%s x (%s + %s x (n / %s)^2)", torque.text, figure(load->static_share).text,
                               figure(1 - load->static_share).text, speed.text);
        return text_format("%s x (n / %s)^2", torque.text, speed.text);
    case LOAD_CONSTANT:
        return text_copy(torque.text);
    case LOAD_CONSTANT_POWER:
        return text_format("%s, above %s x %s / n", torque.text, speed.text, speed.text);
    }
    return text_copy("");
}

/* "the drive's 4.2 A x overload = 6.3 A gives 6.3 A / 3 A x 8.158 N.m = 17.13 N.m" */
static char *torque_words(const struct drivetrain *drivetrain, enum direction direction, double to_rpm)
{
    const struct most_current *most = most_current(drivetrain, direction);
    const struct motor_torque *motor = &drivetrain->motor;
    struct figure current = figure_in(most->ampere, UNIT_A);
    struct figure rated = figure_in(motor->rated_current_a, UNIT_A);
    struct figure torque = figure_in(motor->rated_torque_nm, UNIT_NM);
    double given_nm = motor_torque_nm(motor, DOUBT_SAFE, most->ampere, 0);
    bool is_broken_down = given_nm < motor->rated_torque_nm * (1 - 1e-9) * most->ampere / motor->rated_current_a;
    const char *whose = most->limited_by == MEANS_NONE ? "the drive" : means_table[most->limited_by].name;
    char *share = most->ampere >= motor->rated_current_a
                      ? text_format("%s / %s", current.text, rated.text)
                      : text_format("sqrt((%s^2 - I0^2) / (%s^2 - I0^2)), I0 = %s,", current.text, rated.text,
                                    figure_in(motor->magnetising_a, UNIT_A).text);
    bool is_capped = is_broken_down && most->ampere >= motor->rated_current_a;
    char *words = text_format("%s of %s%s give %s x %s = %s%s%s", current.text, whose,
                              drivetrain->motors > 1 ? " for each motor" : "", share, torque.text,
                              figure_in(given_nm, UNIT_NM).text, is_capped ? " (held at the breakdown torque)" : "",
                              to_rpm > motor->weakening_rpm * (1 + 1e-9) ? ", less above base frequency" : "");
    free(share);
    return words;
}

/* What becomes of the energy that comes back. */
static char *braking_words(const struct drivetrain *drivetrain)
{
    double speed_rpm = drivetrain->load.rated_speed_rpm;
    if (drivetrain->feeds_back)
        return text_copy("the front end takes what comes back");
    double loss = braking_loss_w(drivetrain->rated_loss_w, speed_rpm, DOUBT_SAFE, speed_rpm);
    char *losses =
        text_format("half of the motor's rated losses, %s at %s = %s at every speed", figure_in(loss, UNIT_W).text,
                    figure_in(speed_rpm, UNIT_RPM).text, figure_in(loss / angular_speed(speed_rpm), UNIT_NM).text);
    char *words = isnan(drivetrain->resistance_ohm)
                      ? text_format("no braking resistor, so only losses and load brake: %s", losses)
                      : text_format("the resistor takes (%s)^2 / %s%s = %s, and the losses take %s",
                                    figure_in(drivetrain->chopper_v[DOUBT_SAFE], UNIT_V).text,
                                    figure_in(drivetrain->resistance_ohm, UNIT_OHM).text,
                                    drivetrain->motors > 1 ? " / number of motors" : "",
                                    figure_in(drivetrain->resistor_w[DOUBT_SAFE], UNIT_W).text, losses);
    free(losses);
    return words;
}

/* "; without overload (4.2 A) 0.3 s", or "" where the drive has none to give. */
static char *overload_words(const struct drivetrain *drivetrain, enum direction direction,
                            const struct ramp_times *times, double quickest_s)
{
    struct figure rated = figure_in(drivetrain->rated_a, UNIT_A);
    bool is_same = times->unhurried_s <= quickest_s * (1 + 1e-9);
    if (!(ramp_most_a(drivetrain, direction) > drivetrain->rated_a) || is_same)
        return text_copy("");
    if (isinf(times->unhurried_s))
        return text_format("; without overload (%s) never", rated.text);
    return text_format("; without overload (%s) %s%s", rated.text, figure_in(times->unhurried_s, UNIT_S).text,
                       quickest_s > drivetrain->overload_s ? ", which counts, since overload may not last that long"
                                                           : "");
}

static char *result_words(const struct drivetrain *drivetrain, enum direction direction, const struct ramp_times *times)
{
    double width = angular_speed(times->to_rpm - times->from_rpm);
    double least_nm = times->least_nm[DOUBT_SAFE];
    struct figure at = figure_in(times->least_at_rpm[DOUBT_SAFE], UNIT_RPM);
    if (!(least_nm > 0))
        return text_format("nothing is left over at %s", at.text);
    double quickest_s = drivetrain_inertia_kgm2(drivetrain) * width / least_nm;
    struct figure shortest = isinf(times->shortest_s) ? (struct figure){"never"} : figure_in(times->shortest_s, UNIT_S);
    char *overload = overload_words(drivetrain, direction, times, quickest_s);
    char *words = text_format("with all that is left over, integrated: %s; as a straight ramp: J x %s rad/s / %s left "
                              "over at %s = %s%s",
                              shortest.text, figure(width).text, figure_in(least_nm, UNIT_NM).text, at.text,
                              figure_in(quickest_s, UNIT_S).text, overload);
    free(overload);
    return words;
}

char *ramp_basis(const struct drivetrain *drivetrain, enum direction direction, const struct ramp_times *times)
{
    char *inertia = inertia_words(drivetrain);
    char *torque = torque_words(drivetrain, direction, times->to_rpm);
    char *load = load_words(&drivetrain->load);
    char *braking = direction == SLOWING_DOWN ? braking_words(drivetrain) : NULL;
    char *result = result_words(drivetrain, direction, times);
    struct figure low = figure_in(times->from_rpm, UNIT_RPM);
    struct figure high = figure_in(times->to_rpm, UNIT_RPM);
    struct figure low_hz = figure_in(times->from_hz, UNIT_HZ);
    struct figure high_hz = figure_in(times->to_hz, UNIT_HZ);
    char *basis =
        direction == SPEEDING_UP
            ? text_format("%s, from %s to %s (%s to %s); %s; the load takes %s; %s", inertia, low.text, high.text,
                          low_hz.text, high_hz.text, torque, load, result)
            : text_format("%s, from %s to %s (%s to %s); %s; %s at most; the load %s %s; %s", inertia, high.text,
                          low.text, high_hz.text, low_hz.text, braking, torque,
                          drivetrain->is_overhauling ? "drives with" : "helps, while it is there, with", load, result);
    free(inertia);
    free(torque);
    free(load);
    free(braking);
    free(result);
    return basis;
}

/* What a ramp spans: what the job's setting says, else from standstill to the job's maximum, else to rated frequency.
 * False where it spans nothing. */
static bool span_of(const struct sheet *sheet, const struct nameplate *plate, const struct setting *setting,
                    double *from_hz, double *to_hz)
{
    *from_hz = 0;
    *to_hz = job_maximum_frequency_hz(sheet);
    if (isnan(*to_hz) || isinf(*to_hz))
        *to_hz = plate->bands[FIELD_FREQUENCY].nominal;
    if (setting != NULL && !setting_ramp_span(sheet, plate, setting, from_hz, to_hz))
        return false;
    return *from_hz >= 0 && *to_hz >= 0 && isfinite(*from_hz) && isfinite(*to_hz) && *from_hz != *to_hz;
}

/* Where one direction's results go. */
struct outcome {
    enum means means;
    double *shortest_s, *straight_s;
    char **basis;
};

static void compute_direction(const struct sheet *sheet, const struct nameplate *plate,
                              const struct drivetrain *drivetrain, enum direction direction, struct outcome outcome,
                              struct setpoints *setpoints)
{
    double from_hz;
    double to_hz;
    struct ramp_times times;
    if (direction == SLOWING_DOWN && drivetrain->braking_reason != NULL) {
        *outcome.basis = text_copy(drivetrain->braking_reason);
        return;
    }
    if (!span_of(sheet, plate, sheet_setting(sheet, outcome.means), &from_hz, &to_hz)) {
        *outcome.basis = text_copy("what the ramp spans is not known");
        return;
    }
    ramp_times_compute(drivetrain, direction, from_hz, to_hz, &times);
    *outcome.shortest_s = times.shortest_s;
    *outcome.straight_s = times.straight_s;
    *outcome.basis = ramp_basis(drivetrain, direction, &times);
    ramp_judge(sheet, drivetrain, direction, &times, setpoints);
}

void dynamics_compute(const struct sheet *sheet, const struct nameplate *plate, struct setpoints *setpoints)
{
    struct derived *derived = &setpoints->derived;
    const struct outcome up = {MEANS_RAMP_ACCELERATION_TIME, &derived->shortest_acceleration_s,
                               &derived->straight_acceleration_s, &setpoints->acceleration_basis};
    const struct outcome down = {MEANS_RAMP_DECELERATION_TIME, &derived->shortest_deceleration_s,
                                 &derived->straight_deceleration_s, &setpoints->deceleration_basis};
    struct drivetrain drivetrain;
    *up.shortest_s = *up.straight_s = *down.shortest_s = *down.straight_s = NAN;
    char *reason = drivetrain_read(sheet, plate, setpoints, &drivetrain);
    if (reason != NULL) {
        setpoints->acceleration_basis = reason;
        setpoints->deceleration_basis = text_copy(reason);
        return;
    }
    compute_direction(sheet, plate, &drivetrain, SPEEDING_UP, up, setpoints);
    compute_direction(sheet, plate, &drivetrain, SLOWING_DOWN, down, setpoints);
    drivetrain_free(&drivetrain);
}
