/* SPDX-License-Identifier: MIT */
/* The curve of output voltage over output frequency that a run shows. Pure functions. */
#ifndef ASLEFT_WITNESS_VF_CURVE_H
#define ASLEFT_WITNESS_VF_CURVE_H

#include "types/samples.h"
#include "types/witnessed.h"

#include <stdbool.h>

struct vf_curve {
    size_t points;
    double highest_hz;
    bool has_top; /* it went beyond the knee: the voltage stayed while the frequency rose */
    double top_v, top_within;
    bool has_line;               /* below the knee; a boost at low frequency is left out of it */
    double knee_hz, knee_within; /* where the line meets the top; NAN without either */
    double volts_per_hertz, offset_v;
    double mean_hz, value_within, slope_within; /* of the line: at its mean frequency, and of its slope */
};

/* From steady phases and ramps. The two registers are read one after the other: voltage is compared with the frequency
 * that lay between its neighbours at that time, and what delay and filter leave of that enters the uncertainty.
 * `base_hz` is where the knee is expected: NAN is fine. */
void vf_curve_find(const struct samples *samples, const struct witnessed *witnessed, struct vf_curve *curve);

/* The line's voltage there, and how well that is known. */
double vf_curve_voltage(const struct vf_curve *curve, double frequency_hz, double *within_v);

#endif
