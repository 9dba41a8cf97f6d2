/* SPDX-License-Identifier: MIT */
/* A motor's equivalent circuit, estimated from its nameplate. */
#include "motor/motor_model.h"

#include "motor/circuit_fit.h"
#include "motor/constants.h"
#include "motor/figure.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* What motors up to the power of the row usually have. Common practice, no source. */
struct size_row {
    double up_to_w;
    double efficiency, power_factor, slip;
};

static const struct size_row size_rows[] = {
    {250, 0.62, 0.66, 0.070},   {550, 0.70, 0.70, 0.060},     {1100, 0.78, 0.75, 0.050},
    {3000, 0.83, 0.80, 0.040},  {7500, 0.87, 0.82, 0.030},    {18500, 0.90, 0.84, 0.025},
    {45000, 0.93, 0.85, 0.018}, {110000, 0.945, 0.86, 0.012}, {INFINITY, 0.955, 0.87, 0.009},
};

/* How the losses other than the rotor's are divided, and the breakdown torque of a motor of which nothing is known.
 * Common practice, no source. */
static const double stator_part = 0.50;
static const double core_part = 0.25;
static const double rotational_part = 0.25;
static const double usual_breakdown = 2.7;

/* No motor magnetises itself: above this, a plate's power factor says that something is misread. */
static const double most_power_factor = 0.985;
/* The losses that slip does not tell are at least this part of all; else speed and efficiency do not fit. */
static const double least_other_losses = 0.1;

/* Each leakage reactance is looked for between these, over the phase voltage through the phase current. */
static const double least_leakage = 0.005;
static const double most_leakage = 0.5;
/* The magnetising branch takes at least this part of the reactive power at rated load. */
static const double least_magnetising_part = 0.35;

static const struct size_row *size_of(double power_w)
{
    const struct size_row *row = size_rows;
    while (power_w > row->up_to_w)
        row++;
    return row;
}

struct motor_plate motor_plate_of(const struct nameplate *plate, const struct motor *motor)
{
    const struct band *bands = plate->bands;
    return (struct motor_plate){
        .power_w = bands[FIELD_POWER].nominal,
        .voltage_v = bands[FIELD_VOLTAGE].nominal,
        .current_a = bands[FIELD_CURRENT].nominal,
        .frequency_hz = bands[FIELD_FREQUENCY].nominal,
        .speed_rpm = bands[FIELD_SPEED].nominal,
        .power_factor = bands[FIELD_POWER_FACTOR].nominal,
        .efficiency = bands[FIELD_EFFICIENCY].nominal,
        .no_load_current_a = quantity_base(&motor->no_load_current),
        .breakdown = quantity_base(&motor->breakdown_torque),
        .poles = plate->kind == MOTOR_INDUCTION ? plate->poles : 0,
    };
}

static bool refuse(struct motor_model *model, const char *reason)
{
    model->reason = reason;
    return false;
}

static void take(struct motor_model *model, enum plate_field field, double *value, double found,
                 enum plate_origin origin)
{
    *value = found;
    model->origin[field] = origin;
}

/* Power factor and efficiency, where product is what power, voltage and current leave for both. */
static void fill_factors(struct motor_model *model, double product)
{
    struct motor_plate *plate = &model->plate;
    const struct size_row *usual = size_of(plate->power_w);
    if (!isnan(plate->power_factor)) {
        take(model, FIELD_EFFICIENCY, &plate->efficiency, product / plate->power_factor, ORIGIN_BALANCE);
        return;
    }
    if (isnan(plate->efficiency)) {
        /* A guess for one must leave a possible value for the other. */
        const double guess = fmax(usual->efficiency, product / 0.93);
        take(model, FIELD_EFFICIENCY, &plate->efficiency, guess, ORIGIN_SIZE);
    }
    take(model, FIELD_POWER_FACTOR, &plate->power_factor, product / plate->efficiency, ORIGIN_BALANCE);
}

/* Power or current from the other one, with usual factors where the plate has none. */
static void fill_power_or_current(struct motor_model *model)
{
    struct motor_plate *plate = &model->plate;
    const double apparent_w = SQUARE_ROOT_3 * plate->voltage_v * plate->current_a;
    /* A motor's size from its apparent power: the factors change slowly with it. */
    const double size_w = isnan(plate->power_w) ? apparent_w * 0.7 : plate->power_w;
    const struct size_row *usual = size_of(size_w);
    if (isnan(plate->efficiency))
        take(model, FIELD_EFFICIENCY, &plate->efficiency, usual->efficiency, ORIGIN_SIZE);
    if (isnan(plate->power_factor))
        take(model, FIELD_POWER_FACTOR, &plate->power_factor, usual->power_factor, ORIGIN_SIZE);
    const double product = plate->efficiency * plate->power_factor;
    if (isnan(plate->power_w))
        take(model, FIELD_POWER, &plate->power_w, apparent_w * product, ORIGIN_BALANCE);
    else
        take(model, FIELD_CURRENT, &plate->current_a, plate->power_w / (SQUARE_ROOT_3 * plate->voltage_v * product),
             ORIGIN_BALANCE);
}

