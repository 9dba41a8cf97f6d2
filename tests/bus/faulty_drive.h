/* SPDX-License-Identifier: MIT */
/* Drives behind a bad line, and behind a bad gateway. What befalls the n-th request follows from the seed and n alone,
 * so that any client meets the same faults; every word is a hash of unit, function and address, so that a value which
 * belongs elsewhere is seen. Knows no clock and no line: it is told the time, and says what is to be delivered when. */
#ifndef ASLEFT_TESTS_BUS_FAULTY_DRIVE_H
#define ASLEFT_TESTS_BUS_FAULTY_DRIVE_H

#include "bus/frame.h"

#include <stdlib.h>
#include <string.h>

enum fault {
    FAULT_NONE,
    FAULT_LATE,          /* later than the client waits */
    FAULT_LOST,          /* the request never arrives */
    FAULT_CORRUPT,       /* up to three bits are flipped: each such error is one that the CRC finds */
    FAULT_CUT,           /* the end of the reply is missing */
    FAULT_JUNK,          /* one to three bytes in front of it */
    FAULT_FOREIGN,       /* the reply of another unit in front of it */
    FAULT_DOUBLED,       /* the reply comes twice, back to back */
    FAULT_DOUBLED_LATER, /* the same, with a pause between */
    FAULT_ECHO,          /* the request comes back first */
    FAULT_NOISE,         /* bytes at any moment up to the next request */
    FAULT_STALE,         /* TCP: the reply to the transaction before comes first, once more */
    FAULT_LENGTH,        /* TCP: the header says another length */
    FAULT_CLOSED,        /* TCP: the other end hangs up instead */
    FAULT_KINDS,
};

struct fault_share {
    enum fault fault;
    unsigned share;
};

enum faulty_line { LINE_RTU, LINE_TCP, LINE_GATEWAY };

enum drive_habit {
    HABIT_QUEUES,  /* answers all requests, one after the other, however late */
    HABIT_IGNORES, /* loses what comes while it is busy */
};

/* What becomes of a serial reply that came while no request waited for it. */
enum gateway_habit {
    GATEWAY_DROPS,     /* it is lost; one that comes while another request waits is that one's */
    GATEWAY_KEEPS_ONE, /* the last one answers the next request, whose own reply is lost */
};

enum { FAULTY_UNITS = 2, FAULTY_HOLES = 12, GATEWAY_REPLIES = 256 };

/* Places that the drive refuses with exception 02. */
struct faulty_hole {
    uint8_t unit, function;
    uint16_t first, last;
};

/* What has come, or will, out of the serial line behind a gateway. */
struct serial_reply {
    int64_t at_us;
    uint8_t unit;
    struct pdu pdu;
};

struct faulty_drive {
    uint64_t seed;
    unsigned faulted_per_mille;
    enum faulty_line line;
    enum drive_habit habit;
    enum gateway_habit gateway;
    bool mute;             /* a gateway that says nothing where its drive is silent; else exception 0b */
    int64_t turnaround_us; /* from the request's end to the reply's start */
    int64_t character_ns;  /* 0: no wire time */
    int64_t deadline_us;   /* what is later than this is late for the client, or for the gateway */
    int64_t latest_us;     /* beyond the deadline */
    struct faulty_hole holes[FAULTY_HOLES];
    size_t hole_count;
    void (*say)(void *user, int64_t at_us, const uint8_t *bytes, size_t length, bool close);
    void *user;
    /* What it answers instead of hashes, and to writes too: called once for each request that reaches the drive, in
     * their order; may carry it out. NULL: reads only. */
    struct pdu (*obey)(void *keeper, uint8_t unit, const uint8_t *asked, size_t length);
    void *keeper;
    bool
        echoes; /* RTU with `obey`: the adapter gives back all that is sent; without it FAULT_ECHO does, now and then */

    uint64_t heard, ignored, faulted; /* requests */
    uint64_t faults[FAULT_KINDS];
    int64_t busy_until_us[FAULTY_UNITS + 1]; /* by unit, which counts from 1 */
    uint8_t previous[TCP_BYTES];             /* TCP: the reply to the last request */
    size_t previous_length;
    struct serial_reply serial[GATEWAY_REPLIES];
    size_t serial_count;
};

/* ---- chance ---- */

struct dice {
    uint64_t state;
};

