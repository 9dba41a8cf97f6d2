/* SPDX-License-Identifier: MIT */
/* Where motor, supply, drive and the job's settings contradict each other. */
#include "motor/plausibility.h"

#include "motor/figure.h"
#include "motor/job.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Nominal voltage of a system, and the plate of motors made for it. Source: ANSI C84.1 practice as quoted in a public
 * bid specification; the pair 600 V and 575 V is from memory, unverified. */
struct voltage_pair {
    double system_v, motor_v;
};

static const struct voltage_pair voltage_pairs[] = {
    {120, 115}, {208, 200}, {240, 230}, {277, 265}, {480, 460}, {600, 575},
};

static double usual_motor_voltage_v(double supply_v)
{
    for (size_t i = 0; i < sizeof voltage_pairs / sizeof voltage_pairs[0]; i++)
        if (voltage_pairs[i].system_v == supply_v)
            return voltage_pairs[i].motor_v;
    return supply_v;
}

static void add_voltage_finding(const struct sheet *sheet, const struct nameplate *plate, struct band expected,
                                const char *what, const char *look, struct findings *findings)
{
    bool extended = sheet->motor.run_to_voltage.given;
    double motor_v = plate->bands[FIELD_VOLTAGE].nominal;
    struct finding *finding = plausibility_add(
        findings, extended ? "sheet.motor.run_to" : "sheet.motor.rated_voltage", STAKE_EQUIPMENT, SOURCE_NAMEPLATE,
        text_format("the motor's %s %s %s of the supply; %s", figure_in(motor_v, UNIT_V).text, what,
                    figure_written(&sheet->supply.voltage).text, look));
    plausibility_figures(finding, expected, motor_v, UNIT_V);
}

/* A motor tolerates 10 % of its plate's voltage (NEMA MG 1 12.44.1), and a drive gives no more than its supply has.
 * A motor for far less than the supply is possible, but is usually a wrong column. */
static void check_supply(const struct sheet *sheet, const struct nameplate *plate, struct findings *findings)
{
    const double tolerance = 0.10;
    const double far_below = 1.3; /* common practice, no source: 400 V motors do run on 480 V drives */
    enum front_end front_end = sheet->drive.front_end;
    struct nameplate extended;
    if (nameplate_extend(&sheet->motor, plate, &extended))
        plate = &extended;
    double supply_v = quantity_base(&sheet->supply.voltage);
    struct band motor = plate->bands[FIELD_VOLTAGE];
    if (!(supply_v > 0) || !band_known(motor) || front_end == FRONT_COMMON_BUS)
        return;
    if (front_end == FRONT_DOUBLER)
        supply_v *= 2;
    struct band expected = {supply_v / far_below, usual_motor_voltage_v(supply_v), supply_v / (1 - tolerance)};
    bool boosts = front_end == FRONT_ACTIVE;
    if (motor.low > expected.high && !boosts)
        add_voltage_finding(sheet, plate, expected, "is more than a drive can give from the",
                            "look at the voltage that the motor is connected for, and at the links in its terminal box",
                            findings);
    else if (motor.high < expected.low)
        add_voltage_finding(sheet, plate, expected, "is far below the",
                            "look at the voltage that the motor is connected for, and at the links in its terminal box",
                            findings);
}

static void check_drive_current(const struct sheet *sheet, const struct nameplate *plate, struct findings *findings)
{
    double motors = sheet->motors.count > 1 ? (double)sheet->motors.count : 1;
    struct band motor = band_scaled(plate->bands[FIELD_CURRENT], motors);
    struct band drive = band_of(&sheet->drive.rated_current);
    if (!band_known(motor) || !band_known(drive) || drive.high >= motor.low)
        return;
    enum unit unit = sheet->drive.rated_current.unit;
    struct finding *finding = plausibility_add(
        findings, "sheet.drive.rated_current", STAKE_EQUIPMENT, SOURCE_NAMEPLATE,
        text_format("the drive's %s is less than the %s of the motor%s; look at the drive's plate, and at the column "
                    "that the motor is connected for",
                    figure_written(&sheet->drive.rated_current).text, figure_in(motor.nominal, UNIT_A).text,
                    motors > 1 ? "s together" : ""));
    plausibility_figures(finding, (struct band){motor.low, motor.nominal, INFINITY}, drive.nominal, unit);
}

