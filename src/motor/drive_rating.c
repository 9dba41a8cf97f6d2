/* SPDX-License-Identifier: MIT */
/* The drive against its motor: current, overload, what the place and the cable take away. */
#include "motor/drive_rating.h"

#include "motor/constants.h"
#include "motor/figure.h"
#include "motor/plausibility.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

/* Above these, ratings fall. Source: NEMA MG 1 usual service (a trade article); IEC 60034-1 (a web summary). */
static const double USUAL_ALTITUDE_M = 1000, USUAL_AMBIENT_DEGC = 40;

double altitude_share(double altitude_m)
{
    const double lost_each_m = 0.01 / 100;
    return fmax(0, 1 - lost_each_m * fmax(0, altitude_m - USUAL_ALTITUDE_M));
}

double ambient_share(double ambient_degc)
{
    const double lost_each_degree = 0.01;
    return fmax(0, 1 - lost_each_degree * fmax(0, ambient_degc - USUAL_AMBIENT_DEGC));
}

double single_phase_input_share(void)
{
    return 0.5;
}

double single_phase_input_ratio(void)
{
    return SQUARE_ROOT_3;
}

double reflected_peak_v(double bus_v, double cable_m)
{
    const double wave_m_per_s = 1.5e8, rise_s = 0.1e-6;
    double critical_m = wave_m_per_s * rise_s / 2;
    return bus_v * (1 + (cable_m > critical_m ? 1 : cable_m / critical_m));
}

/* What the place and the supply leave of a rating, and the factors in words (owned). */
struct derating {
    double share;
    char *words;
};

static void derate(struct derating *derating, double share, char *words)
{
    if (share < 1) {
        derating->share *= share;
        char *longer = text_format("%s%s%s", derating->words, derating->words[0] == '\0' ? "" : " x ", words);
        free(derating->words);
        derating->words = longer;
    }
    free(words);
}

static struct derating derating_of_place(const struct site *site)
{
    struct derating derating = {.share = 1, .words = text_copy("")};
    double height = altitude_share(quantity_base(&site->altitude));
    double heat = ambient_share(quantity_base(&site->ambient));
    if (site->altitude.given)
        derate(&derating, height,
               text_format("%s for %s (1 %% each 100 m above 1000 m)", figure(height).text,
                           figure_written(&site->altitude).text));
    if (site->ambient.given)
        derate(&derating, heat,
               text_format("%s for %s (1 %% each degree above 40 degC)", figure(heat).text,
                           figure_written(&site->ambient).text));
    return derating;
}

static struct band motors_current(const struct installation *installation)
{
    return band_scaled(installation->plate->bands[FIELD_CURRENT], installation->motors);
}

/* The drive is large enough by its plate, and no more where it stands. */
static void check_current_here(const struct installation *installation, struct setpoints *setpoints)
{
    const struct sheet *sheet = installation->sheet;
    struct band drive = band_of(&sheet->drive.rated_current);
    struct band motor = motors_current(installation);
    struct derating derating = derating_of_place(&sheet->site);
    if (sheet->supply.phases == 1 && sheet->drive.front_end != FRONT_DOUBLER)
        derate(&derating, single_phase_input_share(),
               text_format("%s for single-phase supply, whose input current is %s times that of three phases, if the "
                           "rating is one for three",
                           figure(single_phase_input_share()).text, figure(single_phase_input_ratio()).text));
    double here_a = drive.high * derating.share;
    bool fits_by_plate = drive.high >= motor.low;
    if (derating.share < 1 && fits_by_plate && here_a < motor.low) {
        struct finding *finding = installation_doubt(
            setpoints, "sheet.drive.rated_current", STAKE_EQUIPMENT,
            text_format("of the drive's %s about %s may be left here, less than the motor's %s: x %s (common practice; "
                        "the drive's manual has its own figures)",
                        figure_written(&sheet->drive.rated_current).text,
                        figure_in(drive.nominal * derating.share, UNIT_A).text, figure_in(motor.nominal, UNIT_A).text,
                        derating.words));
        plausibility_figures(finding, (struct band){motor.low, motor.nominal, INFINITY}, drive.nominal * derating.share,
                             UNIT_A);
    }
    free(derating.words);
}

