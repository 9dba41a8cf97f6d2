/* SPDX-License-Identifier: MIT */
/* Reading settings from registers, and showing the motor in them. */
#include "sim/live.h"

#include "motor/quantity.h"
#include "motor/ramp.h"
#include "sim/scaling.h"

#include <math.h>
#include <string.h>

/* Where neither sheet nor registers tell: the simulator's own invention. */
static const struct motor_data usual_motor = {
    .rated_power_w = 1500,
    .rated_voltage_v = 400,
    .rated_current_a = 3.4,
    .rated_frequency_hz = 50,
    .rated_speed_rpm = 1430,
    .synchronous_speed_rpm = 1500,
    .power_factor = 0.8,
    .efficiency = 0.85,
};
static const double usual_load_torque = 0.8;
static const double usual_ramp_s = 10;

static double first_positive(double a, double b, double c)
{
    return a > 0 ? a : b > 0 ? b : c;
}

/* Poles from rated speed: the highest synchronous speed steps down with each pair until it is just above. */
static double synchronous_above(double frequency_hz, double speed_rpm)
{
    const double pairs = floor(60 * frequency_hz / speed_rpm);
    return 60 * frequency_hz / fmax(pairs, 1);
}

struct motor_data live_motor(const struct drive *drive)
{
    struct motor_data motor = usual_motor;
    const struct derived *derived = &drive->setpoints.derived;
    const bool has_plate = drive->sheet != NULL && drive->sheet->motor.given;
    const struct motor *plate = has_plate ? &drive->sheet->motor : NULL;

    motor.rated_power_w = first_positive(has_plate ? derived->rated_power_w : NAN,
                                         scaling_means(drive, MEANS_MOTOR_RATED_POWER), motor.rated_power_w);
    motor.rated_voltage_v = first_positive(has_plate ? derived->rated_voltage_v : NAN,
                                           scaling_means(drive, MEANS_MOTOR_RATED_VOLTAGE), motor.rated_voltage_v);
    motor.rated_current_a = first_positive(has_plate ? derived->rated_current_a : NAN,
                                           scaling_means(drive, MEANS_MOTOR_RATED_CURRENT), motor.rated_current_a);
    motor.rated_frequency_hz =
        first_positive(has_plate ? derived->rated_frequency_hz : NAN, scaling_means(drive, MEANS_MOTOR_RATED_FREQUENCY),
                       motor.rated_frequency_hz);
    const double usual_rpm = usual_motor.rated_speed_rpm * motor.rated_frequency_hz / usual_motor.rated_frequency_hz;
    motor.rated_speed_rpm = first_positive(has_plate ? derived->rated_speed_rpm : NAN,
                                           scaling_means(drive, MEANS_MOTOR_RATED_SPEED), usual_rpm);
    motor.synchronous_speed_rpm = first_positive(has_plate ? derived->synchronous_speed_rpm : NAN, NAN,
                                                 synchronous_above(motor.rated_frequency_hz, motor.rated_speed_rpm));
    if (has_plate && plate->connected < plate->column_count) {
        const struct plate_column *column = &plate->columns[plate->connected];
        const double power_factor = quantity_base(&column->power_factor);
        const double efficiency = quantity_base(&column->efficiency);
        motor.power_factor = first_positive(power_factor, derived->efficiency_pf / efficiency, motor.power_factor);
        motor.efficiency = first_positive(efficiency, derived->efficiency_pf / power_factor, motor.efficiency);
        motor.no_load_current_a = first_positive(quantity_base(&plate->no_load_current), NAN, 0);
    }
    motor.power_factor = fmin(motor.power_factor, 1);
    motor.efficiency = fmin(motor.efficiency, 1);
    return motor;
}

struct load_data live_load(const struct drive *drive)
{
    struct load_data load = {.law = LOAD_SQUARE, .torque_at_rated_speed = usual_load_torque};
    if (drive->sheet == NULL || !drive->sheet->load.given)
        return load;
    const struct load *sheet = &drive->sheet->load;
    const double torque = quantity_base(&sheet->torque_at_rated_speed) / drive->setpoints.derived.rated_torque_nm;
    load.law = sheet->torque;
    load.torque_at_rated_speed = first_positive(torque, NAN, usual_load_torque);
    load.static_share = first_positive(quantity_base(&sheet->static_share), NAN, 0);
    return load;
}

static double in_hz(const struct motor_data *motor, const struct quantity *quantity)
{
    const double value = quantity_base(quantity);
    return unit_dimension(quantity->unit) == DIMENSION_SPEED
               ? value * motor->rated_frequency_hz / motor->synchronous_speed_rpm
               : value;
}

