/* SPDX-License-Identifier: MIT */
/* What live values should be while the motor turns. */
#include "motor/running.h"

#include "motor/choice_words.h"
#include "motor/dc_bus.h"
#include "motor/figure.h"
#include "motor/job.h"
#include "motor/quantity.h"
#include "motor/running_motor.h"
#include "motor/voltage.h"

#include <math.h>
#include <stdlib.h>

static struct setpoint expectation(enum means means, struct band band, enum unit unit, enum source source, char *basis)
{
    return (struct setpoint){.means = means,
                             .kind = SETPOINT_RANGE,
                             .low = band.low,
                             .nominal = band.nominal,
                             .high = band.high,
                             .unit = unit,
                             .basis = basis,
                             .source = source,
                             .stake = STAKE_EQUIPMENT};
}

static void add(struct running *running, struct setpoint setpoint)
{
    running->items = memory_grow(running->items, running->count, sizeof *running->items);
    running->items[running->count++] = setpoint;
}

/* Slip compensation may put the motor's slip on top. */
static void expect_frequency(const struct installation *installation, struct setpoints *setpoints)
{
    double most_hz = job_maximum_frequency_hz(installation->sheet);
    double slip_hz = setpoints->derived.slip_hz > 0 ? setpoints->derived.slip_hz : 0;
    double spare_hz = isnan(slip_hz) ? 0.05 * most_hz : slip_hz; /* common practice, no source */
    size_t index = map_find_means(installation->map, MEANS_LIVE_OUTPUT_FREQUENCY, 0);
    if (isnan(most_hz) || index == PARAMETER_NOT_FOUND)
        return;
    enum value_type type = installation->map->parameters[index].type;
    bool has_sign = type == TYPE_S16 || type == TYPE_S32 || type == TYPE_F32; /* negative where it turns backwards */
    double low_hz = has_sign ? -most_hz - spare_hz : -INFINITY;
    add(&setpoints->running,
        expectation(MEANS_LIVE_OUTPUT_FREQUENCY, (struct band){low_hz, NAN, most_hz + spare_hz}, UNIT_HZ, SOURCE_JOB,
                    text_format("running: the job's maximum frequency %s, and %s Hz that slip compensation may add",
                                figure_in(most_hz, UNIT_HZ).text, figure(spare_hz).text)));
}

static void expect_current(const struct installation *installation, struct setpoints *setpoints)
{
    struct band rated = band_scaled(installation->plate->bands[FIELD_CURRENT], installation->motors);
    if (!band_known(rated))
        return;
    add(&setpoints->running,
        expectation(
            MEANS_LIVE_OUTPUT_CURRENT, (struct band){-INFINITY, NAN, rated.high}, UNIT_A, SOURCE_ESTIMATE,
            text_format("running: at most %s of the plate%s; for a short time, such as while it accelerates, more "
                        "is right",
                        figure_in(rated.nominal, UNIT_A).text, installation->motors > 1 ? "s of all motors" : "")));
}

static void expect_bus(const struct installation *installation, struct setpoints *setpoints)
{
    const struct sheet *sheet = installation->sheet;
    struct band range = dc_bus_range_v(&sheet->supply, sheet->drive.front_end);
    if (!band_known(range))
        return;
    add(&setpoints->running,
        expectation(MEANS_LIVE_DC_BUS_VOLTAGE, range, UNIT_V, SOURCE_ESTIMATE,
                    text_format("running: from %s V, loaded at %s - 10 %%, to %s V, idle at + 10 %%; more while it "
                                "brakes",
                                figure(range.low).text, figure_written(&sheet->supply.voltage).text,
                                figure(range.high).text)));
}

void running_expect(const struct installation *installation, struct setpoints *setpoints)
{
    const char *shape = installation_word(installation, MEANS_CONTROL_VF_SHAPE);
    setpoints->running.base_voltage_v = installation->base_v;
    setpoints->running.base_frequency_hz = installation->base_hz;
    setpoints->running.is_square =
        installation->sheet->load.torque == LOAD_SQUARE || word_has(shape, "square") || word_has(shape, "quadratic");
    running_motor_prepare(installation, &setpoints->running);
    expect_frequency(installation, setpoints);
    expect_current(installation, setpoints);
    expect_bus(installation, setpoints);
}

bool running_voltage(const struct running *running, double frequency_hz, struct setpoint *setpoint)
{
    double base_v = running->base_voltage_v, base_hz = running->base_frequency_hz;
    double hz = fabs(frequency_hz);
    if (!(hz > 0) || !(base_v > 0) || !(base_hz > 0))
        return false;
    struct band volts = usual_output_voltage_v(hz, base_v, base_hz, running->is_square);
    *setpoint = expectation(
        MEANS_LIVE_OUTPUT_VOLTAGE, volts, UNIT_V, SOURCE_ESTIMATE,
        hz < base_hz ? text_format("running at %s: %s x %s / %s = %s, more with boost, less on a %s",
                                   figure_in(hz, UNIT_HZ).text, figure_in(base_v, UNIT_V).text, figure(hz).text,
                                   figure_in(base_hz, UNIT_HZ).text, figure_in(volts.nominal, UNIT_V).text,
                                   running->is_square ? "square curve" : "light load where it saves energy")
                     : text_format("running at %s, above base frequency: %s", figure_in(hz, UNIT_HZ).text,
                                   figure_in(base_v, UNIT_V).text));
    return true;
}
