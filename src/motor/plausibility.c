/* SPDX-License-Identifier: MIT */
/* Where a sheet contradicts itself or physics: the plate's single figures and its speed. */
#include "motor/plausibility.h"

#include "motor/figure.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

struct finding *plausibility_add(struct findings *findings, const char *means, enum stake stake, enum source source,
                                 char *basis)
{
    struct finding *finding = findings_add(findings);
    finding->means = text_copy(means);
    finding->verdict = VERDICT_IMPLAUSIBLE;
    finding->stake = stake;
    finding->source = source;
    finding->basis = basis;
    return finding;
}

void plausibility_figures(struct finding *finding, struct band expected, double found, enum unit unit)
{
    finding->expected = (struct expected){.kind = EXPECTED_RANGE,
                                          .low = unit_from_base(expected.low, unit),
                                          .nominal = unit_from_base(expected.nominal, unit),
                                          .high = unit_from_base(expected.high, unit)};
    finding->found = (struct value){.kind = VALUE_NUMBER, .number = unit_from_base(found, unit)};
    finding->unit = unit;
    /* three digits are what a plate carries */
    finding->step = finding->found.number == 0 ? 0 : pow(10, floor(log10(fabs(finding->found.number))) - 2);
}

static struct finding *add_for_speed(struct findings *findings, const struct nameplate *plate, struct band expected,
                                     char *basis)
{
    struct finding *finding =
        plausibility_add(findings, "sheet.motor.rated_speed", STAKE_EQUIPMENT, SOURCE_NAMEPLATE, basis);
    plausibility_figures(finding, expected, plate->bands[FIELD_SPEED].nominal, plate->written[FIELD_SPEED].unit);
    return finding;
}

/* "; it would fit 50 Hz" where the other supply frequency makes the speed an ordinary one, else "". */
static const char *other_frequency_hint(const struct nameplate *plate)
{
    double frequency_hz = plate->bands[FIELD_FREQUENCY].nominal;
    double other_hz = frequency_hz == 60 ? 50 : 60;
    double speed_rpm = plate->bands[FIELD_SPEED].nominal;
    unsigned poles = poles_by_slip(other_hz, speed_rpm);
    struct band usual = usual_slip(plate->bands[FIELD_POWER].nominal);
    if ((frequency_hz != 50 && frequency_hz != 60) || poles == 0)
        return "";
    double slip = 1 - speed_rpm / synchronous_speed_rpm(other_hz, poles);
    if (slip < usual.low || slip > usual.high)
        return "";
    return other_hz == 50 ? "; it would fit 50 Hz" : "; it would fit 60 Hz";
}

static void too_fast(const struct nameplate *plate, unsigned poles, struct findings *findings)
{
    double frequency_hz = plate->bands[FIELD_FREQUENCY].nominal;
    double speed_rpm = plate->bands[FIELD_SPEED].nominal;
    double synchronous = synchronous_speed_rpm(frequency_hz, poles);
    struct band usual = usual_slip(plate->bands[FIELD_POWER].nominal);
    struct band expected = {synchronous * (1 - usual.high), NAN, synchronous * (1 - usual.low)};
    bool at = speed_rpm <= synchronous * (1 + 1e-9);
    (void)add_for_speed(findings, plate, expected,
                        text_format("%s is %s the synchronous speed of %u poles at %s (%s rpm): a loaded induction "
                                    "motor turns slower; look at speed and frequency on the plate%s",
                                    figure_written(&plate->written[FIELD_SPEED]).text, at ? "at" : "above", poles,
                                    figure_written(&plate->written[FIELD_FREQUENCY]).text, figure(synchronous).text,
                                    other_frequency_hint(plate)));
}

static void slip_out_of_range(const struct nameplate *plate, unsigned poles, double slip, struct findings *findings)
{
    double frequency_hz = plate->bands[FIELD_FREQUENCY].nominal;
    double power_w = plate->bands[FIELD_POWER].nominal;
    double synchronous = synchronous_speed_rpm(frequency_hz, poles);
    struct band usual = usual_slip(power_w);
    struct band expected = {synchronous * (1 - usual.high), NAN, synchronous * (1 - usual.low)};
    struct figure size = isnan(power_w) ? (struct figure){"any size"} : figure_written(&plate->written[FIELD_POWER]);
    (void)add_for_speed(
        findings, plate, expected,
        text_format("%s at %s means %s %% slip from %s rpm (%u poles); motors of %s have %s %% to %s %%; look "
                    "at speed and frequency on the plate%s",
                    figure_written(&plate->written[FIELD_SPEED]).text,
                    figure_written(&plate->written[FIELD_FREQUENCY]).text, figure(slip * 100).text,
                    figure(synchronous).text, poles, size.text, figure(usual.low * 100).text,
                    figure(usual.high * 100).text, other_frequency_hint(plate)));
}

