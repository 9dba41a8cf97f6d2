/* SPDX-License-Identifier: MIT */
/* What a simulated drive says about itself: functions 17 and 43/14. The words are invented. */
#ifndef ASLEFT_SIM_IDENTIFICATION_H
#define ASLEFT_SIM_IDENTIFICATION_H

#include "sim/drive.h"

#include <stddef.h>
#include <stdint.h>

/* Function 17 (report server ID) and 43 (encapsulated interface transport, of which type 14 is device identification).
 * Source: MODBUS Application Protocol Specification V1.1b3, sections 6.13 and 6.21. */
enum { IDENTIFICATION_SERVER_ID = 0x11, IDENTIFICATION_TRANSPORT = 0x2b };

/* Each writes its answer, an exception too, to `reply`, which has room for PDU_LONGEST, and returns its length.
 * The server ID is the unit number, then whether the motor runs, then maker, map and version in one text. */
size_t identification_server_id(const struct drive *drive, unsigned unit, const uint8_t *request, size_t length,
                                uint8_t *reply);

/* Basic (maker, product code, revision) and regular objects (product name, and the model where the map's `identity`
 * names a text), as a stream and one by one; MoreFollows where they do not fit into one answer. */
size_t identification_objects(const struct drive *drive, const uint8_t *request, size_t length, uint8_t *reply);

#endif
