/* SPDX-License-Identifier: MIT */
/* What a fault makes of one reply: other bytes, other times. */
#ifndef ASLEFT_SIM_DAMAGE_H
#define ASLEFT_SIM_DAMAGE_H

#include "sim/line_faults.h"
#include "sim/outbox.h"
#include "sim/wire.h"

/* A reply on its way to the line. */
struct transmission {
    enum wire wire;
    uint16_t transaction; /* TCP */
    uint8_t unit;
    uint8_t pdu[PDU_LONGEST];
    size_t pdu_length;
    /* What damage adds; zero for a reply in good order. */
    uint8_t bytes[NOISE_MOST + FRAME_LONGEST]; /* what travels */
    size_t length;                             /* 0: nothing */
    int64_t delay_us;                          /* how much later than its turn */
    int64_t gap_us;                            /* between its bytes; 0: as the line has it */
    bool echoes;                               /* the request goes before it */
    bool again;                                /* it comes once more, */
    int64_t again_after_us;                    /* so much later */
    bool hangs_up;                             /* the connection ends instead */
};

/* Wraps the PDU into bytes and does to it what `fault` (NULL: nothing) asks for. Faults that change what the drive does
 * or answers (exception, deaf, gateway, and all that strike writes only) have had their effect on the PDU by then; deaf
 * sends nothing. */
void damage_wrap(struct transmission *transmission, struct line_faults *faults, const struct fault *fault);

#endif
