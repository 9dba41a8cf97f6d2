/* SPDX-License-Identifier: MIT */
/* What is still to be sent, in the order of when it is due. */
#ifndef ASLEFT_SIM_OUTBOX_H
#define ASLEFT_SIM_OUTBOX_H

#include "sim/frame_log.h"
#include "sim/wire.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { NOISE_MOST = 32 };

/* Bytes to one client. */
struct outgoing {
    int64_t due_ns; /* of the last byte; of the next one where there is a gap */
    int64_t gap_ns; /* 0: all at once; else from one byte to the next */
    uint64_t client;
    uint8_t bytes[NOISE_MOST + FRAME_LONGEST];
    size_t length;
    size_t sent;
    bool hangs_up;        /* the connection ends here */
    bool ends_row;        /* `row` is known when this has been sent */
    int64_t start_ns;     /* of the request, for the sums; where ends_row */
    struct frame_row row; /* where ends_row */
};

/* Zero it to start. */
struct outbox {
    struct outgoing **items; /* by rising due_ns; one that is under way stays in front */
    size_t count;
};

/* Adds `outgoing`, behind those that are due at the same time. The box owns it from here on. */
void outbox_add(struct outbox *outbox, struct outgoing *outgoing);

/* The next one, or NULL. */
struct outgoing *outbox_front(const struct outbox *outbox);

/* Removes the next one and frees it. */
void outbox_drop_front(struct outbox *outbox);

void outbox_free(struct outbox *outbox);

#endif
