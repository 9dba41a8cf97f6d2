/* SPDX-License-Identifier: MIT */
/* Units and numbers: reading, converting, showing. Pure functions. */
#ifndef ASLEFT_MOTOR_QUANTITY_H
#define ASLEFT_MOTOR_QUANTITY_H

#include "types/error.h"
#include "types/quantity.h"

#include <stdbool.h>
#include <stddef.h>

/* The unit's usual spelling ("kg.m2", "%", "per unit", "degC"; "" for UNIT_NONE), its dimension, and the dimension's
 * name for messages ("a power", "a frequency"). */
const char *unit_name(enum unit unit);
enum dimension unit_dimension(enum unit unit);
const char *dimension_name(enum dimension dimension);

/* The base unit of a dimension: UNIT_W, UNIT_V ...; UNIT_NONE for DIMENSION_NONE. */
enum unit dimension_unit(enum dimension dimension);

/* Finds a unit by any accepted spelling ("kW", "ohm", the Greek letter, "degC", "°C", "N.m", "Nm", "per unit").
 * Spellings are exact in case: "mA" is not "MA". */
bool unit_find(const char *text, enum unit *unit);

/* The unit whose spelling is nearest, for "did you mean"; NULL where none is near. */
const char *unit_suggest(const char *text);

/* Conversion between `unit` and the base unit of its dimension. Temperatures are degC throughout. */
double unit_to_base(double value, enum unit unit);
double unit_from_base(double value, enum unit unit);
double quantity_base(const struct quantity *quantity);          /* NAN where it is not given */
double quantity_rounding_base(const struct quantity *quantity); /* its rounding in the base unit; 0 where not given */

/* Reads a plain decimal number: optional sign, digits, optional point and digits, optional exponent only with
 * `allow_exponent`. "010", "1:30", "1_000", "0,1", "", " 1", "inf" and "nan" are errors that say why.
 * `rounding` gets half of the last written digit ("3.0" 0.05, "1745" 0.5). Independent of the locale. */
bool number_parse(const char *text, bool allow_exponent, double *value, double *rounding, struct error *error);

/* Reads "NUMBER UNIT" whose unit must be of `dimension`; "10" where a unit is due, and a wrong kind of unit, are errors
 * that say what was expected. DIMENSION_NONE takes a bare number. The error's kind is ERROR_FILE. */
bool quantity_parse(const char *text, enum dimension dimension, struct quantity *quantity, struct error *error);

/* Writes `value` with as many decimals as a step of `step` needs (0.01 -> 2; at most 6; step <= 0: 6 significant
 * digits without trailing zeros), always with a decimal point, never "-0". Returns `text`. */
const char *number_format(double value, double step, char *text, size_t size);

/* Writes a quantity as it was written: "3.0 A", "86.5 %"; "" where it is not given. Returns `text`. */
const char *quantity_format(const struct quantity *quantity, char *text, size_t size);

#endif
