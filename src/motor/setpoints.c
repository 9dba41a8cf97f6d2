/* SPDX-License-Identifier: MIT */
/* From a sheet to its setpoints: the nameplate's own, and what follows from it. */
#include "motor/setpoints.h"

#include "motor/derivation.h"
#include "motor/dynamics.h"
#include "motor/figure.h"
#include "motor/job.h"
#include "motor/limits.h"
#include "motor/nameplate.h"
#include "motor/plausibility.h"
#include "motor/protection.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

struct computation {
    const struct sheet *sheet;
    const struct map *map;
    struct nameplate plate;
    bool is_extended; /* the sheet has run_to */
    struct nameplate extended;
    unsigned motors; /* on this drive, at least 1 */
};

/* Fills band, unit, basis and source of a setpoint whose means and stake are set. */
typedef void rule_function(const struct computation *computation, struct setpoint *setpoint);

static void missing(struct setpoint *setpoint, char *reason)
{
    setpoint->kind = SETPOINT_MISSING;
    setpoint->low = setpoint->nominal = setpoint->high = NAN;
    setpoint->basis = reason;
    setpoint->source = SOURCE_NONE;
}

static void range(struct setpoint *setpoint, struct band band, enum unit unit, enum source source, char *basis)
{
    setpoint->kind = SETPOINT_RANGE;
    setpoint->low = band.low;
    setpoint->nominal = band.nominal;
    setpoint->high = band.high;
    setpoint->unit = unit;
    setpoint->source = source;
    setpoint->basis = basis;
}

static void missing_field(struct setpoint *setpoint, const struct nameplate *plate, enum plate_field field)
{
    if (plate->reason != NULL)
        missing(setpoint, text_copy(plate->reason));
    else if (plate->written[field].given)
        missing(setpoint, text_format("the sheet's motor has a %s that is not above zero", plate_field_key(field)));
    else
        missing(setpoint, text_format("the sheet's motor has no %s", plate_field_key(field)));
}

/* The fields that become setpoints as they stand. */
struct direct_row {
    enum means means;
    enum plate_field field;
    bool extends; /* other where the motor is run to an extended frequency */
    bool sums;    /* over all motors on the drive */
    /* In symbols, where the figure is not the plate's own: as it stands, summed; extended, extended and summed. */
    const char *formulas[2][2];
};

static const struct direct_row direct_rows[] = {
    {MEANS_MOTOR_RATED_POWER, FIELD_POWER, true, true, {{NULL, "N P_N"}, {"P_N f_run / f_N", "N P_N f_run / f_N"}}},
    {MEANS_MOTOR_RATED_VOLTAGE, FIELD_VOLTAGE, true, false, {{NULL}, {"U_run"}}},
    {MEANS_MOTOR_RATED_CURRENT, FIELD_CURRENT, false, true, {{NULL, "N I_N"}}},
    {MEANS_MOTOR_RATED_FREQUENCY, FIELD_FREQUENCY, true, false, {{NULL}, {"f_run"}}},
    {MEANS_MOTOR_RATED_SPEED, FIELD_SPEED, true, false, {{NULL}, {"n_N + 120 (f_run - f_N) / p"}}},
    {MEANS_MOTOR_POWER_FACTOR, FIELD_POWER_FACTOR, false, false, {{NULL}}},
    {MEANS_MOTOR_EFFICIENCY, FIELD_EFFICIENCY, false, false, {{NULL}}},
    {MEANS_OUTPUT_BASE_FREQUENCY, FIELD_FREQUENCY, true, false, {{"f_N"}, {"f_run"}}},
    {MEANS_OUTPUT_BASE_VOLTAGE, FIELD_VOLTAGE, true, false, {{"U_N"}, {"U_run"}}},
};

static const struct direct_row *direct_row(enum means means)
{
    const struct direct_row *row = direct_rows;
    while (row->means != means)
        row++;
    return row;
}

