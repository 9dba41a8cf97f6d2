/* SPDX-License-Identifier: MIT */
/* Writes on a link: each goes out once at most. */
#include "bus/link_write.h"

#include "bus/link_internal.h"

/* What is known of a write that was not answered, once a read that followed it on the link is: a drive answers in
 * order, so on a serial line the write has been carried out by then, or is lost. The same holds on TCP where both came
 * by one serial line behind a gateway that keeps their order. It does not hold for a drive that serves its connections
 * side by side, or a gateway that still holds the write while it answers on the new connection: those may carry it out
 * later. And exception 05 says itself that the drive has only begun.
 *
 * With 05 and 06 the acknowledgement has the bytes of the request. That an adapter gives back what is sent is learned
 * from reads; before the first reply to one it cannot be known, so a line is read from before it is written to. */

/* What may be tried several times is the read before it that proves the line clean. */
enum { BARRIER_RETRIES = 3, SERIAL_UNITS = 247, COIL_ON = 0xff00 };

static bool build_one(const struct write_request *request, struct pdu *pdu)
{
    if (request->count != 1)
        return false;
    if (request->function == FUNCTION_WRITE_REGISTER)
        return pdu_write_register(pdu, request->address, request->words[0]);
    return request->words[0] <= 1 && pdu_write_coil(pdu, request->address, request->words[0] != 0);
}

static bool build_coils(const struct write_request *request, struct pdu *pdu)
{
    bool bits[WRITE_REGISTERS];
    if (request->count > WRITE_REGISTERS)
        return false;
    for (size_t i = 0; i < request->count; i++) {
        if (request->words[i] > 1)
            return false;
        bits[i] = request->words[i] != 0;
    }
    return pdu_write_coils(pdu, request->address, bits, request->count);
}

bool link_build_write(const struct link *link, const struct write_request *request, struct pdu *pdu)
{
    if (request->unit == 0 || (link->timing.serial && request->unit > SERIAL_UNITS))
        return false;
    switch (request->function) {
    case FUNCTION_WRITE_COIL:
    case FUNCTION_WRITE_REGISTER:
        return build_one(request, pdu);
    case FUNCTION_WRITE_COILS:
        return build_coils(request, pdu);
    case FUNCTION_WRITE_REGISTERS:
        return pdu_write_registers(pdu, request->address, request->words, request->count);
    default:
        return false;
    }
}

/* The word that the acknowledgement repeats behind the address. */
static uint16_t repeated_word(const struct write_request *request)
{
    switch (request->function) {
    case FUNCTION_WRITE_COIL:
        return request->words[0] != 0 ? COIL_ON : 0;
    case FUNCTION_WRITE_REGISTER:
        return request->words[0];
    default:
        return request->count;
    }
}

static struct job job_of(const struct write_request *request, link_written done)
{
    struct job job = {.kind = JOB_WRITE, .write = *request, .done.write = done};
    job.request = (struct request){
        .unit = request->unit,
        .function = request->function,
        .address = request->address,
        .count = repeated_word(request),
        .answers_within_us = request->answers_within_us,
        .rest_between_us = request->rest_between_us,
        .retries = BARRIER_RETRIES,
    };
    return job;
}

void link_write(struct link *link, const struct write_request *request, link_written done, void *user)
{
    struct job job = job_of(request, done);
    job.user = user;
    link_queue(link, &job);
}

void link_write_owned(struct link *link, const struct write_request *request, link_written done, void *owned)
{
    struct job job = job_of(request, done);
    job.user = job.owned = owned;
    link_queue(link, &job);
}