/* Steele, Lea and Flood's SplitMix64: any state is as good as any other. */
static inline uint64_t dice_next(struct dice *dice)
{
    uint64_t mixed = dice->state += 0x9e3779b97f4a7c15U;
    mixed = (mixed ^ mixed >> 30) * 0xbf58476d1ce4e5b9U;
    mixed = (mixed ^ mixed >> 27) * 0x94d049bb133111ebU;
    return mixed ^ mixed >> 31;
}

/* 0 to sides - 1 */
static inline unsigned roll(struct dice *dice, unsigned sides)
{
    return (unsigned)((dice_next(dice) >> 32) * sides >> 32);
}

static inline struct dice dice_for(uint64_t seed, uint64_t number)
{
    struct dice dice = {seed * 0xd1342543de82ef95U + number};
    (void)dice_next(&dice);
    return dice;
}

/* ---- what the drive holds ---- */

static inline uint16_t faulty_word(uint8_t unit, uint8_t function, uint16_t address)
{
    struct dice dice = {(uint64_t)unit << 24 | (uint64_t)function << 16 | address};
    return (uint16_t)dice_next(&dice);
}

static inline bool faulty_refuses(const struct faulty_drive *drive, uint8_t unit, uint8_t function, unsigned address,
                                  unsigned count)
{
    for (size_t i = 0; i < drive->hole_count; i++) {
        const struct faulty_hole *hole = &drive->holes[i];
        if (hole->unit == unit && hole->function == function && hole->first < address + count && hole->last >= address)
            return true;
    }
    return false;
}

/* The right answer to a PDU. */
static inline struct pdu faulty_answer(const struct faulty_drive *drive, uint8_t unit, const uint8_t *asked,
                                       size_t length)
{
    if (drive->obey != NULL)
        return drive->obey(drive->keeper, unit, asked, length);
    uint16_t address = (uint16_t)(asked[1] << 8 | asked[2]);
    uint16_t count = (uint16_t)(asked[3] << 8 | asked[4]);
    struct pdu answer = {.bytes = {asked[0]}, .length = 2};
    if (faulty_refuses(drive, unit, asked[0], address, count)) {
        answer.bytes[0] |= EXCEPTION_BIT;
        answer.bytes[1] = 0x02;
        return answer;
    }
    answer.bytes[1] = (uint8_t)(2 * count);
    answer.length += 2U * count;
    for (uint16_t i = 0; i < count; i++) {
        uint16_t word = faulty_word(unit, asked[0], (uint16_t)(address + i));
        answer.bytes[2 + 2 * i] = (uint8_t)(word >> 8);
        answer.bytes[3 + 2 * i] = (uint8_t)word;
    }
    return answer;
}

/* ---- faults ---- */

static const struct fault_share rtu_shares[] = {
    {FAULT_LATE, 10},   {FAULT_LOST, 4},    {FAULT_CORRUPT, 4},       {FAULT_CUT, 4},  {FAULT_JUNK, 3},
    {FAULT_FOREIGN, 3}, {FAULT_DOUBLED, 3}, {FAULT_DOUBLED_LATER, 3}, {FAULT_ECHO, 3}, {FAULT_NOISE, 3},
};
static const struct fault_share tcp_shares[] = {
    {FAULT_LATE, 10},   {FAULT_LOST, 4},  {FAULT_CUT, 3},           {FAULT_JUNK, 3},   {FAULT_FOREIGN, 3},
    {FAULT_DOUBLED, 3}, {FAULT_STALE, 6}, {FAULT_DOUBLED_LATER, 3}, {FAULT_LENGTH, 3}, {FAULT_CLOSED, 2},
};
static const struct fault_share gateway_shares[] = {
    /* of the serial line behind it */
    {FAULT_LATE, 18}, {FAULT_LOST, 8}, {FAULT_CORRUPT, 6}, {FAULT_DOUBLED, 4}, {FAULT_DOUBLED_LATER, 4},
};

static inline enum fault faulty_choose(const struct fault_share *shares, size_t count, struct dice *dice)
{
    unsigned sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += shares[i].share;
    unsigned at = roll(dice, sum);
    size_t i = 0;
    while (at >= shares[i].share)
        at -= shares[i++].share;
    return shares[i].fault;
}

