/* SPDX-License-Identifier: MIT */
/* Keys that stand for more than a keypad: power, terminals, another drive, another state. */
#ifndef ASLEFT_SIM_KEYPAD_DRIVE_H
#define ASLEFT_SIM_KEYPAD_DRIVE_H

#include "sim/drive.h"

/* Each takes what stands behind the word, and returns its answer, owned by the caller, without newline. */
char *keypad_power_cycle(struct drive *drive, const char *rest); /* "" or a time: how long it has no power */
char *keypad_factory_reset(struct drive *drive, const char *rest);
char *keypad_exchange(struct drive *drive, const char *rest);    /* the other drive's serial number */
char *keypad_run_command(struct drive *drive, const char *rest); /* on or off */
char *keypad_enable(struct drive *drive, const char *rest);
char *keypad_state(struct drive *drive, const char *rest); /* a word of the map's live.state, or "own" */
char *keypad_wear(struct drive *drive, const char *rest);

#endif