static void check_slip(const struct nameplate *plate, struct findings *findings)
{
    const double just_above = 1.03; /* of a synchronous speed: then it is the likelier misreading than a huge slip */
    double frequency_hz = plate->bands[FIELD_FREQUENCY].nominal;
    struct band speed = plate->bands[FIELD_SPEED];
    struct band usual = usual_slip(plate->bands[FIELD_POWER].nominal);
    unsigned poles = poles_by_slip(frequency_hz, speed.nominal);
    if (poles == 0) {
        too_fast(plate, 2, findings);
        return;
    }
    double synchronous = synchronous_speed_rpm(frequency_hz, poles);
    double slip = 1 - speed.nominal / synchronous;
    double least = 1 - speed.high / synchronous;
    double most = 1 - speed.low / synchronous;
    bool above_next = speed.nominal <= just_above * synchronous_speed_rpm(frequency_hz, poles + 2);
    if (slip <= 1e-9)
        too_fast(plate, poles, findings);
    else if (least > usual.high && above_next)
        too_fast(plate, poles + 2, findings);
    else if (least > usual.high || most < usual.low)
        slip_out_of_range(plate, poles, slip, findings);
}

static void check_synchronous(const struct nameplate *plate, struct findings *findings)
{
    double frequency_hz = plate->bands[FIELD_FREQUENCY].nominal;
    unsigned poles = poles_by_nearest(frequency_hz, plate->bands[FIELD_SPEED].nominal);
    if (synchronous_speed_fits(plate, poles))
        return;
    double synchronous = synchronous_speed_rpm(frequency_hz, poles);
    (void)add_for_speed(findings, plate, band_exact(synchronous),
                        text_format("%s is no synchronous speed at %s (the nearest is %s rpm with %u poles), and a "
                                    "permanent-magnet or reluctance motor runs at one; look at speed and frequency on "
                                    "the plate",
                                    figure_written(&plate->written[FIELD_SPEED]).text,
                                    figure_written(&plate->written[FIELD_FREQUENCY]).text, figure(synchronous).text,
                                    poles));
}

void plausibility_of_speed(const struct nameplate *plate, struct findings *findings)
{
    if (!band_known(plate->bands[FIELD_SPEED]) || !band_known(plate->bands[FIELD_FREQUENCY]))
        return;
    switch (plate->kind) {
    case MOTOR_INDUCTION:
        check_slip(plate, findings);
        break;
    case MOTOR_PERMANENT_MAGNET:
    case MOTOR_SYNCHRONOUS_RELUCTANCE:
        check_synchronous(plate, findings);
        break;
    case MOTOR_SINGLE_PHASE: /* its slip varies too much with the kind of auxiliary winding */
        break;
    }
}

/* Every figure of the connected column must be above zero. */
static void check_signs(const struct nameplate *plate, struct findings *findings)
{
    for (int i = 0; i < FIELD_COUNT; i++) {
        const struct quantity *written = &plate->written[i];
        if (!written->given || written->value > 0)
            continue;
        char *means = text_format("sheet.motor.%s", plate_field_key((enum plate_field)i));
        struct finding *finding =
            plausibility_add(findings, means, STAKE_EQUIPMENT, SOURCE_NAMEPLATE,
                             text_format("the motor's %s is %s and must be above zero; look at the plate",
                                         plate_field_word((enum plate_field)i), figure_written(written).text));
        plausibility_figures(finding, (struct band){0, NAN, INFINITY}, quantity_base(written), written->unit);
        free(means);
    }
}

/* A ratio that the plate gives, outside what it can be. */
static void check_ratio(const struct quantity *ratio, const char *means, const char *word, double low, double high,
                        struct findings *findings)
{
    double value = quantity_base(ratio);
    if (isnan(value) || value <= 0 || (value >= low && value <= high))
        return;
    struct finding *finding = plausibility_add(
        findings, means, STAKE_EQUIPMENT, SOURCE_NAMEPLATE,
        text_format("%s %s is outside %s to %s; look at the plate, and at the unit beside the number", word,
                    figure_written(ratio).text, figure_in(low, ratio->unit).text, figure_in(high, ratio->unit).text));
    plausibility_figures(finding, (struct band){low, NAN, high}, value, ratio->unit);
}

void plausibility_check(const struct sheet *sheet, const struct nameplate *plate, struct findings *findings)
{
    /* Below these a percent sign was put behind a per-unit figure. Common practice, no source. */
    const double least_ratio = 0.1;
    const double least_service_factor = 1;
    const double most_service_factor = 1.5;

    check_signs(plate, findings);
    check_ratio(&plate->written[FIELD_EFFICIENCY], "sheet.motor.efficiency", "efficiency", least_ratio, 1, findings);
    check_ratio(&plate->written[FIELD_POWER_FACTOR], "sheet.motor.power_factor", "power factor", least_ratio, 1,
                findings);
    check_ratio(&sheet->motor.service_factor, "sheet.motor.service_factor", "service factor", least_service_factor,
                most_service_factor, findings);
    plausibility_of_speed(plate, findings);
    plausibility_of_current(plate, findings);
    plausibility_of_columns(&sheet->motor, findings);
    plausibility_of_installation(sheet, plate, findings);
    plausibility_of_settings(sheet, plate, findings);
}
