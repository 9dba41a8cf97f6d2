/* SPDX-License-Identifier: MIT */
/* Causes of what a sheet contradicts in itself: which slip of the pen would put it right. */
#include "verdict/cause_parts.h"

#include "motor/constants.h"
#include "motor/quantity.h"

#include <math.h>
#include <string.h>

/* Would this be plausible instead? Never exact, since what is plausible is a range. */
static bool would_fit(const struct question *question, double value)
{
    return value >= question->expected.low && value <= question->expected.high;
}

static double in_unit(const struct question *question, double base)
{
    return unit_from_base(base, question->finding->unit);
}

static void speed_slips(const struct question *question, struct guesses *guesses)
{
    const struct evidence *evidence = question->evidence;
    if (evidence->columns == NULL)
        return;
    const double half_rpm = 0.5;
    const struct nameplate *plate = &evidence->columns[evidence->connected];
    double frequency_hz = plate->bands[FIELD_FREQUENCY].nominal;
    double speed_rpm = unit_to_base(question->found, question->finding->unit);
    unsigned poles = poles_by_nearest(frequency_hz, speed_rpm);
    if (fabs(speed_rpm - synchronous_speed_rpm(frequency_hz, poles)) <= half_rpm)
        guesses_add(guesses, CAUSE_SYNCHRONOUS_SPEED, 0, FIT_EXACT,
                    text_format("%s is the synchronous speed of %u poles at %s; the plate's speed at rated load is "
                                "lower",
                                question_found(question).text, poles, figure_in(frequency_hz, UNIT_HZ).text));
    if (frequency_hz != 50 && frequency_hz != 60)
        return;
    double other_hz = frequency_hz == 60 ? 50 : 60;
    poles = poles_by_slip(other_hz, speed_rpm);
    struct band usual = usual_slip(plate->bands[FIELD_POWER].nominal);
    double slip = poles == 0 ? NAN : 1 - speed_rpm / synchronous_speed_rpm(other_hz, poles);
    if (slip >= usual.low && slip <= usual.high)
        guesses_add(guesses, CAUSE_OTHER_MAINS_FREQUENCY, 0, FIT_ROUNDED,
                    text_format("%s is a usual speed of %u poles at %.0f Hz; the sheet says %.0f Hz",
                                question_found(question).text, poles, other_hz, frequency_hz));
}

static void power_slips(const struct question *question, struct guesses *guesses)
{
    bool horsepower = question->finding->unit == UNIT_HP;
    double other_w = unit_to_base(question->found, horsepower ? UNIT_KW : UNIT_HP);
    if (question->finding->unit == UNIT_W)
        other_w /= 1000;
    if (would_fit(question, in_unit(question, other_w)))
        guesses_add(guesses, horsepower ? CAUSE_KILOWATT_FOR_HORSEPOWER : CAUSE_HORSEPOWER_FOR_KILOWATT, 0, FIT_ROUNDED,
                    text_format("%s would fit as %s: look at the unit beside the power on the plate",
                                question_found(question).text,
                                figure_in(other_w, horsepower ? UNIT_KW : UNIT_HP).text));
}

static void other_column(const struct question *question, enum plate_field field, struct guesses *guesses)
{
    const struct evidence *evidence = question->evidence;
    for (size_t i = 0; evidence->columns != NULL && i < evidence->column_count; i++) {
        const struct nameplate *other = &evidence->columns[i];
        if (i == evidence->connected || !would_fit(question, in_unit(question, other->bands[field].nominal)) ||
            other->bands[FIELD_VOLTAGE].nominal == evidence->columns[evidence->connected].bands[FIELD_VOLTAGE].nominal)
            continue;
        guesses_add(guesses, CAUSE_OTHER_VOLTAGE_COLUMN, (int)i, FIT_ROUNDED,
                    text_format("%s of the column for %s would fit: look at the voltage that the motor is connected "
                                "for, and at the order of the columns",
                                figure_written(&other->written[field]).text,
                                column_label(evidence, i, evidence->connected).text));
    }
}

static void current_slips(const struct question *question, struct guesses *guesses)
{
    other_column(question, FIELD_CURRENT, guesses);
    if (question_is_vague(question, SQUARE_ROOT_3))
        return;
    const double factors[] = {SQUARE_ROOT_3, 1 / SQUARE_ROOT_3};
    for (size_t i = 0; i < sizeof factors / sizeof factors[0]; i++)
        if (would_fit(question, question->found * factors[i]))
            guesses_add(guesses, CAUSE_STAR_FOR_DELTA, 0, FIT_ROUNDED,
                        text_format("%s %s 1.732, the root of 3, would fit: look whether star and delta are mixed up",
                                    question_found(question).text, i == 0 ? "x" : "/"));
}

static void voltage_slips(const struct question *question, struct guesses *guesses)
{
    other_column(question, FIELD_VOLTAGE, guesses);
}

static void limit_slips(const struct question *question, struct guesses *guesses)
{
    const struct sheet *sheet = question->evidence->sheet;
    if (sheet != NULL && sheet_setting(sheet, MEANS_LIMIT_MAXIMUM_FREQUENCY) != NULL &&
        question->found > question->expected.high)
        guesses_add(guesses, CAUSE_LIMITS_EXCHANGED, 0, FIT_EXACT,
                    text_format("the minimum of %s is above the maximum of %s: exchanged, they would be in order",
                                question_found(question).text, question_shown(question, question->expected.high).text));
}

/* A point that slipped, where just one place puts the figure into its range. */
static void decimal_slips(const struct question *question, struct guesses *guesses)
{
    static const double factors[] = {10, 100, 1000, 0.1, 0.01, 0.001};
    double fitting = NAN;
    size_t count = 0;
    for (size_t i = 0; i < sizeof factors / sizeof factors[0]; i++)
        if (would_fit(question, question->found * factors[i])) {
            fitting = question->found * factors[i];
            count++;
        }
    if (count == 1 && question->found != 0)
        guesses_add(guesses, CAUSE_DECIMAL_SHIFT, 0, FIT_ROUNDED,
                    text_format("%s would fit: the decimal point of %s slipped, or its unit is another",
                                figure_in(unit_to_base(fitting, question->finding->unit), question->finding->unit).text,
                                question_found(question).text));
}

/* What the finding is about, and what to look for. */
struct sheet_row {
    const char *means;
    hypothesis *slips;
};

static const struct sheet_row rows[] = {
    {"sheet.motor.rated_speed", speed_slips},
    {"sheet.motor.rated_power", power_slips},
    {"sheet.motor.rated_current", current_slips},
    {"sheet.motor.rated_voltage", voltage_slips},
    {"sheet.settings.limit.minimum_frequency", limit_slips},
    {"sheet.motor.rated_power", decimal_slips},
    {"sheet.motor.rated_current", decimal_slips},
    {"sheet.motor.rated_speed", decimal_slips},
    {"sheet.motor.efficiency", decimal_slips},
    {"sheet.motor.power_factor", decimal_slips},
    {"sheet.motor.service_factor", decimal_slips},
};

void cause_of_sheet(const struct question *question, struct guesses *guesses)
{
    if (!question_has_band(question))
        return;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (question->finding->means != NULL && strcmp(rows[i].means, question->finding->means) == 0)
            rows[i].slips(question, guesses);
}
