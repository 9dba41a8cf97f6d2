/* SPDX-License-Identifier: MIT */
/* The simulated power stage: a linear ramp, a quasi-steady operating point. */
#include "sim/drive_model.h"

#include <math.h>

/* A six-pulse rectifier's mean falls from sqrt(2) to 3 sqrt(2) / pi of the line voltage under load. */
static const double bus_droop = 1.0 - 3.0 / M_PI;
/* Heatsink: still air in the cabinet, and the rise at rated current. The simulator's own choice. */
static const double cabinet_degc = 30.0;
static const double rise_at_rated_current_k = 25.0;

void drive_model_init(struct drive_model *model, const struct motor_data *motor, const struct load_data *load,
                      double command_hz, int64_t now_us)
{
    *model = (struct drive_model){
        .motor = *motor, .load = *load, .state = MOTOR_STOPPED, .command_hz = command_hz, .last_us = now_us};
    model->has_circuit = motor_circuit(motor, &model->circuit);
}

static bool has_output(enum motor_state state)
{
    switch (state) {
    case MOTOR_STARTING:
    case MOTOR_RUNNING:
    case MOTOR_STOPPING:
        return true;
    case MOTOR_STOPPED:
    case MOTOR_TRIPPED:
        break;
    }
    return false;
}

double drive_model_target_hz(const struct drive_model *model, const struct drive_settings *settings)
{
    double target_hz = fmax(model->command_hz, settings->minimum_hz);
    if (settings->maximum_hz > 0)
        target_hz = fmin(target_hz, settings->maximum_hz);
    return fmax(target_hz, 0);
}

static void finish_stop(struct drive_model *model)
{
    model->output_hz = 0;
    model->state = MOTOR_STOPPED;
}

void drive_model_advance(struct drive_model *model, const struct drive_settings *settings, int64_t now_us)
{
    const double elapsed_s = (double)(now_us - model->last_us) * 1e-6;
    model->last_us = now_us;
    if (elapsed_s <= 0 || !has_output(model->state))
        return;

    const bool stopping = model->state == MOTOR_STOPPING;
    if (stopping && settings->coasts) {
        finish_stop(model);
        return;
    }
    const double target_hz = stopping ? 0 : drive_model_target_hz(model, settings);
    const double distance_hz = target_hz - model->output_hz;
    const double rate = distance_hz < 0 ? settings->deceleration_hz_per_s : settings->acceleration_hz_per_s;
    const double step_hz = rate * elapsed_s;
    if (fabs(distance_hz) > step_hz) {
        model->output_hz += copysign(step_hz, distance_hz);
        model->run_s += elapsed_s;
        return;
    }
    model->output_hz = target_hz;
    if (stopping) {
        model->run_s += fabs(distance_hz) / rate;
        finish_stop(model);
    } else {
        model->run_s += elapsed_s;
        model->state = MOTOR_RUNNING;
    }
}

bool drive_model_start(struct drive_model *model)
{
    if (model->state != MOTOR_STOPPED && model->state != MOTOR_STOPPING)
        return false;
    model->state = MOTOR_STARTING;
    return true;
}

bool drive_model_stop(struct drive_model *model)
{
    if (!has_output(model->state) || model->state == MOTOR_STOPPING)
        return false;
    model->state = MOTOR_STOPPING;
    return true;
}

bool drive_model_coast(struct drive_model *model)
{
    if (!has_output(model->state))
        return false;
    finish_stop(model);
    return true;
}

bool drive_model_trip(struct drive_model *model)
{
    if (model->state == MOTOR_TRIPPED)
        return false;
    model->state = MOTOR_TRIPPED;
    model->output_hz = 0;
    return true;
}

bool drive_model_reset(struct drive_model *model)
{
    if (model->state != MOTOR_TRIPPED)
        return false;
    model->state = MOTOR_STOPPED;
    return true;
}

/* V/f: in proportion up to the base frequency, then the base voltage; never more than the supply has. */
static double output_voltage_v(const struct drive_settings *settings, double output_hz)
{
    const double volts = settings->base_v * fmin(output_hz / settings->base_hz, 1);
    return settings->supply_v > 0 ? fmin(volts, settings->supply_v) : volts;
}

struct drive_live drive_model_live(const struct drive_model *model, const struct drive_settings *settings)
{
    const struct motor_data *motor = &model->motor;
    struct drive_live live = {
        .state = model->state,
        .frequency_command_hz = model->command_hz,
        .output_frequency_hz = model->output_hz,
        .heatsink_degc = cabinet_degc,
        .run_s = model->run_s,
    };
    double load_share = 0;
    if (has_output(model->state)) {
        const double target_hz = drive_model_target_hz(model, settings);
        live.at_speed = model->state == MOTOR_RUNNING && fabs(model->output_hz - target_hz) < 1e-6;
        const struct drive_output output = {model->output_hz, output_voltage_v(settings, model->output_hz),
                                            settings->base_hz};
        const struct motor_point point =
            motor_point(motor, model->has_circuit ? &model->circuit : NULL, &model->load, &output);
        live.speed_rpm = point.speed_rpm;
        live.torque = point.torque;
        live.output_voltage_v = settings->supply_v > 0 ? fmin(point.voltage_v, settings->supply_v) : point.voltage_v;
        live.output_current_a = point.current_a;
        live.output_power_w = point.power_w;
        load_share = point.torque * point.speed_rpm / motor->rated_speed_rpm;
        live.heatsink_degc += rise_at_rated_current_k * live.output_current_a / motor->rated_current_a;
    }
    live.dc_bus_v = settings->supply_v * settings->bus_per_supply_volt * (1 - bus_droop * fmin(fmax(load_share, 0), 1));
    return live;
}

const char *motor_state_word(enum motor_state state)
{
    switch (state) {
    case MOTOR_STOPPED:
        return "stopped";
    case MOTOR_STARTING:
        return "starting";
    case MOTOR_RUNNING:
        return "running";
    case MOTOR_STOPPING:
        return "stopping";
    case MOTOR_TRIPPED:
        return "tripped";
    }
    return "";
}