void plausibility_of_installation(const struct sheet *sheet, const struct nameplate *plate, struct findings *findings)
{
    check_supply(sheet, plate, findings);
    check_drive_current(sheet, plate, findings);
}

static struct finding *add_for_setting(const struct setting *setting, char *basis, struct findings *findings)
{
    char *means = text_format("sheet.settings.%s", setting->name);
    struct finding *finding = plausibility_add(findings, means, means_table[setting->means].stake, SOURCE_JOB, basis);
    free(means);
    return finding;
}

static void check_frequency_order(const struct sheet *sheet, struct findings *findings)
{
    const struct setting *minimum = sheet_setting(sheet, MEANS_LIMIT_MINIMUM_FREQUENCY);
    const struct setting *maximum = sheet_setting(sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY);
    struct band low;
    struct band high;
    if (minimum == NULL || maximum == NULL || !setting_band(minimum, &low) || !setting_band(maximum, &high))
        return;
    double least = isfinite(low.low) ? low.low : low.high;
    if (!(least > high.high))
        return;
    struct finding *finding =
        add_for_setting(minimum,
                        text_format("the job's minimum frequency %s is above its maximum frequency %s; look whether "
                                    "they are exchanged",
                                    figure_in(least, UNIT_HZ).text, figure_in(high.high, UNIT_HZ).text),
                        findings);
    plausibility_figures(finding, (struct band){0, NAN, high.high}, least, UNIT_HZ);
}

static void check_highest_speed(const struct sheet *sheet, const struct nameplate *plate, struct findings *findings)
{
    const struct setting *maximum = sheet_setting(sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY);
    struct band highest = band_of(&sheet->motor.highest_speed);
    double asked_hz = job_maximum_frequency_hz(sheet);
    if (plate->poles == 0 || !band_known(highest) || maximum == NULL)
        return;
    struct band limit_hz = band_scaled(highest, plate->poles / 120.0);
    if (!(asked_hz > limit_hz.high))
        return;
    struct finding *finding = add_for_setting(
        maximum,
        text_format("the job's maximum frequency %s is above %s x %u poles / 120 = %s Hz, the highest speed of the "
                    "motor; look at the plate",
                    figure_in(asked_hz, UNIT_HZ).text, figure_written(&sheet->motor.highest_speed).text, plate->poles,
                    figure(limit_hz.nominal).text),
        findings);
    plausibility_figures(finding, (struct band){0, NAN, limit_hz.high}, asked_hz, UNIT_HZ);
}

static bool is_ramp(enum means means)
{
    return means == MEANS_RAMP_ACCELERATION_TIME || means == MEANS_RAMP_DECELERATION_TIME;
}

/* What is wrong with one setting by itself, or NULL. An analogue signal's end may be a negative frequency. */
static const char *fault_of(const struct setting *setting, struct band band)
{
    bool may_be_negative = strncmp(means_table[setting->means].name, "analog.", strlen("analog.")) == 0;
    if (band.low > band.high)
        return "its lower bound is above its upper bound";
    if (is_ramp(setting->means) && band.high <= 0)
        return "a ramp takes a time above zero";
    if (!may_be_negative && (band.high < 0 || (isfinite(band.low) && band.low < 0)))
        return "it is negative";
    if (setting->kind == SETTING_RAMP && setting->ramp_from.given && setting->ramp_to.given &&
        setting->ramp_from.unit == setting->ramp_to.unit && setting->ramp_from.value == setting->ramp_to.value)
        return "the ramp ends where it begins";
    return NULL;
}

static void check_each(const struct sheet *sheet, struct findings *findings)
{
    for (size_t i = 0; i < sheet->setting_count; i++) {
        const struct setting *setting = &sheet->settings[i];
        struct band band;
        if (setting->means == MEANS_NONE || !setting_band(setting, &band))
            continue;
        const char *fault = fault_of(setting, band);
        if (fault == NULL)
            continue;
        const struct quantity *written = setting->kind == SETTING_AT_MOST ? &setting->high : &setting->low;
        (void)add_for_setting(setting,
                              text_format("the job asks for %s %s, but %s; look at the sheet's settings", setting->name,
                                          figure_written(written).text, fault),
                              findings);
    }
}

void plausibility_of_settings(const struct sheet *sheet, const struct nameplate *plate, struct findings *findings)
{
    check_each(sheet, findings);
    check_frequency_order(sheet, findings);
    check_highest_speed(sheet, plate, findings);
}
