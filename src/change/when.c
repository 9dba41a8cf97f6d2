/* SPDX-License-Identifier: MIT */
/* Moments for persons. */
#include "change/when.h"

#include "types/memory.h"

#include <time.h>

char *when_text(int64_t ms)
{
    time_t seconds = (time_t)(ms / 1000);
    struct tm parts;
    char text[64];
    if (ms <= 0 || gmtime_r(&seconds, &parts) == NULL ||
        strftime(text, sizeof text, "%Y-%m-%d %H:%M:%S UTC", &parts) == 0)
        return text_copy("at an unknown time");
    return text_copy(text);
}
