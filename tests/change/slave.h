/* SPDX-License-Identifier: MIT */
/* A drive that can be written to, with the habits of real ones, and with a log of its own of what it executed. Knows no
 * line: it is given a PDU, and gives back its answer. Encodes registers by itself. Holding and input registers are one
 * for it, as are coils and discrete inputs. */
#ifndef ASLEFT_TESTS_CHANGE_SLAVE_H
#define ASLEFT_TESTS_CHANGE_SLAVE_H

#include "bus/frame.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { SLAVE_PLACES = 512, SLAVE_HABITS = 24, SLAVE_LOG = 64, SLAVE_LATER = 32 };

/* So many requests a client may need from its first look before a write to the write: what was said meanwhile may have
 * been asked by the link alone, to keep two replies apart. */
enum { SLAVE_CHECK = 12 };

/* What it makes of a write to a place. */
enum slave_habit_kind {
    SLAVE_OBEYS,
    SLAVE_CLAMPS,     /* acknowledged, and `word` is kept instead */
    SLAVE_IGNORES,    /* acknowledged, and nothing happens */
    SLAVE_REFUSES,    /* exception `exception`, and nothing happens */
    SLAVE_GRUMBLES,   /* exception `exception`, and it is kept all the same, `after_us` later */
    SLAVE_IS_SLOW,    /* acknowledged, and kept `after_us` later */
    SLAVE_GOES_BACK,  /* kept, and `after_us` later what was there before comes back */
    SLAVE_MOVES_ON,   /* kept, and `after_us` later it becomes `word` */
    SLAVE_WAITS,      /* acknowledged, and counts from the next power cycle on */
    SLAVE_TAKES_BOTH, /* kept, and `other` becomes `word` */
    SLAVE_FORGETS,    /* in force, but not at the address that lasts */
    SLAVE_REMEMBERS,  /* at the address that lasts, but not in force */
};

struct slave_habit {
    enum slave_habit_kind kind;
    uint16_t at, other;
    uint16_t word;
    uint8_t exception;
    int64_t after_us;
};

/* What happens to the drive while it is written to, before it looks at its n-th request. */
enum slave_event {
    SLAVE_NOTHING,
    SLAVE_STARTS,     /* the motor runs; writes are refused with exception 04 */
    SLAVE_TRIPS,      /* the same, tripped */
    SLAVE_DIES,       /* silent from then on */
    SLAVE_EXCHANGED,  /* another serial number, every value its own */
    SLAVE_TURNED,     /* somebody turns a value at the keypad: `event_at` becomes `event_word` */
    SLAVE_SHIFTED,    /* the same of a selector */
    SLAVE_RUN_COMMAND /* somebody gives a run command */
};

struct slave_write {
    bool coil;
    uint16_t at, count;
    uint16_t words[2];
    bool kept;     /* it changed, or will change, something */
    bool had_told; /* well after the drive had answered with what happened to it */
};

struct slave_later {
    int64_t due_us;
    uint16_t at, word;
    bool coil;
};

struct slave {
    uint16_t holding[SLAVE_PLACES], after_power_cycle[SLAVE_PLACES];
    bool waits[SLAVE_PLACES];           /* after_power_cycle counts */
    uint16_t before_late[SLAVE_PLACES]; /* what a place held before it changed by itself, and when it did */
    int64_t late_us[SLAVE_PLACES];
    bool acknowledges_running; /* and does nothing, instead of refusing */
    uint16_t coils[SLAVE_PLACES];
    uint16_t mirror_from, mirror_to; /* what is written to the second also goes to the first; 0: none */
    struct slave_habit habits[SLAVE_HABITS];
    size_t habit_count;
    struct slave_later later[SLAVE_LATER];
    size_t later_count;
    enum slave_event event;
    unsigned event_after; /* requests */
    uint16_t event_at, event_word;
    bool happened;
    unsigned told_at; /* the request that it answered with what happened to it; 0: none yet */

    uint16_t state_at, run_at, serial_at;
    uint16_t save_at; /* 0: none; reads 0 once it is done */
    uint8_t save_exception;
    bool save_fails;
    int64_t save_takes_us;
    unsigned saves;
    uint8_t unit;
    unsigned requests, broadcasts, foreign;
    struct slave_write log[SLAVE_LOG];
    size_t log_count;
    void (*about_to_write)(void *user, const struct slave_write *write); /* asked before it is executed; may be NULL */
    void *user;
    int64_t (*now_us)(void *clock);
    void *clock;
};

static inline const struct slave_habit *slave_habit(const struct slave *slave, uint16_t at)
{
    static const struct slave_habit obeys;
    for (size_t i = 0; i < slave->habit_count; i++)
        if (slave->habits[i].at == at)
            return &slave->habits[i];
    return &obeys;
}

