/* SPDX-License-Identifier: MIT */
/* The symbols in which the worksheet writes its formulas. */
#ifndef ASLEFT_MOTOR_SYMBOLS_H
#define ASLEFT_MOTOR_SYMBOLS_H

#include "types/means.h"

/* The symbol of a quantity in plain ASCII, "I_N"; NULL for words, texts and codes. After the usage of IEC 60027-1 and
 * IEC 60034-1, N for rated values and p for the number of poles, not pairs, as 120 f / p takes it; from memory. The
 * settings of a drive, which those do not name, have symbols of our own. */
const char *symbol_of(enum means means);

/* The same for a means by its name, "motor.rated_current"; NULL also for a name that is none, or NULL. */
const char *symbol_named(const char *means);

#endif
