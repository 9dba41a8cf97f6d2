/* SPDX-License-Identifier: MIT */
/* The exact definitions that conversions and formulas rest on. */
#ifndef ASLEFT_MOTOR_CONSTANTS_H
#define ASLEFT_MOTOR_CONSTANTS_H

/* Source: international yard and pound agreement of 1959; standard gravity of the 3rd CGPM, 1901. All exact. */
#define METRES_PER_FOOT              0.3048
#define KILOGRAMS_PER_POUND          0.45359237
#define STANDARD_GRAVITY             9.80665
#define NEWTON_METRES_PER_POUND_FOOT (KILOGRAMS_PER_POUND * STANDARD_GRAVITY * METRES_PER_FOOT)
/* 550 foot-pounds-force a second = 745.69987158227022 W */
#define WATTS_PER_HORSEPOWER (550 * NEWTON_METRES_PER_POUND_FOOT)

#define SQUARE_ROOT_2 1.4142135623730950488
#define SQUARE_ROOT_3 1.7320508075688772935
#define PI            3.1415926535897932385

#endif
