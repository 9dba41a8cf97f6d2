/* SPDX-License-Identifier: MIT */
/* What happens to a simulated drive as a whole: its power goes, its settings are reset, it is exchanged. */
#ifndef ASLEFT_SIM_POWER_H
#define ASLEFT_SIM_POWER_H

#include "sim/drive.h"
#include "types/error.h"

/* Power goes, and returns after `off_us` >= 0: the motor has stopped, a trip is reset, working memory is lost, and what
 * lasts is in effect. Until then the drive hears nothing. */
void power_cycle(struct drive *drive, int64_t off_us);

/* Every settable parameter gets its default for good, or something harmless where the map has none; commands stay as
 * they are. False, and nothing done, while the motor turns. */
bool power_factory_reset(struct drive *drive);

/* Another drive of the same model: stopped, with factory settings, that serial number, and unworn memory. The wires on
 * its terminals are the old ones. False, and nothing done, where the map has no drive.serial_number or that cannot hold
 * `serial` (ERROR_USE). */
bool power_exchange(struct drive *drive, const char *serial, struct error *error);

/* Could power_exchange do it? Leaves the drive as it is. */
bool power_can_exchange(struct drive *drive, const char *serial, struct error *error);

#endif
