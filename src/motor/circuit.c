/* SPDX-License-Identifier: MIT */
/* The equivalent circuit of a three-phase induction motor. */
#include "motor/circuit.h"

#include "motor/constants.h"
#include "motor/nameplate.h"

#include <complex.h>
#include <math.h>

static const double PHASES = 3;

/* Impedances and admittances of a winding at the terminals' frequency, in ohm and siemens. */
struct winding {
    double volts;
    double complex stator; /* in series */
    double complex branch; /* magnetising and core, an admittance */
    double rotor_leakage;
};

static struct winding winding_at(const struct circuit *circuit, const struct terminals *terminals)
{
    const double share = terminals->frequency_hz / circuit->frequency_hz;
    return (struct winding){
        .volts = circuit->is_delta ? terminals->voltage_v : terminals->voltage_v / SQUARE_ROOT_3,
        .stator = circuit->stator_ohm + circuit->stator_leakage_ohm * share * I,
        .branch = 1 / circuit->core_ohm - 1 / (circuit->magnetising_ohm * share) * I,
        .rotor_leakage = circuit->rotor_leakage_ohm * share,
    };
}

static double radians_per_s(double rpm)
{
    return 2 * PI * rpm / 60;
}

double circuit_synchronous_rpm(const struct circuit *circuit, double frequency_hz)
{
    return synchronous_speed_rpm(frequency_hz, circuit->poles);
}

/* Admittances stay finite at synchronous speed, where the rotor's impedance does not. */
struct operating_point circuit_at_slip(const struct circuit *circuit, const struct terminals *terminals, double slip)
{
    const struct winding winding = winding_at(circuit, terminals);
    const double complex rotor = slip / (circuit->rotor_ohm + slip * winding.rotor_leakage * I);
    const double complex behind_stator = winding.branch + rotor;
    const double complex gap_v = winding.volts / (1 + winding.stator * behind_stator);
    const double complex stator_a = gap_v * behind_stator;
    const double rotor_a = cabs(gap_v * rotor);
    const double gap_squared = creal(gap_v) * creal(gap_v) + cimag(gap_v) * cimag(gap_v);
    const double synchronous_rpm = circuit_synchronous_rpm(circuit, terminals->frequency_hz);

    struct operating_point point = {
        .slip = slip,
        .speed_rpm = synchronous_rpm * (1 - slip),
        .winding_current_a = cabs(stator_a),
        .rotor_current_a = rotor_a,
        .input_power_w = PHASES * winding.volts * creal(stator_a),
        .core_loss_w = PHASES * gap_squared / circuit->core_ohm,
        .air_gap_power_w = PHASES * gap_squared * creal(rotor),
        .rotor_loss_w = PHASES * rotor_a * rotor_a * circuit->rotor_ohm,
    };
    point.line_current_a = circuit->is_delta ? SQUARE_ROOT_3 * point.winding_current_a : point.winding_current_a;
    point.power_factor = point.winding_current_a > 0 ? creal(stator_a) / point.winding_current_a : 0;
    point.stator_loss_w = PHASES * point.winding_current_a * point.winding_current_a * circuit->stator_ohm;
    point.converted_power_w = point.air_gap_power_w - point.rotor_loss_w;
    point.torque_nm = point.air_gap_power_w / radians_per_s(synchronous_rpm);
    const double speed_share = circuit->rotational_loss_w > 0 ? point.speed_rpm / circuit->rotational_loss_rpm : 0;
    point.rotational_loss_w = circuit->rotational_loss_w * speed_share * speed_share;
    point.output_power_w = point.converted_power_w - point.rotational_loss_w;
    const double drag_nm = circuit->rotational_loss_w > 0
                               ? circuit->rotational_loss_w * speed_share / radians_per_s(circuit->rotational_loss_rpm)
                               : 0;
    point.shaft_torque_nm = point.torque_nm - drag_nm;
    const bool drives = point.input_power_w > 0 && point.output_power_w > 0;
    point.efficiency = drives ? point.output_power_w / point.input_power_w : NAN;
    return point;
}

struct operating_point circuit_at_speed(const struct circuit *circuit, const struct terminals *terminals, double rpm)
{
    return circuit_at_slip(circuit, terminals, 1 - rpm / circuit_synchronous_rpm(circuit, terminals->frequency_hz));
}

static double breakdown_slip(const struct circuit *circuit, const struct terminals *terminals)
{
    const struct winding winding = winding_at(circuit, terminals);
    const double complex source = winding.stator / (1 + winding.stator * winding.branch);
    return circuit->rotor_ohm / cabs(source + winding.rotor_leakage * I);
}

