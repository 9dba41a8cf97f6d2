/* SPDX-License-Identifier: MIT */
/* Between raw values and engineering values, as the simulated drive's own selectors and bases have it now. */
#ifndef ASLEFT_SIM_SCALING_H
#define ASLEFT_SIM_SCALING_H

#include "sim/drive.h"

/* The unit of the number in the register: the map's, or the one that unit_by selects. A percentage has UNIT_PERCENT
 * where the map names none. */
enum unit scaling_unit(const struct drive *drive, size_t parameter);

/* What the value is once it is worked out: the dimension of that unit, or of a percentage's base. */
enum dimension scaling_dimension(const struct drive *drive, size_t parameter);

/* What one raw step is worth in the register's unit, > 0. */
double scaling_step(const struct drive *drive, size_t parameter);

/* The number in the register, or of a raw value if it stood there, in the register's unit. */
double scaling_number(const struct drive *drive, size_t parameter);
double scaling_number_of_raw(const struct drive *drive, size_t parameter, uint32_t raw);

/* The value, in the base unit of its dimension. False where it is a special or no value, or its base is not known. */
bool scaling_value(const struct drive *drive, size_t parameter, double *value);

/* The nearest raw value for a number in the register's unit, and for a value in the base unit of its dimension.
 * False where the register cannot hold it or a percentage's base is not known. */
bool scaling_raw_of_number(const struct drive *drive, size_t parameter, double number, uint32_t *raw);
bool scaling_raw_of_value(const struct drive *drive, size_t parameter, double value, uint32_t *raw);

/* As scaling_raw_of_value, for a quantity in a unit of either kind: a percentage as such, or a value of its base.
 * False also where the unit is of another dimension. A bare number is in the register's unit. */
bool scaling_raw_of_quantity(const struct drive *drive, size_t parameter, const struct quantity *quantity,
                             uint32_t *raw);

/* The drive's own value for a means, from its registers, in the base unit; NAN where it has none. */
double scaling_means(const struct drive *drive, enum means means);

#endif