/* The motor, too, has less to give in thin or hot air. */
static void check_torque_here(const struct installation *installation, struct setpoints *setpoints)
{
    struct derating derating = derating_of_place(&installation->sheet->site);
    double share = installation->load_share.low;
    if (derating.share < 1 && share <= 1 && share > derating.share) {
        struct finding *finding = installation_doubt(
            setpoints, "sheet.load.torque_at_rated_speed", STAKE_EQUIPMENT,
            text_format(
                "the load asks %s %% of the motor's rated torque, and about %s %% may be left here: x %s (common "
                "practice; the motor's maker has the figures)",
                figure(installation->load_share.nominal * 100).text, figure(derating.share * 100).text,
                derating.words));
        plausibility_figures(finding, (struct band){0, NAN, derating.share}, share, UNIT_PERCENT);
    }
    free(derating.words);
}

/* Normal duty is 110 to 120 % for a minute, heavy 150 %; conveyors, mixers and hoists take the latter. Common practice,
 * no source. */
static void check_duty(const struct installation *installation, struct setpoints *setpoints)
{
    const double heavy = 1.4;
    const struct sheet_drive *drive = &installation->sheet->drive;
    double overload = quantity_base(&drive->overload);
    const enum load_torque torque = installation->sheet->load.torque;
    bool is_hard = torque == LOAD_CONSTANT || torque == LOAD_CONSTANT_POWER;
    struct finding *finding = NULL;
    if (drive->duty == DUTY_HEAVY && overload < heavy)
        finding = installation_doubt(setpoints, "sheet.drive.overload", STAKE_EQUIPMENT,
                                     text_format("heavy duty usually goes with 150 %% for 60 s, not %s; look at the "
                                                 "column of the drive's plate (common practice)",
                                                 figure_written(&drive->overload).text));
    else if (drive->duty == DUTY_NORMAL && overload >= heavy)
        finding =
            installation_doubt(setpoints, "sheet.drive.overload", STAKE_EQUIPMENT,
                               text_format("normal duty usually goes with 110 or 120 %% for 60 s, not %s; look at "
                                           "the column of the drive's plate, whose current is then another too "
                                           "(common practice)",
                                           figure_written(&drive->overload).text));
    else if (is_hard && overload < heavy)
        finding = installation_doubt(setpoints, "sheet.drive.overload", STAKE_PROCESS,
                                     text_format("a load of constant torque usually breaks away with 150 %%, and the "
                                                 "drive gives %s (common practice)",
                                                 figure_written(&drive->overload).text));
    if (finding == NULL)
        return;
    struct band usual = drive->duty == DUTY_NORMAL && overload >= heavy ? (struct band){1.1, NAN, 1.2}
                                                                        : (struct band){heavy, 1.5, INFINITY};
    plausibility_figures(finding, usual, overload, UNIT_PERCENT);
}

/* A limit that the drive cannot reach limits nothing; one below the motor's current keeps it from its torque. */
static void check_current_limit(const struct installation *installation, enum means means, struct setpoints *setpoints)
{
    const struct sheet_drive *drive = &installation->sheet->drive;
    const struct setting *setting = installation_setting(installation, means);
    struct band most = band_product(band_of(&drive->rated_current), band_of(&drive->overload));
    struct band motor = motors_current(installation);
    struct band asked;
    if (!installation_band(installation, means, &asked))
        return;
    if (isfinite(asked.low) && asked.low > most.high) {
        struct finding *finding = setting_refuse(
            setpoints, setting, STAKE_EQUIPMENT,
            text_format("the job asks for a current limit of %s, but the drive gives at most %s x %s = %s",
                        figure_in(asked.low, UNIT_A).text, figure_written(&drive->overload).text,
                        figure_written(&drive->rated_current).text, figure_in(most.nominal, UNIT_A).text));
        plausibility_figures(finding, (struct band){0, NAN, most.high}, asked.low, UNIT_A);
    } else if (isfinite(asked.high) && asked.high < motor.low) {
        struct finding *finding = setting_doubt(
            setpoints, setting, STAKE_PROCESS,
            text_format("a current limit of %s is below the motor's %s: it will not give its rated torque",
                        figure_in(asked.high, UNIT_A).text, figure_in(motor.nominal, UNIT_A).text));
        plausibility_figures(finding, (struct band){motor.low, NAN, INFINITY}, asked.high, UNIT_A);
    }
}

