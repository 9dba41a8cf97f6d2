/* SPDX-License-Identifier: MIT */
/* Whether motors and braking resistor are protected against burning, as far as the sheet tells. */
#include "motor/protection.h"

#include "motor/figure.h"
#include "motor/plausibility.h"
#include "motor/quantity.h"

#include <math.h>
#include <string.h>

/* A question with people at stake: answered with no it is implausible, not answered it is open. */
static void ask(enum answer answer, const char *means, char *basis, struct findings *implausible, struct findings *open)
{
    struct finding *finding = plausibility_add(answer == ANSWER_NO ? implausible : open, means, STAKE_PEOPLE,
                                               answer == ANSWER_NO ? SOURCE_JOB : SOURCE_NONE, basis);
    if (answer != ANSWER_NO)
        finding->verdict = VERDICT_UNCHECKED;
}

static void check_several_motors(const struct sheet *sheet, struct findings *implausible, struct findings *open)
{
    const struct motors *motors = &sheet->motors;
    if (motors->count < 2 || motors->own_overloads == ANSWER_YES)
        return;
    ask(motors->own_overloads, "sheet.motors.own_overloads",
        text_format(
            "%u motors share the drive, and the sheet %s overloads of their own: the drive sees the sum of their "
            "currents, so one of them can burn unseen (fire); fit an overload relay for each motor that trips "
            "the drive",
            motors->count, motors->own_overloads == ANSWER_NO ? "says they have no" : "does not say whether they have"),
        implausible, open);
}

/* Words for an overload that does not stop the motor. The words of a map are free; these are the usual ones. */
static bool leaves_running(const char *word)
{
    static const char *const words[] = {"off",      "none",     "no",   "never",   "ignore",
                                        "disabled", "inactive", "warn", "warning", "alarm"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strcmp(word, words[i]) == 0)
            return true;
    return false;
}

static bool asks_for(const struct sheet *sheet, enum means means, const char *word)
{
    const struct setting *setting = sheet_setting(sheet, means);
    return setting != NULL && setting->kind == SETTING_WORD && strcmp(setting->word, word) == 0;
}

static void check_overload_action(const struct sheet *sheet, struct findings *implausible)
{
    const struct setting *action = sheet_setting(sheet, MEANS_MOTOR_OVERLOAD_ACTION);
    bool own_overloads = sheet->motors.own_overloads == ANSWER_YES;
    bool has_thermistor =
        sheet->motor.thermistor == ANSWER_YES && asks_for(sheet, MEANS_PROTECT_MOTOR_THERMISTOR, "trip");
    if (action == NULL || action->kind != SETTING_WORD || !leaves_running(action->word) || own_overloads ||
        has_thermistor)
        return;
    struct finding *finding = plausibility_add(
        implausible, "sheet.settings.motor.overload_action", STAKE_PEOPLE, SOURCE_JOB,
        text_format(
            "the job asks for %s when the motor is overloaded, and the sheet names nothing else that stops it (a "
            "thermistor that trips, overloads of its own): the motor can burn (fire); look at the settings",
            action->word));
    finding->found = (struct value){.kind = VALUE_WORD, .text = text_copy(action->word)};
}

static void check_thermal_switch(const struct sheet *sheet, struct findings *implausible, struct findings *open)
{
    const struct sheet_drive *drive = &sheet->drive;
    if (drive->has_resistor != ANSWER_YES || drive->resistor_thermal_switch == ANSWER_YES)
        return;
    bool is_no = drive->resistor_thermal_switch == ANSWER_NO;
    ask(drive->resistor_thermal_switch, "sheet.drive.braking_resistor.thermal_switch",
        text_format("%s: a chopper that stays on, or too many stops, make it glow, and nothing takes the supply away "
                    "(fire); fit one that drops the drive's supply",
                    is_no ? "the braking resistor has no thermal switch"
                          : "the sheet does not say whether the braking resistor has a thermal switch; without one"),
        implausible, open);
}

static void check_lowest_resistance(const struct sheet *sheet, struct findings *implausible)
{
    const struct sheet_drive *drive = &sheet->drive;
    struct band resistance = band_of(&drive->resistor_resistance);
    double lowest_ohm = quantity_base(&drive->chopper_lowest_resistance);
    if (drive->has_resistor != ANSWER_YES || !(resistance.high < lowest_ohm))
        return;
    struct finding *finding = plausibility_add(
        implausible, "sheet.drive.braking_resistor.resistance", STAKE_EQUIPMENT, SOURCE_NAMEPLATE,
        text_format("the braking resistor's %s is below the %s that the drive's chopper bears at least: its current "
                    "destroys the chopper; look at the resistor's plate and at the drive's",
                    figure_written(&drive->resistor_resistance).text,
                    figure_written(&drive->chopper_lowest_resistance).text));
    plausibility_figures(finding, (struct band){lowest_ohm, NAN, INFINITY}, resistance.nominal, UNIT_OHM);
}

void protection_check(const struct sheet *sheet, struct findings *implausible, struct findings *open)
{
    check_several_motors(sheet, implausible, open);
    check_overload_action(sheet, implausible);
    check_thermal_switch(sheet, implausible, open);
    check_lowest_resistance(sheet, implausible);
}
