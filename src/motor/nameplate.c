/* SPDX-License-Identifier: MIT */
/* What a motor's plate says and what follows from it. */
#include "motor/nameplate.h"

#include "motor/constants.h"
#include "motor/figure.h"
#include "motor/quantity.h"
#include "motor/ratings.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct field_row {
    const char *key;
    const char *word;
};

static const struct field_row field_rows[FIELD_COUNT] = {
    [FIELD_POWER] = {"rated_power", "power"},          [FIELD_VOLTAGE] = {"rated_voltage", "voltage"},
    [FIELD_CURRENT] = {"rated_current", "current"},    [FIELD_FREQUENCY] = {"rated_frequency", "frequency"},
    [FIELD_SPEED] = {"rated_speed", "speed"},          [FIELD_POWER_FACTOR] = {"power_factor", "power factor"},
    [FIELD_EFFICIENCY] = {"efficiency", "efficiency"},
};

/* Slip by size, up to the power of the row. Common practice, no source: the low ends are below those of the best
 * large motors, the high ends above those of high-slip designs of the size. */
struct slip_row {
    double up_to_w;
    double low, high;
};

static const struct slip_row slip_rows[] = {
    {370, 0.004, 0.20}, {3000, 0.003, 0.15}, {15000, 0.002, 0.12}, {75000, 0.0015, 0.08}, {INFINITY, 0.001, 0.05},
};

const char *plate_field_key(enum plate_field field)
{
    return field_rows[field].key;
}

const char *plate_field_word(enum plate_field field)
{
    return field_rows[field].word;
}

unsigned poles_by_slip(double frequency_hz, double speed_rpm)
{
    const double slack = 1e-9; /* 60 f / n may come out a hair below a whole number */
    double pairs = floor(60 * frequency_hz / speed_rpm * (1 + slack));
    return pairs >= 1 && pairs < 1000 ? 2 * (unsigned)pairs : 0;
}

unsigned poles_by_nearest(double frequency_hz, double speed_rpm)
{
    double pairs = round(60 * frequency_hz / speed_rpm);
    return pairs >= 1 && pairs < 1000 ? 2 * (unsigned)pairs : 2;
}

double synchronous_speed_rpm(double frequency_hz, unsigned poles)
{
    return 120 * frequency_hz / poles;
}

double shaft_torque_nm(double power_w, double speed_rpm)
{
    return power_w / (2 * PI * speed_rpm / 60);
}

double phase_factor(enum motor_kind kind)
{
    return kind == MOTOR_SINGLE_PHASE ? 1 : SQUARE_ROOT_3;
}

double dc_bus_voltage_v(const struct supply *supply, enum front_end front_end)
{
    double peak_v = SQUARE_ROOT_2 * quantity_base(&supply->voltage);
    switch (front_end) {
    case FRONT_UNSAID:
    case FRONT_RECTIFIER:
        return supply->phases == 2 ? NAN : peak_v;
    case FRONT_DOUBLER:
        return 2 * peak_v;
    case FRONT_ACTIVE:
    case FRONT_COMMON_BUS:
        return NAN;
    }
    return NAN;
}

struct band usual_slip(double power_w)
{
    if (isnan(power_w))
        return (struct band){0.001, NAN, 0.20};
    const struct slip_row *row = slip_rows;
    while (power_w > row->up_to_w)
        row++;
    return (struct band){row->low, NAN, row->high};
}

struct band nameplate_formula_frequency(const struct nameplate *plate)
{
    struct band frequency = plate->bands[FIELD_FREQUENCY];
    bool names_a_system = frequency.nominal == 50 || frequency.nominal == 60;
    return names_a_system ? band_exact(frequency.nominal) : frequency;
}

bool synchronous_speed_fits(const struct nameplate *plate, unsigned poles)
{
    const double slack = 0.001; /* plates give the frequency of odd speeds with few digits */
    struct band synchronous = band_scaled(nameplate_formula_frequency(plate), 120.0 / poles);
    return band_overlaps(plate->bands[FIELD_SPEED], synchronous.low * (1 - slack), synchronous.high * (1 + slack));
}

