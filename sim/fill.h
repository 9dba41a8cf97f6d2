/* SPDX-License-Identifier: MIT */
/* What a simulated drive holds before anybody turns a knob: factory defaults, and what its sheet asks for. */
#ifndef ASLEFT_SIM_FILL_H
#define ASLEFT_SIM_FILL_H

#include "sim/drive.h"

/* Every parameter that is not pinned gets what identity says, else its default, else something harmless: 0, the
 * nearest that it accepts, the first choice. */
void fill_factory(struct drive *drive);

/* Every settable parameter but commands is unpinned, and gets the same. */
void fill_settable(struct drive *drive);

/* The raw value of the map's default. False where it has none, and for texts. */
bool fill_default_raw(const struct drive *drive, size_t parameter, uint32_t *raw);

/* Every parameter that is not pinned and has a setpoint gets it, by its own unit, scale, base and ramp span; those of
 * all sets and conditions, so that nothing is wrong when a selector changes. What locks others is unlocked, and the
 * network watchdog is off. Needs a sheet. */
void fill_right(struct drive *drive);

#endif