/* A change that no write brings about at once. */
static inline void slave_change(struct slave *slave, bool coil, uint16_t at, uint16_t word)
{
    uint16_t *place = coil ? &slave->coils[at] : &slave->holding[at];
    slave->before_late[at] = *place;
    slave->late_us[at] = slave->now_us(slave->clock);
    *place = word;
    if (!coil && slave->mirror_to != 0 && at == slave->mirror_to)
        slave_change(slave, false, slave->mirror_from, word);
}

static inline void slave_take_due(struct slave *slave)
{
    size_t left = 0;
    for (size_t i = 0; i < slave->later_count; i++) {
        const struct slave_later later = slave->later[i];
        if (later.due_us > slave->now_us(slave->clock))
            slave->later[left++] = later;
        else
            slave_change(slave, later.coil, later.at, later.word);
    }
    slave->later_count = left;
}

static inline void slave_happen(struct slave *slave)
{
    if (slave->happened || slave->event == SLAVE_NOTHING || slave->requests < slave->event_after)
        return;
    slave->happened = true;
    switch (slave->event) {
    case SLAVE_NOTHING:
    case SLAVE_DIES:
        break;
    case SLAVE_STARTS:
        slave->holding[slave->state_at] = 1;
        break;
    case SLAVE_TRIPS:
        slave->holding[slave->state_at] = 1U << 7;
        break;
    case SLAVE_EXCHANGED:
        slave->later_count = 0;
        for (size_t i = 0; i < SLAVE_PLACES; i++)
            if (i != slave->state_at && i != slave->run_at)
                slave->holding[i] ^= 0x0101;
        break;
    case SLAVE_TURNED:
    case SLAVE_SHIFTED:
        slave_change(slave, false, slave->event_at, slave->event_word);
        break;
    case SLAVE_RUN_COMMAND:
        slave->holding[slave->run_at] = 1;
        break;
    }
}

static inline bool slave_is_dead(const struct slave *slave)
{
    return slave->happened && slave->event == SLAVE_DIES;
}

static inline struct pdu slave_exception(uint8_t function, uint8_t code)
{
    return (struct pdu){.bytes = {(uint8_t)(function | 0x80), code}, .length = 2};
}

/* What shows that something happened. */
static inline uint16_t slave_shows_at(const struct slave *slave)
{
    switch (slave->event) {
    case SLAVE_STARTS:
    case SLAVE_TRIPS:
        return slave->state_at;
    case SLAVE_EXCHANGED:
        return slave->serial_at;
    case SLAVE_RUN_COMMAND:
        return slave->run_at;
    case SLAVE_NOTHING:
    case SLAVE_DIES:
    case SLAVE_TURNED:
    case SLAVE_SHIFTED:
        break;
    }
    return slave->event_at;
}

static inline struct pdu slave_read(struct slave *slave, uint8_t function, uint16_t at, uint16_t count)
{
    if (at + count > SLAVE_PLACES)
        return slave_exception(function, 0x02);
    uint16_t shows_at = slave_shows_at(slave);
    if (slave->told_at == 0 && slave->happened && at <= shows_at && shows_at < at + count)
        slave->told_at = slave->requests;
    bool bits = function <= 2;
    struct pdu pdu = {.bytes = {function, (uint8_t)(bits ? (count + 7) / 8 : 2 * count)}};
    pdu.length = 2U + pdu.bytes[1];
    for (uint16_t i = 0; i < count; i++) {
        uint16_t word = bits ? slave->coils[at + i] : slave->holding[at + i];
        if (bits) {
            pdu.bytes[2 + i / 8] |= (uint8_t)((word & 1U) << (i % 8));
        } else {
            pdu.bytes[2 + 2 * i] = (uint8_t)(word >> 8);
            pdu.bytes[3 + 2 * i] = (uint8_t)word;
        }
    }
    return pdu;
}

static inline void slave_set(struct slave *slave, bool coil, uint16_t at, uint16_t word, int64_t after_us)
{
    if (after_us > 0) {
        if (slave->later_count == SLAVE_LATER)
            abort();
        slave->later[slave->later_count++] = (struct slave_later){
            .due_us = slave->now_us(slave->clock) + after_us, .at = at, .word = word, .coil = coil};
        return;
    }
    if (coil)
        slave->coils[at] = word;
    else
        slave->holding[at] = word;
    if (!coil && slave->mirror_to != 0 && at == slave->mirror_to)
        slave->holding[slave->mirror_from] = word;
}

