/* SPDX-License-Identifier: MIT */
/* Values as a person reads them. The results are owned by the caller. */
#ifndef ASLEFT_MOTOR_SHOW_H
#define ASLEFT_MOTOR_SHOW_H

#include "types/quantity.h"
#include "types/value.h"

/* "6.00 A": with as many decimals as a step of `step` needs (0: six significant digits). */
char *show_number(double number, enum unit unit, double step);

/* The same of a value; its word, text, or list of bit names; "-" where it is none. */
char *show_value(const struct value *value, enum unit unit, double step);

#endif
