/* SPDX-License-Identifier: MIT */
/* What the job asks for: from the sheet's settings to setpoints. */
#include "motor/job.h"

#include "motor/figure.h"
#include "motor/plausibility.h"
#include "motor/quantity.h"
#include "motor/voltage.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The quantity whose unit a setting is shown in. */
static const struct quantity *main_quantity(const struct setting *setting)
{
    return setting->kind == SETTING_AT_MOST ? &setting->high : &setting->low;
}

/* A number of a setting: in the base unit of its means' dimension; as written where the means has no dimension or the
 * setting names a parameter (two bounds in different units in that of the first). NAN where the unit does not fit. */
static double setting_number(const struct setting *setting, const struct quantity *quantity)
{
    enum dimension due = means_table[setting->means].dimension;
    if (quantity->unit == UNIT_NONE)
        return quantity->value;
    if (due == DIMENSION_NONE)
        return unit_from_base(quantity_base(quantity), main_quantity(setting)->unit);
    return unit_dimension(quantity->unit) == due ? quantity_base(quantity) : NAN;
}

/* The band of numbers `low` and `high` that a setting of that kind leaves. */
static bool band_of_kind(enum setting_kind kind, double low, double high, struct band *band)
{
    switch (kind) {
    case SETTING_WORD:
        return false;
    case SETTING_QUANTITY:
    case SETTING_RAMP:
        *band = band_exact(low);
        return !isnan(low);
    case SETTING_AT_LEAST:
        *band = (struct band){low, NAN, INFINITY};
        return !isnan(low);
    case SETTING_AT_MOST:
        *band = (struct band){-INFINITY, NAN, high};
        return !isnan(high);
    case SETTING_BETWEEN:
        *band = (struct band){low, NAN, high};
        return !isnan(low) && !isnan(high);
    }
    return false;
}

bool setting_band(const struct setting *setting, struct band *band)
{
    double low = setting_number(setting, &setting->low);
    double high = setting_number(setting, &setting->high);
    return band_of_kind(setting->kind, low, high, band);
}

double job_maximum_frequency_hz(const struct sheet *sheet)
{
    const struct setting *maximum = sheet_setting(sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY);
    struct band band;
    if (maximum == NULL || !setting_band(maximum, &band))
        return NAN;
    return isfinite(band.high) ? band.high : band.low;
}

/* A frequency, or a speed by the synchronous speed of the motor's poles; NAN where these are not known. */
static double frequency_of(const struct quantity *quantity, const struct nameplate *plate)
{
    if (unit_dimension(quantity->unit) == DIMENSION_SPEED)
        return plate->poles == 0 ? NAN : quantity_base(quantity) * plate->poles / 120.0;
    return quantity_base(quantity);
}

bool setting_ramp_span(const struct sheet *sheet, const struct nameplate *plate, const struct setting *setting,
                       double *from_hz, double *to_hz)
{
    *from_hz = 0;
    *to_hz = job_maximum_frequency_hz(sheet);
    if (isnan(*to_hz))
        *to_hz = plate->bands[FIELD_FREQUENCY].nominal;
    if (setting->ramp_from.given)
        *from_hz = frequency_of(&setting->ramp_from, plate);
    if (setting->ramp_to.given)
        *to_hz = frequency_of(&setting->ramp_to, plate);
    return !isnan(*from_hz) && !isnan(*to_hz);
}

static bool is_ramp(enum means means)
{
    return means == MEANS_RAMP_ACCELERATION_TIME || means == MEANS_RAMP_DECELERATION_TIME;
}

/* "20 Hz", "at least 10 s", "20 Hz to 25 Hz", "terminals"; owned. */
static char *wording(const struct setting *setting)
{
    struct figure low = figure_written(&setting->low);
    struct figure high = figure_written(&setting->high);
    switch (setting->kind) {
    case SETTING_WORD:
        return text_copy(setting->word);
    case SETTING_QUANTITY:
    case SETTING_RAMP:
        return text_copy(low.text);
    case SETTING_AT_LEAST:
        return text_format("at least %s", low.text);
    case SETTING_AT_MOST:
        return text_format("at most %s", high.text);
    case SETTING_BETWEEN:
        return text_format("%s to %s", low.text, high.text);
    }
    return text_copy("");
}

static void make_missing(struct setpoint *setpoint, char *reason)
{
    free(setpoint->basis);
    setpoint->kind = SETPOINT_MISSING;
    setpoint->basis = reason;
    setpoint->low = setpoint->nominal = setpoint->high = NAN;
}

