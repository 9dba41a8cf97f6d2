/* SPDX-License-Identifier: MIT */
/* Numbers as texts within a sentence. */
#ifndef ASLEFT_MOTOR_FIGURE_H
#define ASLEFT_MOTOR_FIGURE_H

#include "types/quantity.h"

struct figure {
    char text[48];
};

/* Four significant digits, whole from 1000 on, without trailing zeros: "1.833", "2528", "60". */
struct figure figure(double value);

/* The same with `unit` behind it; `base` is in the base unit of the unit's dimension: "1.491 kW". */
struct figure figure_in(double base, enum unit unit);

/* A quantity as it was written: "3.0 A". */
struct figure figure_written(const struct quantity *quantity);

#endif
