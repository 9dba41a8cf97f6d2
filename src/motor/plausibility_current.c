/* SPDX-License-Identifier: MIT */
/* Where a plate's power, voltage and current contradict each other. */
#include "motor/plausibility.h"

#include "motor/constants.h"
#include "motor/figure.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

/* Efficiency times power factor by size, up to the power of the row. Common practice, no source; the low ends are below
 * what every full-load current of NEC Table 430.250 (2008) implies, the high ends above two-pole motors of the best
 * efficiency class. */
struct product_row {
    double up_to_w;
    double low, high;
};

static const struct product_row induction_rows[] = {
    {200, 0.15, 0.70},   {800, 0.28, 0.80},   {4000, 0.36, 0.87},
    {15000, 0.44, 0.91}, {75000, 0.50, 0.93}, {INFINITY, 0.52, 0.95},
};
static const struct product_row synchronous_rows[] = {{1000, 0.25, 0.97}, {INFINITY, 0.40, 0.99}};
static const struct product_row single_phase_rows[] = {{INFINITY, 0.12, 0.97}};

static const struct product_row *usual_product(enum motor_kind kind, double power_w)
{
    const struct product_row *row = induction_rows;
    switch (kind) {
    case MOTOR_INDUCTION:
        break;
    case MOTOR_PERMANENT_MAGNET:
    case MOTOR_SYNCHRONOUS_RELUCTANCE:
        row = synchronous_rows;
        break;
    case MOTOR_SINGLE_PHASE:
        row = single_phase_rows;
        break;
    }
    while (power_w > row->up_to_w)
        row++;
    return row;
}

static bool can_be(struct band ratio)
{
    return band_known(ratio) && ratio.nominal <= 1;
}

/* What efficiency times power factor should be: the plate's own figures within 5 % (a judgement of engineers, no
 * source), else the range for the size, cut by the one of them that is known. */
static struct band expected_product(const struct nameplate *plate, double power_w)
{
    const double tolerance = 0.05;
    struct band efficiency = plate->bands[FIELD_EFFICIENCY];
    struct band power_factor = plate->bands[FIELD_POWER_FACTOR];
    if (can_be(efficiency) && can_be(power_factor)) {
        struct band product = band_product(efficiency, power_factor);
        return (struct band){product.low * (1 - tolerance), product.nominal, product.high * (1 + tolerance)};
    }
    const struct product_row *usual = usual_product(plate->kind, power_w);
    double high = usual->high;
    if (can_be(efficiency))
        high = fmin(high, efficiency.high);
    if (can_be(power_factor))
        high = fmin(high, power_factor.high);
    return (struct band){fmin(usual->low, high), NAN, high};
}

static bool has_both(const struct nameplate *plate)
{
    return can_be(plate->bands[FIELD_EFFICIENCY]) && can_be(plate->bands[FIELD_POWER_FACTOR]);
}

/* The power if its number were in the other unit: hp for kW and the reverse. */
static double other_reading_w(const struct nameplate *plate)
{
    double power_w = plate->bands[FIELD_POWER].nominal;
    const double watts_per_hp_in_kw = WATTS_PER_HORSEPOWER / 1000;
    return plate->written[FIELD_POWER].unit == UNIT_HP ? power_w / watts_per_hp_in_kw : power_w * watts_per_hp_in_kw;
}

static void confused_units(const struct nameplate *plate, struct band apparent_va, struct findings *findings)
{
    const struct quantity *power = &plate->written[FIELD_POWER];
    struct band product = expected_product(plate, plate->bands[FIELD_POWER].nominal);
    const char *other = power->unit == UNIT_HP ? "kW" : "hp";
    struct finding *finding = plausibility_add(
        findings, "sheet.motor.rated_power", STAKE_EQUIPMENT, SOURCE_NAMEPLATE,
        text_format("%s does not fit %s at %s, but %s %s would; look at the unit beside the power on the plate, then "
                    "at the current",
                    figure_written(power).text, figure_written(&plate->written[FIELD_CURRENT]).text,
                    figure_in(plate->bands[FIELD_VOLTAGE].nominal, UNIT_V).text,
                    figure(unit_from_base(quantity_base(power), power->unit == UNIT_HP ? UNIT_HP : UNIT_KW)).text,
                    other));
    struct band expected = band_product(apparent_va, product);
    plausibility_figures(finding, expected, plate->bands[FIELD_POWER].nominal, power->unit);
}

