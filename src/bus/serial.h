/* SPDX-License-Identifier: MIT */
/* A serial port as a link's transport. */
#ifndef ASLEFT_BUS_SERIAL_H
#define ASLEFT_BUS_SERIAL_H

#include "bus/transport.h"
#include "types/error.h"
#include "types/sheet.h"

#include <stdbool.h>

/* Opens and configures the port of `line` (8 data bits), for this process alone; closing it restores its settings.
 * False: ERROR_BUSY where another program holds it, ERROR_CONTACT with what to do otherwise. A port that was unplugged
 * is opened again when the link connects. The driver's latency is lowered where it allows it, and put back; its remark
 * says where an adapter goes on holding replies back. A pseudo-terminal, which has no parity, is opened without. */
bool serial_open(const struct line *line, struct transport *transport, struct error *error);

#endif
