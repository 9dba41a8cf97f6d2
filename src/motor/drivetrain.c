/* SPDX-License-Identifier: MIT */
/* Drive, motor and machine as one shaft: read from a sheet, and what torque they leave over. */
#include "motor/drivetrain.h"

#include "motor/constants.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

/* 1.6 times rated torque is what induction motors for general use have at least (IEC 60034-1, from memory); in the
 * drive's favour no limit but the current is assumed where the plate gives none. */
static const double least_breakdown = 1.6;

/* Magnetising over rated current where neither no-load current nor power factor is known: the upper end of the usual
 * 25 to 60 %. Common practice, no source. */
static const double most_magnetising = 0.6;

/* Where a chopper acts, over the unloaded bus at nominal supply: not below what a supply 10 % too high makes of it, and
 * hardly above 1.3 times it. Common practice, no source. */
static const double chopper_over_bus[DOUBTS] = {[DOUBT_SAFE] = 1.1, [DOUBT_FAVOURABLE] = 1.3};

static char *missing_data(const struct sheet *sheet, const struct nameplate *plate)
{
    static const enum plate_field needed[] = {FIELD_POWER, FIELD_CURRENT, FIELD_FREQUENCY, FIELD_SPEED};
    const struct load *load = &sheet->load;
    if (plate->reason != NULL)
        return text_copy(plate->reason);
    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++)
        if (!band_known(plate->bands[needed[i]]))
            return text_format("the sheet's motor has no %s", plate_field_key(needed[i]));
    if (!(quantity_base(&sheet->drive.rated_current) > 0))
        return text_copy("the sheet's drive has no rated_current");
    if (!load->given)
        return text_copy("the sheet has no load");
    if (load->torque == LOAD_UNSAID)
        return text_copy("the sheet's load does not say torque: square, constant or constant-power");
    if (!(quantity_base(&load->torque_at_rated_speed) >= 0))
        return text_copy("the sheet's load has no torque_at_rated_speed");
    if (!(quantity_base(&load->inertia) > 0))
        return text_copy("the sheet's load has no inertia");
    return NULL;
}

/* The magnetising part of the rated current. Of the power factor it is an upper estimate, since the reactive current of
 * the leakage at rated load is in it. */
static double magnetising_a(const struct sheet *sheet, const struct nameplate *plate)
{
    const double most_of_rated = 0.95; /* a no-load current near the rated one would leave nothing to give torque */
    double rated_a = plate->bands[FIELD_CURRENT].nominal;
    double power_factor = plate->bands[FIELD_POWER_FACTOR].nominal;
    double no_load_a = quantity_base(&sheet->motor.no_load_current);
    switch (plate->kind) {
    case MOTOR_PERMANENT_MAGNET:
    case MOTOR_SYNCHRONOUS_RELUCTANCE:
        return 0;
    case MOTOR_INDUCTION:
    case MOTOR_SINGLE_PHASE:
        break;
    }
    double found_a = most_magnetising * rated_a;
    if (no_load_a > 0)
        found_a = no_load_a;
    else if (power_factor <= 1)
        found_a = rated_a * sqrt(1 - power_factor * power_factor);
    return fmin(found_a, most_of_rated * rated_a);
}

/* The speed up to which the drive has the volts for full flux. */
static double weakening_rpm(const struct sheet *sheet, const struct nameplate *plate, double rpm_per_hz)
{
    struct nameplate extended;
    const struct nameplate *run_at = nameplate_extend(&sheet->motor, plate, &extended) ? &extended : plate;
    double motor_v = run_at->bands[FIELD_VOLTAGE].nominal;
    double supply_v = quantity_base(&sheet->supply.voltage);
    double base_hz = run_at->bands[FIELD_FREQUENCY].nominal;
    bool passes_on = sheet->drive.front_end == FRONT_UNSAID || sheet->drive.front_end == FRONT_RECTIFIER;
    if (passes_on && supply_v > 0 && supply_v < motor_v)
        base_hz *= supply_v / motor_v;
    return base_hz * rpm_per_hz;
}

static void read_motor(const struct sheet *sheet, const struct nameplate *plate, struct drivetrain *drivetrain)
{
    double speed_rpm = plate->bands[FIELD_SPEED].nominal;
    double given = quantity_base(&sheet->motor.breakdown_torque);
    bool slips = plate->kind == MOTOR_INDUCTION || plate->kind == MOTOR_SINGLE_PHASE;
    drivetrain->rpm_per_hz = speed_rpm / plate->bands[FIELD_FREQUENCY].nominal;
    drivetrain->motor = (struct motor_torque){
        .rated_torque_nm = shaft_torque_nm(plate->bands[FIELD_POWER].nominal, speed_rpm),
        .rated_current_a = plate->bands[FIELD_CURRENT].nominal,
        .magnetising_a = magnetising_a(sheet, plate),
        .weakening_rpm = weakening_rpm(sheet, plate, drivetrain->rpm_per_hz),
        .breakdown = {[DOUBT_SAFE] = given > 0 ? given
                                     : slips   ? least_breakdown
                                               : (double)INFINITY,
                      [DOUBT_FAVOURABLE] = given > 0 ? given : (double)INFINITY},
    };
    drivetrain->motor_inertia_kgm2 = quantity_base(&sheet->motor.inertia);
}

