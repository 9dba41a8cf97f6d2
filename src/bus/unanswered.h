/* SPDX-License-Identifier: MIT */
/* Requests whose replies may still come, and must not be taken for another's: those that were not answered, and the one
 * answered last, since a reply may come twice.
 *
 * An RTU reply says neither address nor time, only unit, function and length. A drive answers in the order in which it
 * was asked, late or not. So a reply that cannot be another's proves that everything sent before it is over; a read of
 * a length not otherwise expected (a barrier) brings such a proof about, however late the drive is.
 *
 * The acknowledgement of a write repeats its address and its value or count, and so is the same for two writes that ask
 * the same, or (0F, 10) that differ in their values alone. And it ends what was read before: the late answer to the
 * very same question is then an old one. */
#ifndef ASLEFT_BUS_UNANSWERED_H
#define ASLEFT_BUS_UNANSWERED_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct unanswered_read {
    uint8_t unit;
    uint8_t function;
    uint16_t address;
    uint16_t count; /* of a write with 05 or 06: the second word of its acknowledgement, the value */
    int64_t sent_us;
    bool answered; /* with values; it is kept since they may come a second time */
    bool refused;  /* with an exception, which may have been another's: its values may come all the same */
};

/* In the order of sending. Zero it to start. */
struct unanswered {
    struct unanswered_read *reads; /* owned */
    size_t count;
};

void unanswered_free(struct unanswered *unanswered);

/* Those sent more than a minute before are forgotten: nothing is that late. */
void unanswered_add(struct unanswered *unanswered, const struct unanswered_read *read);

/* What tells the replies of a function apart: of a read how many bytes of values there are, of a write the address and
 * the word behind it. */
uint32_t reply_mark(uint8_t function, uint16_t address, uint16_t count);

/* A reply came, no exception: forgets the requests of the unit that are older than the first of this function and mark.
 * That one stays, and those after it: for it may be their reply that is still to come, or the same once more. */
void unanswered_settle(struct unanswered *unanswered, uint8_t unit, uint8_t function, uint32_t mark);

/* An exception came, which says no length: the first unanswered read of this unit and function is taken for refused. */
void unanswered_refuse(struct unanswered *unanswered, uint8_t unit, uint8_t function);

/* How a reply that may still come could pass for the answer to a request. */
enum confusion {
    CONFUSION_NONE,      /* in no way; or it is the answer to the very same question, and nothing was written since */
    CONFUSION_EXCEPTION, /* only as an exception: same unit and function, other mark. Before a write also: something is
                            unanswered, and the unit has to show first that it is through with it */
    CONFUSION_VALUES,    /* as values, or as the acknowledgement: same unit, function and mark */
};

struct doubt {
    enum confusion confusion;
    size_t among;     /* so many requests, the oldest, hold all those that could pass for it */
    bool copies_only; /* the values would come for the second time */
};
struct doubt unanswered_doubt(const struct unanswered *unanswered, const struct unanswered_read *read);

/* Is there one among that many of the oldest reads, of the unit, whose reply would be as long as that of this one? */
bool unanswered_expects(const struct unanswered *unanswered, size_t among, uint8_t unit, uint8_t function,
                        uint16_t count);

/* When the first request was sent that a frame of this unit, function and mark answers; -1: none. */
int64_t unanswered_sent_us(const struct unanswered *unanswered, uint8_t unit, uint8_t function, uint32_t mark);

/* Of the unit: all, or those whose replies came once already. */
void unanswered_forget_unit(struct unanswered *unanswered, uint8_t unit);
void unanswered_forget_copies(struct unanswered *unanswered, uint8_t unit);

#endif
