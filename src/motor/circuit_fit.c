/* SPDX-License-Identifier: MIT */
/* Finding an equivalent circuit. */
#include "motor/circuit_fit.h"

#include "motor/constants.h"

#include <complex.h>
#include <math.h>

bool circuit_of_point(const struct known_point *known, struct circuit *circuit)
{
    const double sine = sqrt(1 - known->power_factor * known->power_factor);
    const double complex stator_a = known->line_current_a * (known->power_factor - sine * I);
    const double complex gap_v =
        known->voltage_v / SQUARE_ROOT_3 - stator_a * (known->stator_ohm + known->leakage_ohm[0] * I);
    const double complex crossing_va = gap_v * conj(stator_a);
    const double gap_squared = creal(gap_v * conj(gap_v));
    const double core_w = known->core_loss_w / 3;
    const double rotor_w = creal(crossing_va) - core_w;
    if (!(rotor_w > 0))
        return false;

    /* Power of the rotor branch: E^2 r / (r^2 + X^2) with r = R / slip. The larger root is the stable side. */
    const double half = gap_squared / rotor_w / 2;
    const double leakage = known->leakage_ohm[1];
    if (!(half > leakage))
        return false;
    const double rotor_over_slip = half + sqrt(half * half - leakage * leakage);
    const double rotor_var = rotor_w * leakage / rotor_over_slip;
    const double magnetising_var = cimag(crossing_va) - rotor_var;
    if (!(magnetising_var > 0))
        return false;

    *circuit = (struct circuit){
        .poles = known->poles,
        .frequency_hz = known->frequency_hz,
        .stator_ohm = known->stator_ohm,
        .stator_leakage_ohm = known->leakage_ohm[0],
        .rotor_ohm = rotor_over_slip * known->slip,
        .rotor_leakage_ohm = leakage,
        .magnetising_ohm = gap_squared / magnetising_var,
        .core_ohm = core_w > 0 ? gap_squared / core_w : INFINITY,
        .rotational_loss_w = known->rotational_loss_w,
    };
    circuit->rotational_loss_rpm = circuit_synchronous_rpm(circuit, known->frequency_hz) * (1 - known->slip);
    return true;
}

/* Resistance and reactance of a winding that draws this power and current. */
static double complex measured_ohm(double voltage_v, double current_a, double power_w)
{
    const double resistance = power_w / (3 * current_a * current_a);
    const double impedance = voltage_v / SQUARE_ROOT_3 / current_a;
    return resistance + sqrt(impedance * impedance - resistance * resistance) * I;
}

struct circuit circuit_of_tests(const struct bench_test *test)
{
    const double complex blocked =
        measured_ohm(test->blocked_voltage_v, test->blocked_current_a, test->blocked_power_w);
    const double complex idle = measured_ohm(test->idle_voltage_v, test->idle_current_a, test->idle_power_w);
    const double leakage = cimag(blocked) * test->rated_frequency_hz / test->blocked_frequency_hz;

    struct circuit circuit = {
        .poles = test->poles,
        .frequency_hz = test->rated_frequency_hz,
        .stator_ohm = test->dc_voltage_v / test->dc_current_a / 2,
        .stator_leakage_ohm = leakage * test->stator_share,
        .rotor_leakage_ohm = leakage * (1 - test->stator_share),
        .core_ohm = INFINITY,
    };
    circuit.rotor_ohm = creal(blocked) - circuit.stator_ohm;
    circuit.magnetising_ohm =
        cimag(idle) * test->rated_frequency_hz / test->idle_frequency_hz - circuit.stator_leakage_ohm;
    circuit.rotational_loss_w =
        test->idle_power_w - 3 * test->idle_current_a * test->idle_current_a * circuit.stator_ohm;
    circuit.rotational_loss_rpm = circuit_synchronous_rpm(&circuit, test->idle_frequency_hz);
    return circuit;
}
