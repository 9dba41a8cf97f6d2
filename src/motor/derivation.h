/* SPDX-License-Identifier: MIT */
/* How what follows from the nameplate comes about, for a person who computes it by hand. */
#ifndef ASLEFT_MOTOR_DERIVATION_H
#define ASLEFT_MOTOR_DERIVATION_H

#include "motor/nameplate.h"
#include "types/setpoints.h"
#include "types/sheet.h"

/* Number of poles from the plate: the next synchronous speed above for motors with slip, the nearest for others. The
 * formula is static; the numbers, which need frequency and speed on the plate, are the caller's. */
const char *poles_formula(enum motor_kind kind);
char *poles_numbers(const struct nameplate *plate);

/* Fills `derivations` of setpoints whose `derived` is complete: one for each figure of it that is known and has a
 * formula of one line. Source of the formulas: nameplate.h and dc_bus.h, where the figures are computed. */
void derivations_compute(const struct sheet *sheet, const struct nameplate *plate, struct setpoints *setpoints);

#endif
