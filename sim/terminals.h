/* SPDX-License-Identifier: MIT */
/* The run command and the enable on a simulated drive's terminals, and what they do. */
#ifndef ASLEFT_SIM_TERMINALS_H
#define ASLEFT_SIM_TERMINALS_H

#include "sim/drive.h"

/* Starts and stops the motor as the wires ask: where the start source's word is "terminals" and run command and enable
 * are on, it starts, and without the run command it stops again. Only what has changed since the last call counts; so
 * after a trip, or when power returns, a start takes a new run command. A wired run command also starts at the moment
 * that the start source becomes `terminals`. */
void terminals_act(struct drive *drive);

/* What the wires ask for now counts as seen: it starts nothing. */
void terminals_settle(struct drive *drive);

/* Opens or closes the wire. An opened enable lets any running motor coast. */
void terminals_run_command(struct drive *drive, bool on);
void terminals_enable(struct drive *drive, bool on);

/* What the drive's status shows: the wire, or for a motor that was started at the keypad, that it has been. */
bool terminals_show_run_command(const struct drive *drive);
bool terminals_show_enable(const struct drive *drive);

#endif
