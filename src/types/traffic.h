/* SPDX-License-Identifier: MIT */
/* What happened on a line while one drive was visited. */
#ifndef ASLEFT_TYPES_TRAFFIC_H
#define ASLEFT_TYPES_TRAFFIC_H

#include <stdint.h>

struct traffic {
    uint64_t requests; /* sent, retries included */
    uint64_t retries;
    uint64_t exceptions; /* replies that were exceptions */
    uint64_t timeouts;   /* requests whose deadline passed */
    uint64_t bad_frames; /* bytes that should have been a reply and were not: CRC, length, protocol */
    uint64_t discarded;  /* whole frames that answered nothing we asked: other unit, function, length, transaction */
};

#endif
