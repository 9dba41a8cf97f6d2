/* SPDX-License-Identifier: MIT */
/* What a simulated drive lets a request do: functions, lengths, holes, locks, ranges; and doing it. */
#ifndef ASLEFT_SIM_ACCESS_H
#define ASLEFT_SIM_ACCESS_H

#include "sim/drive.h"

#include <stddef.h>
#include <stdint.h>

/* Serves one request: `pdu` begins with the function code. Returns 0 where libmodbus may reply from memory.shown
 * (a write is stored then), else the exception code:
 *   01  a function that this drive has not: no such table, or not the write function of its map (`longest_write`,
 *       `writes_with`)
 *   02  an address that does not exist or is closed, or a write to what is never settable
 *   03  more registers than the map's longest_read or longest_write, a malformed request, half of a 32-bit value that
 *       is written together, or a value outside `accepts` or the choices (drives do so; the specification would keep
 *       03 for the structure of the request)
 *   04  a write to what is settable only when stopped while the motor is not stopped, or to what is locked: the
 *       specification's state diagrams answer a write that did not succeed with 04; 06 is for a server that is busy
 *       with a long command
 *   06  a save command while another one is at work
 * Source: MODBUS Application Protocol Specification V1.1b3, sections 6 and 7.
 * All or nothing: a refused write stores nothing. The caller refreshes the drive before. */
uint8_t access_serve(struct drive *drive, const uint8_t *pdu, size_t length);

#endif
