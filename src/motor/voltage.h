/* SPDX-License-Identifier: MIT */
/* Voltage against frequency: base point, what a low supply takes away, boost. Pure functions. */
#ifndef ASLEFT_MOTOR_VOLTAGE_H
#define ASLEFT_MOTOR_VOLTAGE_H

#include "motor/band.h"
#include "motor/installation.h"

/* The highest output voltage, line to line in V, that a drive gives from its supply: the supply's own, twice that
 * behind a doubler; NAN where the bus is regulated or common, or the sheet does not say the voltage.
 * Source: a bridge rectifier's bus carries a sine of the supply's amplitude; drops within the drive are left out. */
double drive_highest_voltage_v(const struct supply *supply, enum front_end front_end);

/* Flux over rated flux, as volts a hertz over rated volts a hertz; starting current goes with it. All above zero.
 * Source: induced voltage = 4.44 f N flux, drop in the stator left out. */
double flux_share(double voltage_v, double frequency_hz, double rated_voltage_v, double rated_frequency_hz);

/* The frequency at which a drive of `available_v` runs out of voltage at full flux; never above `rated_hz`. It is also
 * the share of rated torque that is left at rated frequency. Source: constant volts a hertz. */
double base_frequency_on_supply_hz(double rated_v, double rated_hz, double available_v);

/* Torque that the motor gives for long at rated current, over rated torque: 1 up to base frequency, base / f above.
 * Source: constant power at constant voltage. */
double torque_share_at(double frequency_hz, double base_hz);

/* Breakdown torque over that at base frequency: 1 up to it, (base / f)^2 above. Source: flux falls as 1 / f, and
 * breakdown torque goes with its square; below base frequency the drop in the stator is left out. */
double breakdown_share_at(double frequency_hz, double base_hz);

/* Line current in A that a motor draws; efficiency and power factor per unit. Source: P / (phase factor V eta cos). */
double line_current_a(enum motor_kind kind, double power_w, double voltage_v, double efficiency, double power_factor);

/* The most that a boost is usually set to, per unit of rated voltage: what the stator's resistance drops, which is more
 * in small motors. `power_w` of one motor; NAN: of the smallest. Common practice, no source. */
double usual_boost_share(double power_w);

/* The output voltages that a drive usually gives at `frequency_hz`, above 0: volts a hertz up to the base point, less
 * where it follows a square curve or saves energy, more by a boost. Common practice, no source. */
struct band usual_output_voltage_v(double frequency_hz, double base_v, double base_hz, bool square);

/* Do the job's own base voltage and base frequency have the plate's volts a hertz, within 2 %? */
bool job_keeps_volts_per_hertz(const struct sheet *sheet, const struct nameplate *plate);

/* Checks run_to, a low supply, the boost and the kind of motor; adds a bound for the boost. */
void voltage_check(const struct installation *installation, struct setpoints *setpoints);

#endif