/* What befalls this request; counts it. */
static inline enum fault faulty_draw(struct faulty_drive *drive, struct dice *dice)
{
    enum fault fault = FAULT_NONE;
    if (roll(dice, 1000) < drive->faulted_per_mille) {
        switch (drive->line) {
        case LINE_RTU:
            fault = faulty_choose(rtu_shares, sizeof rtu_shares / sizeof rtu_shares[0], dice);
            break;
        case LINE_TCP:
            fault = faulty_choose(tcp_shares, sizeof tcp_shares / sizeof tcp_shares[0], dice);
            break;
        case LINE_GATEWAY:
            fault = faulty_choose(gateway_shares, sizeof gateway_shares / sizeof gateway_shares[0], dice);
            break;
        }
        drive->faulted++;
    }
    if (fault == FAULT_ECHO && drive->obey != NULL)
        fault = FAULT_NONE;
    drive->faults[fault]++;
    return fault;
}

/* Most are a little late, some a lot. */
static inline int64_t faulty_lateness_us(const struct faulty_drive *drive, struct dice *dice)
{
    unsigned tier = roll(dice, 10);
    int64_t spread_us = tier < 6 ? 120000 : tier < 9 ? 1000000 : 5000000;
    if (spread_us > drive->latest_us)
        spread_us = drive->latest_us;
    return drive->deadline_us + 1000 + (int64_t)roll(dice, (unsigned)spread_us);
}

static inline int64_t faulty_wire_us(const struct faulty_drive *drive, size_t characters)
{
    return (drive->character_ns * (int64_t)characters + 999) / 1000;
}

/* Bytes that end at `end_us`; now and then they come in two parts. */
static inline void faulty_say(const struct faulty_drive *drive, struct dice *dice, int64_t end_us, const uint8_t *bytes,
                              size_t length)
{
    size_t first = length > 1 && roll(dice, 8) == 0 ? 1 + roll(dice, (unsigned)length - 1) : 0;
    if (first > 0)
        drive->say(drive->user, end_us - faulty_wire_us(drive, length - first), bytes, first, false);
    drive->say(drive->user, end_us, bytes + first, length - first, false);
}

static inline void faulty_say_random(const struct faulty_drive *drive, struct dice *dice, int64_t end_us, unsigned most)
{
    uint8_t bytes[16];
    size_t length = 1 + roll(dice, most);
    for (size_t i = 0; i < length; i++)
        bytes[i] = (uint8_t)roll(dice, 256);
    drive->say(drive->user, end_us, bytes, length, false);
}

static inline void faulty_flip(struct dice *dice, uint8_t *bytes, size_t length)
{
    for (unsigned bits = 1 + roll(dice, 3); bits > 0; bits--)
        bytes[roll(dice, (unsigned)length)] ^= (uint8_t)(1U << roll(dice, 8));
}

/* When the drive begins to answer what it heard by `heard_us`; -1: it is busy, and loses it. */
static inline int64_t faulty_begin_us(struct faulty_drive *drive, uint8_t unit, int64_t heard_us)
{
    int64_t busy_until_us = drive->busy_until_us[unit];
    if (heard_us >= busy_until_us)
        return heard_us + drive->turnaround_us;
    if (drive->habit == HABIT_QUEUES)
        return busy_until_us + drive->turnaround_us;
    drive->ignored++;
    return -1;
}

/* ---- RTU ---- */

static inline void faulty_hear_rtu(struct faulty_drive *drive, int64_t now_us, const uint8_t *frame, size_t asked)
{
    struct dice dice = dice_for(drive->seed, drive->heard++);
    uint8_t unit = frame[0];
    int64_t heard_us = now_us + faulty_wire_us(drive, asked);
    if (drive->echoes)
        faulty_say(drive, &dice, heard_us, frame, asked);
    int64_t begin_us = faulty_begin_us(drive, unit, heard_us);
    if (begin_us < 0)
        return;
    enum fault fault = faulty_draw(drive, &dice);
    if (fault == FAULT_LOST)
        return;
    struct pdu answer = faulty_answer(drive, unit, frame + 1, asked - 3);
    uint8_t reply[RTU_BYTES], foreign[RTU_BYTES];
    size_t length = rtu_build(reply, unit, &answer);
    int64_t reply_us = faulty_wire_us(drive, length);
    if (fault == FAULT_LATE)
        begin_us += faulty_lateness_us(drive, &dice);
    int64_t end_us = begin_us + reply_us;
    if (fault == FAULT_ECHO)
        faulty_say(drive, &dice, heard_us, frame, asked);
    if (fault == FAULT_CORRUPT)
        faulty_flip(&dice, reply, length);
    if (fault == FAULT_CUT)
        length -= 1 + roll(&dice, (unsigned)length - 1);
    if (fault == FAULT_JUNK)
        faulty_say_random(drive, &dice, begin_us, 3);
    if (fault == FAULT_NOISE)
        faulty_say_random(drive, &dice, heard_us + (int64_t)roll(&dice, (unsigned)(end_us - heard_us) + 4000), 12);
    if (fault == FAULT_FOREIGN) {
        end_us += reply_us;
        drive->say(drive->user, begin_us + reply_us, foreign, rtu_build(foreign, (uint8_t)(unit + 8), &answer), false);
    }
    faulty_say(drive, &dice, end_us, reply, length);
    if (fault == FAULT_DOUBLED || fault == FAULT_DOUBLED_LATER) {
        end_us += reply_us + (fault == FAULT_DOUBLED ? 0 : 1000 + (int64_t)roll(&dice, 60000));
        faulty_say(drive, &dice, end_us, reply, length);
    }
    drive->busy_until_us[unit] = end_us;
}

