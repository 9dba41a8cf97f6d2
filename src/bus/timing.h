/* SPDX-License-Identifier: MIT */
/* How long characters and silences last on a line. */
#ifndef ASLEFT_BUS_TIMING_H
#define ASLEFT_BUS_TIMING_H

#include "types/sheet.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct timing {
    bool serial;          /* RTU frames, told apart by silence; false: TCP, told apart by their header */
    int64_t character_ns; /* 0 on TCP */
    int64_t silence_us;   /* between frames; 0 on TCP */
};

/* Start bit, 8 data bits, parity bit if any, stop bits. The silence is 3.5 characters, and 1.75 ms above 19200 baud
 * whatever the characters last (MODBUS over Serial Line V1.02, section 2.5.1.1). baud > 0. */
struct timing timing_serial(unsigned baud, enum parity parity, unsigned stop_bits);
struct timing timing_tcp(void);

/* The time that so many characters take on the wire, rounded up. */
int64_t timing_wire_us(const struct timing *timing, size_t characters);

#endif