/* Makes the plate whole, so that P = sqrt(3) V I cos eta holds in it. */
static bool complete(struct motor_model *model)
{
    struct motor_plate *plate = &model->plate;
    if (!(plate->voltage_v > 0) || !(plate->frequency_hz > 0))
        return refuse(model, "the plate has no voltage or no frequency");
    if (plate->poles < 2)
        return refuse(model, "speed and frequency tell no number of poles");
    if (!(plate->power_w > 0) && !(plate->current_a > 0))
        return refuse(model, "the plate has neither power nor current");

    if (!(plate->power_w > 0) || !(plate->current_a > 0))
        fill_power_or_current(model);
    else
        fill_factors(model, plate->power_w / (SQUARE_ROOT_3 * plate->voltage_v * plate->current_a));
    if (!(plate->speed_rpm > 0))
        take(model, FIELD_SPEED, &plate->speed_rpm,
             synchronous_speed_rpm(plate->frequency_hz, plate->poles) * (1 - size_of(plate->power_w)->slip),
             ORIGIN_SIZE);
    if (!(plate->power_factor > 0 && plate->power_factor <= most_power_factor))
        return refuse(model, "power, voltage and current leave no power factor that an induction motor has");
    if (!(plate->efficiency > 0 && plate->efficiency < 1))
        return refuse(model, "power, voltage, current and power factor leave no possible efficiency");
    return true;
}

/* Divides the losses of the complete plate. Source of the rotor's: air-gap power times slip. */
static bool divide_losses(struct motor_model *model, struct known_point *known)
{
    const struct motor_plate *plate = &model->plate;
    const double slip = 1 - plate->speed_rpm / synchronous_speed_rpm(plate->frequency_hz, plate->poles);
    if (!(slip > 0 && slip < 1))
        return refuse(model, "the plate's speed leaves no slip");
    const double losses_w = plate->power_w / plate->efficiency - plate->power_w;
    const double rotor_per_w = slip / (1 - slip); /* of converted power */
    const double other_w = (losses_w - rotor_per_w * plate->power_w) / (1 + rotational_part * rotor_per_w);
    if (!(other_w > least_other_losses * losses_w))
        return refuse(model, "the slip alone loses as much as the plate's efficiency allows");
    *known = (struct known_point){
        .poles = plate->poles,
        .voltage_v = plate->voltage_v,
        .frequency_hz = plate->frequency_hz,
        .line_current_a = plate->current_a,
        .power_factor = plate->power_factor,
        .slip = slip,
        .stator_ohm = stator_part * other_w / (3 * plate->current_a * plate->current_a),
        .core_loss_w = core_part * other_w,
        .rotational_loss_w = rotational_part * other_w,
    };
    return true;
}

static struct terminals rated_terminals(const struct motor_plate *plate)
{
    return (struct terminals){plate->voltage_v, plate->frequency_hz};
}

/* A circuit of that leakage that goes through the plate's point and leaves enough for magnetising. */
static bool fits(const struct motor_model *model, struct known_point *known, double leakage, struct circuit *circuit)
{
    const struct motor_plate *plate = &model->plate;
    const double unit_ohm = plate->voltage_v / (SQUARE_ROOT_3 * plate->current_a);
    known->leakage_ohm[0] = known->leakage_ohm[1] = leakage * unit_ohm;
    if (!circuit_of_point(known, circuit))
        return false;
    const struct terminals terminals = rated_terminals(plate);
    const struct operating_point point = circuit_at_slip(circuit, &terminals, known->slip);
    const double reactive_va =
        SQUARE_ROOT_3 * plate->voltage_v * plate->current_a * sqrt(1 - plate->power_factor * plate->power_factor);
    const double leakage_va =
        3 * known->leakage_ohm[0] *
        (point.line_current_a * point.line_current_a + point.rotor_current_a * point.rotor_current_a);
    return reactive_va - leakage_va >= least_magnetising_part * reactive_va;
}

static double breakdown_share(const struct motor_plate *plate, const struct circuit *circuit)
{
    const struct terminals terminals = rated_terminals(plate);
    return circuit_breakdown(circuit, &terminals).shaft_torque_nm / shaft_torque_nm(plate->power_w, plate->speed_rpm);
}

static double idle_current_a(const struct motor_plate *plate, const struct circuit *circuit)
{
    const struct terminals terminals = rated_terminals(plate);
    struct operating_point idle;
    (void)circuit_at_torque(circuit, &terminals, 0, &idle);
    return idle.line_current_a;
}

