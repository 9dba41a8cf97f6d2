/* SPDX-License-Identifier: MIT */
/* The DC bus: what it carries under load, and the levels set against that. Pure functions. */
#ifndef ASLEFT_MOTOR_DC_BUS_H
#define ASLEFT_MOTOR_DC_BUS_H

#include "motor/band.h"
#include "motor/installation.h"

/* The mean voltage of the loaded bus behind a rectifier: 3 sqrt(2) / pi V on three phases; on one phase at least
 * 2 sqrt(2) / pi V, what is left where the capacitors are too small; twice that behind a doubler. NAN as for
 * dc_bus_voltage_v. Source: mean of a rectified sine, six and two pulses. */
double dc_bus_loaded_v(const struct supply *supply, enum front_end front_end);

/* What a live reading may be: from the loaded bus at -10 % supply to the idle one at +10 %, the idle one as nominal.
 * Source for 10 %: IEC 60038, supply terminals; NEMA MG 1 12.44.1 has the same for motors. */
struct band dc_bus_range_v(const struct supply *supply, enum front_end front_end);

/* The line voltages that a bus of `bus_v` can come from: all of it idle, to all of it loaded, on three phases. */
struct band supply_of_dc_bus_v(double bus_v);

/* Levels of chopper and trip against the bus and each other. */
void dc_bus_check(const struct installation *installation, struct setpoints *setpoints);

#endif
