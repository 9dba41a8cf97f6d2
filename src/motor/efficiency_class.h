/* SPDX-License-Identifier: MIT */
/* Efficiencies that the classes of IEC 60034-30-1 ask of motors. Pure functions. */
#ifndef ASLEFT_MOTOR_EFFICIENCY_CLASS_H
#define ASLEFT_MOTOR_EFFICIENCY_CLASS_H

#include "motor/installation.h"

enum efficiency_class { CLASS_IE2, CLASS_IE3, CLASS_IE4 };
enum { CLASS_COUNT = 3 };

/* The least efficiency, per unit and rounded to 0.1 %, of a 50 Hz motor of that class: a polynomial of the logarithm of
 * its power, 0.75 to 200 kW, 2 to 8 poles; NAN outside. Source: coefficients of IEC 60034-30-1 as read in UK SI
 * 2021/745, schedule 16, table 28. */
double class_efficiency(enum efficiency_class class, unsigned poles, double power_w);

/* Doubts a plate whose losses are far below those of the best class: exchanged digits, or another figure. */
void efficiency_check(const struct installation *installation, struct setpoints *setpoints);

#endif