/* How far a circuit exceeds what is wanted of it. Breakdown torque and no-load current both fall as leakage rises. */
static double beyond_wanted(const struct motor_plate *plate, const struct circuit *circuit)
{
    if (plate->breakdown > 0)
        return breakdown_share(plate, circuit) - plate->breakdown;
    if (plate->no_load_current_a > 0)
        return idle_current_a(plate, circuit) - plate->no_load_current_a;
    return breakdown_share(plate, circuit) - usual_breakdown;
}

/* Looks for the leakage that gives what is wanted; where none does, takes the nearest that fits the plate at all. */
static bool find_leakage(struct motor_model *model, struct known_point *known)
{
    double low = least_leakage;
    if (!fits(model, known, low, &model->circuit))
        return refuse(model, "no equivalent circuit has the plate's current, power factor and speed");
    double high = most_leakage;
    struct circuit circuit;
    if (!fits(model, known, high, &circuit)) {
        double possible = low;
        for (int step = 0; step < 40; step++) {
            const double middle = (possible + high) / 2;
            if (fits(model, known, middle, &circuit))
                possible = middle;
            else
                high = middle;
        }
        high = possible;
        (void)fits(model, known, high, &circuit);
    }
    if (beyond_wanted(&model->plate, &model->circuit) <= 0)
        return true;
    model->circuit = circuit;
    if (beyond_wanted(&model->plate, &circuit) >= 0)
        return true;
    for (int step = 0; step < 50; step++) {
        const double middle = (low + high) / 2;
        (void)fits(model, known, middle, &model->circuit);
        if (beyond_wanted(&model->plate, &model->circuit) > 0)
            low = middle;
        else
            high = middle;
    }
    return true;
}

/* Are they within 2 % of each other? */
static bool about(double found, double wanted)
{
    return fabs(found - wanted) <= 0.02 * wanted;
}

static bool estimate(const struct motor_plate *plate, struct motor_model *model)
{
    *model = (struct motor_model){.plate = *plate};
    struct known_point known;
    if (!complete(model) || !divide_losses(model, &known) || !find_leakage(model, &known))
        return false;
    model->plate.breakdown = breakdown_share(&model->plate, &model->circuit);
    model->plate.no_load_current_a = idle_current_a(&model->plate, &model->circuit);
    model->keeps_breakdown = about(model->plate.breakdown, plate->breakdown);
    model->keeps_no_load = about(model->plate.no_load_current_a, plate->no_load_current_a);
    return true;
}

bool motor_model_estimate(const struct motor_plate *plate, struct motor_model *model)
{
    if (estimate(plate, model))
        return true;
    /* Where the power factor is the figure that is misread, the efficiency may fit the others. */
    struct motor_plate without = *plate;
    without.power_factor = NAN;
    const char *reason = model->reason;
    if (!isnan(plate->power_factor) && !isnan(plate->efficiency) && estimate(&without, model))
        return true;
    model->reason = reason;
    return false;
}

struct operating_point motor_model_rated(const struct motor_model *model)
{
    const struct terminals terminals = rated_terminals(&model->plate);
    return circuit_at_speed(&model->circuit, &terminals, model->plate.speed_rpm);
}

double speed_by_slip_rule_rpm(unsigned poles, double frequency_hz, double rated_slip_rpm, double torque)
{
    return synchronous_speed_rpm(frequency_hz, poles) - torque * rated_slip_rpm;
}

/* "efficiency 86.6 %", as sentences have it. */
static char *assumed_text(const struct motor_model *model, enum plate_field field)
{
    const struct motor_plate *plate = &model->plate;
    const struct {
        double value;
        enum unit unit;
    } rows[FIELD_COUNT] = {
        [FIELD_POWER] = {plate->power_w, UNIT_KW},
        [FIELD_VOLTAGE] = {plate->voltage_v, UNIT_V},
        [FIELD_CURRENT] = {plate->current_a, UNIT_A},
        [FIELD_FREQUENCY] = {plate->frequency_hz, UNIT_HZ},
        [FIELD_SPEED] = {plate->speed_rpm, UNIT_RPM},
        [FIELD_POWER_FACTOR] = {plate->power_factor, UNIT_PER_UNIT},
        [FIELD_EFFICIENCY] = {plate->efficiency, UNIT_PERCENT},
    };
    return text_format("%s %s", plate_field_word(field), figure_in(rows[field].value, rows[field].unit).text);
}

char *motor_model_basis(const struct motor_model *model)
{
    char *text = text_copy("equivalent circuit estimated from the plate");
    for (int i = 0; i < FIELD_COUNT; i++) {
        if (model->origin[i] == ORIGIN_PLATE)
            continue;
        char *assumed = assumed_text(model, (enum plate_field)i);
        char *longer = text_format("%s, %s %s", text, assumed,
                                   model->origin[i] == ORIGIN_SIZE ? "as usual for the size" : "by power balance");
        free(text);
        free(assumed);
        text = longer;
    }
    char *whole = text_format("%s, breakdown torque %s x rated%s", text, figure(model->plate.breakdown).text,
                              model->keeps_breakdown ? " by the plate" : "");
    free(text);
    return whole;
}