static void read_load(const struct load *load, double rated_speed_rpm, struct drivetrain *drivetrain)
{
    double static_share = quantity_base(&load->static_share);
    drivetrain->load = (struct load_curve){.shape = load->torque,
                                           .rated_torque_nm = quantity_base(&load->torque_at_rated_speed),
                                           .rated_speed_rpm = rated_speed_rpm,
                                           .static_share = static_share >= 0 && static_share <= 1 ? static_share : 0};
    drivetrain->load_inertia_kgm2 = quantity_base(&load->inertia);
    drivetrain->is_overhauling = load->overhauling == ANSWER_YES;
}

/* The job's upper bound for a current of one motor, or INFINITY. */
static double limit_a(const struct setpoints *setpoints, enum means means, unsigned motors)
{
    const struct setpoint *limit = setpoints_find(setpoints, means);
    return limit != NULL && limit->kind == SETPOINT_RANGE && limit->high > 0 ? limit->high / motors : (double)INFINITY;
}

/* The smallest of the drive's current and the job's limits in that direction. */
static struct most_current limited(const struct setpoints *setpoints, double drive_a, unsigned motors,
                                   enum means direction)
{
    const enum means limits[] = {MEANS_LIMIT_CURRENT, direction};
    struct most_current most = {.ampere = drive_a, .limited_by = MEANS_NONE};
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        double allowed_a = limit_a(setpoints, limits[i], motors);
        if (allowed_a < most.ampere)
            most = (struct most_current){.ampere = allowed_a, .limited_by = limits[i]};
    }
    return most;
}

static void read_currents(const struct sheet *sheet, const struct setpoints *setpoints, struct drivetrain *drivetrain)
{
    unsigned motors = drivetrain->motors;
    double rated_a = quantity_base(&sheet->drive.rated_current) / motors;
    double overload = quantity_base(&sheet->drive.overload);
    double most_a = overload > 1 ? rated_a * overload : rated_a;
    bool is_timed = overload > 1 && sheet->drive.overload_time.given;
    drivetrain->rated_a = rated_a;
    drivetrain->overload_s = is_timed ? quantity_base(&sheet->drive.overload_time) : (double)INFINITY;
    drivetrain->speeding_up = limited(setpoints, most_a, motors, MEANS_LIMIT_CURRENT_MOTORING);
    drivetrain->slowing_down = limited(setpoints, most_a, motors, MEANS_LIMIT_CURRENT_BRAKING);
}

/* Rated losses of the motor: from its efficiency, else from what its volts, amperes and power factor take in. */
static double loss_w(const struct nameplate *plate)
{
    double out_w = plate->bands[FIELD_POWER].nominal;
    double efficiency = plate->bands[FIELD_EFFICIENCY].nominal;
    if (isnan(efficiency))
        efficiency = out_w / (phase_factor(plate->kind) * plate->bands[FIELD_VOLTAGE].nominal *
                              plate->bands[FIELD_CURRENT].nominal * plate->bands[FIELD_POWER_FACTOR].nominal);
    return efficiency > 0 && efficiency < 1 ? out_w / efficiency - out_w : (double)NAN;
}

static void read_resistor(const struct sheet *sheet, struct drivetrain *drivetrain)
{
    double bus_v = dc_bus_voltage_v(&sheet->supply, sheet->drive.front_end);
    double acts_at_v = quantity_base(&sheet->drive.chopper_acts_at);
    double ohm = quantity_base(&sheet->drive.resistor_resistance);
    drivetrain->resistance_ohm = ohm;
    for (int doubt = 0; doubt < DOUBTS; doubt++) {
        double volts = acts_at_v > 0 ? acts_at_v : chopper_over_bus[doubt] * bus_v;
        drivetrain->chopper_v[doubt] = volts;
        drivetrain->resistor_w[doubt] = volts * volts / ohm / drivetrain->motors;
    }
    if (!(ohm > 0))
        drivetrain->braking_reason = text_copy("the sheet's braking_resistor has no resistance");
    else if (isnan(drivetrain->resistor_w[DOUBT_SAFE]))
        drivetrain->braking_reason =
            text_copy("the sheet's drive has no chopper acts_at, and no supply voltage that it would follow from");
}