/* The formula behind a figure of the extended plate, with the numbers put in. */
static char *extended_basis(const struct computation *computation, enum plate_field field)
{
    const struct nameplate *plate = &computation->plate;
    const struct nameplate *extended = &computation->extended;
    struct figure run = figure_written(&extended->written[FIELD_FREQUENCY]);
    struct figure rated = figure_written(&plate->written[FIELD_FREQUENCY]);
    if (field == FIELD_POWER)
        return text_format("power at run_to = %s x %s / %s = %s", figure_written(&plate->written[field]).text, run.text,
                           rated.text, figure_in(extended->bands[field].nominal, plate->written[field].unit).text);
    if (field == FIELD_SPEED)
        return text_format("speed at run_to, same slip speed = %s + 120 x (%s - %s) / %u poles = %s",
                           figure_written(&plate->written[field]).text, run.text, rated.text, plate->poles,
                           figure_in(extended->bands[field].nominal, UNIT_RPM).text);
    return text_format("%s of run_to", plate_field_word(field));
}

static char *direct_basis(const struct nameplate *plate, enum plate_field field)
{
    const char *word = plate_field_word(field);
    if (field == FIELD_POWER && !isnan(plate->power_partner_w)) {
        enum unit other = plate->written[field].unit == UNIT_HP ? UNIT_KW : UNIT_HP;
        return text_format("nameplate %s%s; %s is also plated as %s", word, plate->label,
                           figure_written(&plate->written[field]).text, figure_in(plate->power_partner_w, other).text);
    }
    return text_format("nameplate %s%s", word, plate->label);
}

static void sum_motors(const struct computation *computation, enum plate_field field, struct setpoint *setpoint)
{
    double motors = computation->motors;
    char *basis =
        text_format("%u motors x %s (%s) = %s", computation->motors, figure_in(setpoint->nominal, setpoint->unit).text,
                    setpoint->basis, figure_in(setpoint->nominal * motors, setpoint->unit).text);
    free(setpoint->basis);
    struct band one = {setpoint->low, setpoint->nominal, setpoint->high};
    range(setpoint, band_scaled(one, motors), computation->plate.written[field].unit, SOURCE_DERIVED, basis);
}

static void compute_direct(const struct computation *computation, struct setpoint *setpoint)
{
    const struct direct_row *row = direct_row(setpoint->means);
    const struct nameplate *plate = &computation->plate;
    bool extends = row->extends && computation->is_extended && plate->reason == NULL;
    if (extends && computation->map->plate_at == PLATE_UNSAID) {
        missing(setpoint, text_format("the motor is run to an extended frequency, and the map does not say plate_at"));
        return;
    }
    extends = extends && computation->map->plate_at == PLATE_EXTENDED;
    const struct nameplate *used = extends ? &computation->extended : plate;
    struct band band = used->bands[row->field];
    enum unit unit = used->written[row->field].unit;
    if (extends && !band_known(band) && band_known(plate->bands[row->field]))
        missing(setpoint, text_format("the extended %s does not follow from the sheet: it takes run_to with voltage "
                                      "and frequency, and a plate whose speed tells the poles",
                                      plate_field_word(row->field)));
    else if (!band_known(band))
        missing_field(setpoint, used, row->field);
    else if (extends)
        range(setpoint, band, unit, SOURCE_DERIVED, extended_basis(computation, row->field));
    else
        range(setpoint, band, unit, SOURCE_NAMEPLATE, direct_basis(plate, row->field));
    if (setpoint->kind != SETPOINT_RANGE)
        return;
    bool sums = row->sums && computation->motors > 1;
    if (sums)
        sum_motors(computation, row->field, setpoint);
    setpoint->formula = row->formulas[extends][sums];
}

/* Poles and slip need frequency, speed and a number of poles that fits them. */
static bool speed_known(const struct computation *computation, struct setpoint *setpoint)
{
    const struct nameplate *plate = &computation->plate;
    static const enum plate_field needed[] = {FIELD_FREQUENCY, FIELD_SPEED};
    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++)
        if (!band_known(plate->bands[needed[i]])) {
            missing_field(setpoint, plate, needed[i]);
            return false;
        }
    if (plate->poles == 0)
        missing(setpoint,
                text_format("%s at %s fits no number of poles", figure_written(&plate->written[FIELD_SPEED]).text,
                            figure_written(&plate->written[FIELD_FREQUENCY]).text));
    return plate->poles > 0;
}

