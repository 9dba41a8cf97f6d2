/* SPDX-License-Identifier: MIT */
/* Values as a person types and reads them: `motor_current=6.0 A`, "6.00 A (raw 0x0258)". */
#ifndef ASLEFT_SIM_ASSIGN_H
#define ASLEFT_SIM_ASSIGN_H

#include "sim/drive.h"
#include "types/error.h"

#include <stddef.h>

/* Sets a parameter, whether or not the drive would let the line write it, and pins it. `text` is NAME=VALUE; VALUE is
 * a quantity ("6.0 A", converted to the register's unit or percentage), a bare number in the register's unit, a word
 * of its choices or special values, bit names with commas between ("none" for no bit), true or false, a text, or
 * "raw 0x0258"; spaces round the sign do not count. `parameter` (may be NULL) gets its index. On failure the error
 * (ERROR_USE) says what was expected and what may have been meant. */
bool assign(struct drive *drive, const char *text, size_t *parameter, struct error *error);

/* The same for one parameter and the VALUE alone; does not pin it. */
bool assign_value(struct drive *drive, size_t parameter, const char *value, struct error *error);

/* Index of the parameter of that name, or PARAMETER_NOT_FOUND with an error that suggests the nearest. */
size_t assign_find(const struct map *map, const char *name, struct error *error);

/* What a parameter holds, in one line without newline: "motor_current: 6.00 A (raw 0x0258)". free() it. */
char *assign_show(const struct drive *drive, size_t parameter);

#endif
