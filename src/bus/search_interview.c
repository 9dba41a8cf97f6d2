/* SPDX-License-Identifier: MIT */
/* A unit that answered once: is it really there, and who is it? */
#include "bus/search_internal.h"

#include "types/memory.h"

#include <string.h>

enum {
    MOST_PARTS = 64, /* of one identification; a device that never says "no more" does not hold us up */
    IDENTIFICATION_RETRIES = 1,
};

static void ask_next(struct search *search);

/* ---- confirmation: questions of other lengths, so that each answer belongs to its own question ---- */

static void confirmed(void *user, const struct request *request, const struct reply *reply)
{
    struct search *search = user;
    struct interview *interview = &search->interview;
    struct found_unit *found = &interview->found;
    (void)request;
    int64_t took_us = search_now_us(search) - search->asked_us;
    bool values = reply->symptom.kind == SYMPTOM_NONE;
    bool exception = reply->symptom.kind == SYMPTOM_EXCEPTION && !search_is_gateways(search, reply->symptom);
    if (values || exception) {
        found->confirmed++;
        found->slowest_us = took_us > found->slowest_us ? took_us : found->slowest_us;
        if (!interview->known || values)
            found->answered = reply->symptom;
        interview->known = true;
    }
    (void)search_heard(search, false);
    if (!search_ended_by(search, reply->symptom.kind))
        ask_next(search);
}

static void confirm(struct search *search)
{
    struct interview *interview = &search->interview;
    interview->questions++;
    search->question = (struct request){.unit = interview->found.unit,
                                        .function = FUNCTION_READ_HOLDING_REGISTERS,
                                        .address = 0,
                                        .count = (uint16_t)(1 + interview->questions),
                                        .answers_within_us = SEARCH_SLOW_US};
    search->asked_us = search_now_us(search);
    search->expected_us = SEARCH_SLOW_US + SEARCH_MARGIN_US;
    search_hear(search);
    link_submit(search->link, &search->question, confirmed, search);
}

/* ---- identification: functions 43/14 and 17, which many drives do not have ---- */

static void exchange(struct search *search, const struct pdu *pdu, link_exchanged done)
{
    struct exchange question = {.unit = search->interview.found.unit,
                                .pdu_length = pdu->length,
                                .answers_within_us = SEARCH_SLOW_US,
                                .retries = IDENTIFICATION_RETRIES};
    memcpy(question.pdu, pdu->bytes, pdu->length);
    search->asked_us = search_now_us(search);
    search->expected_us = SEARCH_SLOW_US + SEARCH_MARGIN_US;
    search_hear(search);
    link_exchange(search->link, &question, done, search);
}

static void server_id_came(void *user, const struct exchange *question, const struct exchange_reply *reply)
{
    struct search *search = user;
    (void)question;
    if (reply->symptom.kind == SYMPTOM_NONE)
        search->interview.found.device.server_id = server_id_text(reply->pdu, reply->pdu_length);
    (void)search_heard(search, false);
    if (!search_ended_by(search, reply->symptom.kind))
        search_interviewed(search);
}

static void ask_server_id(struct search *search)
{
    struct pdu pdu;
    (void)pdu_report_server_id(&pdu);
    exchange(search, &pdu, server_id_came);
}

static void ask_objects(struct search *search, uint8_t from);

static void objects_came(void *user, const struct exchange *question, const struct exchange_reply *reply)
{
    struct search *search = user;
    struct interview *interview = &search->interview;
    struct identification_part part = {0};
    bool taken = reply->symptom.kind == SYMPTOM_NONE &&
                 identification_take(reply->pdu, reply->pdu_length, &interview->found.device, &part);
    (void)search_heard(search, false);
    if (search_ended_by(search, reply->symptom.kind))
        return;
    uint8_t from = question->pdu[3];
    if (taken && part.more && part.next > from && ++interview->parts < MOST_PARTS) {
        ask_objects(search, part.next);
    } else if (taken && part.goes_to > interview->code && interview->code < IDENTIFICATION_EXTENDED) {
        interview->code++;
        ask_objects(search, 0);
    } else {
        ask_server_id(search);
    }
}

static void ask_objects(struct search *search, uint8_t from)
{
    struct pdu pdu;
    (void)pdu_device_identification(&pdu, search->interview.code, from);
    exchange(search, &pdu, objects_came);
}

/* ---- the interview ---- */

static void ask_next(struct search *search)
{
    const struct interview *interview = &search->interview;
    if (interview->questions < SEARCH_CONFIRMATIONS)
        confirm(search);
    else if (found_unit_sure(&interview->found))
        ask_objects(search, 0);
    else
        search_interviewed(search);
}

void search_interview(struct search *search, uint8_t unit)
{
    search->interview = (struct interview){.found = {.unit = unit, .format = search_format(search), .slowest_us = -1},
                                           .code = IDENTIFICATION_BASIC};
    bool an_answer = search->answer.kind == SYMPTOM_NONE || search->answer.kind == SYMPTOM_EXCEPTION;
    if (unit == search->question.unit && an_answer) { /* and not late, while another was asked */
        search->interview.found.answered = search->answer;
        search->interview.known = true;
    }
    ask_next(search);
}
