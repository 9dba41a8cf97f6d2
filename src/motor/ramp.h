/* SPDX-License-Identifier: MIT */
/* What a ramp is in the terms of a drive's register. Pure functions. */
#ifndef ASLEFT_MOTOR_RAMP_H
#define ASLEFT_MOTOR_RAMP_H

#include "types/map.h"
#include "types/setpoints.h"

/* The register value, in s, Hz/s, s/Hz or rpm/s by `kind`, of a ramp that takes `time_s` (>= 0) from `from_hz` to
 * `to_hz`. `span_hz` (> 0) is what a RAMP_TIME register runs over; `rpm_per_hz` (> 0) is synchronous speed over
 * frequency, for RAMP_SPEED_RATE. NAN where the ramp spans nothing or a rate would be infinite.
 * Source: proportion; the convention varies by drive, common practice, no source. */
double ramp_register_value(enum ramp_kind kind, double time_s, double from_hz, double to_hz, double span_hz,
                           double rpm_per_hz);

/* What a RAMP_TIME register of that `span` runs over, in Hz: a fixed value (rpm are converted with derived synchronous
 * speed), the nominal of a means' setpoint, or the row for the selector's raw value. NAN where the span is not given,
 * the selector is not known or lists no such value, or the setpoint is missing. */
double ramp_span_hz(const struct ramp_span *span, const struct setpoints *setpoints, bool selector_known,
                    uint32_t selector_raw);

#endif
