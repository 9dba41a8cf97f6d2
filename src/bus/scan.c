/* SPDX-License-Identifier: MIT */
/* Finding the reply to a request in the bytes that came, and saying what else was there. */
#include "bus/frame.h"

#include <string.h>

enum { HEADER_BYTES = 7, CRC_BYTES = 2 };

/* ---- lengths ---- */

/* Device identification, section 6.21: type, code, conformity, more, next object, number of objects, then each object's
 * id, length and text. How long the PDU is with so many of them; 0: not (yet) a whole one. */
static size_t objects_end(const uint8_t *pdu, size_t available, unsigned objects)
{
    if (available < 7)
        return 0;
    size_t length = 7;
    for (; objects > 0; objects--) {
        if (length + 2 > available)
            return 0;
        length += 2U + pdu[length + 1];
    }
    return length;
}

static size_t identification_length(const uint8_t *pdu, size_t available)
{
    return available < 7 ? 0 : objects_end(pdu, available, pdu[6]);
}

/* How long the PDU is that answers `request`, if these bytes begin like one: 0 where they do not, or too few came to
 * tell. All that the request settles must agree: byte counts, and what a write's reply repeats. */
static size_t reply_length(const struct pdu *request, const uint8_t *pdu, size_t available)
{
    if (available < 2 || pdu[0] != request->bytes[0])
        return 0;
    switch ((enum function)request->bytes[0]) {
    case FUNCTION_READ_COILS:
    case FUNCTION_READ_DISCRETE_INPUTS:
    case FUNCTION_READ_HOLDING_REGISTERS:
    case FUNCTION_READ_INPUT_REGISTERS: {
        uint16_t count = (uint16_t)((unsigned)request->bytes[3] << 8 | request->bytes[4]);
        size_t bytes = read_reply_bytes(request->bytes[0], count);
        return pdu[1] == bytes ? 2 + bytes : 0;
    }
    case FUNCTION_WRITE_COIL:
    case FUNCTION_WRITE_REGISTER:
    case FUNCTION_DIAGNOSTICS:
    case FUNCTION_WRITE_COILS:
    case FUNCTION_WRITE_REGISTERS:
        return available >= 5 && memcmp(pdu, request->bytes, 5) == 0 ? 5 : 0;
    case FUNCTION_REPORT_SERVER_ID:
        return 2U + pdu[1];
    case FUNCTION_DEVICE_IDENTIFICATION:
        return available >= 3 && memcmp(pdu, request->bytes, 3) == 0 ? identification_length(pdu, available) : 0;
    }
    return 0;
}

/* Where the length of a frame that others send stands: a fixed number of bytes, plus a byte of the PDU that counts
 * more. Requests (of another master, or echoes) and replies. */
struct shape {
    uint8_t function;
    uint8_t fixed;      /* bytes of the PDU without those counted */
    uint8_t counted_by; /* which byte of the PDU counts more; 0: none */
};

static const struct shape shapes[] = {
    {0x01, 2, 1}, {0x02, 2, 1},  {0x03, 2, 1}, {0x04, 2, 1}, {0x01, 5, 0}, {0x02, 5, 0}, {0x03, 5, 0},
    {0x04, 5, 0}, {0x05, 5, 0},  {0x06, 5, 0}, {0x07, 2, 0}, {0x07, 1, 0}, {0x08, 5, 0}, {0x0f, 5, 0},
    {0x0f, 6, 5}, {0x10, 5, 0},  {0x10, 6, 5}, {0x11, 1, 0}, {0x11, 2, 1}, {0x14, 2, 1}, {0x15, 2, 1},
    {0x16, 7, 0}, {0x17, 10, 9}, {0x17, 2, 1}, {0x18, 3, 0}, {0x2b, 4, 0},
};

static bool crc_good(const uint8_t *frame, size_t length)
{
    return crc16(frame, length - CRC_BYTES) == (frame[length - 2] | (unsigned)frame[length - 1] << 8);
}