/* ---- TCP ---- */

static inline size_t faulty_tcp(const struct faulty_drive *drive, const uint8_t *request, size_t asked, uint8_t *reply)
{
    struct pdu answer = faulty_answer(drive, request[6], request + 7, asked - 7);
    return tcp_build(reply, (uint16_t)(request[0] << 8 | request[1]), request[6], &answer);
}

static inline void faulty_hear_tcp(struct faulty_drive *drive, int64_t now_us, const uint8_t *frame, size_t asked)
{
    struct dice dice = dice_for(drive->seed, drive->heard++);
    uint8_t reply[TCP_BYTES], other[TCP_BYTES], previous[TCP_BYTES];
    size_t previous_length = drive->previous_length;
    memcpy(previous, drive->previous, sizeof previous);
    /* What is not obeyed has an answer all the same, that of a lost read among them. */
    drive->previous_length = drive->obey == NULL ? faulty_tcp(drive, frame, asked, drive->previous) : 0;
    int64_t end_us = faulty_begin_us(drive, frame[6], now_us);
    if (end_us < 0)
        return;
    enum fault fault = faulty_draw(drive, &dice);
    if (fault == FAULT_LOST)
        return;
    size_t length = faulty_tcp(drive, frame, asked, reply);
    memcpy(drive->previous, reply, length);
    drive->previous_length = length;
    if (fault == FAULT_CLOSED) {
        drive->say(drive->user, end_us, NULL, 0, true);
        return;
    }
    if (fault == FAULT_LATE)
        end_us += faulty_lateness_us(drive, &dice);
    if (fault == FAULT_CUT)
        length -= 1 + roll(&dice, (unsigned)length - 1);
    if (fault == FAULT_JUNK)
        faulty_say_random(drive, &dice, end_us, 3);
    if (fault == FAULT_LENGTH)
        reply[5] = (uint8_t)(reply[5] + 1 + roll(&dice, 200));
    if (fault == FAULT_STALE && previous_length > 0)
        drive->say(drive->user, end_us, previous, previous_length, false);
    if (fault == FAULT_FOREIGN) {
        memcpy(other, reply, length);
        other[6] = (uint8_t)(other[6] + 8);
        other[length - 1] ^= 1;
        drive->say(drive->user, end_us, other, length, false);
    }
    faulty_say(drive, &dice, end_us, reply, length);
    if (fault == FAULT_DOUBLED || fault == FAULT_DOUBLED_LATER) {
        end_us += fault == FAULT_DOUBLED ? 0 : 1000 + (int64_t)roll(&dice, 60000);
        faulty_say(drive, &dice, end_us, reply, length);
    }
    drive->busy_until_us[frame[6]] = end_us;
}

/* ---- a gateway that takes any reply of the unit for the one to its present request ---- */

static inline void gateway_add(struct faulty_drive *drive, int64_t at_us, uint8_t unit, const struct pdu *pdu)
{
    if (drive->serial_count == GATEWAY_REPLIES)
        abort(); /* no gateway holds that much; the test would say nothing */
    size_t at = drive->serial_count++;
    for (; at > 0 && drive->serial[at - 1].at_us > at_us; at--)
        drive->serial[at] = drive->serial[at - 1];
    drive->serial[at] = (struct serial_reply){at_us, unit, *pdu};
}

static inline void gateway_drop(struct faulty_drive *drive, size_t count)
{
    drive->serial_count -= count;
    memmove(drive->serial, drive->serial + count, drive->serial_count * sizeof drive->serial[0]);
}

