/* SPDX-License-Identifier: MIT */
/* Where a sheet contradicts itself or physics. Each finding says what is wrong with its figures and what to look at. */
#ifndef ASLEFT_MOTOR_PLAUSIBILITY_H
#define ASLEFT_MOTOR_PLAUSIBILITY_H

#include "motor/band.h"
#include "motor/nameplate.h"
#include "types/finding.h"
#include "types/sheet.h"

/* All checks of a sheet. */
void plausibility_check(const struct sheet *sheet, const struct nameplate *plate, struct findings *findings);

/* Parts of it. */
void plausibility_of_speed(const struct nameplate *plate, struct findings *findings);
void plausibility_of_current(const struct nameplate *plate, struct findings *findings);
void plausibility_of_columns(const struct motor *motor, struct findings *findings);
void plausibility_of_installation(const struct sheet *sheet, const struct nameplate *plate, struct findings *findings);
void plausibility_of_settings(const struct sheet *sheet, const struct nameplate *plate, struct findings *findings);

/* Appends an implausible finding; `means` is copied, `basis` is taken over. It moves when the next one is added. */
struct finding *plausibility_add(struct findings *findings, const char *means, enum stake stake, enum source source,
                                 char *basis);

/* Adds what was expected and what was found, both given in base units and stored in `unit`. */
void plausibility_figures(struct finding *finding, struct band expected, double found, enum unit unit);

#endif
