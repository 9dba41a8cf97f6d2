/* SPDX-License-Identifier: MIT */
/* The simulated motor and its load on what the drive gives. */
#include "sim/motor_point.h"

#include "motor/load_curve.h"
#include "motor/motor_model.h"

#include <math.h>

/* A drive that has just begun to turn the field counts as giving this: at 0 Hz a circuit has no torque. */
static const double least_hz = 0.05;
/* Below this share of rated flux a motor without a circuit is not computed. */
static const double least_flux = 0.2;

static bool model_of(const struct motor_data *motor, struct motor_model *model)
{
    const double poles = 120 * motor->rated_frequency_hz / motor->synchronous_speed_rpm;
    struct motor_plate plate = {
        .power_w = motor->rated_power_w,
        .voltage_v = motor->rated_voltage_v,
        .current_a = motor->rated_current_a,
        .frequency_hz = motor->rated_frequency_hz,
        .speed_rpm = motor->rated_speed_rpm,
        .power_factor = motor->power_factor,
        .efficiency = motor->efficiency,
        .no_load_current_a = motor->no_load_current_a > 0 ? motor->no_load_current_a : NAN,
        .breakdown = NAN,
        .poles = (unsigned)fmax(round(poles), 2),
    };
    if (motor->rated_speed_rpm >= motor->synchronous_speed_rpm)
        return false;
    if (motor_model_estimate(&plate, model))
        return true;
    double *const doubtful[] = {&plate.power_factor, &plate.efficiency, &plate.current_a, &plate.speed_rpm};
    for (size_t i = 0; i < sizeof doubtful / sizeof doubtful[0]; i++) {
        *doubtful[i] = NAN;
        if (motor_model_estimate(&plate, model))
            return true;
    }
    return false;
}

bool motor_circuit(const struct motor_data *motor, struct circuit *circuit)
{
    struct motor_model model;
    const bool found = model_of(motor, &model);
    if (found)
        *circuit = model.circuit;
    return found;
}

double motor_no_load_a(const struct motor_data *motor)
{
    struct motor_model model;
    if (motor->no_load_current_a > 0)
        return motor->no_load_current_a;
    if (model_of(motor, &model))
        return model.plate.no_load_current_a;
    return motor->rated_current_a * sqrt(fmax(1 - motor->power_factor * motor->power_factor, 0));
}

static double rated_torque_nm(const struct motor_data *motor)
{
    return shaft_torque_nm(motor->rated_power_w, motor->rated_speed_rpm);
}

static struct load_curve curve_of(const struct motor_data *motor, const struct load_data *load)
{
    return (struct load_curve){
        .shape = load->law == LOAD_UNSAID ? LOAD_SQUARE : load->law,
        .rated_torque_nm = load->torque_at_rated_speed * rated_torque_nm(motor),
        .rated_speed_rpm = motor->rated_speed_rpm,
        .static_share = load->static_share,
    };
}

static double curve_nm(const void *curve, double speed_rpm)
{
    return load_torque_nm(curve, speed_rpm);
}

static struct motor_point point_of_circuit(const struct motor_data *motor, const struct circuit *circuit,
                                           const struct load_data *load, const struct drive_output *output)
{
    const double frequency_hz = fmax(output->frequency_hz, least_hz);
    const double least_v = motor->rated_voltage_v * least_hz / motor->rated_frequency_hz;
    const struct terminals terminals = {fmax(output->voltage_v, least_v), frequency_hz};
    const double raised = 1 - fmin(frequency_hz / output->base_hz, 1);
    const struct circuit held = circuit_compensated(circuit, raised);
    const struct load_curve curve = curve_of(motor, load);
    struct operating_point point;
    (void)circuit_against_load(&held, &terminals, curve_nm, &curve, &point);

    const double raised_loss_w = raised / (1 - raised) * point.stator_loss_w;
    return (struct motor_point){
        .speed_rpm = point.speed_rpm,
        .torque = point.shaft_torque_nm / rated_torque_nm(motor),
        .current_a = point.line_current_a,
        .voltage_v = circuit_compensated_voltage_v(circuit, raised, &terminals, &point),
        .power_w = point.input_power_w + raised_loss_w,
    };
}

static struct motor_point point_without_circuit(const struct motor_data *motor, const struct load_data *load,
                                                const struct drive_output *output)
{
    const double rated_volts_per_hertz = motor->rated_voltage_v / motor->rated_frequency_hz;
    const double flux = output->frequency_hz > 0
                            ? fmax(output->voltage_v / output->frequency_hz / rated_volts_per_hertz, least_flux)
                            : 1;
    const double speed_rpm = motor->synchronous_speed_rpm * output->frequency_hz / motor->rated_frequency_hz;
    const struct load_curve curve = curve_of(motor, load);
    const double torque = load_torque_nm(&curve, speed_rpm) / rated_torque_nm(motor);
    const double magnetising_a = motor_no_load_a(motor);
    const double rated_a = motor->rated_current_a;
    const double torque_a = sqrt(fmax(rated_a * rated_a - magnetising_a * magnetising_a, 0));
    return (struct motor_point){
        .speed_rpm = speed_rpm,
        .torque = torque,
        .current_a = hypot(magnetising_a * flux, torque_a * torque / flux),
        .voltage_v = output->voltage_v,
        .power_w = torque * speed_rpm / motor->rated_speed_rpm * motor->rated_power_w / motor->efficiency,
    };
}

struct motor_point motor_point(const struct motor_data *motor, const struct circuit *circuit,
                               const struct load_data *load, const struct drive_output *output)
{
    return circuit != NULL ? point_of_circuit(motor, circuit, load, output)
                           : point_without_circuit(motor, load, output);
}
