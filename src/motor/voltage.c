/* SPDX-License-Identifier: MIT */
/* Voltage against frequency: base point, what a low supply takes away, boost. */
#include "motor/voltage.h"

#include "motor/figure.h"
#include "motor/job.h"
#include "motor/plausibility.h"
#include "motor/quantity.h"

#include <math.h>

double drive_highest_voltage_v(const struct supply *supply, enum front_end front_end)
{
    switch (front_end) {
    case FRONT_UNSAID:
    case FRONT_RECTIFIER:
        return quantity_base(&supply->voltage);
    case FRONT_DOUBLER:
        return 2 * quantity_base(&supply->voltage);
    case FRONT_ACTIVE:
    case FRONT_COMMON_BUS:
        return NAN;
    }
    return NAN;
}

double flux_share(double voltage_v, double frequency_hz, double rated_voltage_v, double rated_frequency_hz)
{
    return voltage_v / frequency_hz / (rated_voltage_v / rated_frequency_hz);
}

double base_frequency_on_supply_hz(double rated_v, double rated_hz, double available_v)
{
    return available_v > rated_v ? rated_hz : rated_hz * available_v / rated_v;
}

double torque_share_at(double frequency_hz, double base_hz)
{
    return base_hz > frequency_hz ? 1 : base_hz / frequency_hz;
}

double breakdown_share_at(double frequency_hz, double base_hz)
{
    double share = torque_share_at(frequency_hz, base_hz);
    return share * share;
}

double line_current_a(enum motor_kind kind, double power_w, double voltage_v, double efficiency, double power_factor)
{
    return power_w / (phase_factor(kind) * voltage_v * efficiency * power_factor);
}

/* Boost by size, up to the power of the row. Common practice, no source. */
struct boost_row {
    double up_to_w;
    double share;
};

static const struct boost_row boost_rows[] = {
    {750, 0.15}, {4000, 0.10}, {15000, 0.07}, {75000, 0.05}, {INFINITY, 0.03},
};

double usual_boost_share(double power_w)
{
    const struct boost_row *row = boost_rows;
    while (power_w > row->up_to_w)
        row++;
    return row->share;
}

struct band usual_output_voltage_v(double frequency_hz, double base_v, double base_hz, bool square)
{
    const double least_straight = 0.7, least_square = 0.25, most_boost = 0.15;
    double share = fmin(1, frequency_hz / base_hz);
    double least = square ? fmax(least_square, 0.9 * share) : least_straight;
    return (struct band){base_v * share * fmin(least, least_straight), base_v * share,
                         base_v * fmin(1.05, share + most_boost)};
}

bool job_keeps_volts_per_hertz(const struct sheet *sheet, const struct nameplate *plate)
{
    const double tolerance = 0.02;
    const struct setting *voltage = sheet_setting(sheet, MEANS_OUTPUT_BASE_VOLTAGE);
    const struct setting *frequency = sheet_setting(sheet, MEANS_OUTPUT_BASE_FREQUENCY);
    struct band volts;
    struct band hertz;
    if (voltage == NULL || frequency == NULL || !setting_band(voltage, &volts) || !setting_band(frequency, &hertz))
        return false;
    double share = flux_share(volts.nominal, hertz.nominal, plate->bands[FIELD_VOLTAGE].nominal,
                              plate->bands[FIELD_FREQUENCY].nominal);
    return fabs(share - 1) <= tolerance;
}

/* Delta run beyond its rated frequency keeps the plate's volts a hertz; 3 % is what 87 Hz for 86.6 Hz and the systems'
 * names (230 V for 400 V / sqrt(3) = 230.9 V) come to, with room. */
