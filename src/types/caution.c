/* SPDX-License-Identifier: MIT */
/* The cautions that commands and documents show. */
#include "types/caution.h"

#include <stddef.h>

const char *const cautions_all[] = {
    [CAUTION_START] =
        "The machine may start, now or later: keep everybody clear, and the enable open, until you have tried it.",
    [CAUTION_ISOLATE] =
        "A stopped drive is not isolated: for work on motor, cable or machine lock out and tag out first.",
    [CAUTION_BUS] = "The DC bus stays charged after power is removed: wait as the drive's label says, then measure.",
    [CAUTION_WHO] =
        "Settings are changed by somebody qualified who answers for this machine; local codes and site rules go first.",
    NULL,
};
