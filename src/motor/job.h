/* SPDX-License-Identifier: MIT */
/* What the job asks for, in numbers: the sheet's settings. Pure functions. */
#ifndef ASLEFT_MOTOR_JOB_H
#define ASLEFT_MOTOR_JOB_H

#include "motor/band.h"
#include "motor/nameplate.h"
#include "types/setpoints.h"
#include "types/sheet.h"

/* The ends that a setting gives, in base units; -INFINITY and INFINITY where it leaves them open, nominal NAN unless it
 * asks for one value. False for a word, and where a unit is not of the means' dimension (a percentage of something). */
bool setting_band(const struct setting *setting, struct band *band);

/* The highest frequency in Hz that the job lets the drive give: limit.maximum_frequency; NAN where it does not say. */
double job_maximum_frequency_hz(const struct sheet *sheet);

/* What a ramp setting spans: as it says, else from 0 to the job's maximum frequency, else to the rated one. False where
 * none of them is known. */
bool setting_ramp_span(const struct sheet *sheet, const struct nameplate *plate, const struct setting *setting,
                       double *from_hz, double *to_hz);

/* Adds a setpoint for each setting, in place of one that the nameplate gave for the same means; where the two
 * contradict, an implausible finding says so. */
void job_setpoints(const struct sheet *sheet, const struct map *map, const struct nameplate *plate,
                   struct setpoints *setpoints);

/* Widens a setpoint by the sheet's allowance for it, if there is one. */
void job_allow(const struct sheet *sheet, const struct map *map, struct setpoint *setpoint);

#endif
