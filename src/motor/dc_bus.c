/* SPDX-License-Identifier: MIT */
/* The DC bus: what it carries under load, and the levels set against that. */
#include "motor/dc_bus.h"

#include "motor/constants.h"
#include "motor/figure.h"
#include "motor/plausibility.h"
#include "motor/quantity.h"

#include <math.h>

static const double SUPPLY_TOLERANCE = 0.10;

/* Mean of the rectified sine over its line voltage: six pulses a period on three phases, two on one. */
static const double SIX_PULSE_MEAN = 3 * SQUARE_ROOT_2 / PI;
static const double TWO_PULSE_MEAN = 2 * SQUARE_ROOT_2 / PI;

double dc_bus_loaded_v(const struct supply *supply, enum front_end front_end)
{
    double idle_v = dc_bus_voltage_v(supply, front_end);
    double mean = supply->phases == 1 || front_end == FRONT_DOUBLER ? TWO_PULSE_MEAN : SIX_PULSE_MEAN;
    return idle_v * mean / SQUARE_ROOT_2;
}

struct band dc_bus_range_v(const struct supply *supply, enum front_end front_end)
{
    double idle_v = dc_bus_voltage_v(supply, front_end);
    return (struct band){dc_bus_loaded_v(supply, front_end) * (1 - SUPPLY_TOLERANCE), idle_v,
                         idle_v * (1 + SUPPLY_TOLERANCE)};
}

struct band supply_of_dc_bus_v(double bus_v)
{
    return (struct band){bus_v / SQUARE_ROOT_2, NAN, bus_v / SIX_PULSE_MEAN};
}

static void refuse_level(struct setpoints *setpoints, const char *means, double least_v, double most_v, double found_v,
                         char *basis)
{
    struct finding *finding = installation_refuse(setpoints, means, STAKE_EQUIPMENT, basis);
    plausibility_figures(finding, (struct band){least_v, NAN, most_v}, found_v, UNIT_V);
}

/* A regulated bus stands at least as high as its supply's peak, for its diodes conduct. */
static double highest_idle_v(const struct installation *installation)
{
    const struct sheet_drive *drive = &installation->sheet->drive;
    const struct supply *supply = &installation->sheet->supply;
    enum front_end as_if = drive->front_end == FRONT_ACTIVE ? FRONT_RECTIFIER : drive->front_end;
    return dc_bus_range_v(supply, as_if).high;
}

static void check_chopper(const struct installation *installation, struct setpoints *setpoints)
{
    const struct sheet_drive *drive = &installation->sheet->drive;
    const struct figure acts = figure_written(&drive->chopper_acts_at);
    struct band level = band_of(&drive->chopper_acts_at);
    struct band trip = band_of(&drive->bus_trip);
    double idle_v = highest_idle_v(installation);
    double most_v = isnan(trip.nominal) ? INFINITY : trip.nominal;
    if (level.high <= idle_v)
        refuse_level(
            setpoints, "sheet.drive.chopper", idle_v, most_v, level.nominal,
            text_format("the chopper acts at %s, but the bus stands at up to 1.1 x %s V = %s V without braking: "
                        "the resistor would burn all the time; look at the level, and at the supply",
                        acts.text, figure(idle_v / (1 + SUPPLY_TOLERANCE)).text, figure(idle_v).text));
    if (level.low >= trip.high)
        refuse_level(
            setpoints, "sheet.drive.chopper", idle_v, most_v, level.nominal,
            text_format("the chopper acts at %s, but the drive trips at %s already, before it could brake; look "
                        "which is which",
                        acts.text, figure_written(&drive->bus_trip).text));
}

static void check_trip(const struct installation *installation, struct setpoints *setpoints)
{
    const struct sheet_drive *drive = &installation->sheet->drive;
    struct band trip = band_of(&drive->bus_trip);
    double idle_v = highest_idle_v(installation);
    if (trip.high <= idle_v)
        refuse_level(setpoints, "sheet.drive.bus_trip", idle_v, INFINITY, trip.nominal,
                     text_format("the drive trips at a bus of %s, but it stands at up to 1.1 x %s V = %s V without "
                                 "braking; look at the drive's voltage class, and at the supply",
                                 figure_written(&drive->bus_trip).text, figure(idle_v / (1 + SUPPLY_TOLERANCE)).text,
                                 figure(idle_v).text));
}

void dc_bus_check(const struct installation *installation, struct setpoints *setpoints)
{
    check_chopper(installation, setpoints);
    check_trip(installation, setpoints);
}
