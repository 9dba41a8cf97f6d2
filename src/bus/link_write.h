/* SPDX-License-Identifier: MIT */
/* Writes on a link: each goes out once at most. */
#ifndef ASLEFT_BUS_LINK_WRITE_H
#define ASLEFT_BUS_LINK_WRITE_H

#include "bus/frame.h"
#include "bus/link.h"

#include <stdbool.h>
#include <stdint.h>

/* Functions 05 and 06 (one coil, one register), 0F and 10 (1 to 123 of either). */
struct write_request {
    uint8_t unit; /* 1 to 247 on a serial line, 1 to 255 on TCP; never 0, which all drives would obey */
    uint8_t function;
    uint16_t address;
    uint16_t count;                  /* 1 with 05 and 06 */
    uint16_t words[WRITE_REGISTERS]; /* of coils 0 or 1 each */
    int64_t answers_within_us;       /* how long the write may take */
    int64_t rest_between_us;
};

struct write_reply {
    struct symptom symptom; /* SYMPTOM_NONE: the drive has acknowledged exactly this write */
    bool sent;              /* a byte of it may have reached the drive; false: it certainly holds what it held */
};

typedef void (*link_written)(void *user, const struct write_request *request, const struct write_reply *reply);

/* Queues a write; never blocks; `done` is called from loop_run, exactly once. The line is proved clean before, as it is
 * for reads. Whatever comes of it (silence, a bad frame, exceptions 05 and 06, a connection that ends), it is not sent
 * again; what follows on the link treats its reply as one that may still come. What struct write_request forbids is not
 * sent, and answered with SYMPTOM_NO_REPLY, `sent` false. */
void link_write(struct link *link, const struct write_request *request, link_written done, void *user);

#endif
