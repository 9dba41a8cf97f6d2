/* SPDX-License-Identifier: MIT */
/* What a simulated drive answers, as a PDU: for the frame loop, which does without libmodbus. */
#ifndef ASLEFT_SIM_REPLY_H
#define ASLEFT_SIM_REPLY_H

#include "sim/drive.h"

#include <stddef.h>
#include <stdint.h>

/* Carries out one request of `length` >= 1 bytes as unit `unit`, and writes the answer to `reply`, which has room for
 * PDU_LONGEST; returns its length. What access.h knows, and functions 08 (sub-function 0000: return query data), 17 and
 * 43/14. The caller refreshes the drive before and after. */
size_t reply_make(struct drive *drive, unsigned unit, const uint8_t *request, size_t length, uint8_t *reply);

/* Writes the exception `code` to the request's function; returns its length. */
size_t reply_exception(const uint8_t *request, uint8_t code, uint8_t *reply);

#endif
