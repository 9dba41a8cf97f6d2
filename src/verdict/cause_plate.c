/* SPDX-License-Identifier: MIT */
/* Causes in the nameplate and the supply: another figure of the same plate was taken. */
#include "verdict/cause_parts.h"

#include "motor/constants.h"
#include "motor/quantity.h"
#include "motor/ratings.h"

#include <math.h>
#include <stdio.h>

/* Which figure of the plate a means holds, as it stands or scaled by the number of motors. */
struct field_of_means {
    enum means means;
    enum plate_field field;
};

static const struct field_of_means fields[] = {
    {MEANS_MOTOR_RATED_POWER, FIELD_POWER},         {MEANS_MOTOR_RATED_VOLTAGE, FIELD_VOLTAGE},
    {MEANS_MOTOR_RATED_CURRENT, FIELD_CURRENT},     {MEANS_MOTOR_RATED_FREQUENCY, FIELD_FREQUENCY},
    {MEANS_MOTOR_RATED_SPEED, FIELD_SPEED},         {MEANS_MOTOR_POWER_FACTOR, FIELD_POWER_FACTOR},
    {MEANS_MOTOR_EFFICIENCY, FIELD_EFFICIENCY},     {MEANS_MOTOR_OVERLOAD_CURRENT, FIELD_CURRENT},
    {MEANS_OUTPUT_BASE_FREQUENCY, FIELD_FREQUENCY}, {MEANS_OUTPUT_BASE_VOLTAGE, FIELD_VOLTAGE},
};

static const struct field_of_means *field_of(enum means means)
{
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++)
        if (fields[i].means == means)
            return &fields[i];
    return NULL;
}

static bool is_voltage(enum means means)
{
    return means == MEANS_MOTOR_RATED_VOLTAGE || means == MEANS_OUTPUT_BASE_VOLTAGE;
}

static bool differ(const struct nameplate *a, const struct nameplate *b, enum plate_field field)
{
    return band_known(a->bands[field]) && band_known(b->bands[field]) &&
           a->bands[field].nominal != b->bands[field].nominal;
}

struct figure column_label(const struct evidence *evidence, size_t column, size_t versus)
{
    const struct nameplate *plate = &evidence->columns[column];
    const struct quantity *low = &plate->column->voltage_low, *high = &plate->column->voltage_high;
    struct figure label;
    char from[24] = "";
    if (high->given && high->value > low->value)
        (void)snprintf(from, sizeof from, "%.14s to ", figure_written(low).text);
    bool with_frequency = differ(plate, &evidence->columns[versus], FIELD_FREQUENCY);
    (void)snprintf(label.text, sizeof label.text, "%s%.12s%s%.10s", from, figure_written(high->given ? high : low).text,
                   with_frequency ? " " : "", with_frequency ? figure_written(&plate->column->frequency).text : "");
    return label;
}

/* What kind of mistake it is to take that column's figure. */
static enum cause_kind kind_of_column(const struct nameplate *own, const struct nameplate *other,
                                      enum plate_field field)
{
    bool of_frequency = field == FIELD_FREQUENCY || field == FIELD_SPEED;
    bool volts = differ(own, other, FIELD_VOLTAGE);
    if (differ(own, other, FIELD_FREQUENCY) && (of_frequency || !volts))
        return CAUSE_OTHER_MAINS_FREQUENCY;
    return volts ? CAUSE_OTHER_VOLTAGE_COLUMN : CAUSE_NONE;
}

