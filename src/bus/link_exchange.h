/* SPDX-License-Identifier: MIT */
/* Exchanges on a link that are no reads of registers: device identification and server id. */
#ifndef ASLEFT_BUS_LINK_EXCHANGE_H
#define ASLEFT_BUS_LINK_EXCHANGE_H

#include "bus/link.h"

enum { EXCHANGE_PDU_BYTES = 16 };

/* A question that changes nothing and whose reply carries its own length: functions 0x2B with type 0x0E (device
 * identification) and 0x11 (report server id); pdu_device_identification and pdu_report_server_id build them. Any other
 * is not sent, and answered with SYMPTOM_NO_REPLY. Times and retries are those of struct request. */
struct exchange {
    uint8_t unit;
    uint8_t pdu[EXCHANGE_PDU_BYTES];
    size_t pdu_length;
    int64_t answers_within_us;
    int64_t rest_between_us;
    unsigned retries;
};

/* What came of it: function code and data where symptom is SYMPTOM_NONE, else nothing. */
struct exchange_reply {
    struct symptom symptom;
    const uint8_t *pdu; /* the link's; valid during the callback */
    size_t pdu_length;
};

typedef void (*link_exchanged)(void *user, const struct exchange *exchange, const struct exchange_reply *reply);

/* Queues it; never blocks. `done` is called from loop_run, exactly once. The line is kept clean as it is for reads. */
void link_exchange(struct link *link, const struct exchange *exchange, link_exchanged done, void *user);

#endif