static void compute_poles(const struct computation *computation, struct setpoint *setpoint)
{
    const struct nameplate *plate = &computation->plate;
    if (!speed_known(computation, setpoint))
        return;
    char *numbers = poles_numbers(plate);
    range(setpoint, band_exact(plate->poles), UNIT_NONE, SOURCE_DERIVED,
          text_format("poles = %s = %u", numbers, plate->poles));
    setpoint->formula = poles_formula(plate->kind);
    free(numbers);
}

static void compute_slip(const struct computation *computation, struct setpoint *setpoint)
{
    const struct nameplate *plate = &computation->plate;
    if (plate->reason == NULL && plate->kind != MOTOR_INDUCTION) {
        missing(setpoint, text_copy("slip is a setpoint of three-phase induction motors only"));
        return;
    }
    if (computation->motors > 1) {
        missing(setpoint, text_format("%u motors share the drive, so it has no one slip", computation->motors));
        return;
    }
    if (!speed_known(computation, setpoint))
        return;
    struct band shaft_hz = band_scaled(plate->bands[FIELD_SPEED], plate->poles / 120.0);
    struct band slip_hz = band_difference(nameplate_formula_frequency(plate), shaft_hz);
    if (!(slip_hz.nominal > 0)) {
        missing(setpoint, text_copy("the plate's speed is synchronous, which leaves no slip"));
        return;
    }
    slip_hz.low = fmax(slip_hz.low, 0);
    range(setpoint, slip_hz, UNIT_HZ, SOURCE_DERIVED,
          text_format("slip = %s - %s x %u poles / 120 = %s Hz", figure_written(&plate->written[FIELD_FREQUENCY]).text,
                      figure_written(&plate->written[FIELD_SPEED]).text, plate->poles, figure(slip_hz.nominal).text));
    setpoint->formula = "f_N - n_N p / 120";
}

/* 125 % for a marked service factor of 1.15 or more or a marked rise of 40 degC or less, else 115 %.
 * Source: NEC 430.32(A)(1), read in the 2008 text. `why` says which. */
static double overload_share(const struct motor *motor, struct figure *why_figure, const char **why)
{
    const double least_service_factor = 1.15;
    const double most_rise_degc = 40;
    if (quantity_base(&motor->service_factor) >= least_service_factor) {
        *why_figure = figure_written(&motor->service_factor);
        *why = "service factor ";
        return 1.25;
    }
    if (quantity_base(&motor->temperature_rise) <= most_rise_degc) {
        *why_figure = figure_written(&motor->temperature_rise);
        *why = "temperature rise ";
        return 1.25;
    }
    *why_figure = (struct figure){""};
    *why = "neither service factor 1.15 nor a rise of 40 degC on the plate";
    return 1.15;
}

/* By the larger share or not, and of several motors or one. */
static const char *const overload_formulas[2][2] = {{"I_N to 1.15 I_N", "N I_N to 1.15 N I_N"},
                                                    {"I_N to 1.25 I_N", "N I_N to 1.25 N I_N"}};

