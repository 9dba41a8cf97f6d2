/* SPDX-License-Identifier: MIT */
/* The link engine: its queue, its place in the loop, opening and closing. */
#include "bus/link.h"

#include "bus/link_internal.h"
#include "bus/serial.h"
#include "bus/tcp.h"
#include "types/memory.h"

#include <stdlib.h>

enum { CONNECT_LOOK_US = 200000 };

static void destroy(struct link *link)
{
    watch_free(link->watch);
    link->transport.close(link->transport.user);
    for (struct job *job = link->head, *next; job != NULL; job = next) {
        next = job->next;
        free(job->owned);
        free(job);
    }
    unanswered_free(&link->unanswered);
    for (size_t i = 0; i < link->unit_count; i++)
        free(link->units[i].reserved);
    free(link->units);
    free(link);
}

/* Tells the loop what this link now waits for. */
static void arm(struct link *link)
{
    int64_t deadline_us = link->deadline_us;
    switch (link->state) {
    case LINK_IDLE:
        if (link->head != NULL)
            deadline_us = 0;
        else
            deadline_us = link->timing.serial && link->in_length > 0 ? link_rest_until_us(link) : -1;
        break;
    case LINK_RESTING: {
        int64_t rest_us = link_rest_until_us(link);
        deadline_us = rest_us < deadline_us ? rest_us : deadline_us;
        break;
    }
    case LINK_CONNECTING: {
        /* the transport may have to give up one address and try the next */
        int64_t look_again_us = loop_now_us(link->loop) + CONNECT_LOOK_US;
        deadline_us = look_again_us < deadline_us ? look_again_us : deadline_us;
        break;
    }
    case LINK_LISTENING:
        if (link->in_length != link->listened && link_rest_until_us(link) < deadline_us)
            deadline_us = link_rest_until_us(link);
        break;
    case LINK_SENDING:
    case LINK_WAITING:
        break;
    }
    watch_deadline(link->watch, deadline_us);
    bool polled = link->open || link->state == LINK_CONNECTING;
    watch_descriptor(link->watch, polled ? link->transport.descriptor(link->transport.user) : -1,
                     link->state == LINK_CONNECTING || link->state == LINK_SENDING);
}

/* The loop's callback: hear what came, do what can be done. At most one job ends in a step, so that other links get
 * their turn. */
static void step(void *user)
{
    struct link *link = user;
    link->stepping = true;
    if (!link_hear(link))
        link_hang_up(link); /* what was heard before is still looked at */
    while (!link->doomed && link_advance(link))
        ;
    link->stepping = false;
    if (link->doomed)
        destroy(link);
    else
        arm(link);
}

struct link *link_new(struct loop *loop, const struct transport *transport, const struct timing *timing)
{
    struct link *link = memory_new(1, sizeof *link);
    link->loop = loop;
    link->transport = *transport;
    link->timing = *timing;
    link->last_byte_us = loop_now_us(loop);
    link->watch = watch_new(loop, step, link);
    return link;
}

bool link_open(struct loop *loop, const struct line *line, struct link **link, struct error *error)
{
    struct transport transport;
    struct timing timing;
    if (line->serial != NULL) {
        if (!serial_open(line, &transport, error))
            return false;
        timing = timing_serial(line->baud, line->parity, line->stop_bits);
    } else if (line->host == NULL) {
        return error_set(error, ERROR_USE, "no line to ask on: give a serial port or a host");
    } else {
        if (!tcp_open(line->host, line->port, &transport, error))
            return false;
        timing = timing_tcp();
    }
    *link = link_new(loop, &transport, &timing);
    (*link)->ever_open = line->serial != NULL;
    return true;
}

void link_free(struct link *link)
{
    if (link == NULL)
        return;
    if (link->stepping)
        link->doomed = true;
    else
        destroy(link);
}

void link_queue(struct link *link, const struct job *job)
{
    struct job *copy = memory_new(1, sizeof *copy);
    *copy = *job;
    copy->next = NULL;
    if (link->head == NULL)
        link->head = copy;
    else
        link->tail->next = copy;
    link->tail = copy;
    if (link->state == LINK_IDLE && !link->stepping)
        watch_deadline(link->watch, 0);
}

void link_submit(struct link *link, const struct request *request, link_done done, void *user)
{
    const struct job job = {.kind = JOB_READ, .request = *request, .done.read = done, .user = user};
    link_queue(link, &job);
}

void link_finish(struct link *link, const struct result *result)
{
    struct job *job = link->head;
    link->head = job->next;
    link->state = LINK_IDLE;
    switch (job->kind) {
    case JOB_READ: {
        const struct reply reply = {.symptom = result->symptom,
                                    .words = result->words,
                                    .count = result->count,
                                    .sent_us = link->started_us,
                                    .came_us = result->came_us};
        job->done.read(job->user, &job->request, &reply);
        break;
    }
    case JOB_EXCHANGE: {
        const struct exchange_reply reply = {
            .symptom = result->symptom, .pdu = result->pdu, .pdu_length = result->count};
        job->done.exchange(job->user, &job->exchange, &reply);
        break;
    }
    case JOB_WRITE: {
        const struct write_reply reply = {.symptom = result->symptom, .sent = link->write_left};
        job->done.write(job->user, &job->write, &reply);
        break;
    }
    case JOB_LISTEN:
        job->done.listen(job->user, result->heard);
        break;
    }
    free(job);
}

const struct traffic *link_traffic(const struct link *link)
{
    return &link->traffic;
}

bool link_opened(const struct link *link)
{
    return link->ever_open;
}
