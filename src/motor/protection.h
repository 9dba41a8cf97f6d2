/* SPDX-License-Identifier: MIT */
/* Whether motors and braking resistor are protected against burning, as far as the sheet tells. */
#ifndef ASLEFT_MOTOR_PROTECTION_H
#define ASLEFT_MOTOR_PROTECTION_H

#include "types/finding.h"
#include "types/sheet.h"

/* Appends to `implausible` what the sheet says and must not be (several motors without overloads of their own, an
 * overload that does not trip, a braking resistor without a thermal switch or of too little resistance), and to `open`
 * what it does not say of these. Sources: several motors and the action, NEC 430.32 (each motor is protected) with the
 * reasoning that one sum of currents does not show which motor is overloaded; the resistor, common practice. */
void protection_check(const struct sheet *sheet, struct findings *implausible, struct findings *open);

#endif
