/* SPDX-License-Identifier: MIT */
/* Reads that were sent and not answered. */
#include "bus/unanswered.h"

#include "bus/frame.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

enum { FORGET_AFTER_US = 60000000 };

void unanswered_free(struct unanswered *unanswered)
{
    free(unanswered->reads);
    *unanswered = (struct unanswered){0};
}

static void keep_from(struct unanswered *unanswered, size_t first)
{
    if (first == 0)
        return;
    unanswered->count -= first;
    memmove(unanswered->reads, unanswered->reads + first, unanswered->count * sizeof *unanswered->reads);
}

void unanswered_add(struct unanswered *unanswered, const struct unanswered_read *read)
{
    size_t old = 0;
    while (old < unanswered->count && unanswered->reads[old].sent_us < read->sent_us - FORGET_AFTER_US)
        old++;
    keep_from(unanswered, old);
    unanswered->reads = memory_grow(unanswered->reads, unanswered->count, sizeof *unanswered->reads);
    unanswered->reads[unanswered->count++] = *read;
}

static bool same_length(const struct unanswered_read *read, uint8_t function, uint16_t count)
{
    return read->function == function && read_reply_bytes(function, read->count) == read_reply_bytes(function, count);
}

/* Forgets the reads of the unit among the first `upto`. */
static void forget(struct unanswered *unanswered, uint8_t unit, size_t upto)
{
    size_t kept = 0;
    for (size_t i = 0; i < unanswered->count; i++)
        if (i >= upto || unanswered->reads[i].unit != unit)
            unanswered->reads[kept++] = unanswered->reads[i];
    unanswered->count = kept;
    if (kept == 0)
        unanswered_free(unanswered);
}

void unanswered_settle(struct unanswered *unanswered, uint8_t unit, uint8_t function, uint16_t count)
{
    for (size_t i = 0; i < unanswered->count; i++) {
        const struct unanswered_read *read = &unanswered->reads[i];
        if (read->unit == unit && same_length(read, function, count)) {
            forget(unanswered, unit, i + 1);
            return;
        }
    }
}

void unanswered_settle_exception(struct unanswered *unanswered, uint8_t unit, uint8_t function)
{
    for (size_t i = 0; i < unanswered->count; i++) {
        if (unanswered->reads[i].unit == unit && unanswered->reads[i].function == function) {
            forget(unanswered, unit, i + 1);
            return;
        }
    }
}

enum confusion unanswered_confusion(const struct unanswered *unanswered, const struct unanswered_read *read)
{
    enum confusion confusion = CONFUSION_NONE;
    for (size_t i = 0; i < unanswered->count; i++) {
        const struct unanswered_read *old = &unanswered->reads[i];
        if (old->unit != read->unit || old->function != read->function ||
            (old->address == read->address && old->count == read->count))
            continue;
        if (same_length(old, read->function, read->count))
            return CONFUSION_VALUES;
        confusion = CONFUSION_EXCEPTION;
    }
    return confusion;
}

bool unanswered_expects(const struct unanswered *unanswered, uint8_t unit, uint8_t function, uint16_t count)
{
    for (size_t i = 0; i < unanswered->count; i++)
        if (unanswered->reads[i].unit == unit && same_length(&unanswered->reads[i], function, count))
            return true;
    return false;
}

int64_t unanswered_sent_us(const struct unanswered *unanswered, uint8_t unit, uint8_t function, size_t bytes)
{
    for (size_t i = 0; i < unanswered->count; i++) {
        const struct unanswered_read *read = &unanswered->reads[i];
        if (read->unit == unit && read->function == function && read_reply_bytes(function, read->count) == bytes)
            return read->sent_us;
    }
    return -1;
}

void unanswered_forget_unit(struct unanswered *unanswered, uint8_t unit)
{
    forget(unanswered, unit, unanswered->count);
}