static char *column_text(const struct question *question, size_t column, enum plate_field field, enum cause_kind kind)
{
    const struct evidence *evidence = question->evidence;
    struct figure found = question_found(question);
    const struct nameplate *other = &evidence->columns[column], *own = &evidence->columns[evidence->connected];
    if (field == FIELD_VOLTAGE)
        return text_format("%s is another voltage of the nameplate; the motor is connected for %s", found.text,
                           column_label(evidence, evidence->connected, column).text);
    if (field == FIELD_FREQUENCY)
        return text_format("%s is another frequency of the nameplate; the motor is connected for %s", found.text,
                           figure_written(&own->column->frequency).text);
    bool of_frequency = kind == CAUSE_OTHER_MAINS_FREQUENCY;
    return text_format("%s is the nameplate %s for %s; the motor is connected for %s", found.text,
                       plate_field_word(field),
                       of_frequency ? figure_written(&other->column->frequency).text
                                    : column_label(evidence, column, evidence->connected).text,
                       of_frequency ? figure_written(&own->column->frequency).text
                                    : column_label(evidence, evidence->connected, column).text);
}

/* A plate that says star in one column and delta in the other. */
static void star_column(const struct question *question, size_t column, enum plate_field field, enum fit fit,
                        struct guesses *guesses)
{
    const struct plate_column *own = question->evidence->columns[question->evidence->connected].column;
    const struct plate_column *other = question->evidence->columns[column].column;
    if (own->connection == CONNECTION_UNSAID || other->connection == CONNECTION_UNSAID ||
        own->connection == other->connection || (field != FIELD_VOLTAGE && field != FIELD_CURRENT))
        return;
    bool star = other->connection == CONNECTION_STAR;
    guesses_add(guesses, CAUSE_STAR_FOR_DELTA, 0, fit,
                text_format("%s is the nameplate %s in %s; the motor is connected in %s", question_found(question).text,
                            plate_field_word(field), star ? "star" : "delta", star ? "delta" : "star"));
}

void cause_column(const struct question *question, struct guesses *guesses)
{
    const struct evidence *evidence = question->evidence;
    const struct field_of_means *row = field_of(question->means);
    if (row == NULL || evidence->columns == NULL || !question_has_band(question))
        return;
    const struct nameplate *own = &evidence->columns[evidence->connected];
    struct band from = own->bands[row->field], due = question->expected;
    for (size_t i = 0; i < evidence->column_count; i++) {
        struct band to = evidence->columns[i].bands[row->field];
        enum cause_kind kind = kind_of_column(own, &evidence->columns[i], row->field);
        if (kind == CAUSE_NONE || !differ(own, &evidence->columns[i], row->field))
            continue;
        struct band candidate = {due.low * to.low / from.low, due.nominal * to.nominal / from.nominal,
                                 due.high * to.high / from.high};
        enum fit fit = question_fit(question, candidate);
        if (fit == FIT_NONE)
            continue;
        guesses_add(guesses, kind, kind == CAUSE_OTHER_MAINS_FREQUENCY ? 0 : (int)i, fit,
                    column_text(question, i, row->field, kind));
        star_column(question, i, row->field, fit, guesses);
    }
}

void cause_supply(const struct question *question, struct guesses *guesses)
{
    const struct sheet *sheet = question->evidence->sheet;
    if (sheet == NULL || !is_voltage(question->means) || !sheet->supply.voltage.given || !question_has_band(question))
        return;
    enum unit unit = question->finding->unit;
    struct band supply = band_of(&sheet->supply.voltage);
    enum fit fit =
        question_fit(question, (struct band){unit_from_base(supply.low, unit), unit_from_base(supply.nominal, unit),
                                             unit_from_base(supply.high, unit)});
    if (fit != FIT_NONE)
        guesses_add(guesses, CAUSE_SUPPLY_VOLTAGE_FOR_MOTOR_VOLTAGE, 0, fit,
                    text_format("%s is the voltage of the supply; the motor's is %s", question_found(question).text,
                                question_due(question).text));
}

/* The number of the other unit, as it would stand in a register of this one. */
static void take_unit(const struct question *question, enum unit meant, struct band number, struct guesses *guesses)
{
    bool horsepower = meant == UNIT_HP;
    enum fit fit = question_fit(question, number);
    if (fit == FIT_NONE)
        return;
    double per_kw = question->finding->unit == UNIT_W ? 1000 : 1;
    guesses_add(guesses, horsepower ? CAUSE_HORSEPOWER_FOR_KILOWATT : CAUSE_KILOWATT_FOR_HORSEPOWER, 0, fit,
                text_format("%s takes %s %s for %s; the motor has %s", question_found(question).text,
                            figure(number.nominal / per_kw).text, unit_name(meant),
                            horsepower ? "kilowatts" : "horsepower", question_due(question).text));
}