static unsigned find_poles(const struct nameplate *plate)
{
    struct band speed = plate->bands[FIELD_SPEED];
    double frequency_hz = plate->bands[FIELD_FREQUENCY].nominal;
    if (!band_known(speed) || isnan(frequency_hz))
        return 0;

    unsigned poles = 0;
    switch (plate->kind) {
    case MOTOR_INDUCTION:
    case MOTOR_SINGLE_PHASE:
        poles = poles_by_slip(frequency_hz, speed.nominal);
        if (poles == 0)
            return 0;
        double slip = 1 - speed.high / synchronous_speed_rpm(frequency_hz, poles);
        double power_w = plate->kind == MOTOR_INDUCTION ? plate->bands[FIELD_POWER].nominal : NAN;
        return slip <= usual_slip(power_w).high ? poles : 0;
    case MOTOR_PERMANENT_MAGNET:
    case MOTOR_SYNCHRONOUS_RELUCTANCE:
        poles = poles_by_nearest(frequency_hz, speed.nominal);
        return synchronous_speed_fits(plate, poles) ? poles : 0;
    }
    return 0;
}

/* A preferred rating is exact in its own unit, and the size of the same name in the other unit is as right. */
static struct band power_band(const struct quantity *power, double *partner_w)
{
    struct quantity partner;
    *partner_w = NAN;
    if (!rating_partner(power, &partner))
        return band_of(power);
    double own_w = quantity_base(power);
    *partner_w = quantity_base(&partner);
    return (struct band){fmin(own_w, *partner_w), own_w, fmax(own_w, *partner_w)};
}

static struct band voltage_band(const struct plate_column *column)
{
    struct band low = band_of(&column->voltage_low);
    struct band high = column->voltage_high.given ? band_of(&column->voltage_high) : low;
    return (struct band){low.low, (low.nominal + high.nominal) / 2, high.high};
}

static bool frequencies_differ(const struct motor *motor)
{
    for (size_t i = 1; i < motor->column_count; i++)
        if (motor->columns[i].frequency.given && motor->columns[0].frequency.given &&
            quantity_base(&motor->columns[i].frequency) != quantity_base(&motor->columns[0].frequency))
            return true;
    return false;
}

/* " in the 230 V column", with the frequency where the columns differ in it. */
static void label_column(const struct motor *motor, const struct plate_column *column, char *label, size_t size)
{
    const struct quantity *low = &column->voltage_low;
    const struct quantity *high = column->voltage_high.given ? &column->voltage_high : low;
    label[0] = '\0';
    if (motor->column_count < 2 || !low->given)
        return;
    bool is_range = high->value > low->value;
    bool with_frequency = column->frequency.given && frequencies_differ(motor);
    (void)snprintf(label, size, " in the %.12s%s%.16s%s%.16s column", is_range ? figure(low->value).text : "",
                   is_range ? "-" : "", figure_written(high).text, with_frequency ? " " : "",
                   with_frequency ? figure_written(&column->frequency).text : "");
}

void nameplate_read_column(const struct motor *motor, size_t column_index, struct nameplate *plate)
{
    const struct plate_column *column = &motor->columns[column_index];
    *plate = (struct nameplate){.column = column, .kind = motor->kind};
    label_column(motor, column, plate->label, sizeof plate->label);

    const struct quantity written[FIELD_COUNT] = {
        [FIELD_POWER] = column->power,           [FIELD_VOLTAGE] = column->voltage_low,
        [FIELD_CURRENT] = column->current,       [FIELD_FREQUENCY] = column->frequency,
        [FIELD_SPEED] = column->speed,           [FIELD_POWER_FACTOR] = column->power_factor,
        [FIELD_EFFICIENCY] = column->efficiency,
    };
    memcpy(plate->written, written, sizeof written);
    for (int i = 0; i < FIELD_COUNT; i++)
        plate->bands[i] = band_of(&written[i]);
    plate->bands[FIELD_POWER] = power_band(&column->power, &plate->power_partner_w);
    plate->bands[FIELD_VOLTAGE] = voltage_band(column);
    for (int i = 0; i < FIELD_COUNT; i++)
        if (!(plate->bands[i].nominal > 0))
            plate->bands[i] = band_unknown();
    plate->poles = find_poles(plate);
}

