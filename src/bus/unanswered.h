/* SPDX-License-Identifier: MIT */
/* Reads that were sent and not answered: their replies may still come, and must not be taken for another's.
 *
 * An RTU reply says neither address nor time, only unit, function and length. A drive answers in the order in which it
 * was asked, late or not. So a reply that cannot be another's proves that everything sent before it is over; a read of
 * a length not otherwise expected (a barrier) brings such a proof about, however late the drive is. */
#ifndef ASLEFT_BUS_UNANSWERED_H
#define ASLEFT_BUS_UNANSWERED_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct unanswered_read {
    uint8_t unit;
    uint8_t function;
    uint16_t address;
    uint16_t count;
    int64_t sent_us;
};

/* In the order of sending. Zero it to start. */
struct unanswered {
    struct unanswered_read *reads; /* owned */
    size_t count;
};

void unanswered_free(struct unanswered *unanswered);

/* Those sent more than a minute before are forgotten: nothing is that late. */
void unanswered_add(struct unanswered *unanswered, const struct unanswered_read *read);

/* A reply with values came: forgets the first read of this unit, function and length, and all older ones of the unit.
 * Those after it stay, for it may be their reply that is still to come. */
void unanswered_settle(struct unanswered *unanswered, uint8_t unit, uint8_t function, uint16_t count);

/* An exception came, which says no length: forgets the first read of this unit and function, and all older ones. */
void unanswered_settle_exception(struct unanswered *unanswered, uint8_t unit, uint8_t function);

/* How the late reply to something unanswered could pass for the answer to `read`. */
enum confusion {
    CONFUSION_NONE,      /* in no way; or it is the answer to the very same question */
    CONFUSION_EXCEPTION, /* only as an exception: same unit and function, other length */
    CONFUSION_VALUES,    /* as values: same unit, function and length, other address */
};
enum confusion unanswered_confusion(const struct unanswered *unanswered, const struct unanswered_read *read);

/* Is there an unanswered read of the unit whose reply would be as long as that of this one? */
bool unanswered_expects(const struct unanswered *unanswered, uint8_t unit, uint8_t function, uint16_t count);

/* When the first read was sent that a frame of this unit and function with so many bytes of values answers; -1: none.
 */
int64_t unanswered_sent_us(const struct unanswered *unanswered, uint8_t unit, uint8_t function, size_t bytes);

void unanswered_forget_unit(struct unanswered *unanswered, uint8_t unit);

#endif