/* A percentage where the means is a current, a power ...: of what the map says that the register is a percentage of. */
static bool apply_percentage(const struct setting *setting, const struct map *map, const struct setpoints *setpoints,
                             struct setpoint *setpoint)
{
    size_t index = map_find_means(map, setting->means, 0);
    if (index == PARAMETER_NOT_FOUND || !map->parameters[index].is_percent)
        return false;
    const struct setpoint *base = setpoints_find(setpoints, map->parameters[index].percent_of);
    if (base == NULL || base->kind != SETPOINT_RANGE || isnan(base->nominal))
        return false;
    struct band band;
    double low = quantity_base(&setting->low) * base->nominal;
    double high = quantity_base(&setting->high) * base->nominal;
    if (!band_of_kind(setting->kind, low, high, &band))
        return false;
    setpoint->low = band.low;
    setpoint->nominal = band.nominal;
    setpoint->high = band.high;
    setpoint->unit = dimension_unit(means_table[setting->means].dimension);
    char *basis = text_format("%s of %s %s", setpoint->basis, means_table[base->means].name,
                              figure_in(base->nominal, base->unit).text);
    free(setpoint->basis);
    setpoint->basis = basis;
    return true;
}

static void fill_ramp(const struct sheet *sheet, const struct nameplate *plate, const struct setting *setting,
                      struct setpoint *setpoint)
{
    if (!setting_ramp_span(sheet, plate, setting, &setpoint->ramp_from_hz, &setpoint->ramp_to_hz)) {
        make_missing(setpoint, text_format("the job does not say what the ramp spans, and the sheet has neither "
                                           "limit.maximum_frequency in its settings nor a rated frequency"));
        return;
    }
    char *basis = text_format("%s from %s to %s", setpoint->basis, figure_in(setpoint->ramp_from_hz, UNIT_HZ).text,
                              figure_in(setpoint->ramp_to_hz, UNIT_HZ).text);
    free(setpoint->basis);
    setpoint->basis = basis;
}

static enum stake stake_of(const struct setting *setting, const struct parameter *parameter)
{
    if (setting->means != MEANS_NONE)
        return means_table[setting->means].stake;
    if (parameter == NULL)
        return STAKE_PROCESS;
    if (parameter->means != MEANS_NONE)
        return means_table[parameter->means].stake;
    return parameter->could_start ? STAKE_PEOPLE : STAKE_PROCESS;
}

static struct setpoint from_setting(const struct sheet *sheet, const struct map *map, const struct nameplate *plate,
                                    const struct setpoints *setpoints, const struct setting *setting)
{
    size_t index = setting->means == MEANS_NONE ? map_find(map, setting->name) : PARAMETER_NOT_FOUND;
    const struct parameter *parameter = index == PARAMETER_NOT_FOUND ? NULL : &map->parameters[index];
    char *words = wording(setting);
    struct setpoint setpoint = {
        .means = setting->means,
        .parameter = setting->means == MEANS_NONE ? text_copy(setting->name) : NULL,
        .kind = setting->kind == SETTING_WORD ? SETPOINT_WORD : SETPOINT_RANGE,
        .low = NAN,
        .nominal = NAN,
        .high = NAN,
        .unit = main_quantity(setting)->unit,
        .word = setting->kind == SETTING_WORD ? text_copy(setting->word) : NULL,
        .basis = text_format("the job asks for %s", words),
        .source = SOURCE_JOB,
        .stake = stake_of(setting, parameter),
    };
    free(words);
    if (setpoint.kind == SETPOINT_WORD)
        return setpoint;

    struct band band;
    if (setting_band(setting, &band)) {
        setpoint.low = band.low;
        setpoint.nominal = band.nominal;
        setpoint.high = band.high;
    } else if (!apply_percentage(setting, map, setpoints, &setpoint)) {
        make_missing(&setpoint, text_format("%s, and what that is a percentage of is not known", setpoint.basis));
        return setpoint;
    }
    if (is_ramp(setting->means) || (parameter != NULL && is_ramp(parameter->means)))
        fill_ramp(sheet, plate, setting, &setpoint);
    return setpoint;
}

static bool units_agree(enum unit a, enum unit b)
{
    return a == UNIT_NONE || b == UNIT_NONE || unit_dimension(a) == unit_dimension(b);
}

