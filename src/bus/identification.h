/* SPDX-License-Identifier: MIT */
/* What a device says about itself: parsing the replies to functions 43/14 (MODBUS Application Protocol Specification
 * V1.1b3, section 6.21) and 17 (section 6.13), whatever their bytes are. Pure functions. */
#ifndef ASLEFT_BUS_IDENTIFICATION_H
#define ASLEFT_BUS_IDENTIFICATION_H

#include "types/search_result.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The access code of a request, which is also how far a device goes. */
enum { IDENTIFICATION_BASIC = 1, IDENTIFICATION_REGULAR = 2, IDENTIFICATION_EXTENDED = 3 };

struct identification_part {
    uint8_t goes_to; /* the highest access code that the device offers */
    bool more;       /* another part is to be asked for */
    uint8_t next;    /* from this object on */
};

/* Adds the objects in a reply's PDU to `device`; one that is there already stays as it is. Objects are bounded by their
 * own length byte and by the PDU, whatever their number is said to be; what is cut off is left out. False, and nothing
 * added: no reply to 43/14. */
bool identification_take(const uint8_t *pdu, size_t length, struct device_identification *device,
                         struct identification_part *part);

/* The reply to function 17 as text: what is not printable ASCII becomes \xNN, since each maker has bytes of its own.
 * NULL: no reply to 17, or an empty one. Owned by the caller. */
char *server_id_text(const uint8_t *pdu, size_t length);

#endif