static bool whole(const uint8_t *frame, size_t available, size_t pdu_length)
{
    size_t length = 1 + pdu_length + CRC_BYTES;
    return pdu_length > 0 && length <= RTU_BYTES && length <= available && crc_good(frame, length);
}

/* The length of the whole frame, of whatever known kind, with a good CRC, that starts here; 0: none. */
static size_t any_frame(const uint8_t *frame, size_t available)
{
    if (available < 1 + 1 + CRC_BYTES)
        return 0;
    const uint8_t *pdu = frame + 1;
    if ((pdu[0] & EXCEPTION_BIT) != 0)
        return whole(frame, available, 2) ? 1 + 2 + CRC_BYTES : 0;
    for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
        if (shapes[i].function != pdu[0] || available < 2U + shapes[i].counted_by)
            continue;
        size_t length = shapes[i].fixed + (shapes[i].counted_by != 0 ? pdu[shapes[i].counted_by] : 0U);
        if (whole(frame, available, length))
            return 1 + length + CRC_BYTES;
    }
    if (pdu[0] == FUNCTION_DEVICE_IDENTIFICATION) {
        size_t length = identification_length(pdu, available - 1);
        if (whole(frame, available, length))
            return 1 + length + CRC_BYTES;
    }
    return 0;
}

/* ---- RTU ---- */

/* Is the request itself told from its reply by its bytes? A write of one register is answered with the same bytes. */
static bool echo_can_be_told(const struct pdu *request)
{
    return request->bytes[0] != FUNCTION_WRITE_COIL && request->bytes[0] != FUNCTION_WRITE_REGISTER &&
           request->bytes[0] != FUNCTION_DIAGNOSTICS;
}

/* Some devices announce all their objects in each reply and list those that fit, as the example of section 6.21 does:
 * the length of the PDU with fewer objects that makes a whole frame; 0: none. */
static size_t fewer_objects(const uint8_t *frame, size_t available)
{
    const uint8_t *pdu = frame + 1;
    if (pdu[0] != FUNCTION_DEVICE_IDENTIFICATION || available < 1 + 7 + CRC_BYTES)
        return 0;
    for (unsigned objects = pdu[6]; objects-- > 0;) {
        size_t length = objects_end(pdu, available - 1, objects);
        if (whole(frame, available, length))
            return length;
    }
    return 0;
}

/* Does an answer to the request start here? Fills `scan` if so. */
static bool answers(const uint8_t *frame, size_t available, const struct asked *asked, struct scan *scan)
{
    if (available < 1 + 2 + CRC_BYTES || frame[0] != asked->unit)
        return false;
    const uint8_t *pdu = frame + 1;
    size_t length = reply_length(&asked->pdu, pdu, available - 1);
    if (!whole(frame, available, length) && memcmp(pdu, asked->pdu.bytes, 3) == 0)
        length = fewer_objects(frame, available);
    if (whole(frame, available, length)) {
        scan->found = FOUND_REPLY;
    } else if (pdu[0] == (asked->pdu.bytes[0] | EXCEPTION_BIT) && whole(frame, available, 2)) {
        scan->found = FOUND_EXCEPTION;
        length = 2;
    } else {
        return false;
    }
    scan->pdu = pdu;
    scan->pdu_length = length;
    return true;
}

static bool spoiled_answer(const uint8_t *frame, size_t available, const struct asked *asked)
{
    if (available < 1 + 2 + CRC_BYTES || frame[0] != asked->unit)
        return false;
    size_t length = reply_length(&asked->pdu, frame + 1, available - 1);
    return length > 0 && 1 + length + CRC_BYTES <= available;
}

/* Going through received bytes, piece by piece. */
struct walk {
    const uint8_t *bytes;
    size_t length;
    const struct asked *asked;
    uint8_t request[RTU_BYTES]; /* what an echo of it looks like */
    size_t request_length;      /* 0: an echo cannot be told */
    bool echo;                  /* it has come */
};