/* The allowance in the terms of the setpoint's numbers; a percentage is one of the nominal value. */
static double allowed_within(const struct allowance *allowance, const struct setpoint *setpoint)
{
    const struct quantity *within = &allowance->within;
    bool in_base = setpoint->means != MEANS_NONE && means_table[setpoint->means].dimension != DIMENSION_NONE;
    if (!units_agree(within->unit, setpoint->unit))
        return unit_dimension(within->unit) == DIMENSION_RATIO ? quantity_base(within) * fabs(setpoint->nominal) : NAN;
    if (within->unit == UNIT_NONE)
        return within->value;
    return in_base ? quantity_base(within) : unit_from_base(quantity_base(within), setpoint->unit);
}

static bool allows(const struct allowance *allowance, const struct map *map, const struct setpoint *setpoint)
{
    if (allowance->means != MEANS_NONE)
        return allowance->means == setpoint->means;
    if (allowance->parameter == NULL)
        return false;
    if (setpoint->parameter != NULL)
        return strcmp(allowance->parameter, setpoint->parameter) == 0;
    size_t index = map_find(map, allowance->parameter);
    return index != PARAMETER_NOT_FOUND && map->parameters[index].means == setpoint->means;
}

void job_allow(const struct sheet *sheet, const struct map *map, struct setpoint *setpoint)
{
    if (setpoint->kind != SETPOINT_RANGE || setpoint->allow_because != NULL)
        return;
    for (size_t i = 0; i < sheet->allow_count; i++) {
        const struct allowance *allowance = &sheet->allow[i];
        double within = allows(allowance, map, setpoint) ? allowed_within(allowance, setpoint) : NAN;
        if (isnan(within))
            continue;
        setpoint->low -= within;
        setpoint->high += within;
        setpoint->allow_within = within;
        setpoint->allow_because = text_copy(allowance->because == NULL ? "" : allowance->because);
        return;
    }
}

/* The job's own rounding counts here: "1.5 kW" does not contradict 2 hp, nor "3 A" 3.1 A. */
static bool contradict(const struct setting *setting, const struct setpoint *plate, const struct setpoint *job)
{
    if (plate->kind != SETPOINT_RANGE || job->kind != SETPOINT_RANGE)
        return false;
    double rounding = quantity_rounding_base(main_quantity(setting));
    return !band_overlaps((struct band){job->low - rounding, job->nominal, job->high + rounding}, plate->low,
                          plate->high);
}

/* Another point of the same volts a hertz is the same V/f curve, not another motor. */
static bool is_same_curve(const struct sheet *sheet, const struct nameplate *plate, enum means means)
{
    return (means == MEANS_OUTPUT_BASE_VOLTAGE || means == MEANS_OUTPUT_BASE_FREQUENCY) &&
           job_keeps_volts_per_hertz(sheet, plate);
}

static void report_contradiction(const struct setting *setting, const struct setpoint *plate,
                                 const struct setpoint *job, struct findings *findings)
{
    char *means = text_format("sheet.settings.%s", setting->name);
    double found = !isnan(job->nominal) ? job->nominal : isfinite(job->low) ? job->low : job->high;
    struct finding *finding = plausibility_add(
        findings, means, plate->stake, SOURCE_JOB,
        text_format("%s, but %s asks for %s; look which of the two is meant", job->basis, plate->basis,
                    figure_in(isnan(plate->nominal) ? plate->high : plate->nominal, plate->unit).text));
    plausibility_figures(finding, (struct band){plate->low, plate->nominal, plate->high}, found, plate->unit);
    free(means);
}

static struct setpoint *same_means(struct setpoints *setpoints, enum means means)
{
    for (size_t i = 0; i < setpoints->count; i++)
        if (means != MEANS_NONE && setpoints->items[i].means == means)
            return &setpoints->items[i];
    return NULL;
}

static void replace(struct setpoint *old, struct setpoint new_one)
{
    free(old->parameter);
    free(old->word);
    free(old->basis);
    free(old->allow_because);
    *old = new_one;
}

void job_setpoints(const struct sheet *sheet, const struct map *map, const struct nameplate *plate,
                   struct setpoints *setpoints)
{
    for (size_t i = 0; i < sheet->setting_count; i++) {
        const struct setting *setting = &sheet->settings[i];
        struct setpoint job = from_setting(sheet, map, plate, setpoints, setting);
        struct setpoint *present = same_means(setpoints, setting->means);
        if (present != NULL && contradict(setting, present, &job) && !is_same_curve(sheet, plate, setting->means))
            report_contradiction(setting, present, &job, &setpoints->implausible);
        job_allow(sheet, map, &job);
        if (present != NULL) {
            replace(present, job);
            continue;
        }
        setpoints->items = memory_grow(setpoints->items, setpoints->count, sizeof *setpoints->items);
        setpoints->items[setpoints->count++] = job;
    }
}
