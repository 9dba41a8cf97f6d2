/* SPDX-License-Identifier: MIT */
/* What current, power, speed and torque of a running motor should be, by its model. */
#include "motor/running_motor.h"

#include "motor/figure.h"
#include "motor/live_expectation.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

void running_motor_prepare(const struct installation *installation, struct running *running)
{
    const struct sheet *sheet = installation->sheet;
    running->motors = installation->motors;
    running->plate = motor_plate_of(installation->plate, &sheet->motor);
    if (sheet->load.overhauling == ANSWER_YES)
        running->plate.poles = 0;
    running->load_share = installation->load_share.nominal;
    running->load_shape = running->load_share >= 0 ? sheet->load.torque : LOAD_UNSAID;
    running->static_share = installation->load.static_share;
}

/* What the estimates have in common. */
struct outlook {
    const struct running *running;
    const struct motor_model *model;
    double frequency_hz;
    struct live_expectation expectation;
};

static bool look(const struct running *running, double frequency_hz, struct motor_model *model, struct outlook *outlook)
{
    if (running->plate.poles == 0 || !(frequency_hz > 0) || !(running->base_voltage_v > 0) ||
        !(running->base_frequency_hz > 0) || !motor_model_estimate(&running->plate, model))
        return false;
    const struct load_curve load = {
        .shape = running->load_shape,
        .rated_torque_nm = running->load_share * shaft_torque_nm(model->plate.power_w, model->plate.speed_rpm),
        .rated_speed_rpm = model->plate.speed_rpm,
        .static_share = running->static_share,
    };
    const struct feed feed = {
        .frequency_hz = frequency_hz,
        .base_v = running->base_voltage_v,
        .base_hz = running->base_frequency_hz,
        .highest_v = INFINITY, /* the base point is where the voltage ends */
        .load = running->load_shape == LOAD_UNSAID ? NULL : &load,
    };
    *outlook = (struct outlook){running, model, frequency_hz, live_expectation(model, &feed)};
    return !outlook->expectation.stalls;
}

/* "running at 30 Hz, load 27 % of rated torque" */
static char *occasion(const struct outlook *outlook)
{
    const struct figure at = figure_in(outlook->frequency_hz, UNIT_HZ);
    if (outlook->running->load_shape == LOAD_UNSAID)
        return text_format("running at %s, from no load to rated load", at.text);
    return text_format("running at %s, load %s of rated torque there", at.text,
                       figure_in(round(outlook->expectation.torque.nominal * 100) / 100, UNIT_PERCENT).text);
}

static struct setpoint estimate(const struct outlook *outlook, enum means means, struct band band, enum unit unit,
                                const char *what)
{
    char *when = occasion(outlook);
    char *basis = isnan(band.nominal) ? text_format("%s: %s", when, what)
                                      : text_format("%s: about %s, %s", when, figure_in(band.nominal, unit).text, what);
    free(when);
    return (struct setpoint){.means = means,
                             .kind = SETPOINT_RANGE,
                             .low = band.low,
                             .nominal = band.nominal,
                             .high = band.high,
                             .unit = unit,
                             .basis = basis,
                             .source = SOURCE_ESTIMATE,
                             .stake = STAKE_PROCESS};
}

size_t running_motor(const struct running *running, double frequency_hz, struct setpoint items[RUNNING_MOTOR_MOST])
{
    struct motor_model model;
    struct outlook outlook;
    if (!look(running, fabs(frequency_hz), &model, &outlook))
        return 0;
    const struct live_expectation *expectation = &outlook.expectation;
    const char *all = running->motors > 1 ? "all motors together, by the motor model; more while it accelerates"
                                          : "by the motor model; more while it accelerates";
    size_t count = 0;
    items[count++] = estimate(&outlook, MEANS_LIVE_OUTPUT_CURRENT,
                              band_scaled(expectation->output_current_a, running->motors), UNIT_A, all);
    items[count++] = estimate(&outlook, MEANS_LIVE_OUTPUT_POWER,
                              band_scaled(expectation->output_power_w, running->motors), UNIT_KW, all);
    items[0].stake = STAKE_EQUIPMENT;
    if (frequency_hz < 0 || running->motors > 1)
        return count;
    items[count++] = estimate(&outlook, MEANS_LIVE_SPEED, expectation->speed_rpm, UNIT_RPM,
                              "by the motor model; up to synchronous speed where the drive makes up for slip");
    items[count++] =
        estimate(&outlook, MEANS_LIVE_TORQUE, expectation->torque, UNIT_PERCENT, "more while it accelerates");
    return count;
}