static void read_braking(const struct sheet *sheet, const struct nameplate *plate, struct drivetrain *drivetrain)
{
    const struct sheet_drive *drive = &sheet->drive;
    drivetrain->rated_loss_w = loss_w(plate);
    drivetrain->resistance_ohm = NAN;
    drivetrain->feeds_back = drive->front_end == FRONT_ACTIVE || drive->front_end == FRONT_COMMON_BUS;
    if (drivetrain->feeds_back)
        return;
    if (drive->has_resistor == ANSWER_UNSAID)
        drivetrain->braking_reason = text_copy("the sheet's drive does not say braking_resistor: none, or its data");
    else if (isnan(drivetrain->rated_loss_w))
        drivetrain->braking_reason = text_copy("the sheet's motor has no efficiency, so its losses are not known");
    else if (drive->has_resistor == ANSWER_YES)
        read_resistor(sheet, drivetrain);
}

char *drivetrain_read(const struct sheet *sheet, const struct nameplate *plate, const struct setpoints *setpoints,
                      struct drivetrain *drivetrain)
{
    *drivetrain = (struct drivetrain){.motors = sheet->motors.count > 1 ? sheet->motors.count : 1};
    char *reason = missing_data(sheet, plate);
    if (reason != NULL)
        return reason;
    read_motor(sheet, plate, drivetrain);
    read_load(&sheet->load, plate->bands[FIELD_SPEED].nominal, drivetrain);
    read_currents(sheet, setpoints, drivetrain);
    read_braking(sheet, plate, drivetrain);
    return NULL;
}

void drivetrain_free(struct drivetrain *drivetrain)
{
    free(drivetrain->braking_reason);
    *drivetrain = (struct drivetrain){0};
}

double drivetrain_inertia_kgm2(const struct drivetrain *drivetrain)
{
    double own = drivetrain->motor_inertia_kgm2;
    return drivetrain->load_inertia_kgm2 + (own > 0 ? own : 0);
}

double torque_upwards_nm(const void *machine, double speed_rpm)
{
    const struct case_of *at = machine;
    return motor_torque_nm(&at->drivetrain->motor, at->doubt, at->current_a, speed_rpm) -
           load_torque_nm(&at->drivetrain->load, speed_rpm);
}

double braking_power_w(const struct drivetrain *drivetrain, enum doubt doubt, double speed_rpm)
{
    if (drivetrain->feeds_back)
        return INFINITY;
    double loss_w = braking_loss_w(drivetrain->rated_loss_w, drivetrain->load.rated_speed_rpm, doubt, speed_rpm);
    return loss_w + (isnan(drivetrain->resistance_ohm) ? 0 : drivetrain->resistor_w[doubt]);
}

/* Power over angular speed; at standstill, where both may be nothing, its limit just above it. */
static double torque_of_power_nm(const struct drivetrain *drivetrain, enum doubt doubt, double speed_rpm)
{
    const double crawl_rpm = 1e-3;
    double at_rpm = fmax(speed_rpm, crawl_rpm);
    return braking_power_w(drivetrain, doubt, at_rpm) / angular_speed(at_rpm);
}

double torque_downwards_nm(const void *machine, double speed_rpm)
{
    const struct case_of *at = machine;
    const struct drivetrain *drivetrain = at->drivetrain;
    double current_nm = motor_torque_nm(&drivetrain->motor, at->doubt, at->current_a, speed_rpm);
    double power_nm = torque_of_power_nm(drivetrain, at->doubt, speed_rpm);
    double load_nm = load_torque_nm(&drivetrain->load, speed_rpm);
    return fmin(current_nm, power_nm) + (drivetrain->is_overhauling ? -load_nm : load_nm);
}

double resistor_energy_j(const struct drivetrain *drivetrain, double from_rpm, double to_rpm, double straight_s)
{
    enum { STRETCHES = 200 };
    double rate = angular_speed(to_rpm - from_rpm) / straight_s;
    double width_rpm = (to_rpm - from_rpm) / STRETCHES;
    double sum = 0;
    for (int i = 0; i <= 2 * STRETCHES; i++) {
        double speed_rpm = from_rpm + i * width_rpm / 2;
        double load_nm = load_torque_nm(&drivetrain->load, speed_rpm);
        double shaft_nm =
            drivetrain_inertia_kgm2(drivetrain) * rate + (drivetrain->is_overhauling ? load_nm : -load_nm);
        double loss_w =
            braking_loss_w(drivetrain->rated_loss_w, drivetrain->load.rated_speed_rpm, DOUBT_SAFE, speed_rpm);
        double power_w = fmax(shaft_nm * angular_speed(speed_rpm) - loss_w, 0);
        double weight = i == 0 || i == 2 * STRETCHES ? 1 : i % 2 == 1 ? 4 : 2;
        sum += weight * power_w;
    }
    return sum / (6 * STRETCHES) * straight_s;
}
