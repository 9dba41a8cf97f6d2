/* SPDX-License-Identifier: MIT */
/* An ordered list of what is to be sent. */
#include "sim/outbox.h"

#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

void outbox_add(struct outbox *outbox, struct outgoing *outgoing)
{
    outbox->items = memory_grow(outbox->items, outbox->count, sizeof(struct outgoing *));
    size_t at = outbox->count++;
    while (at > 0 && outbox->items[at - 1]->due_ns > outgoing->due_ns && outbox->items[at - 1]->sent == 0) {
        outbox->items[at] = outbox->items[at - 1];
        at--;
    }
    outbox->items[at] = outgoing;
}

struct outgoing *outbox_front(const struct outbox *outbox)
{
    return outbox->count == 0 ? NULL : outbox->items[0];
}

void outbox_drop_front(struct outbox *outbox)
{
    free(outbox->items[0]);
    outbox->count--;
    memmove(outbox->items, outbox->items + 1, outbox->count * sizeof(struct outgoing *));
}

void outbox_free(struct outbox *outbox)
{
    while (outbox->count > 0)
        outbox_drop_front(outbox);
    free(outbox->items);
    *outbox = (struct outbox){0};
}
