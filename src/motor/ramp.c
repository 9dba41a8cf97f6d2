/* SPDX-License-Identifier: MIT */
/* What a ramp is in the terms of a drive's register. */
#include "motor/ramp.h"

#include "motor/quantity.h"

#include <math.h>

double ramp_register_value(enum ramp_kind kind, double time_s, double from_hz, double to_hz, double span_hz,
                           double rpm_per_hz)
{
    double change_hz = fabs(to_hz - from_hz);
    double value = NAN;
    if (!(change_hz > 0))
        return NAN;
    switch (kind) {
    case RAMP_TIME:
        value = time_s * span_hz / change_hz;
        break;
    case RAMP_RATE:
        value = change_hz / time_s;
        break;
    case RAMP_INVERSE_RATE:
        value = time_s / change_hz;
        break;
    case RAMP_SPEED_RATE:
        value = change_hz * rpm_per_hz / time_s;
        break;
    }
    return isfinite(value) ? value : NAN;
}

static double in_hz(double base, enum dimension dimension, const struct derived *derived)
{
    if (dimension == DIMENSION_FREQUENCY)
        return base;
    if (dimension == DIMENSION_SPEED)
        return base * derived->rated_frequency_hz / derived->synchronous_speed_rpm;
    return NAN;
}

static double value_span_hz(const struct quantity *span, const struct setpoints *setpoints)
{
    return in_hz(quantity_base(span), unit_dimension(span->unit), &setpoints->derived);
}

static double means_span_hz(enum means means, const struct setpoints *setpoints)
{
    const struct setpoint *setpoint = setpoints_find(setpoints, means);
    if (setpoint == NULL || setpoint->kind != SETPOINT_RANGE)
        return NAN;
    return in_hz(setpoint->nominal, means_table[means].dimension, &setpoints->derived);
}

double ramp_span_hz(const struct ramp_span *span, const struct setpoints *setpoints, bool selector_known,
                    uint32_t selector_raw)
{
    if (!span->given)
        return NAN;
    if (!span->by.given)
        return span->means != MEANS_NONE ? means_span_hz(span->means, setpoints)
                                         : value_span_hz(&span->value, setpoints);
    for (size_t i = 0; selector_known && i < span->by.count; i++) {
        const struct choice_row *row = &span->by.rows[i];
        if (row->raw == selector_raw)
            return row->span_means != MEANS_NONE ? means_span_hz(row->span_means, setpoints)
                                                 : value_span_hz(&row->span, setpoints);
    }
    return NAN;
}
