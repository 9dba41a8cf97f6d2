/* SPDX-License-Identifier: MIT */
/* How the samples of a run are put for machines. */
#ifndef ASLEFT_REPORT_SAMPLED_H
#define ASLEFT_REPORT_SAMPLED_H

#include "report/sink.h"
#include "types/samples.h"

/* "output_frequency (Hz)"; owned. */
char *samples_column(const struct series *series);

/* A sample: the number in the means' base unit; of live.state its words, which are added to `words`. */
struct cell cell_sample(const struct series *series, const struct sample *sample, struct texts *words);

#endif
