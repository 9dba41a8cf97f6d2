/* SPDX-License-Identifier: MIT */
/* The cautions that commands and documents show. */
#ifndef ASLEFT_TYPES_CAUTION_H
#define ASLEFT_TYPES_CAUTION_H

enum caution { CAUTION_START, CAUTION_ISOLATE, CAUTION_BUS, CAUTION_WHO };

/* Their words, by enum caution; NULL at the end. The manual has them in the same words (docs/manual/writing.md). */
extern const char *const cautions_all[];

#endif