static void compute_overload(const struct computation *computation, struct setpoint *setpoint)
{
    size_t index = map_find_means(computation->map, MEANS_MOTOR_OVERLOAD_CURRENT, 0);
    enum overload_is overload_is =
        index == PARAMETER_NOT_FOUND ? OVERLOAD_UNSAID : computation->map->parameters[index].overload_is;
    if (overload_is == OVERLOAD_UNSAID) {
        missing(setpoint, text_copy("the map does not say overload_is"));
        return;
    }
    struct setpoint current = {.means = MEANS_MOTOR_RATED_CURRENT};
    compute_direct(computation, &current);
    setpoint->kind = current.kind;
    if (current.kind != SETPOINT_RANGE) {
        missing(setpoint, current.basis);
        return;
    }
    struct band band = {current.low, current.nominal, current.high};
    if (overload_is == OVERLOAD_REFERENCE) {
        range(setpoint, band, current.unit, current.source, current.basis);
        setpoint->formula = current.formula == NULL ? "I_N" : current.formula;
        return;
    }
    struct figure why_figure;
    const char *why;
    double share = overload_share(&computation->sheet->motor, &why_figure, &why);
    bool by_service_factor = quantity_base(&computation->sheet->motor.service_factor) > 1;
    char *basis =
        text_format("from the motor's %s (%s) to %s %% of it = %s, NEC 430.32(A)(1): %s%s%s",
                    figure_in(current.nominal, current.unit).text, current.basis, figure(share * 100).text,
                    figure_in(current.nominal * share, current.unit).text, why, why_figure.text,
                    by_service_factor ? "; a plate's service factor holds on sine supply, so do not load the motor "
                                        "beyond its rating on a drive"
                                      : "");
    range(setpoint, (struct band){current.low, NAN, current.high * share}, current.unit, SOURCE_DERIVED, basis);
    setpoint->formula = overload_formulas[share > 1.2][computation->motors > 1];
    free(current.basis);
}

static void compute_no_load(const struct computation *computation, struct setpoint *setpoint)
{
    const struct quantity *current = &computation->sheet->motor.no_load_current;
    if (computation->plate.reason != NULL) {
        missing(setpoint, text_copy(computation->plate.reason));
        return;
    }
    if (!current->given) {
        missing(setpoint, text_copy("the sheet's motor has no no_load_current"));
        return;
    }
    range(setpoint, band_of(current), current->unit, SOURCE_NAMEPLATE, text_copy("the motor's no-load current"));
    if (computation->motors > 1) {
        sum_motors(computation, FIELD_CURRENT, setpoint);
        setpoint->formula = "N I_0";
    }
}

static void compute_supply_voltage(const struct computation *computation, struct setpoint *setpoint)
{
    const struct quantity *voltage = &computation->sheet->supply.voltage;
    if (!voltage->given)
        missing(setpoint, text_copy("the sheet has no supply voltage"));
    else
        range(setpoint, band_of(voltage), voltage->unit, SOURCE_JOB, text_copy("the sheet's supply voltage"));
}

static void compute_supply_phases(const struct computation *computation, struct setpoint *setpoint)
{
    unsigned phases = computation->sheet->supply.phases;
    if (phases == 0)
        missing(setpoint, text_copy("the sheet does not say the supply's phases"));
    else
        range(setpoint, band_exact(phases), UNIT_NONE, SOURCE_JOB, text_copy("the sheet's supply phases"));
}

static void compute_drive_current(const struct computation *computation, struct setpoint *setpoint)
{
    const struct quantity *current = &computation->sheet->drive.rated_current;
    if (!current->given)
        missing(setpoint, text_copy("the sheet's drive has no rated_current"));
    else
        range(setpoint, band_of(current), current->unit, SOURCE_NAMEPLATE,
              text_copy("rated current on the drive's plate"));
}

struct rule {
    enum means means;
    rule_function *compute;
};

static const struct rule rules[] = {
    {MEANS_MOTOR_RATED_POWER, compute_direct},        {MEANS_MOTOR_RATED_VOLTAGE, compute_direct},
    {MEANS_MOTOR_RATED_CURRENT, compute_direct},      {MEANS_MOTOR_RATED_FREQUENCY, compute_direct},
    {MEANS_MOTOR_RATED_SPEED, compute_direct},        {MEANS_MOTOR_POLES, compute_poles},
    {MEANS_MOTOR_POWER_FACTOR, compute_direct},       {MEANS_MOTOR_EFFICIENCY, compute_direct},
    {MEANS_MOTOR_NO_LOAD_CURRENT, compute_no_load},   {MEANS_MOTOR_RATED_SLIP, compute_slip},
    {MEANS_MOTOR_OVERLOAD_CURRENT, compute_overload}, {MEANS_OUTPUT_BASE_FREQUENCY, compute_direct},
    {MEANS_OUTPUT_BASE_VOLTAGE, compute_direct},      {MEANS_SUPPLY_VOLTAGE, compute_supply_voltage},
    {MEANS_SUPPLY_PHASES, compute_supply_phases},     {MEANS_DRIVE_RATED_CURRENT, compute_drive_current},
};

