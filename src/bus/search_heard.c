/* SPDX-License-Identifier: MIT */
/* What a search makes of all that comes in: late answers, signs of something at another format, another master. */
#include "bus/search_internal.h"

#include "types/memory.h"

#include <string.h>

enum { CRC_BYTES = 2, READ_OVERHEAD = 3 + CRC_BYTES, EXCEPTION_FRAME = 3 + CRC_BYTES };

/* Do these bytes look like the reply to one of our reads of 1 to 4 registers, or like an exception? What a master asks
 * is of another length. */
static bool like_an_answer(const uint8_t *frame, size_t length)
{
    uint8_t function = frame[1] & (uint8_t)~EXCEPTION_BIT;
    bool asked = function == FUNCTION_READ_HOLDING_REGISTERS || function == FUNCTION_DEVICE_IDENTIFICATION ||
                 function == FUNCTION_REPORT_SERVER_ID;
    if (!asked)
        return false;
    if ((frame[1] & EXCEPTION_BIT) != 0)
        return length == EXCEPTION_FRAME;
    if (function != FUNCTION_READ_HOLDING_REGISTERS)
        return true;
    return length == READ_OVERHEAD + (size_t)frame[2] && frame[2] % 2 == 0 && frame[2] >= 2 &&
           frame[2] <= 2 * (1 + SEARCH_CONFIRMATIONS);
}

/* The unit number tells whose answer it is, however late it comes. */
static void take_frame(struct search *search, const uint8_t *frame, size_t length)
{
    if (length == search->sent_length && memcmp(frame, search->sent, length) == 0)
        return; /* the adapter hears itself */
    uint8_t *state = &search->states[search->ground.format][frame[0]];
    if (!search->listening && *state != UNIT_UNASKED && like_an_answer(frame, length)) {
        if (*state == UNIT_ASKED)
            *state = UNIT_ANSWERED;
        return;
    }
    search->came.strange++;
    /* noise passes for five bytes of exception far more easily than for more */
    search->came.master |= search->came.strange > 1 || (frame[1] & EXCEPTION_BIT) == 0;
}

void search_tracer(void *user, enum trace_kind kind, int64_t wall_us, const uint8_t *bytes, size_t length)
{
    struct search *search = user;
    if (search->watcher != NULL)
        search->watcher(search->watcher_user, kind, wall_us, bytes, length);
    switch (kind) {
    case TRACE_SENT:
        search->sent_length = length < sizeof search->sent ? length : sizeof search->sent;
        memcpy(search->sent, bytes, search->sent_length);
        break;
    case TRACE_REPLY:
        break; /* the link says so */
    case TRACE_FOREIGN:
        if (search->serial)
            take_frame(search, bytes, length);
        break;
    case TRACE_JUNK:
        search->came.junk_bytes += length;
        break;
    }
}

void search_hear(struct search *search)
{
    search->came = (struct came){0};
    search->errors_before = link_line_errors(search->link);
}

static struct line_sign *sign_of(struct search *search, bool unasked)
{
    struct search_result *result = &search->result;
    const struct serial_format format = search_format(search);
    for (size_t i = 0; i < result->sign_count; i++)
        if (result->signs[i].unasked == unasked && serial_format_same(&result->signs[i].format, &format))
            return &result->signs[i];
    result->signs = memory_grow(result->signs, result->sign_count, sizeof *result->signs);
    result->signs[result->sign_count] = (struct line_sign){.format = format, .unasked = unasked};
    return &result->signs[result->sign_count++];
}

static unsigned long weight(const struct line_sign *sign)
{
    return sign->bytes + sign->framing + sign->parity + sign->breaks;
}

bool search_has_signs(const struct search *search)
{
    for (size_t i = 0; i < search->result.sign_count; i++)
        if (weight(&search->result.signs[i]) > GLITCH)
            return true;
    return false;
}

bool search_heard(struct search *search, bool unasked)
{
    const struct line_errors now = link_line_errors(search->link), *before = &search->errors_before;
    search->result.errors_counted |= now.counted;
    struct line_sign more = {.bytes = search->came.junk_bytes};
    if (now.counted && before->counted) {
        more.framing = now.frame - before->frame;
        more.parity = now.parity - before->parity;
        more.overrun = now.overrun - before->overrun;
        more.breaks = now.brk - before->brk;
    }
    if (weight(&more) == 0)
        return false;
    struct line_sign *sign = sign_of(search, unasked);
    sign->bytes += more.bytes;
    sign->framing += more.framing;
    sign->parity += more.parity;
    sign->overrun += more.overrun;
    sign->breaks += more.breaks;
    return weight(&more) > GLITCH;
}
