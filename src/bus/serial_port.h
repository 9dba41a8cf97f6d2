/* SPDX-License-Identifier: MIT */
/* What is set and asked on the descriptor of an open serial port, beyond what libmodbus does. */
#ifndef ASLEFT_BUS_SERIAL_PORT_H
#define ASLEFT_BUS_SERIAL_PORT_H

#include "bus/transport.h"
#include "types/sheet.h"

#include <stdbool.h>

/* A pseudo-terminal: it has no parity, no counters and no wire. */
bool port_is_pty(int port);

/* A speed that can be set: what libmodbus knows too. It takes any other one for 9600 without a word (3.1.6, measured),
 * 2000000 included. */
bool port_speed_known(unsigned baud);

/* 8 data bits, and these. What is in the port's buffers is dropped. 0, or an errno, and the settings are as before;
 * EINVAL where the port does not take them. */
int port_set_format(int port, unsigned baud, enum parity parity, unsigned stop_bits);

/* TIOCGICOUNT. */
struct line_errors port_errors(int port);

#endif
