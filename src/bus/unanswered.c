/* SPDX-License-Identifier: MIT */
/* Requests whose replies may still come. */
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

uint32_t reply_mark(uint8_t function, uint16_t address, uint16_t count)
{
    if (function_writes(function))
        return (uint32_t)address << 16 | count;
    return (uint32_t)read_reply_bytes(function, count);
}

static bool answers(const struct unanswered_read *read, uint8_t unit, uint8_t function, uint32_t mark)
{
    return read->unit == unit && read->function == function && reply_mark(function, read->address, read->count) == mark;
}

void unanswered_settle(struct unanswered *unanswered, uint8_t unit, uint8_t function, uint32_t mark)
{
    for (size_t i = 0; i < unanswered->count; i++) {
        if (answers(&unanswered->reads[i], unit, function, mark)) {
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

/* So many of the oldest requests stand before the last write to the unit, itself included: an answer to the very same
 * question is the wrong one then, and that write's acknowledgement is not that of the same write once more. */
static size_t up_to_last_write(const struct unanswered *unanswered, uint8_t unit)
{
    for (size_t i = unanswered->count; i > 0; i--)
        if (unanswered->reads[i - 1].unit == unit && function_writes(unanswered->reads[i - 1].function))
            return i;
    return 0;
}

static enum confusion confusion_with(const struct unanswered_read *old, const struct unanswered_read *read,
                                     bool written_since)
{
    bool writes = function_writes(read->function);
    bool open = !old->answered && !old->refused;
    if (old->unit != read->unit)
        return CONFUSION_NONE;
    if (old->function != read->function)
        return writes && open ? CONFUSION_EXCEPTION : CONFUSION_NONE;
    bool same = old->address == read->address && old->count == read->count;
    if (same && !written_since)
        return CONFUSION_NONE;
    if (answers(old, read->unit, read->function, reply_mark(read->function, read->address, read->count)))
        return CONFUSION_VALUES;
    /* The copy of an exception would tell that a write was refused which was not; of a read it only hides a value. */
    return open || (writes && !old->answered) ? CONFUSION_EXCEPTION : CONFUSION_NONE;
}

struct doubt unanswered_doubt(const struct unanswered *unanswered, const struct unanswered_read *read)
{
    struct doubt doubt = {.copies_only = true};
    size_t before_write = up_to_last_write(unanswered, read->unit);
    for (size_t i = 0; i < unanswered->count; i++) {
        const struct unanswered_read *old = &unanswered->reads[i];
        enum confusion confusion = confusion_with(old, read, i < before_write);
        if (confusion == CONFUSION_NONE)
            continue;
        doubt.among = i + 1;
        if (confusion == CONFUSION_VALUES || function_writes(read->function))
            doubt.copies_only &= old->answered;
        if (confusion > doubt.confusion)
            doubt.confusion = confusion;
    }
    return doubt;
}

bool unanswered_expects(const struct unanswered *unanswered, size_t among, uint8_t unit, uint8_t function,
                        uint16_t count)
{
    for (size_t i = 0; i < among && i < unanswered->count; i++)
        if (answers(&unanswered->reads[i], unit, function, reply_mark(function, 0, count)))
            return true;
    return false;
}

int64_t unanswered_sent_us(const struct unanswered *unanswered, uint8_t unit, uint8_t function, uint32_t mark)
{
    for (size_t i = 0; i < unanswered->count; i++) {
        const struct unanswered_read *read = &unanswered->reads[i];
        if (!read->answered && !read->refused && answers(read, unit, function, mark))
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