static struct walk walk_begin(const uint8_t *bytes, size_t length, const struct asked *asked)
{
    struct walk walk = {.bytes = bytes, .length = length, .asked = asked};
    if (asked != NULL && (asked->echoed || echo_can_be_told(&asked->pdu)))
        walk.request_length = rtu_build(walk.request, asked->unit, &asked->pdu);
    return walk;
}

/* What stands at `at`, and how long it is; of junk, one byte. Fills `scan` of an answer. */
static enum piece walk_piece(struct walk *walk, size_t at, size_t *length, struct scan *scan)
{
    const uint8_t *frame = walk->bytes + at;
    size_t available = walk->length - at;
    if (walk->request_length > 0 && !walk->echo && available >= walk->request_length &&
        memcmp(frame, walk->request, walk->request_length) == 0) {
        walk->echo = true;
        *length = walk->request_length;
        return PIECE_ECHO;
    }
    if (walk->asked != NULL && answers(frame, available, walk->asked, scan)) {
        *length = 1 + scan->pdu_length + CRC_BYTES;
        return PIECE_ANSWER;
    }
    *length = any_frame(frame, available);
    if (*length > 0)
        return PIECE_FOREIGN;
    *length = 1;
    return PIECE_JUNK;
}

/* The front of an echo whose end is still to come: a write's begins like its reply, and would pass for a spoiled one.
 */
static bool begins_echo(const struct walk *walk, size_t at)
{
    size_t available = walk->length - at;
    return !walk->echo && available < walk->request_length && memcmp(walk->bytes + at, walk->request, available) == 0;
}

struct scan rtu_scan(const uint8_t *bytes, size_t length, const struct asked *asked)
{
    struct scan scan = {.found = FOUND_NOTHING};
    struct walk walk = walk_begin(bytes, length, asked);
    enum piece before = PIECE_ANSWER;
    for (size_t step; scan.used < length; scan.used += step) {
        const uint8_t *frame = bytes + scan.used;
        enum piece piece = walk_piece(&walk, scan.used, &step, &scan);
        switch (piece) {
        case PIECE_ANSWER:
            scan.used += step;
            return scan;
        case PIECE_ECHO:
            scan.echo = true;
            break;
        case PIECE_FOREIGN:
            scan.foreign++;
            memcpy(scan.last, frame, sizeof scan.last);
            scan.other_unit += asked != NULL && frame[0] != asked->unit ? 1 : 0;
            break;
        case PIECE_JUNK:
            if (before == PIECE_JUNK)
                break;
            scan.junk++;
            scan.spoiled |=
                asked != NULL && !begins_echo(&walk, scan.used) && spoiled_answer(frame, length - scan.used, asked);
            break;
        }
        before = piece;
    }
    return scan;
}

void rtu_pieces(const uint8_t *bytes, size_t length, const struct asked *asked, piece_seen seen, void *user)
{
    struct scan answer = {.found = FOUND_NOTHING};
    struct walk walk = walk_begin(bytes, length, asked);
    size_t junk = 0; /* bytes of it that stand before */
    for (size_t at = 0, step; at < length && answer.found == FOUND_NOTHING; at += step) {
        enum piece piece = walk_piece(&walk, at, &step, &answer);
        if (piece == PIECE_JUNK) {
            junk += step;
            continue;
        }
        if (junk > 0)
            seen(user, PIECE_JUNK, bytes + at - junk, junk);
        junk = 0;
        seen(user, piece, bytes + at, step);
    }
    if (junk > 0)
        seen(user, PIECE_JUNK, bytes + length - junk, junk);
}

/* ---- TCP ---- */