void cause_power_unit(const struct question *question, struct guesses *guesses)
{
    enum unit unit = question->finding->unit;
    const struct evidence *evidence = question->evidence;
    if (unit_dimension(unit) != DIMENSION_POWER || !question_has_band(question))
        return;
    enum unit meant = unit == UNIT_HP ? UNIT_KW : UNIT_HP;
    double factor = unit == UNIT_HP ? WATTS_PER_HORSEPOWER / 1000 : 1000 / WATTS_PER_HORSEPOWER;
    take_unit(question, meant, question_scaled(question, factor), guesses);
    if (question->means != MEANS_MOTOR_RATED_POWER || evidence->columns == NULL ||
        (evidence->sheet != NULL && evidence->sheet->motors.count > 1))
        return;
    /* a 1.5 kW motor is a 2 hp one by name */
    const struct quantity *written = &evidence->columns[evidence->connected].written[FIELD_POWER];
    struct quantity partner;
    if (rating_partner(written, &partner) && partner.unit == meant)
        take_unit(question, meant, band_exact(partner.value * (unit == UNIT_W ? 1000 : 1)), guesses);
}

static bool has_slip(const struct question *question)
{
    const struct sheet *sheet = question->evidence->sheet;
    return sheet == NULL || sheet->motor.kind == MOTOR_INDUCTION || sheet->motor.kind == MOTOR_SINGLE_PHASE;
}

void cause_synchronous(const struct question *question, struct guesses *guesses)
{
    const struct evidence *evidence = question->evidence;
    const struct derived *derived = &evidence->setpoints->derived;
    if (question->means != MEANS_MOTOR_RATED_SPEED || derived->poles == 0 || !question_has_band(question) ||
        !has_slip(question))
        return;
    double run_to_hz = evidence->sheet == NULL ? NAN : quantity_base(&evidence->sheet->motor.run_to_frequency);
    const double frequencies[] = {derived->rated_frequency_hz, run_to_hz};
    for (size_t i = 0; i < sizeof frequencies / sizeof frequencies[0]; i++) {
        double speed_rpm = synchronous_speed_rpm(frequencies[i], derived->poles);
        enum fit fit = question_fit(question, band_exact(unit_from_base(speed_rpm, question->finding->unit)));
        if (fit != FIT_NONE)
            guesses_add(guesses, CAUSE_SYNCHRONOUS_SPEED, 0, fit,
                        text_format("%s is the synchronous speed of %u poles at %s; at rated load the motor turns at "
                                    "%s",
                                    question_found(question).text, derived->poles,
                                    figure_in(frequencies[i], UNIT_HZ).text, question_due(question).text));
    }
}

static bool is_mains_frequency(double frequency_hz)
{
    return frequency_hz == 50 || frequency_hz == 60;
}

static void mains_speed(const struct question *question, double mains_hz, double other_hz, struct guesses *guesses)
{
    const struct derived *derived = &question->evidence->setpoints->derived;
    struct band due = question->expected;
    struct figure found = question_found(question), right = question_due(question);
    enum fit fit = question_fit(question, question_scaled(question, other_hz / mains_hz));
    if (fit != FIT_NONE)
        guesses_add(guesses, CAUSE_OTHER_MAINS_FREQUENCY, 0, fit,
                    text_format("%s is %s x %.0f / %.0f, the speed at the other mains frequency", found.text,
                                right.text, other_hz, mains_hz));
    if (derived->poles == 0)
        return;
    double more = 120 * (other_hz - mains_hz) / derived->poles;
    fit = question_fit(question, (struct band){due.low + more, due.nominal + more, due.high + more});
    if (fit != FIT_NONE)
        guesses_add(guesses, CAUSE_OTHER_MAINS_FREQUENCY, 0, fit,
                    text_format("%s is the speed at the other mains frequency, %.0f Hz, with the slip of %s at %.0f Hz",
                                found.text, other_hz, right.text, mains_hz));
}

