/* SPDX-License-Identifier: MIT */
/* Writes to a simulated drive as a master sends them, and its keypad. */
#ifndef ASLEFT_TESTS_SIM_WRITES_H
#define ASLEFT_TESTS_SIM_WRITES_H

#include "sim/access.h"
#include "sim/fixture.h"
#include "sim/keypad.h"

/* Function 16. Returns the exception code, or 0. */
static inline uint8_t write_words(struct bench *bench, unsigned address, const uint16_t *words, size_t count)
{
    uint8_t pdu[64] = {0x10, (uint8_t)(address >> 8), (uint8_t)address, 0, (uint8_t)count, (uint8_t)(2 * count)};
    for (size_t i = 0; i < count; i++) {
        pdu[6 + 2 * i] = (uint8_t)(words[i] >> 8);
        pdu[7 + 2 * i] = (uint8_t)words[i];
    }
    return access_serve(&bench->drive, pdu, 6 + 2 * count);
}

static inline uint8_t write_word(struct bench *bench, unsigned address, uint16_t word)
{
    return write_words(bench, address, &word, 1);
}

/* What a master reads in one holding register. */
static inline uint16_t read_word(struct bench *bench, unsigned address)
{
    const uint8_t pdu[] = {0x03, (uint8_t)(address >> 8), (uint8_t)address, 0, 1};
    assert_int_equal(access_serve(&bench->drive, pdu, sizeof pdu), 0);
    return memory_shown(&bench->drive.memory, (struct address){TABLE_HOLDING, (uint16_t)address}, 0);
}

/* Presses at time `now_us`; the answer must be exactly `expected`. */
static inline void key(struct bench *bench, const char *line, int64_t now_us, const char *expected)
{
    bool quit = false;
    char *answer = keypad_line(&bench->drive, line, now_us, &quit);
    assert_string_equal(answer, expected);
    free(answer);
}

#endif