static bool span_refers(const struct ramp_span *span, enum means means)
{
    if (span->means == means)
        return true;
    for (size_t i = 0; i < span->by.count; i++)
        if (span->by.rows[i].span_means == means)
            return true;
    return false;
}

/* Does a parameter need that means for its own value or range: as base of a percentage, span or bound? */
static bool refers(const struct parameter *parameter, enum means means)
{
    return (parameter->is_percent && parameter->percent_of == means) || span_refers(&parameter->ramp_span, means) ||
           (parameter->accepts_low.kind == BOUND_MEANS && parameter->accepts_low.means == means) ||
           (parameter->accepts_high.kind == BOUND_MEANS && parameter->accepts_high.means == means);
}

static void compute_rule(const struct computation *computation, const struct rule *rule, struct setpoints *setpoints)
{
    const struct map *map = computation->map;
    bool has = map_find_means(map, rule->means, 0) != PARAMETER_NOT_FOUND;
    bool needs = has;
    for (size_t i = 0; i < map->count && !needs; i++)
        needs = refers(&map->parameters[i], rule->means);
    if (!needs)
        return;
    struct setpoint setpoint = {.means = rule->means, .stake = means_table[rule->means].stake};
    rule->compute(computation, &setpoint);
    if (!has && setpoint.kind == SETPOINT_MISSING) { /* nothing to check would go unchecked */
        free(setpoint.basis);
        return;
    }
    job_allow(computation->sheet, map, &setpoint);
    setpoints->items = memory_grow(setpoints->items, setpoints->count, sizeof *setpoints->items);
    setpoints->items[setpoints->count++] = setpoint;
}

/* What the sheet says that the drive is, where the map has a register that tells it. */
static void add_identification(const struct computation *computation, enum means means, const char *text,
                               struct setpoints *setpoints)
{
    if (text == NULL || map_find_means(computation->map, means, 0) == PARAMETER_NOT_FOUND)
        return;
    setpoints->items = memory_grow(setpoints->items, setpoints->count, sizeof *setpoints->items);
    setpoints->items[setpoints->count++] = (struct setpoint){
        .means = means,
        .kind = SETPOINT_WORD,
        .low = NAN,
        .nominal = NAN,
        .high = NAN,
        .word = text_copy(text),
        .basis = text_format("the sheet's %s", means_table[means].name),
        .source = SOURCE_JOB,
        .stake = means_table[means].stake,
    };
}

void setpoints_compute(const struct sheet *sheet, const struct map *map, struct setpoints *setpoints)
{
    *setpoints = (struct setpoints){0};
    struct computation computation = {
        .sheet = sheet, .map = map, .motors = sheet->motors.count > 1 ? sheet->motors.count : 1};
    nameplate_read(&sheet->motor, &computation.plate);
    computation.is_extended = nameplate_extend(&sheet->motor, &computation.plate, &computation.extended);

    nameplate_derive(&computation.plate, &setpoints->derived);
    setpoints->derived.dc_bus_v = dc_bus_voltage_v(&sheet->supply, sheet->drive.front_end);
    plausibility_check(sheet, &computation.plate, &setpoints->implausible);
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++)
        compute_rule(&computation, &rules[i], setpoints);
    add_identification(&computation, MEANS_DRIVE_SERIAL_NUMBER, sheet->drive.serial_number, setpoints);
    add_identification(&computation, MEANS_DRIVE_FIRMWARE, sheet->drive.firmware, setpoints);
    job_setpoints(sheet, map, &computation.plate, setpoints);
    protection_check(sheet, &setpoints->implausible, &setpoints->open);
    dynamics_compute(sheet, &computation.plate, setpoints);
    limits_check(sheet, map, &computation.plate, setpoints);
    derivations_compute(sheet, &computation.plate, setpoints);
}