struct operating_point circuit_breakdown(const struct circuit *circuit, const struct terminals *terminals)
{
    return circuit_at_slip(circuit, terminals, breakdown_slip(circuit, terminals));
}

struct operating_point circuit_breakdown_braking(const struct circuit *circuit, const struct terminals *terminals)
{
    return circuit_at_slip(circuit, terminals, -breakdown_slip(circuit, terminals));
}

/* A machine's torque that does not depend on speed. */
static double constant_torque(const void *load, double speed_rpm)
{
    (void)speed_rpm;
    return *(const double *)load;
}

/* What the motor gives at `slip` beyond what the load asks, in N.m. */
static double excess_nm(const struct circuit *circuit, const struct terminals *terminals, load_function *load_nm,
                        const void *load, double slip)
{
    const struct operating_point point = circuit_at_slip(circuit, terminals, slip);
    return point.shaft_torque_nm - load_nm(load, point.speed_rpm);
}

/* Halves the distance between a slip of too little torque and one of enough. */
static double settle(const struct circuit *circuit, const struct terminals *terminals, load_function *load_nm,
                     const void *load, double too_little, double enough)
{
    for (int step = 0; step < 60; step++) {
        const double middle = (too_little + enough) / 2;
        if (excess_nm(circuit, terminals, load_nm, load, middle) < 0)
            too_little = middle;
        else
            enough = middle;
    }
    return enough;
}

bool circuit_at_torque(const struct circuit *circuit, const struct terminals *terminals, double shaft_torque_nm,
                       struct operating_point *point)
{
    const double most = breakdown_slip(circuit, terminals);
    const bool too_much = excess_nm(circuit, terminals, constant_torque, &shaft_torque_nm, most) < 0;
    const bool too_little = excess_nm(circuit, terminals, constant_torque, &shaft_torque_nm, -most) > 0;
    if (too_much || too_little) {
        *point = circuit_at_slip(circuit, terminals, too_much ? most : -most);
        return false;
    }
    *point =
        circuit_at_slip(circuit, terminals, settle(circuit, terminals, constant_torque, &shaft_torque_nm, -most, most));
    return true;
}

/* The first slip of enough torque between two, in steps that a load's curve does not jump over. */
static bool first_balance(const struct circuit *circuit, const struct terminals *terminals, load_function *load_nm,
                          const void *load, const double range[2], double *slip)
{
    enum { STEPS = 64 };
    double before = range[0];
    for (int step = 1; step <= STEPS; step++) {
        const double here = range[0] + (range[1] - range[0]) * step / STEPS;
        if (excess_nm(circuit, terminals, load_nm, load, here) >= 0) {
            *slip = settle(circuit, terminals, load_nm, load, before, here);
            return true;
        }
        before = here;
    }
    return false;
}

bool circuit_against_load(const struct circuit *circuit, const struct terminals *terminals, load_function *load_nm,
                          const void *load, struct operating_point *point)
{
    const double most = fmin(breakdown_slip(circuit, terminals), 1);
    double slip = 1;
    const bool turns = first_balance(circuit, terminals, load_nm, load, (const double[]){0, most}, &slip) ||
                       first_balance(circuit, terminals, load_nm, load, (const double[]){most, 1}, &slip);
    *point = circuit_at_slip(circuit, terminals, slip);
    return turns;
}

struct circuit circuit_seen_as(const struct circuit *circuit, bool is_delta)
{
    struct circuit seen = *circuit;
    if (circuit->is_delta == is_delta)
        return seen;
    const double factor = is_delta ? PHASES : 1 / PHASES;
    seen.is_delta = is_delta;
    seen.stator_ohm *= factor;
    seen.stator_leakage_ohm *= factor;
    seen.rotor_ohm *= factor;
    seen.rotor_leakage_ohm *= factor;
    seen.magnetising_ohm *= factor;
    seen.core_ohm *= factor;
    return seen;
}

struct circuit circuit_compensated(const struct circuit *circuit, double share)
{
    struct circuit compensated = *circuit;
    compensated.stator_ohm *= 1 - share;
    return compensated;
}

double circuit_compensated_voltage_v(const struct circuit *circuit, double share, const struct terminals *terminals,
                                     const struct operating_point *point)
{
    const double star_ohm = circuit_seen_as(circuit, false).stator_ohm;
    const double added_v = SQUARE_ROOT_3 * star_ohm * share * point->line_current_a;
    const double sine = sqrt(fmax(1 - point->power_factor * point->power_factor, 0));
    return hypot(terminals->voltage_v + added_v * point->power_factor, added_v * sine);
}
