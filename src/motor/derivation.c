/* SPDX-License-Identifier: MIT */
/* How what follows from the nameplate comes about, for a person who computes it by hand. */
#include "motor/derivation.h"

#include "motor/figure.h"

#include <math.h>

const char *poles_formula(enum motor_kind kind)
{
    switch (kind) {
    case MOTOR_INDUCTION:
    case MOTOR_SINGLE_PHASE:
        return "2 x floor(60 f_N / n_N)";
    case MOTOR_PERMANENT_MAGNET:
    case MOTOR_SYNCHRONOUS_RELUCTANCE:
        break;
    }
    return "2 x 60 f_N / n_N";
}

char *poles_numbers(const struct nameplate *plate)
{
    bool has_slip = plate->kind == MOTOR_INDUCTION || plate->kind == MOTOR_SINGLE_PHASE;
    return text_format(has_slip ? "2 x floor(60 x %s / %s)" : "2 x 60 x %s / %s",
                       figure_written(&plate->written[FIELD_FREQUENCY]).text,
                       figure_written(&plate->written[FIELD_SPEED]).text);
}

/* Takes over `numbers`. */
static void add(struct setpoints *setpoints, const char *of, const char *symbol, const char *formula, char *numbers)
{
    setpoints->derivations =
        memory_grow(setpoints->derivations, setpoints->derivation_count, sizeof *setpoints->derivations);
    struct derivation *derivation = &setpoints->derivations[setpoints->derivation_count++];
    derivation->of = of;
    derivation->symbol = symbol;
    derivation->formula = formula;
    derivation->numbers = numbers;
}

static void derive_speed(const struct nameplate *plate, struct setpoints *setpoints)
{
    const struct derived *derived = &setpoints->derived;
    if (derived->poles == 0)
        return;
    struct figure synchronous = figure_in(derived->synchronous_speed_rpm, UNIT_RPM);
    add(setpoints, "poles", "p", poles_formula(plate->kind), poles_numbers(plate));
    add(setpoints, "synchronous_speed_rpm", "n_s", "120 f_N / p",
        text_format("120 x %s / %u", figure_written(&plate->written[FIELD_FREQUENCY]).text, derived->poles));
    add(setpoints, "slip", "s", "(n_s - n_N) / n_s",
        text_format("(%s - %s) / %s", synchronous.text, figure_written(&plate->written[FIELD_SPEED]).text,
                    synchronous.text));
}

static void derive_bus(const struct sheet *sheet, struct setpoints *setpoints)
{
    struct figure supply = figure_written(&sheet->supply.voltage);
    bool doubles = sheet->drive.front_end == FRONT_DOUBLER;
    bool has_two_pulses = doubles || sheet->supply.phases == 1;
    if (!isnan(setpoints->derived.dc_bus_v))
        add(setpoints, "dc_bus_v", "U_dc", doubles ? "2 sqrt(2) U_L" : "sqrt(2) U_L",
            text_format("%ssqrt(2) x %s", doubles ? "2 x " : "", supply.text));
    if (setpoints->derived.dc_bus_loaded_v > 0)
        add(setpoints, "dc_bus_loaded_v", "U_load",
            doubles          ? "4 sqrt(2) U_L / pi"
            : has_two_pulses ? "2 sqrt(2) U_L / pi"
                             : "3 sqrt(2) U_L / pi",
            text_format("%d x sqrt(2) x %s / pi",
                        doubles          ? 4
                        : has_two_pulses ? 2
                                         : 3,
                        supply.text));
}

void derivations_compute(const struct sheet *sheet, const struct nameplate *plate, struct setpoints *setpoints)
{
    const struct derived *derived = &setpoints->derived;
    derive_speed(plate, setpoints);
    if (!isnan(derived->rated_torque_nm))
        add(setpoints, "rated_torque_nm", "T_N", "60 P_N / (2 pi n_N)",
            text_format("60 x %s / (2 pi x %s)", figure_in(derived->rated_power_w, UNIT_W).text,
                        figure_written(&plate->written[FIELD_SPEED]).text));
    if (!isnan(derived->volts_per_hertz))
        add(setpoints, "volts_per_hertz", "k", "U_N / f_N",
            text_format("%s / %s", figure_in(derived->rated_voltage_v, UNIT_V).text,
                        figure_written(&plate->written[FIELD_FREQUENCY]).text));
    derive_bus(sheet, setpoints);
}