void nameplate_read(const struct motor *motor, struct nameplate *plate)
{
    const char *reason = NULL;
    if (!motor->given || motor->column_count == 0)
        reason = "the sheet has no motor";
    else if (motor->column_count > 1 && !motor->connected_given)
        reason = "the sheet does not say connected_for, and the plate has more than one column";
    if (reason == NULL) {
        nameplate_read_column(motor, motor->column_count == 1 ? 0 : motor->connected, plate);
        return;
    }
    *plate = (struct nameplate){.reason = reason, .kind = motor->kind, .power_partner_w = NAN};
    for (int i = 0; i < FIELD_COUNT; i++)
        plate->bands[i] = band_unknown();
}

bool nameplate_extend(const struct motor *motor, const struct nameplate *plate, struct nameplate *extended)
{
    if (!motor->run_to_voltage.given && !motor->run_to_frequency.given)
        return false;
    *extended = *plate;
    extended->power_partner_w = NAN;
    extended->written[FIELD_VOLTAGE] = motor->run_to_voltage;
    extended->written[FIELD_FREQUENCY] = motor->run_to_frequency;
    extended->bands[FIELD_VOLTAGE] = band_of(&motor->run_to_voltage);
    extended->bands[FIELD_FREQUENCY] = band_of(&motor->run_to_frequency);

    struct band rated_frequency = nameplate_formula_frequency(plate);
    struct band run_frequency = nameplate_formula_frequency(extended);
    extended->bands[FIELD_POWER] = band_product(plate->bands[FIELD_POWER], band_ratio(run_frequency, rated_frequency));
    extended->bands[FIELD_SPEED] = band_unknown();
    if (plate->poles > 0) {
        struct band more = band_scaled(band_difference(run_frequency, rated_frequency), 120.0 / plate->poles);
        extended->bands[FIELD_SPEED] = band_sum(plate->bands[FIELD_SPEED], more);
    }
    return true;
}

void nameplate_derive(const struct nameplate *plate, struct derived *derived)
{
    const struct band *bands = plate->bands;
    *derived = (struct derived){
        .poles = plate->poles,
        .synchronous_speed_rpm = NAN,
        .slip = NAN,
        .slip_hz = NAN,
        .rated_torque_nm = shaft_torque_nm(bands[FIELD_POWER].nominal, bands[FIELD_SPEED].nominal),
        .volts_per_hertz = bands[FIELD_VOLTAGE].nominal / bands[FIELD_FREQUENCY].nominal,
        .efficiency_pf = bands[FIELD_POWER].nominal /
                         (phase_factor(plate->kind) * bands[FIELD_VOLTAGE].nominal * bands[FIELD_CURRENT].nominal),
        .rated_power_w = bands[FIELD_POWER].nominal,
        .rated_voltage_v = bands[FIELD_VOLTAGE].nominal,
        .rated_current_a = bands[FIELD_CURRENT].nominal,
        .rated_frequency_hz = bands[FIELD_FREQUENCY].nominal,
        .rated_speed_rpm = bands[FIELD_SPEED].nominal,
        .dc_bus_v = NAN,
    };
    if (plate->poles == 0)
        return;
    derived->synchronous_speed_rpm = synchronous_speed_rpm(derived->rated_frequency_hz, plate->poles);
    derived->slip = 1 - derived->rated_speed_rpm / derived->synchronous_speed_rpm;
    derived->slip_hz = derived->slip * derived->rated_frequency_hz;
}
