/* SPDX-License-Identifier: MIT */
/* Writing to a simulated drive's registers, as far as it lets anybody. */
#ifndef ASLEFT_SIM_ACCESS_WRITE_H
#define ASLEFT_SIM_ACCESS_WRITE_H

#include "sim/drive.h"

#include <stddef.h>
#include <stdint.h>

/* Stores `count` words from `address` on, all or none. Returns 0 or the exception code: see access.h. */
uint8_t access_write(struct drive *drive, struct address address, const uint16_t *words, size_t count);

#endif