static const double LONG_CABLE_M = 50; /* from here on a low carrier is usual. Common practice, no source */

static struct band usual_carrier_hz(const struct site *site)
{
    bool is_long = quantity_base(&site->cable_length) > LONG_CABLE_M && site->cable_filter != FILTER_SINE;
    return is_long ? (struct band){2000, NAN, 4000} : (struct band){2000, NAN, 8000};
}

static void check_carrier(const struct installation *installation, struct setpoints *setpoints)
{
    const enum means means = MEANS_OUTPUT_CARRIER_FREQUENCY;
    const struct site *site = &installation->sheet->site;
    struct band usual = usual_carrier_hz(site);
    struct band asked;
    char *why = text_format(
        "carrier frequencies are usually %s to %s kHz%s%s; higher ones heat the drive, lower ones the "
        "motor (common practice)",
        figure(usual.low / 1000).text, figure(usual.high / 1000).text, usual.high < 8000 ? " with a cable of " : "",
        usual.high < 8000 ? figure_written(&site->cable_length).text : "");
    if (installation_leaves_open(installation, means)) {
        installation_setpoint(installation, setpoints, means, usual, UNIT_KHZ, SOURCE_ESTIMATE, why);
        return;
    }
    if (installation_band(installation, means, &asked) && isfinite(asked.high) && asked.high > usual.high * 2) {
        struct finding *finding =
            setting_doubt(setpoints, installation_setting(installation, means), STAKE_EQUIPMENT, text_copy(why));
        plausibility_figures(finding, usual, asked.high, UNIT_KHZ);
    }
    free(why);
}

/* Insulation of general-purpose motors stands peaks of 1000 V, that of motors made for drives about 1600 V. Source:
 * NEMA MG 1 parts 30 and 31 as trade articles give them, for up to 600 V. */
static void check_cable(const struct installation *installation, struct setpoints *setpoints)
{
    const double general_purpose_v = 1000, made_for_drives_v = 1600;
    const struct sheet *sheet = installation->sheet;
    double bus_v = dc_bus_voltage_v(&sheet->supply, sheet->drive.front_end);
    double length_m = quantity_base(&sheet->site.cable_length);
    double peak_v = reflected_peak_v(bus_v, length_m);
    bool filtered = sheet->site.cable_filter == FILTER_SINE || sheet->site.cable_filter == FILTER_REACTOR;
    if (filtered || !(peak_v > general_purpose_v))
        return;
    struct finding *finding = installation_doubt(
        setpoints, "sheet.cable.length", STAKE_EQUIPMENT,
        text_format(
            "pulses reflected in %s of cable without a filter may reach %s V x %s = %s V at the motor; insulation "
            "of general-purpose motors stands about 1000 V, of motors made for drives about 1600 V (rule of "
            "thumb): %s",
            figure_written(&sheet->site.cable_length).text, figure(bus_v).text, figure(peak_v / bus_v).text,
            figure(peak_v).text,
            peak_v > made_for_drives_v ? "it takes a filter" : "look whether this motor is made for a drive"));
    plausibility_figures(finding,
                         (struct band){0, NAN, peak_v > made_for_drives_v ? made_for_drives_v : general_purpose_v},
                         peak_v, UNIT_V);
}

void drive_rating_check(const struct installation *installation, struct setpoints *setpoints)
{
    static const enum means current_limits[] = {MEANS_LIMIT_CURRENT, MEANS_LIMIT_CURRENT_MOTORING};
    check_current_here(installation, setpoints);
    check_torque_here(installation, setpoints);
    check_duty(installation, setpoints);
    for (size_t i = 0; i < sizeof current_limits / sizeof *current_limits; i++)
        check_current_limit(installation, current_limits[i], setpoints);
    check_carrier(installation, setpoints);
    check_cable(installation, setpoints);
}
