/* SPDX-License-Identifier: MIT */
/* The bridge between registers and motor: settings that the motor runs by, and live registers that show it. */
#ifndef ASLEFT_SIM_LIVE_H
#define ASLEFT_SIM_LIVE_H

#include "sim/drive.h"

/* The motor on the drive: the sheet's connected column, else what the registers hold, else a 4-pole motor of 1.5 kW
 * for 400 V and 50 Hz. The same for the load: the sheet's, else square law with 80 % at rated speed. */
struct motor_data live_motor(const struct drive *drive);
struct load_data live_load(const struct drive *drive);

/* What the registers that are in effect make the motor do. A ramp register that is missing or useless counts as 10 s to
 * the base frequency. */
struct drive_settings live_settings(const struct drive *drive);

/* Writes what the motor does now into all live registers that are not pinned. */
void live_show(struct drive *drive);

#endif