/* What a ramp time runs over, by the drive's own registers. */
static double own_span_hz(const struct drive *drive, const struct ramp_span *span, double usual_hz)
{
    const struct motor_data *motor = &drive->model.motor;
    struct quantity value = span->value;
    enum means means = span->means;
    if (span->by.given) {
        const uint32_t raw = drive_raw(drive, span->by.parameter);
        for (size_t i = 0; i < span->by.count; i++)
            if (span->by.rows[i].raw == raw) {
                value = span->by.rows[i].span;
                means = span->by.rows[i].span_means;
            }
    }
    const double own_hz = means != MEANS_NONE ? scaling_means(drive, means) : in_hz(motor, &value);
    return first_positive(own_hz, ramp_span_hz(span, &drive->setpoints, false, 0), usual_hz);
}

static double ramp_hz_per_s(const struct drive *drive, enum means means, const struct drive_settings *settings)
{
    const double usual = settings->base_hz / usual_ramp_s;
    const size_t parameter = drive_find(drive, means, 0);
    double value = 0;
    if (parameter == PARAMETER_NOT_FOUND || !scaling_value(drive, parameter, &value) || value < 0)
        return usual;
    const struct parameter *row = &drive->map->parameters[parameter];
    const struct motor_data *motor = &drive->model.motor;
    const double full_hz = settings->maximum_hz > 0 ? settings->maximum_hz : settings->base_hz;
    switch (row->ramp_kind) {
    case RAMP_TIME:
        return (row->ramp_span.given ? own_span_hz(drive, &row->ramp_span, full_hz) : full_hz) / value;
    case RAMP_INVERSE_RATE:
        return 1 / value;
    case RAMP_RATE:
        return value > 0 ? value : usual;
    case RAMP_SPEED_RATE:
        return value > 0 ? value * motor->rated_frequency_hz / motor->synchronous_speed_rpm : usual;
    }
    return usual;
}

static bool stop_coasts(const struct drive *drive)
{
    const size_t parameter = drive_find(drive, MEANS_CONTROL_STOP_METHOD, 0);
    if (parameter == PARAMETER_NOT_FOUND)
        return false;
    const struct parameter *row = &drive->map->parameters[parameter];
    if (row->type == TYPE_TEXT)
        return false;
    const uint32_t raw = drive_raw(drive, parameter);
    for (size_t i = 0; i < row->choices.count; i++)
        if (row->choices.items[i].raw == raw)
            return strncmp(row->choices.items[i].word, "coast", strlen("coast")) == 0;
    return false;
}

static double bus_per_supply_volt(const struct drive *drive)
{
    const enum front_end front_end = drive->sheet != NULL ? drive->sheet->drive.front_end : FRONT_UNSAID;
    return front_end == FRONT_DOUBLER ? 2 * M_SQRT2 : M_SQRT2;
}

struct drive_settings live_settings(const struct drive *drive)
{
    const struct drive acting = drive_acting(drive);
    const struct motor_data *motor = &drive->model.motor;
    struct drive_settings settings = {
        .minimum_hz = first_positive(scaling_means(&acting, MEANS_LIMIT_MINIMUM_FREQUENCY), NAN, 0),
        .maximum_hz = first_positive(scaling_means(&acting, MEANS_LIMIT_MAXIMUM_FREQUENCY), NAN, 0),
        .base_hz = first_positive(scaling_means(&acting, MEANS_OUTPUT_BASE_FREQUENCY),
                                  scaling_means(&acting, MEANS_MOTOR_RATED_FREQUENCY), motor->rated_frequency_hz),
        .base_v = first_positive(scaling_means(&acting, MEANS_OUTPUT_BASE_VOLTAGE),
                                 scaling_means(&acting, MEANS_MOTOR_RATED_VOLTAGE), motor->rated_voltage_v),
        .supply_v = first_positive(drive->sheet != NULL ? quantity_base(&drive->sheet->supply.voltage) : NAN,
                                   scaling_means(&acting, MEANS_SUPPLY_VOLTAGE), motor->rated_voltage_v),
        .bus_per_supply_volt = bus_per_supply_volt(drive),
        .coasts = stop_coasts(&acting),
    };
    settings.acceleration_hz_per_s = ramp_hz_per_s(&acting, MEANS_RAMP_ACCELERATION_TIME, &settings);
    settings.deceleration_hz_per_s = ramp_hz_per_s(&acting, MEANS_RAMP_DECELERATION_TIME, &settings);
    return settings;
}
