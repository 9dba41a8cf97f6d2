/* SPDX-License-Identifier: MIT */
/* Time as the bus sees it; injected, so that tests run on a clock of their own. */
#ifndef ASLEFT_BUS_CLOCK_H
#define ASLEFT_BUS_CLOCK_H

#include <stdint.h>

struct clock {
    int64_t (*now_us)(void *user);  /* monotonic */
    int64_t (*wall_ms)(void *user); /* UTC since 1970 */
    void *user;
};

/* CLOCK_MONOTONIC and CLOCK_REALTIME. */
struct clock clock_system(void);

#endif
