/* SPDX-License-Identifier: MIT */
/* One request's way: connect, let the line rest, send, wait for the answer, and again where there was none. */
#include "bus/link_internal.h"

#include <string.h>

enum {
    CONNECT_WITHIN_US = 3000000,
    MARGIN_US = 20000,           /* for the adapter and the system; measured: adapters hold bytes up to 16 ms */
    DISTURBED_SILENCE_US = 5000, /* after junk or a missing reply */
    LINE_BUSY_US = 1000000,      /* a line that is not silent for that long is given up */
    BUSY_PAUSE_US = 50000,       /* the first one; each further one is twice as long */
    BUSY_TRIES = 3,
    WRITE_REPLY_BYTES = 5, /* function, address, value or count: sections 6.5, 6.6, 6.11, 6.12 */
};

static int64_t later(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

int64_t link_rest_until_us(const struct link *link)
{
    int64_t silence_us = link->timing.silence_us;
    if (link->timing.serial && link->disturbed)
        silence_us = later(silence_us, DISTURBED_SILENCE_US);
    silence_us = later(silence_us, link->wait_out_us);
    return later(link->not_before_us, link->last_byte_us + silence_us + link->sent.rest_between_us);
}

void link_hang_up(struct link *link)
{
    watch_descriptor(link->watch, -1, false);
    link->transport.disconnect(link->transport.user);
    link->open = false;
}

static void finish_failed(struct link *link, struct symptom symptom)
{
    const struct result result = {.symptom = symptom};
    link_finish(link, &result);
}

static void finish_with(struct link *link, enum symptom_kind kind)
{
    finish_failed(link, (struct symptom){.kind = kind});
}

/* Starts an attempt at the head's request, or at the barrier before it. May finish the job: LINK_IDLE. */
static void start(struct link *link)
{
    if (!link_choose(link)) {
        finish_with(link, SYMPTOM_NO_REPLY); /* nothing of it reaches the wire */
        return;
    }
    link->heard = (struct heard){0};
    int64_t now_us = loop_now_us(link->loop);
    if (link->open) {
        link->state = LINK_RESTING;
        link->deadline_us = later(now_us, link_rest_until_us(link)) + LINE_BUSY_US;
    } else {
        link->state = LINK_CONNECTING;
        link->deadline_us = now_us + CONNECT_WITHIN_US;
    }
}

/* Was this attempt only made to get old replies out of a gateway? Then, whatever came of it, the next one starts. Where
 * nothing came, there are none. */
static bool was_thrown_away(struct link *link, bool something_came)
{
    if (link->throw_away == 0)
        return false;
    link->throw_away = something_came ? link->throw_away - 1 : 0;
    start(link);
    return true;
}

static void start_again_or_finish(struct link *link, struct symptom symptom)
{
    link->disturbed = true;
    if (was_thrown_away(link, link->heard.foreign > 0))
        return;
    unsigned *tries = link->barrier ? &link->barrier_tries : &link->tries;
    if (!link->write_left && (*tries)++ < link->head->request.retries)
        start(link);
    else
        finish_failed(link, symptom);
}

static enum symptom_kind symptom_of(const struct heard *heard)
{
    if (heard->junk > 0)
        return SYMPTOM_CORRUPT;
    if (heard->foreign == 0)
        return SYMPTOM_NO_REPLY;
    return heard->foreign == heard->other_unit ? SYMPTOM_OTHER_UNIT : SYMPTOM_CORRUPT;
}

/* A TCP peer may still send what is late on this connection: a new one has no past. That keeps replies apart, and
 * proves nothing about a write that was not answered on the old one: see link_write.c. */
static void fail(struct link *link, enum symptom_kind kind)
{
    link_give_up_looking(link);
    if (!link->timing.serial && link->open)
        link_hang_up(link);
    start_again_or_finish(link, (struct symptom){.kind = kind});
}

static void time_out(struct link *link)
{
    link->traffic.timeouts++;
    link_give_up_looking(link);
    fail(link, symptom_of(&link->heard));
}

/* ---- connecting ---- */

static bool connecting(struct link *link)
{
    watch_descriptor(link->watch, -1, false); /* it may become another one */
    switch (link->transport.connect(link->transport.user)) {
    case CONTACT_OPEN:
        link->open = link->ever_open = true;
        link->in_length = 0;
        link->last_byte_us = loop_now_us(link->loop);
        if (link->head->kind == JOB_LISTEN) {
            link_begin_listening(link);
            return true;
        }
        link->state = LINK_RESTING;
        link->deadline_us = later(link->last_byte_us, link_rest_until_us(link)) + LINE_BUSY_US;
        return true;
    case CONTACT_PENDING:
        if (loop_now_us(link->loop) < link->deadline_us)
            return false;
        link_hang_up(link);
        finish_with(link, SYMPTOM_UNREACHABLE);
        return false;
    case CONTACT_REFUSED:
        finish_with(link, SYMPTOM_REFUSED);
        return false;
    case CONTACT_UNREACHABLE:
        finish_with(link, SYMPTOM_UNREACHABLE);
        return false;
    case CONTACT_CLOSED:
        finish_with(link, SYMPTOM_CLOSED);
        return false;
    }
    return false;
}

/* ---- sending ---- */

/* Of the request and a reply: unit, PDU, CRC. */
static int64_t wire_us(const struct link *link, size_t reply_pdu_bytes)
{
    return timing_wire_us(&link->timing, link->out_length + 1 + reply_pdu_bytes + 2);
}

/* An identification: what comes says its length itself, and no barrier or write is meant. */
static bool is_exchange(const struct link *link)
{
    return !link->barrier && link->head->kind == JOB_EXCHANGE;
}

/* The PDU. */
static size_t longest_reply(const struct link *link)
{
    if (is_exchange(link))
        return PDU_BYTES;
    if (function_writes(link->sent.function))
        return WRITE_REPLY_BYTES;
    return 2 + read_reply_bytes(link->sent.function, link->sent.count);
}

/* On TCP nothing late is ever seen, since a new connection has no past: a unit that answers gets more time when it is
 * asked again, lest it be busy with the request before. */
static int64_t allowed_us(struct link *link)
{
    const struct unit_record *unit = link_unit(link, link->sent.unit);
    unsigned again = link->timing.serial || unit->fillers[0].count == 0 ? 0
                     : link->barrier                                    ? link->barrier_tries
                                                                        : link->tries;
    return wire_us(link, longest_reply(link)) +
           (later(link->sent.answers_within_us, unit->learned_us) << (again < 2 ? again : 2)) + MARGIN_US;
}

/* What is to be sent; false where it must not be. */
static bool build(const struct link *link, struct pdu *pdu)
{
    if (link->barrier)
        return pdu_read(pdu, link->sent.function, link->sent.address, link->sent.count);
    switch (link->head->kind) {
    case JOB_READ:
        return pdu_read(pdu, link->sent.function, link->sent.address, link->sent.count);
    case JOB_EXCHANGE:
        return link_build_exchange(&link->head->exchange, pdu);
    case JOB_WRITE:
        return !link->write_left && link_build_write(link, &link->head->write, pdu);
    case JOB_LISTEN:
        return false;
    }
    return false;
}

static bool resting(struct link *link)
{
    int64_t now_us = loop_now_us(link->loop);
    if (!link->timing.serial || now_us >= link_rest_until_us(link))
        link_discard(link); /* finding something may lengthen the rest, or end the connection */
    if (!link->open)
        return true;
    if (now_us < link_rest_until_us(link)) {
        if (now_us < link->deadline_us)
            return false;
        fail(link, SYMPTOM_CORRUPT);
        return link->state != LINK_IDLE;
    }
    if (!build(link, &link->asked.pdu)) {
        finish_with(link, SYMPTOM_NO_REPLY); /* the caller broke the contract: nothing of it reaches the wire */
        return false;
    }
    if (link->wait_out_us > 0 && link->wait_out_copies)
        unanswered_forget_copies(&link->unanswered, link->sent.unit);
    else if (link->wait_out_us > 0)
        unanswered_forget_unit(&link->unanswered, link->sent.unit);
    link->wait_out_us = 0;
    link->asked.unit = link->sent.unit;
    link->asked.transaction++;
    link->asked.echoed = link->echoes;
    link->out_length = link->timing.serial
                           ? rtu_build(link->out, link->asked.unit, &link->asked.pdu)
                           : tcp_build(link->out, link->asked.transaction, link->asked.unit, &link->asked.pdu);
    link->out_done = 0;
    link->heard = (struct heard){0};
    link->disturbed = false;
    link->started_us = now_us;
    link->deadline_us = now_us + allowed_us(link);
    link->traffic.requests++;
    if (link->barrier ? link->barrier_tries > 0 : link->tries + link->busy_tries > 0)
        link->traffic.retries++;
    link->state = LINK_SENDING;
    return true;
}

/* The first bytes of it were taken: from now on a reply may come. */
static void note_sent(struct link *link)
{
    const struct unanswered_read request = {.unit = link->sent.unit,
                                            .function = link->sent.function,
                                            .address = link->sent.address,
                                            .count = link->sent.count,
                                            .sent_us = link->started_us};
    unanswered_add(&link->unanswered, &request);
    if (!is_exchange(link))
        link_remember_sent(link);
    link->write_left = !link->barrier && link->head->kind == JOB_WRITE;
}

static bool sending(struct link *link)
{
    ssize_t written =
        link->transport.write(link->transport.user, link->out + link->out_done, link->out_length - link->out_done);
    if (written < 0) {
        link_hang_up(link);
        return true;
    }
    if (written > 0 && link->out_done == 0)
        note_sent(link);
    link->out_done += (size_t)written;
    if (link->out_done == link->out_length) {
        link->last_byte_us = loop_now_us(link->loop) + timing_wire_us(&link->timing, link->out_length);
        link_show_sent(link);
        link->state = LINK_WAITING;
        return true;
    }
    if (loop_now_us(link->loop) < link->deadline_us)
        return false;
    time_out(link);
    return link->state != LINK_IDLE;
}

/* ---- the answer ---- */

/* The reply proves that what was sent before is over, and shows how long the unit takes. */
static void learn_from_reply(struct link *link, size_t pdu_length)
{
    int64_t turnaround_us = loop_now_us(link->loop) - link->started_us - wire_us(link, pdu_length);
    unanswered_settle(&link->unanswered, link->sent.unit, link->sent.function,
                      reply_mark(link->sent.function, link->sent.address, link->sent.count));
    if (!is_exchange(link)) {
        link_remember_answered(link);
        link_remember_good(link);
    }
    if (function_writes(link->sent.function))
        return; /* it takes its own time */
    link_learn(link, link->sent.unit, 2 * turnaround_us);
    link_measure(link, turnaround_us);
}

static void take_reply(struct link *link, const struct scan *scan)
{
    uint16_t words[READ_BITS];
    uint8_t pdu[PDU_BYTES];
    size_t pdu_length = scan->pdu_length;
    memcpy(pdu, scan->pdu, pdu_length);
    link_drop(link, scan->used);
    if (!link->timing.serial)
        link_discard(link); /* a stream that goes on with nonsense is ended before the next request */
    learn_from_reply(link, pdu_length);
    if (was_thrown_away(link, true))
        return;
    if (link->barrier) {
        link->barrier_tries = 0;
        start(link);
        return;
    }
    struct result result = {.pdu = pdu, .count = pdu_length};
    if (link->head->kind == JOB_READ) {
        reply_words(pdu, link->sent.function, link->sent.count, words);
        result = (struct result){.words = words, .count = link->sent.count, .came_us = link->last_byte_us};
    }
    link_finish(link, &result);
}

static bool is_busy(uint8_t exception)
{
    return exception == 0x05 || exception == 0x06;
}

/* The gateway has given up, its drive perhaps has not: the drive's reply may still come, under a later transaction. */
static bool is_gateways_own(uint8_t exception)
{
    return exception == 0x0a || exception == 0x0b;
}

/* True where the answer is still to be waited for. */
static bool take_exception(struct link *link, const struct scan *scan)
{
    uint8_t exception = scan->pdu[1];
    link_drop(link, scan->used);
    link->traffic.exceptions++;
    const struct symptom symptom = {.kind = SYMPTOM_EXCEPTION, .exception = exception};
    if (!is_exchange(link) && (link->filler || !link->barrier))
        link_remember_answered(link);
    if (link->filler) { /* an answer all the same */
        unanswered_refuse(&link->unanswered, link->sent.unit, link->sent.function);
        link->barrier_tries = 0;
        start(link);
        return false;
    }
    if (link->barrier && link->timing.serial)
        return true; /* it has no length, so it proves nothing */
    if (!is_gateways_own(exception) && was_thrown_away(link, true))
        return false;
    if (link->barrier || is_gateways_own(exception)) {
        start_again_or_finish(link, symptom);
        return false;
    }
    unanswered_refuse(&link->unanswered, link->sent.unit, link->sent.function);
    if (is_busy(exception) && link->busy_tries < BUSY_TRIES && !link->write_left) {
        link->not_before_us = loop_now_us(link->loop) + ((int64_t)BUSY_PAUSE_US << link->busy_tries);
        link->busy_tries++;
        start(link);
        return false;
    }
    finish_failed(link, symptom);
    return false;
}

static bool waiting(struct link *link)
{
    struct scan scan = link_look(link);
    switch (scan.found) {
    case FOUND_REPLY:
        take_reply(link, &scan);
        return link->state != LINK_IDLE;
    case FOUND_EXCEPTION:
        return take_exception(link, &scan) || link->state != LINK_IDLE;
    case FOUND_BROKEN:
        link->in_length = 0;
        fail(link, SYMPTOM_CORRUPT);
        return link->state != LINK_IDLE;
    case FOUND_NOTHING:
        break;
    }
    if (!link->open) {
        fail(link, SYMPTOM_CLOSED);
    } else if (link->barrier && !link->filler && link_is_clean(link)) {
        link->barrier_tries = 0;
        start(link);
    } else if (link->heard.spoiled) {
        fail(link, SYMPTOM_CORRUPT);
    } else if (loop_now_us(link->loop) >= link->deadline_us) {
        time_out(link);
    } else {
        return false;
    }
    return link->state != LINK_IDLE;
}

/* Takes the job at the head in hand. */
static void begin(struct link *link)
{
    struct pdu pdu;
    if (link->head->kind == JOB_WRITE && !link_build_write(link, &link->head->write, &pdu))
        finish_with(link, SYMPTOM_NO_REPLY); /* not even a barrier */
    else if (link->head->kind != JOB_LISTEN || (link->timing.serial && !link->open))
        start(link);
    else
        link_begin_listening(link);
}

bool link_advance(struct link *link)
{
    switch (link->state) {
    case LINK_IDLE:
        if (link->head == NULL) {
            if (loop_now_us(link->loop) >= link_rest_until_us(link))
                link_discard(link);
            return false;
        }
        link->tries = link->barrier_tries = link->busy_tries = 0;
        link->throw_away = 0;
        link->write_left = false;
        begin(link);
        return link->state != LINK_IDLE;
    case LINK_CONNECTING:
        return connecting(link);
    case LINK_RESTING:
        if (link->open)
            return resting(link);
        fail(link, SYMPTOM_CLOSED);
        return link->state != LINK_IDLE;
    case LINK_SENDING:
        if (link->open)
            return sending(link);
        fail(link, SYMPTOM_CLOSED);
        return link->state != LINK_IDLE;
    case LINK_WAITING:
        return waiting(link);
    case LINK_LISTENING:
        return link_go_on_listening(link);
    }
    return false;
}
