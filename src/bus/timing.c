/* SPDX-License-Identifier: MIT */
/* How long characters and silences last on a line. */
#include "bus/timing.h"

enum { FIXED_SILENCE_ABOVE_BAUD = 19200, FIXED_SILENCE_US = 1750 };

struct timing timing_serial(unsigned baud, enum parity parity, unsigned stop_bits)
{
    unsigned bits = 1U + 8U + (parity == PARITY_NONE ? 0U : 1U) + stop_bits;
    struct timing timing = {.serial = true, .character_ns = ((int64_t)bits * 1000000000 + baud - 1) / baud};
    /* 3.5 characters in microseconds, rounded up */
    timing.silence_us = baud > FIXED_SILENCE_ABOVE_BAUD ? FIXED_SILENCE_US : (timing.character_ns * 7 + 1999) / 2000;
    return timing;
}

struct timing timing_tcp(void)
{
    return (struct timing){0};
}

int64_t timing_wire_us(const struct timing *timing, size_t characters)
{
    return (timing->character_ns * (int64_t)characters + 999) / 1000;
}