/* One word of a write that is executed. Returns whether it does anything. */
static inline bool slave_take(struct slave *slave, const struct slave_habit *habit, bool coil, uint16_t at,
                              uint16_t word)
{
    uint16_t before = coil ? slave->coils[at] : slave->holding[at];
    bool is_habits = at == habit->at;
    switch (habit->kind) {
    case SLAVE_IGNORES:
    case SLAVE_REFUSES:
        return false;
    case SLAVE_OBEYS:
        slave_set(slave, coil, at, word, 0);
        return true;
    case SLAVE_CLAMPS:
        slave_set(slave, coil, at, is_habits ? habit->word : word, 0);
        return true;
    case SLAVE_GRUMBLES:
    case SLAVE_IS_SLOW:
        slave_set(slave, coil, at, word, habit->after_us);
        return true;
    case SLAVE_GOES_BACK:
        slave_set(slave, coil, at, word, 0);
        slave_set(slave, coil, at, before, habit->after_us);
        return true;
    case SLAVE_MOVES_ON:
        slave_set(slave, coil, at, word, 0);
        if (is_habits)
            slave_set(slave, coil, at, habit->word, habit->after_us);
        return true;
    case SLAVE_WAITS:
        slave->after_power_cycle[at] = word;
        slave->waits[at] = true;
        return true;
    case SLAVE_FORGETS:
        slave->holding[slave->mirror_from] = word;
        return true;
    case SLAVE_REMEMBERS:
        slave->holding[at] = word;
        return true;
    case SLAVE_TAKES_BOTH:
        slave_set(slave, coil, at, word, 0);
        slave_set(slave, false, habit->other, habit->word, 0);
        return true;
    }
    return false;
}

static inline struct pdu slave_do_save(struct slave *slave, uint8_t function, const struct slave_write *write)
{
    slave->saves++;
    if (slave->save_exception != 0)
        return slave_exception(function, slave->save_exception);
    slave->holding[slave->save_at] = write->words[0];
    if (!slave->save_fails)
        slave_set(slave, false, slave->save_at, 0, slave->save_takes_us);
    return (struct pdu){.length = 0};
}

/* No bytes: it is to be acknowledged. */
static inline struct pdu slave_execute(struct slave *slave, uint8_t function, struct slave_write *write)
{
    if (write->at + write->count > SLAVE_PLACES)
        return slave_exception(function, 0x02);
    if (slave->about_to_write != NULL)
        slave->about_to_write(slave->user, write);
    if (slave->log_count == SLAVE_LOG)
        abort();
    struct slave_write *log = &slave->log[slave->log_count++];
    *log = *write;
    log->had_told = slave->told_at > 0 && slave->requests - slave->told_at >= SLAVE_CHECK;
    if (!write->coil && slave->save_at != 0 && write->at == slave->save_at)
        return slave_do_save(slave, function, write);
    if (slave->holding[slave->state_at] != 0)
        return slave->acknowledges_running ? (struct pdu){.length = 0} : slave_exception(function, 0x04);
    const struct slave_habit *habit = slave_habit(slave, write->at);
    for (uint16_t i = 1; i < write->count && habit->kind == SLAVE_OBEYS; i++)
        habit = slave_habit(slave, (uint16_t)(write->at + i));
    for (uint16_t i = 0; i < write->count && i < 2; i++)
        log->kept |= slave_take(slave, habit, write->coil, (uint16_t)(write->at + i), write->words[i]);
    if (habit->kind == SLAVE_REFUSES || habit->kind == SLAVE_GRUMBLES)
        return slave_exception(function, habit->exception);
    return (struct pdu){.length = 0};
}

static inline uint16_t slave_word(const uint8_t *bytes)
{
    return (uint16_t)(bytes[0] << 8 | bytes[1]);
}

static inline struct pdu slave_write_pdu(struct slave *slave, const uint8_t *asked)
{
    struct slave_write write = {.coil = asked[0] == 0x05 || asked[0] == 0x0f, .at = slave_word(asked + 1), .count = 1};
    switch (asked[0]) {
    case 0x05:
        write.words[0] = slave_word(asked + 3) == 0xff00 ? 1 : 0;
        break;
    case 0x06:
        write.words[0] = slave_word(asked + 3);
        break;
    case 0x0f:
        write.count = slave_word(asked + 3);
        write.words[0] = asked[6] & 1U;
        break;
    case 0x10:
        write.count = slave_word(asked + 3);
        for (uint16_t i = 0; i < write.count && i < 2; i++)
            write.words[i] = slave_word(asked + 6 + 2 * i);
        break;
    default:
        return slave_exception(asked[0], 0x01);
    }
    struct pdu pdu = slave_execute(slave, asked[0], &write);
    if (pdu.length == 0) {
        pdu.length = 5; /* all four repeat the first five bytes */
        memcpy(pdu.bytes, asked, 5);
    }
    return pdu;
}

/* To be called with each request on the line. False: nothing answers it. */
static inline bool slave_hears(struct slave *slave, uint8_t unit)
{
    slave->requests++;
    slave->broadcasts += unit == 0 ? 1 : 0;
    slave->foreign += unit != slave->unit ? 1 : 0;
    slave_happen(slave);
    return !slave_is_dead(slave) && unit == slave->unit;
}

/* The answer to a PDU that has reached the drive. */
static inline struct pdu slave_answer(void *keeper, uint8_t unit, const uint8_t *asked, size_t length)
{
    struct slave *slave = keeper;
    (void)unit;
    (void)length;
    slave_take_due(slave);
    if (asked[0] >= 1 && asked[0] <= 4)
        return slave_read(slave, asked[0], slave_word(asked + 1), slave_word(asked + 3));
    return slave_write_pdu(slave, asked);
}

#endif
