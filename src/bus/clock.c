/* SPDX-License-Identifier: MIT */
/* The system's clocks behind struct clock. */
#include "bus/clock.h"

#include <stddef.h>
#include <time.h>

static int64_t monotonic_us(void *user)
{
    (void)user;
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

static int64_t realtime_ms(void *user)
{
    (void)user;
    struct timespec now;
    (void)clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

struct clock clock_system(void)
{
    return (struct clock){.now_us = monotonic_us, .wall_ms = realtime_ms, .user = NULL};
}