static void wrong_current(const struct nameplate *plate, struct band apparent_va, struct findings *findings)
{
    const struct quantity *current = &plate->written[FIELD_CURRENT];
    struct band power = plate->bands[FIELD_POWER];
    struct band product = expected_product(plate, power.nominal);
    struct band volts = band_scaled(plate->bands[FIELD_VOLTAGE], phase_factor(plate->kind));
    struct band expected = band_ratio(power, band_product(volts, product));
    double implied = power.nominal / apparent_va.nominal;
    struct figure needed[2] = {figure_in(expected.low, UNIT_A), figure_in(expected.high, UNIT_A)};

    char *means_that = implied >= 1
                           ? text_format("more power than goes in (efficiency x power factor %s)", figure(implied).text)
                           : text_format("efficiency x power factor = %s", figure(implied).text);
    char *against =
        has_both(plate)
            ? text_format("the plate's %s x %s = %s", figure_written(&plate->written[FIELD_EFFICIENCY]).text,
                          figure_written(&plate->written[FIELD_POWER_FACTOR]).text, figure(product.nominal).text)
            : text_format("%s to %s for this size", figure(product.low).text, figure(product.high).text);
    struct finding *finding = plausibility_add(
        findings, "sheet.motor.rated_current", STAKE_EQUIPMENT, SOURCE_NAMEPLATE,
        text_format(
            "%s from %s at %s means %s, against %s: %s to %s was expected; look at these figures on the plate, and "
            "whether current and voltage are of the same column",
            figure_written(&plate->written[FIELD_POWER]).text, figure_written(current).text,
            figure_in(plate->bands[FIELD_VOLTAGE].nominal, UNIT_V).text, means_that, against, needed[0].text,
            needed[1].text));
    free(means_that);
    free(against);
    plausibility_figures(finding, expected, plate->bands[FIELD_CURRENT].nominal, current->unit);
}

void plausibility_of_current(const struct nameplate *plate, struct findings *findings)
{
    struct band power = plate->bands[FIELD_POWER];
    struct band apparent_va =
        band_scaled(band_product(plate->bands[FIELD_VOLTAGE], plate->bands[FIELD_CURRENT]), phase_factor(plate->kind));
    struct band implied = band_ratio(power, apparent_va);
    if (!band_known(implied))
        return;
    struct band product = expected_product(plate, power.nominal);
    if (implied.low < 1 && band_overlaps(implied, product.low, product.high))
        return;
    double other_w = other_reading_w(plate);
    struct band other = band_ratio(band_exact(other_w), apparent_va);
    struct band other_product = expected_product(plate, other_w);
    if (other.low < 1 && band_overlaps(other, other_product.low, other_product.high))
        confused_units(plate, apparent_va, findings);
    else
        wrong_current(plate, apparent_va, findings);
}

/* Power over volt-amperes of a column, or the inverse of volt-amperes where neither column says its power; NAN where
 * the two cannot be compared. */
static struct band comparable(const struct nameplate *plate, bool with_power)
{
    struct band product = band_product(plate->bands[FIELD_VOLTAGE], plate->bands[FIELD_CURRENT]);
    return band_ratio(with_power ? plate->bands[FIELD_POWER] : band_exact(1), product);
}

static bool columns_contradict(const struct nameplate *a, const struct nameplate *b)
{
    const double tolerance = 0.15; /* of volts x amperes between columns; common practice, no source */
    bool a_power = band_known(a->bands[FIELD_POWER]);
    bool b_power = band_known(b->bands[FIELD_POWER]);
    bool same_frequency = a->bands[FIELD_FREQUENCY].nominal == b->bands[FIELD_FREQUENCY].nominal;
    if (a_power != b_power || (!a_power && !same_frequency))
        return false;
    struct band ratio = band_ratio(comparable(a, a_power), comparable(b, a_power));
    return band_known(ratio) && !band_overlaps(ratio, 1 / (1 + tolerance), 1 + tolerance);
}

static void add_columns_finding(const struct nameplate *a, const struct nameplate *b, struct findings *findings)
{
    double volts_a = a->bands[FIELD_VOLTAGE].nominal;
    double volts_b = b->bands[FIELD_VOLTAGE].nominal;
    double current_a = a->bands[FIELD_CURRENT].nominal;
    double current_b = b->bands[FIELD_CURRENT].nominal;
    struct band power_ratio = band_ratio(b->bands[FIELD_POWER], a->bands[FIELD_POWER]);
    double expected_a = current_a * volts_a / volts_b * (band_known(power_ratio) ? power_ratio.nominal : 1);
    struct finding *finding = plausibility_add(
        findings, "sheet.motor.rated_current", STAKE_EQUIPMENT, SOURCE_NAMEPLATE,
        text_format("the columns contradict each other: %s x %s = %s VA, but %s x %s = %s VA; look whether the "
                    "currents on the plate belong to the other voltages",
                    figure_in(volts_a, UNIT_V).text, figure_written(&a->written[FIELD_CURRENT]).text,
                    figure(volts_a * current_a).text, figure_in(volts_b, UNIT_V).text,
                    figure_written(&b->written[FIELD_CURRENT]).text, figure(volts_b * current_b).text));
    plausibility_figures(finding, band_exact(expected_a), current_b, b->written[FIELD_CURRENT].unit);
}

void plausibility_of_columns(const struct motor *motor, struct findings *findings)
{
    for (size_t i = 0; i < motor->column_count; i++)
        for (size_t j = i + 1; j < motor->column_count; j++) {
            struct nameplate a;
            struct nameplate b;
            nameplate_read_column(motor, i, &a);
            nameplate_read_column(motor, j, &b);
            if (columns_contradict(&a, &b)) {
                add_columns_finding(&a, &b, findings);
                return;
            }
        }
}
