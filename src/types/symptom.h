/* SPDX-License-Identifier: MIT */
/* Why a parameter could not be read. */
#ifndef ASLEFT_TYPES_SYMPTOM_H
#define ASLEFT_TYPES_SYMPTOM_H

#include <stddef.h>
#include <stdint.h>

enum symptom_kind {
    SYMPTOM_NONE, /* it was read */
    SYMPTOM_NO_REPLY,
    SYMPTOM_CORRUPT,
    SYMPTOM_OTHER_UNIT,
    SYMPTOM_EXCEPTION, /* with `exception` */
    SYMPTOM_REFUSED,
    SYMPTOM_UNREACHABLE,
    SYMPTOM_CLOSED,
    SYMPTOM_NOT_A_NUMBER,
    SYMPTOM_SELECTOR, /* what decides its unit, scale or base was not read, or changed meanwhile */
    SYMPTOM_LOCKED,
    SYMPTOM_WATCHDOG_ARMED,
    SYMPTOM_OTHER_MODEL,
};

struct symptom {
    enum symptom_kind kind;
    uint8_t exception; /* the Modbus exception code as it came, 0x00 to 0xff */
};

/* The word for reports: "no-reply", "exception-02" (lower-case hex); "" for SYMPTOM_NONE. Returns `text`. */
const char *symptom_word(struct symptom symptom, char *text, size_t size);

#endif
