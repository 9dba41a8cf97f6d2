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

/* What was changed on a port beyond its termios, to be put back. Zero it to start. */
struct port_changes {
    bool latency, rs485;
    int flags_before; /* of struct serial_struct */
    unsigned rs485_before;
};

/* Asks the driver to hand on what it receives at once (ASYNC_LOW_LATENCY), where it can: USB adapters otherwise hold
 * bytes back, usually for 16 ms. */
void port_lower_latency(int port, struct port_changes *changes);

/* Lets the kernel switch the transmitter on and off. 0 or an errno; ENOTTY where the driver cannot. */
int port_switch_rs485(int port, struct port_changes *changes);

void port_put_back(int port, const struct port_changes *changes);

/* Where the system shows an adapter's latency timer: of this port, owned; it need not be there. */
char *port_latency_timer(int port);

/* What to tell the user of the port `path`, owned, or NULL: the timer, in milliseconds, that stands in the file is
 * longer than 1. NULL where there is no such file, which is most ports. */
char *port_latency_remark(const char *path, const char *timer);

/* TIOCGICOUNT. */
struct line_errors port_errors(int port);

#endif