static void check_run_to(const struct installation *installation, struct setpoints *setpoints)
{
    const double tolerance = 0.03;
    const struct motor *motor = &installation->sheet->motor;
    struct band rated_v = installation->plate->bands[FIELD_VOLTAGE];
    struct band rated_hz = nameplate_formula_frequency(installation->plate);
    struct band run_v = band_of(&motor->run_to_voltage);
    struct band run_hz = band_of(&motor->run_to_frequency);
    struct band expected = band_product(band_ratio(rated_v, rated_hz), run_hz);
    if (!band_known(expected) || !band_known(run_v))
        return;
    expected = (struct band){expected.low * (1 - tolerance), expected.nominal, expected.high * (1 + tolerance)};
    if (band_overlaps(run_v, expected.low, expected.high))
        return;
    struct finding *finding = installation_refuse(
        setpoints, "sheet.motor.run_to", STAKE_EQUIPMENT,
        text_format("run_to has %s / %s = %s V/Hz, but the plate has %s / %s = %s V/Hz; the same torque takes the same "
                    "volts a hertz: at %s %s, or at %s %s Hz",
                    figure_written(&motor->run_to_voltage).text, figure_written(&motor->run_to_frequency).text,
                    figure(run_v.nominal / run_hz.nominal).text, figure_in(rated_v.nominal, UNIT_V).text,
                    figure_in(rated_hz.nominal, UNIT_HZ).text, figure(rated_v.nominal / rated_hz.nominal).text,
                    figure_written(&motor->run_to_frequency).text, figure_in(expected.nominal, UNIT_V).text,
                    figure_written(&motor->run_to_voltage).text,
                    figure(run_v.nominal * rated_hz.nominal / rated_v.nominal).text));
    plausibility_figures(finding, expected, run_v.nominal, UNIT_V);
}

static void check_run_to_speed(const struct installation *installation, struct setpoints *setpoints)
{
    const struct motor *motor = &installation->sheet->motor;
    unsigned poles = installation->plate->poles;
    double run_hz = quantity_base(&motor->run_to_frequency);
    struct band highest = band_of(&motor->highest_speed);
    if (poles == 0 || !(synchronous_speed_rpm(run_hz, poles) > highest.high))
        return;
    struct band limit_hz = band_scaled(highest, poles / 120.0);
    struct finding *finding = installation_refuse(
        setpoints, "sheet.motor.run_to", STAKE_EQUIPMENT,
        text_format(
            "run_to's %s is above %s x %u poles / 120 = %s Hz, the highest speed of the motor; look at the plate",
            figure_written(&motor->run_to_frequency).text, figure_written(&motor->highest_speed).text, poles,
            figure(limit_hz.nominal).text));
    plausibility_figures(finding, (struct band){0, NAN, limit_hz.high}, run_hz, UNIT_HZ);
}

/* What to set and what is lost: the drive holds volts a hertz only up to where its supply ends. */
static void check_shortfall(const struct installation *installation, struct setpoints *setpoints)
{
    const struct nameplate *work = &installation->work;
    struct band motor_v = work->bands[FIELD_VOLTAGE];
    double rated_hz = work->bands[FIELD_FREQUENCY].nominal;
    double share = installation->base_hz / rated_hz;
    if (!(installation->base_hz < rated_hz))
        return;
    struct finding *finding = installation_doubt(
        setpoints, "sheet.supply.voltage", STAKE_EQUIPMENT,
        text_format(
            "%s of supply do not reach the motor's %s: full torque ends at %s x %s / %s = %s; at %s %s %% of "
            "the torque and %s %% of the breakdown torque are left. Leave %s at %s (or %s at %s, the same volts "
            "a hertz) in the drive, and load the motor that much less above",
            figure_in(installation->base_v, UNIT_V).text, figure_in(motor_v.nominal, UNIT_V).text,
            figure_in(rated_hz, UNIT_HZ).text, figure(installation->base_v).text, figure(motor_v.nominal).text,
            figure_in(installation->base_hz, UNIT_HZ).text, figure_in(rated_hz, UNIT_HZ).text, figure(share * 100).text,
            figure(breakdown_share_at(rated_hz, installation->base_hz) * 100).text,
            figure_in(motor_v.nominal, UNIT_V).text, figure_in(rated_hz, UNIT_HZ).text,
            figure_in(installation->base_v, UNIT_V).text, figure_in(installation->base_hz, UNIT_HZ).text));
    finding->source = SOURCE_DERIVED;
    plausibility_figures(finding, (struct band){motor_v.low, motor_v.nominal, INFINITY}, installation->base_v, UNIT_V);
}

