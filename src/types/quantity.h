/* SPDX-License-Identifier: MIT */
/* A number with its unit, as a person wrote it. Conversions are in motor/quantity.h. */
#ifndef ASLEFT_TYPES_QUANTITY_H
#define ASLEFT_TYPES_QUANTITY_H

#include <stdbool.h>

/* What is measured. All arithmetic runs in one base unit a dimension, named behind it. */
enum dimension {
    DIMENSION_NONE,         /* a bare number, or a word */
    DIMENSION_POWER,        /* W */
    DIMENSION_VOLTAGE,      /* V */
    DIMENSION_CURRENT,      /* A */
    DIMENSION_FREQUENCY,    /* Hz */
    DIMENSION_SPEED,        /* rpm */
    DIMENSION_TIME,         /* s */
    DIMENSION_RATIO,        /* per unit */
    DIMENSION_RESISTANCE,   /* ohm */
    DIMENSION_TORQUE,       /* N.m */
    DIMENSION_INERTIA,      /* kg.m2 */
    DIMENSION_TEMPERATURE,  /* degC */
    DIMENSION_LENGTH,       /* m */
    DIMENSION_RATE,         /* Hz/s */
    DIMENSION_INVERSE_RATE, /* s/Hz */
    DIMENSION_SPEED_RATE,   /* rpm/s */
};

enum unit {
    UNIT_NONE,
    UNIT_W,
    UNIT_KW,
    UNIT_HP,
    UNIT_V,
    UNIT_A,
    UNIT_MA,
    UNIT_HZ,
    UNIT_KHZ,
    UNIT_RPM,
    UNIT_S,
    UNIT_MS,
    UNIT_MIN,
    UNIT_H,
    UNIT_PERCENT,
    UNIT_PER_UNIT,
    UNIT_OHM,
    UNIT_NM,
    UNIT_LBFT,
    UNIT_KGM2,
    UNIT_LBFT2,
    UNIT_DEGC,
    UNIT_M,
    UNIT_FT,
    UNIT_HZ_PER_S,
    UNIT_S_PER_HZ,
    UNIT_RPM_PER_S,
    UNIT_COUNT, /* how many there are, for tables */
};

struct quantity {
    bool given;   /* false: the sheet or map does not say */
    double value; /* in `unit` */
    enum unit unit;
    double rounding; /* half of the last digit that was written, in `unit`, >= 0: "3.0 A" has 0.05 */
};

#endif
