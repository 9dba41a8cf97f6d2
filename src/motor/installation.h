/* SPDX-License-Identifier: MIT */
/* Motor, drive, supply and job together, as the checks of limits and hazards look at them. Pure functions. */
#ifndef ASLEFT_MOTOR_INSTALLATION_H
#define ASLEFT_MOTOR_INSTALLATION_H

#include "motor/band.h"
#include "motor/load_curve.h"
#include "motor/nameplate.h"
#include "types/map.h"
#include "types/setpoints.h"
#include "types/sheet.h"

struct installation {
    const struct sheet *sheet;
    const struct map *map;
    const struct nameplate *plate; /* the connected column */
    struct nameplate work;         /* what the motor is run at: with run_to's voltage and frequency, else the plate */
    unsigned motors;               /* on this drive, at least 1 */
    double base_hz;                /* up to here voltage rises with frequency: less than rated on too low a supply */
    double base_v;                 /* the voltage there */
    struct band rated_torque_nm;   /* of one motor; unknown where power or speed are */
    struct load_curve load;        /* of one motor's shaft, with the least torque that rounding leaves; NAN: unknown */
    struct band load_share;        /* its torque at rated speed over the motor's; unknown without load.torque */
};

/* `plate` outlives the installation. */
void installation_read(const struct sheet *sheet, const struct map *map, const struct nameplate *plate,
                       struct installation *installation);

/* The job's setting of that means, named by the means or by the map's parameter for it; or NULL. */
const struct setting *installation_setting(const struct installation *installation, enum means means);

/* The same as a word: a number is looked up in the parameter's choices, and one bit is "true" or "false". NULL where
 * the job says nothing of it, or a number without a word. */
const char *installation_word(const struct installation *installation, enum means means);

/* The same as numbers in the base unit; false where the job says nothing of it, or a word. */
bool installation_band(const struct installation *installation, enum means means, struct band *band);

/* Does the map have it, and the job not say it? Then a setpoint of ours can tell what it should be. */
bool installation_leaves_open(const struct installation *installation, enum means means);

/* The sheet contradicts itself: an implausible finding. `means` is copied, `basis` taken over. */
struct finding *installation_refuse(struct setpoints *setpoints, const char *means, enum stake stake, char *basis);

/* An estimate or common practice speaks against the sheet: an unchecked finding, a doubt. */
struct finding *installation_doubt(struct setpoints *setpoints, const char *means, enum stake stake, char *basis);

/* The same about a setting of the job: `means` becomes "sheet.settings.NAME" as the job wrote it. */
struct finding *setting_refuse(struct setpoints *setpoints, const struct setting *setting, enum stake stake,
                               char *basis);
struct finding *setting_doubt(struct setpoints *setpoints, const struct setting *setting, enum stake stake,
                              char *basis);

/* Adds a setpoint that follows from the installation, in base units, shown in `unit`; `basis` is taken over. */
void installation_setpoint(const struct installation *installation, struct setpoints *setpoints, enum means means,
                           struct band band, enum unit unit, enum source source, char *basis);

#endif
