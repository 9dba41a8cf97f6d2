/* SPDX-License-Identifier: MIT */
/* Exchanges on a link that are no reads of registers: device identification and server id. */
#include "bus/link_exchange.h"

#include "bus/link_internal.h"

#include <string.h>

enum { MEI_DEVICE_IDENTIFICATION = 0x0e };

static bool may_be_sent(const struct exchange *exchange)
{
    if (exchange->pdu_length == 0)
        return false;
    switch (exchange->pdu[0]) {
    case FUNCTION_REPORT_SERVER_ID:
        return exchange->pdu_length == 1;
    case FUNCTION_DEVICE_IDENTIFICATION:
        return exchange->pdu_length == 4 && exchange->pdu[1] == MEI_DEVICE_IDENTIFICATION;
    default:
        return false;
    }
}

bool link_build_exchange(const struct exchange *exchange, struct pdu *pdu)
{
    if (!may_be_sent(exchange))
        return false;
    memcpy(pdu->bytes, exchange->pdu, exchange->pdu_length);
    pdu->length = exchange->pdu_length;
    return true;
}

void link_exchange(struct link *link, const struct exchange *exchange, link_exchanged done, void *user)
{
    struct job job = {.kind = JOB_EXCHANGE, .exchange = *exchange, .done.exchange = done, .user = user};
    job.request = (struct request){
        .unit = exchange->unit,
        .function = exchange->pdu[0],
        /* what distinguishes two identifications: which objects are asked for */
        .address = (uint16_t)((unsigned)exchange->pdu[2] << 8 | exchange->pdu[3]),
        .answers_within_us = exchange->answers_within_us,
        .rest_between_us = exchange->rest_between_us,
        .retries = exchange->retries,
    };
    if (!may_be_sent(exchange))
        job.exchange.pdu_length = 0;
    link_queue(link, &job);
}