/* The request goes down the serial line. */
static inline void gateway_forward(struct faulty_drive *drive, struct dice *dice, int64_t now_us, const uint8_t *frame,
                                   size_t asked, bool has_room)
{
    uint8_t unit = frame[6];
    int64_t at_us = faulty_begin_us(drive, unit, now_us);
    if (at_us < 0)
        return;
    enum fault fault = faulty_draw(drive, dice);
    if (fault == FAULT_LOST)
        return;
    struct pdu answer = faulty_answer(drive, unit, frame + 7, asked - 7);
    if (fault == FAULT_LATE)
        at_us += faulty_lateness_us(drive, dice);
    /* Silence cannot be heard through a gateway: what comes later than this is nobody's to survive in all cases. */
    int64_t latest_us = now_us + drive->deadline_us + drive->latest_us;
    at_us = at_us < latest_us ? at_us : latest_us;
    if (fault != FAULT_CORRUPT && (has_room || fault == FAULT_LATE))
        gateway_add(drive, at_us, unit, &answer);
    if (fault == FAULT_DOUBLED || fault == FAULT_DOUBLED_LATER) {
        at_us += fault == FAULT_DOUBLED ? 500 : 1000 + (int64_t)roll(dice, 60000);
        gateway_add(drive, at_us, unit, &answer);
    }
    drive->busy_until_us[unit] = at_us;
}

/* What becomes of the replies that came before this request; true where one is kept in the only place there is. */
static inline bool gateway_clear(struct faulty_drive *drive, int64_t now_us)
{
    size_t over = 0;
    while (over < drive->serial_count && drive->serial[over].at_us <= now_us)
        over++;
    switch (drive->gateway) {
    case GATEWAY_DROPS:
        gateway_drop(drive, over);
        return false;
    case GATEWAY_KEEPS_ONE:
        gateway_drop(drive, over > 0 ? over - 1 : 0);
        return over > 0;
    }
    return false;
}

static inline void faulty_hear_gateway(struct faulty_drive *drive, int64_t now_us, const uint8_t *frame, size_t asked)
{
    struct dice dice = dice_for(drive->seed, drive->heard++);
    uint8_t unit = frame[6];
    bool kept = gateway_clear(drive, now_us);
    gateway_forward(drive, &dice, now_us, frame, asked, !kept);
    int64_t at_us = now_us + drive->deadline_us;
    size_t over;
    for (over = 0; over < drive->serial_count && drive->serial[over].at_us <= at_us; over++)
        if (drive->serial[over].unit == unit)
            break;
    gateway_drop(drive, over); /* of another unit */
    struct pdu pdu = {.bytes = {(uint8_t)(frame[7] | EXCEPTION_BIT), 0x0b}, .length = 2};
    if (drive->serial_count > 0 && drive->serial[0].at_us <= at_us) {
        at_us = drive->serial[0].at_us > now_us ? drive->serial[0].at_us : now_us;
        pdu = drive->serial[0].pdu;
        gateway_drop(drive, 1);
    } else if (drive->mute) {
        return;
    }
    uint8_t reply[TCP_BYTES];
    size_t length = tcp_build(reply, (uint16_t)(frame[0] << 8 | frame[1]), unit, &pdu);
    faulty_say(drive, &dice, at_us + 300, reply, length);
}

/* ---- any ---- */

/* Is it a read of registers? With `obey`, that one judges. */
static inline bool faulty_expects(const struct faulty_drive *drive, const uint8_t *pdu, size_t length)
{
    return drive->obey != NULL || (length == 5 && (pdu[0] == 3 || pdu[0] == 4));
}

/* A whole request that the client sent, its last byte now. Anything but a request that is right in form is the client's
 * fault, and aborts. */
static inline void faulty_hear(struct faulty_drive *drive, int64_t now_us, const uint8_t *frame, size_t length)
{
    bool rtu = drive->line == LINE_RTU;
    uint8_t unit = frame[rtu ? 0 : 6];
    if (length < (rtu ? 8U : 12U) || unit == 0 || unit > FAULTY_UNITS ||
        !faulty_expects(drive, frame + (rtu ? 1 : 7), length - (rtu ? 3 : 7)) ||
        (rtu && crc16(frame, length - 2) != (frame[length - 2] | (unsigned)frame[length - 1] << 8)))
        abort();
    switch (drive->line) {
    case LINE_RTU:
        faulty_hear_rtu(drive, now_us, frame, length);
        break;
    case LINE_TCP:
        faulty_hear_tcp(drive, now_us, frame, length);
        break;
    case LINE_GATEWAY:
        faulty_hear_gateway(drive, now_us, frame, length);
        break;
    }
}

#endif
