/* SPDX-License-Identifier: MIT */
/* Motor, drive, supply and job together, as the checks of limits and hazards look at them. */
#include "motor/installation.h"

#include "motor/constants.h"
#include "motor/job.h"
#include "motor/plausibility.h"
#include "motor/quantity.h"
#include "motor/voltage.h"

#include <math.h>
#include <stdlib.h>

static struct band torque_of(struct band power_w, struct band speed_rpm)
{
    return band_ratio(power_w, band_scaled(speed_rpm, 2 * PI / 60));
}

void installation_read(const struct sheet *sheet, const struct map *map, const struct nameplate *plate,
                       struct installation *installation)
{
    *installation = (struct installation){.sheet = sheet,
                                          .map = map,
                                          .plate = plate,
                                          .work = *plate,
                                          .motors = sheet->motors.count > 1 ? sheet->motors.count : 1};
    (void)nameplate_extend(&sheet->motor, plate, &installation->work);
    double rated_v = installation->work.bands[FIELD_VOLTAGE].nominal;
    double rated_hz = installation->work.bands[FIELD_FREQUENCY].nominal;
    double most_v = drive_highest_voltage_v(&sheet->supply, sheet->drive.front_end);
    /* a plate's range is met by any voltage within it */
    bool too_low = most_v < installation->work.bands[FIELD_VOLTAGE].low;
    installation->base_v = too_low ? most_v : rated_v;
    installation->base_hz = too_low ? base_frequency_on_supply_hz(rated_v, rated_hz, most_v) : rated_hz;
    installation->rated_torque_nm = torque_of(plate->bands[FIELD_POWER], plate->bands[FIELD_SPEED]);
    struct band load_nm = band_of(&sheet->load.torque_at_rated_speed);
    double static_share = quantity_base(&sheet->load.static_share);
    installation->load = (struct load_curve){.shape = sheet->load.torque,
                                             .rated_torque_nm = load_nm.low,
                                             .rated_speed_rpm = plate->bands[FIELD_SPEED].nominal,
                                             .static_share = static_share >= 0 && static_share <= 1 ? static_share : 0};
    installation->load_share = band_unknown();
    if (sheet->load.torque != LOAD_UNSAID)
        installation->load_share = band_ratio(load_nm, installation->rated_torque_nm);
}

const struct setting *installation_setting(const struct installation *installation, enum means means)
{
    const struct sheet *sheet = installation->sheet;
    const struct setting *setting = sheet_setting(sheet, means);
    for (size_t i = 0; setting == NULL && i < sheet->setting_count; i++) {
        const struct setting *named = &sheet->settings[i];
        size_t index = named->means == MEANS_NONE ? map_find(installation->map, named->name) : PARAMETER_NOT_FOUND;
        if (index != PARAMETER_NOT_FOUND && installation->map->parameters[index].means == means)
            setting = named;
    }
    return setting;
}

static const char *word_of_raw(const struct named_raws *list, double raw)
{
    for (size_t i = 0; i < list->count; i++)
        if ((double)list->items[i].raw == raw)
            return list->items[i].word;
    return NULL;
}

const char *installation_word(const struct installation *installation, enum means means)
{
    const struct setting *setting = installation_setting(installation, means);
    if (setting == NULL || setting->kind == SETTING_WORD)
        return setting == NULL ? NULL : setting->word;
    size_t index = map_find_means(installation->map, means, 0);
    if (setting->kind != SETTING_QUANTITY || setting->low.unit != UNIT_NONE || index == PARAMETER_NOT_FOUND)
        return NULL;
    const struct parameter *parameter = &installation->map->parameters[index];
    const char *word = word_of_raw(&parameter->choices, setting->low.value);
    if (word == NULL)
        word = word_of_raw(&parameter->special, setting->low.value);
    if (word == NULL && parameter->type == TYPE_BOOL)
        word = setting->low.value == 0 ? "false" : "true";
    return word;
}

bool installation_band(const struct installation *installation, enum means means, struct band *band)
{
    const struct setting *setting = installation_setting(installation, means);
    if (setting == NULL)
        return false;
    if (setting->means != MEANS_NONE)
        return setting_band(setting, band);
    struct setting by_means = *setting;
    by_means.means = means;
    return setting_band(&by_means, band);
}

bool installation_leaves_open(const struct installation *installation, enum means means)
{
    return map_find_means(installation->map, means, 0) != PARAMETER_NOT_FOUND &&
           installation_setting(installation, means) == NULL;
}

struct finding *installation_refuse(struct setpoints *setpoints, const char *means, enum stake stake, char *basis)
{
    return plausibility_add(&setpoints->implausible, means, stake, SOURCE_DERIVED, basis);
}

struct finding *installation_doubt(struct setpoints *setpoints, const char *means, enum stake stake, char *basis)
{
    struct finding *finding = plausibility_add(&setpoints->doubts, means, stake, SOURCE_ESTIMATE, basis);
    finding->verdict = VERDICT_UNCHECKED;
    return finding;
}

struct finding *setting_refuse(struct setpoints *setpoints, const struct setting *setting, enum stake stake,
                               char *basis)
{
    char *means = text_format("sheet.settings.%s", setting->name);
    struct finding *finding = installation_refuse(setpoints, means, stake, basis);
    finding->source = SOURCE_JOB;
    free(means);
    return finding;
}

struct finding *setting_doubt(struct setpoints *setpoints, const struct setting *setting, enum stake stake, char *basis)
{
    char *means = text_format("sheet.settings.%s", setting->name);
    struct finding *finding = installation_doubt(setpoints, means, stake, basis);
    free(means);
    return finding;
}

void installation_setpoint(const struct installation *installation, struct setpoints *setpoints, enum means means,
                           struct band band, enum unit unit, enum source source, char *basis)
{
    struct setpoint setpoint = {.means = means,
                                .kind = SETPOINT_RANGE,
                                .low = band.low,
                                .nominal = band.nominal,
                                .high = band.high,
                                .unit = unit,
                                .source = source,
                                .stake = means_table[means].stake};
    setpoint.basis = basis;
    job_allow(installation->sheet, installation->map, &setpoint);
    setpoints->items = memory_grow(setpoints->items, setpoints->count, sizeof *setpoints->items);
    setpoints->items[setpoints->count++] = setpoint;
}
