/* SPDX-License-Identifier: MIT */
/* What a running drive should show, by the motor's model. */
#include "motor/live_expectation.h"

#include <math.h>

/* What is likely around the nominal; the header says why. */
static const double least_load = 0.8;
static const double most_load = 1.2;
static const double model_share = 0.15;
static const double slip_share = 0.30;
static const double rated_slip_share = 0.05;

/* A share of a load, or of rated torque where the load is not known. */
struct load_share {
    const struct load_curve *load;
    double rated_torque_nm, share;
};

static double load_share_nm(const void *user, double speed_rpm)
{
    const struct load_share *part = user;
    const double whole_nm = part->load != NULL ? load_torque_nm(part->load, speed_rpm) : part->rated_torque_nm;
    return whole_nm * part->share;
}

/* A state of the motor, and the voltage that it takes. */
struct fed_point {
    struct operating_point point;
    double voltage_v;
    bool turns;
};

/* With `compensated` the drive makes up for what the stator's resistance loses below the base frequency. */
static struct fed_point point_at(const struct motor_model *model, const struct feed *feed, double load_share,
                                 bool compensated)
{
    const double frequency_share = fmin(feed->frequency_hz / feed->base_hz, 1);
    const double share = compensated ? 1 - frequency_share : 0;
    const struct terminals terminals = {fmin(feed->base_v * frequency_share, feed->highest_v), feed->frequency_hz};
    const struct circuit circuit = circuit_compensated(&model->circuit, share);
    const double rated_nm = shaft_torque_nm(model->plate.power_w, model->plate.speed_rpm);
    const struct load_share load = {feed->load, rated_nm, load_share};
    struct fed_point fed;
    fed.turns = circuit_against_load(&circuit, &terminals, load_share_nm, &load, &fed.point);
    fed.voltage_v = circuit_compensated_voltage_v(&model->circuit, share, &terminals, &fed.point);
    /* What the drive adds passes through it and heats the stator as ever. */
    const double whole_ohm_loss_w = share < 1 ? fed.point.stator_loss_w / (1 - share) : 0;
    fed.point.input_power_w += whole_ohm_loss_w - fed.point.stator_loss_w;
    return fed;
}

static struct band widened(struct band band, double share)
{
    return (struct band){band.low * (1 - share), band.nominal, band.high * (1 + share)};
}

static void include(struct band *band, double value)
{
    band->low = fmin(band->low, value);
    band->high = fmax(band->high, value);
}

static void include_point(struct live_expectation *expectation, const struct motor_model *model,
                          const struct feed *feed, const struct fed_point *fed)
{
    const struct operating_point *point = &fed->point;
    include(&expectation->output_voltage_v, fed->voltage_v);
    include(&expectation->output_current_a, point->line_current_a);
    include(&expectation->output_power_w, point->input_power_w);
    include(&expectation->slip_hz, point->slip * feed->frequency_hz);
    include(&expectation->torque,
            point->shaft_torque_nm / shaft_torque_nm(model->plate.power_w, model->plate.speed_rpm));
}

static struct band around(double value, bool known)
{
    return (struct band){value, known ? value : NAN, value};
}

double slip_from_speed_hz(unsigned poles, double frequency_hz, double speed_rpm)
{
    return frequency_hz - speed_rpm * poles / 120;
}

struct live_expectation live_expectation(const struct motor_model *model, const struct feed *feed)
{
    const bool known = feed->load != NULL;
    const double shares[] = {known ? least_load : 0, 1, known ? most_load : 1};
    const double rated_nm = shaft_torque_nm(model->plate.power_w, model->plate.speed_rpm);
    const double synchronous_rpm = circuit_synchronous_rpm(&model->circuit, feed->frequency_hz);

    /* The nominal state is that of a drive which holds the flux: slip speed as on the plate for the same torque. */
    const struct fed_point nominal = point_at(model, feed, 1, true);
    struct live_expectation expectation = {
        .output_voltage_v = around(nominal.voltage_v, known),
        .output_current_a = around(nominal.point.line_current_a, known),
        .output_power_w = around(nominal.point.input_power_w, known),
        .slip_hz = around(nominal.point.slip * feed->frequency_hz, known),
        .torque = around(nominal.point.shaft_torque_nm / rated_nm, known),
        .stalls = known && !nominal.turns,
    };
    for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++) {
        for (int compensated = 0; compensated <= 1; compensated++) {
            const struct fed_point fed = point_at(model, feed, shares[i], compensated != 0);
            if (fed.turns)
                include_point(&expectation, model, feed, &fed);
        }
    }
    expectation.output_current_a = widened(expectation.output_current_a, model_share);
    expectation.output_power_w = widened(expectation.output_power_w, model_share);
    expectation.slip_hz.low = 0; /* of a drive that makes up for slip */
    const double rated_slip_hz =
        slip_from_speed_hz(model->plate.poles, model->plate.frequency_hz, model->plate.speed_rpm);
    expectation.slip_hz.high = expectation.slip_hz.high * (1 + slip_share) + rated_slip_hz * rated_slip_share;
    const double rpm_per_hz = synchronous_rpm / feed->frequency_hz;
    expectation.speed_rpm = (struct band){
        synchronous_rpm - expectation.slip_hz.high * rpm_per_hz,
        synchronous_rpm - expectation.slip_hz.nominal * rpm_per_hz,
        synchronous_rpm,
    };
    return expectation;
}