/* As with fewer_objects; the header says where the PDU ends. */
static bool lists_fewer_objects(const struct pdu *request, const uint8_t *pdu, size_t length)
{
    if (length < 7 || pdu[0] != FUNCTION_DEVICE_IDENTIFICATION || memcmp(pdu, request->bytes, 3) != 0)
        return false;
    for (unsigned objects = pdu[6]; objects-- > 0;)
        if (objects_end(pdu, length, objects) == length)
            return true;
    return false;
}

/* The header of what answers us says one length and the reply itself another. */
static bool lengths_disagree(const uint8_t *frame, size_t available, size_t follows, const struct asked *asked)
{
    size_t in_frame = follows - 1;
    const uint8_t *pdu = frame + HEADER_BYTES;
    if (available < HEADER_BYTES + 2 || in_frame < 2)
        return false;
    size_t given = available - HEADER_BYTES < in_frame ? available - HEADER_BYTES : in_frame;
    size_t length = reply_length(&asked->pdu, pdu, given);
    if (pdu[0] == (asked->pdu.bytes[0] | EXCEPTION_BIT))
        length = 2;
    return length != 0 && length != in_frame;
}

struct scan tcp_scan(const uint8_t *bytes, size_t length, const struct asked *asked)
{
    struct scan scan = {.found = FOUND_NOTHING};
    while (length - scan.used >= HEADER_BYTES) {
        const uint8_t *frame = bytes + scan.used;
        size_t available = length - scan.used;
        unsigned protocol = (unsigned)frame[2] << 8 | frame[3];
        size_t follows = (size_t)frame[4] << 8 | frame[5];
        bool ours = asked != NULL && ((unsigned)frame[0] << 8 | frame[1]) == asked->transaction;
        bool same_unit = asked != NULL && frame[6] == asked->unit;
        if (protocol != 0 || follows < 2 || follows > 1 + PDU_BYTES ||
            (ours && same_unit && lengths_disagree(frame, available, follows, asked))) {
            scan.found = FOUND_BROKEN;
            scan.junk++;
            scan.used = length;
            return scan;
        }
        if (available < HEADER_BYTES - 1 + follows)
            return scan;
        scan.used += HEADER_BYTES - 1 + follows;
        scan.pdu = frame + HEADER_BYTES;
        scan.pdu_length = follows - 1;
        if (ours && same_unit &&
            (reply_length(&asked->pdu, scan.pdu, scan.pdu_length) == scan.pdu_length ||
             lists_fewer_objects(&asked->pdu, scan.pdu, scan.pdu_length))) {
            scan.found = FOUND_REPLY;
            return scan;
        }
        if (ours && same_unit && scan.pdu_length == 2 && scan.pdu[0] == (asked->pdu.bytes[0] | EXCEPTION_BIT)) {
            scan.found = FOUND_EXCEPTION;
            return scan;
        }
        scan.foreign++;
        memcpy(scan.last, frame + HEADER_BYTES - 1, sizeof scan.last);
        scan.other_unit += asked != NULL && !same_unit ? 1 : 0;
    }
    return scan;
}

void tcp_pieces(const uint8_t *bytes, size_t length, const struct asked *asked, piece_seen seen, void *user)
{
    for (size_t at = 0; at < length;) {
        const uint8_t *frame = bytes + at;
        size_t available = length - at;
        size_t whole_length = available < HEADER_BYTES ? 0 : HEADER_BYTES - 1 + ((size_t)frame[4] << 8 | frame[5]);
        bool complete = whole_length > HEADER_BYTES && whole_length <= available;
        struct scan scan = tcp_scan(frame, complete ? whole_length : available, asked);
        if (!complete || scan.found == FOUND_BROKEN) {
            seen(user, PIECE_JUNK, frame, available);
            return;
        }
        seen(user, scan.found == FOUND_NOTHING ? PIECE_FOREIGN : PIECE_ANSWER, frame, whole_length);
        if (scan.found != FOUND_NOTHING)
            return;
        at += whole_length;
    }
}
