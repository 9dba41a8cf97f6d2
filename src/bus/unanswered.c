/* SPDX-License-Identifier: MIT */
/* Reads whose replies may still come. */
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

/* Forgets the reads of the unit among the first `upto`: all, or those that were answered. */
static void forget(struct unanswered *unanswered, uint8_t unit, size_t upto, bool answered_only)
{
    size_t kept = 0;
    for (size_t i = 0; i < unanswered->count; i++) {
        const struct unanswered_read *read = &unanswered->reads[i];
        if (i >= upto || read->unit != unit || (answered_only && !read->answered))
            unanswered->reads[kept++] = *read;
    }
    unanswered->count = kept;
    if (kept == 0)
        unanswered_free(unanswered);
}

static bool answers(const struct unanswered_read *read, uint8_t unit, uint8_t function, size_t bytes)
{
    return read->unit == unit && read->function == function && read_reply_bytes(function, read->count) == bytes;
}

void unanswered_settle(struct unanswered *unanswered, uint8_t unit, uint8_t function, size_t bytes)
{
    for (size_t i = 0; i < unanswered->count; i++) {
        if (answers(&unanswered->reads[i], unit, function, bytes)) {
            unanswered->reads[i].answered = true;
            forget(unanswered, unit, i, false);
            return;
        }
    }
}

void unanswered_refuse(struct unanswered *unanswered, uint8_t unit, uint8_t function)
{
    for (size_t i = 0; i < unanswered->count; i++) {
        struct unanswered_read *read = &unanswered->reads[i];
        if (read->unit == unit && read->function == function && !read->answered && !read->refused) {
            read->refused = true;
            return;
        }
    }
}

struct doubt unanswered_doubt(const struct unanswered *unanswered, const struct unanswered_read *read)
{
    struct doubt doubt = {.copies_only = true};
    size_t bytes = read_reply_bytes(read->function, read->count);
    for (size_t i = 0; i < unanswered->count; i++) {
        const struct unanswered_read *old = &unanswered->reads[i];
        bool values = answers(old, read->unit, read->function, bytes);
        if (old->unit != read->unit || old->function != read->function ||
            ((old->answered || old->refused) && !values) ||
            (old->address == read->address && old->count == read->count))
            continue;
        doubt.among = i + 1;
        if (values)
            doubt.copies_only &= old->answered;
        if (values || doubt.confusion == CONFUSION_NONE)
            doubt.confusion = values ? CONFUSION_VALUES : CONFUSION_EXCEPTION;
    }
    return doubt;
}

bool unanswered_expects(const struct unanswered *unanswered, size_t among, uint8_t unit, uint8_t function,
                        uint16_t count)
{
    for (size_t i = 0; i < among && i < unanswered->count; i++)
        if (answers(&unanswered->reads[i], unit, function, read_reply_bytes(function, count)))
            return true;
    return false;
}

int64_t unanswered_sent_us(const struct unanswered *unanswered, uint8_t unit, uint8_t function, size_t bytes)
{
    for (size_t i = 0; i < unanswered->count; i++) {
        const struct unanswered_read *read = &unanswered->reads[i];
        if (!read->answered && !read->refused && answers(read, unit, function, bytes))
            return read->sent_us;
    }
    return -1;
}

void unanswered_forget_unit(struct unanswered *unanswered, uint8_t unit)
{
    forget(unanswered, unit, unanswered->count, false);
}

void unanswered_forget_copies(struct unanswered *unanswered, uint8_t unit)
{
    forget(unanswered, unit, unanswered->count, true);
}