static void check_boost(const struct installation *installation, struct setpoints *setpoints)
{
    const enum means means = MEANS_OUTPUT_VOLTAGE_BOOST;
    if (installation->plate->kind != MOTOR_INDUCTION)
        return;
    double power_w = installation->plate->bands[FIELD_POWER].nominal;
    struct band usual = {-INFINITY, NAN, usual_boost_share(power_w)};
    struct figure size =
        isnan(power_w) ? (struct figure){"any size"} : figure_written(&installation->plate->written[FIELD_POWER]);
    struct band asked;
    if (installation_leaves_open(installation, means) && !isnan(power_w))
        installation_setpoint(
            installation, setpoints, means, usual, UNIT_PERCENT, SOURCE_ESTIMATE,
            text_format("a motor of %s usually has at most %s %% of its voltage as boost at 0 Hz; more "
                        "saturates it and heats it at low speed (common practice)",
                        size.text, figure(usual.high * 100).text));
    if (!installation_band(installation, means, &asked) || !isfinite(asked.high) || asked.high <= usual.high)
        return;
    const struct setting *setting = installation_setting(installation, means);
    struct finding *finding = setting_doubt(
        setpoints, setting, STAKE_EQUIPMENT,
        text_format("a boost of %s %% is more than the %s %% that a motor of %s usually has; more saturates it and "
                    "heats it at low speed (common practice)",
                    figure(asked.high * 100).text, figure(usual.high * 100).text, size.text));
    plausibility_figures(finding, usual, asked.high, UNIT_PERCENT);
}

/* Power, voltage and current that fit a motor of one phase, where they do not fit three. */
static bool fits_one_phase(const struct nameplate *plate)
{
    const double tolerance = 0.05;
    const struct band *bands = plate->bands;
    double three = line_current_a(MOTOR_INDUCTION, bands[FIELD_POWER].nominal, bands[FIELD_VOLTAGE].nominal,
                                  bands[FIELD_EFFICIENCY].nominal, bands[FIELD_POWER_FACTOR].nominal);
    double one = three * phase_factor(MOTOR_INDUCTION);
    double current_a = bands[FIELD_CURRENT].nominal;
    return fabs(current_a / one - 1) <= tolerance;
}

static void check_kind(const struct installation *installation, struct setpoints *setpoints)
{
    const struct nameplate *plate = installation->plate;
    if (plate->reason == NULL && plate->kind == MOTOR_SINGLE_PHASE)
        (void)installation_doubt(
            setpoints, "sheet.motor.kind", STAKE_EQUIPMENT,
            text_copy("a drive runs three-phase motors; a single-phase motor takes a drive made for "
                      "it, and one with a start capacitor or centrifugal switch cannot be run at "
                      "variable speed (common practice)"));
    else if (plate->kind == MOTOR_INDUCTION && installation->sheet->motor.column_count == 1 && fits_one_phase(plate))
        (void)installation_doubt(
            setpoints, "sheet.motor.kind", STAKE_EQUIPMENT,
            text_format("power, voltage and current fit a single-phase motor (%s x %s x efficiency x power factor = "
                        "power); if it is one, no ordinary drive runs it, else the current is that of another "
                        "connection",
                        figure_in(plate->bands[FIELD_VOLTAGE].nominal, UNIT_V).text,
                        figure_written(&plate->written[FIELD_CURRENT]).text));
}

void voltage_check(const struct installation *installation, struct setpoints *setpoints)
{
    check_run_to(installation, setpoints);
    check_run_to_speed(installation, setpoints);
    check_shortfall(installation, setpoints);
    check_boost(installation, setpoints);
    check_kind(installation, setpoints);
}
