/* SPDX-License-Identifier: MIT */
/* The charts of a witnessed run. */
#ifndef ASLEFT_REPORT_WITNESS_CHARTS_H
#define ASLEFT_REPORT_WITNESS_CHARTS_H

#include "report/sink.h"
#include "types/samples.h"
#include "types/witnessed.h"

/* Output frequency, current and bus voltage over time, with the ramps that the job asks for, and voltage over
 * frequency; those that were sampled. For persons alone: machines have the samples. */
void witness_charts(struct sink *sink, const struct samples *samples, const struct witnessed *witnessed);

#endif