void cause_mains(const struct question *question, struct guesses *guesses)
{
    const struct evidence *evidence = question->evidence;
    double mains_hz = evidence->setpoints->derived.rated_frequency_hz;
    if (!is_mains_frequency(mains_hz) && evidence->sheet != NULL)
        mains_hz = quantity_base(&evidence->sheet->supply.frequency);
    if (!is_mains_frequency(mains_hz) || !question_has_band(question))
        return;
    double other_hz = mains_hz == 60 ? 50 : 60;
    enum unit unit = question->finding->unit;
    switch ((int)question->means) {
    case MEANS_MOTOR_RATED_SPEED:
        if (has_slip(question))
            mains_speed(question, mains_hz, other_hz, guesses);
        break;
    case MEANS_MOTOR_RATED_FREQUENCY:
    case MEANS_OUTPUT_BASE_FREQUENCY:
    case MEANS_LIMIT_MAXIMUM_FREQUENCY:
    case MEANS_ANALOG_HIGH_FREQUENCY:
        if (fabs(question->expected.nominal - unit_from_base(mains_hz, unit)) < 1e-6 &&
            question_fit(question, band_exact(unit_from_base(other_hz, unit))) == FIT_EXACT)
            guesses_add(guesses, CAUSE_OTHER_MAINS_FREQUENCY, 0, FIT_EXACT,
                        text_format("%s is the other mains frequency; here it is %s", question_found(question).text,
                                    question_due(question).text));
        break;
    }
}

/* Voltages of star and delta as they are called, which is not quite a factor of the root of 3. Source: IEC 60038,
 * table 1, read in a second source (120/208, 230/400, 277/480, 347/600, 400/690); the older ones from memory,
 * unverified. */
struct star_pair {
    double delta_v, star_v;
};

static const struct star_pair star_pairs[] = {{120, 208}, {220, 380}, {230, 400}, {240, 415}, {277, 480},
                                              {347, 600}, {380, 660}, {400, 690}, {415, 720}};

static void star_by_name(const struct question *question, struct guesses *guesses)
{
    double due = question->expected.nominal;
    for (size_t i = 0; i < sizeof star_pairs / sizeof star_pairs[0]; i++) {
        const struct star_pair *pair = &star_pairs[i];
        double candidate = due == pair->delta_v ? pair->star_v : due == pair->star_v ? pair->delta_v : NAN;
        if (question_fit(question, band_exact(candidate)) == FIT_EXACT)
            guesses_add(guesses, CAUSE_STAR_FOR_DELTA, 0, FIT_EXACT,
                        text_format("%s is to %s as star is to delta (%.0f/%.0f V)", question_found(question).text,
                                    question_due(question).text, pair->delta_v, pair->star_v));
    }
}

void cause_star(const struct question *question, struct guesses *guesses)
{
    bool is_current = question->means == MEANS_MOTOR_RATED_CURRENT || question->means == MEANS_MOTOR_OVERLOAD_CURRENT;
    if (!question_has_band(question) || (!is_current && !is_voltage(question->means)) ||
        question_is_vague(question, SQUARE_ROOT_3))
        return;
    if (!is_current)
        star_by_name(question, guesses);
    const double factors[] = {SQUARE_ROOT_3, 1 / SQUARE_ROOT_3};
    for (size_t i = 0; i < sizeof factors / sizeof factors[0]; i++) {
        enum fit fit = question_fit(question, question_scaled(question, factors[i]));
        if (fit != FIT_NONE)
            guesses_add(guesses, CAUSE_STAR_FOR_DELTA, 0, fit,
                        text_format("%s is %s %s 1.732, the root of 3: star and delta are mixed up",
                                    question_found(question).text, question_due(question).text, i == 0 ? "x" : "/"));
    }
}
