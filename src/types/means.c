/* SPDX-License-Identifier: MIT */
/* The table of means. */
#include "types/means.h"

const struct means_row means_table[MEANS_COUNT] = {[MEANS_NONE] = {"", DIMENSION_NONE, STAKE_PROCESS},
#define ASLEFT_MEANS_ROW(id, name, dimension, stake) [MEANS_##id] = {name, dimension, stake},
                                                   ASLEFT_MEANS(ASLEFT_MEANS_ROW)
#undef ASLEFT_MEANS_ROW
};
