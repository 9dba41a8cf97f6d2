/* SPDX-License-Identifier: MIT */
/* The table of means. */
#include "types/means.h"

const struct means_row means_table[MEANS_COUNT] = {[MEANS_NONE] = {"", DIMENSION_NONE, STAKE_PROCESS},
#define ASLEFT_MEANS_ROW(id, name, dimension, stake) [MEANS_##id] = {name, dimension, stake},
                                                   ASLEFT_MEANS(ASLEFT_MEANS_ROW)
#undef ASLEFT_MEANS_ROW
};

bool means_is_live(enum means means)
{
    return means >= MEANS_LIVE_STATE && means <= MEANS_LIVE_HOURS_RUN;
}

bool means_is_nameplate(enum means means)
{
    return means >= MEANS_MOTOR_RATED_POWER && means <= MEANS_MOTOR_RATED_SLIP;
}

bool means_is_individual(enum means means)
{
    return means == MEANS_DRIVE_SERIAL_NUMBER || means == MEANS_DRIVE_FIRMWARE;
}
