/* SPDX-License-Identifier: MIT */
/* Writes a confirmed list to a drive, journal first, and says what became of each. */
#ifndef ASLEFT_CHANGE_PERFORM_H
#define ASLEFT_CHANGE_PERFORM_H

#include "bus/link.h"
#include "bus/loop.h"
#include "change/list.h"
#include "store/store.h"
#include "visit/recorded.h"

#include <stdbool.h>

/* All are the caller's. The line is locked and the link open; the list was made from `order`, has a code and no
 * refusal. */
struct perform_order {
    const struct change_order *change;
    struct loop *loop;
    struct link *link;
    const struct clock *clock;
    struct store *store;
    const struct recorder *recorder;
    bool (*interrupted)(void); /* asked between two writes; may be NULL */
};

enum performed {
    PERFORMED_KEPT,    /* everything */
    PERFORMED_STOPPED, /* something was refused, not kept, or left out; every outcome is known */
    PERFORMED_UNKNOWN, /* at least one outcome, or what was changed besides, is not known */
};

/* Runs the loop until it is done. Before the first request: the record of what is there, and the journal. Before each
 * write, anew: identity, state, old value, and for what could start the shaft run command and enable. After each: read
 * back, again until the map's write_answers_within is over while the old value is still there. It stops at the first
 * write that is not kept, and after the one under way where interrupted. At the end: save where the map has it, all
 * settable parameters once more, the record after, own changes, punch items. Fills outcomes in `list`. False, with
 * nothing written, where store or journal cannot be kept (ERROR_STORE). */
bool change_perform(const struct perform_order *order, struct change_list *list, enum performed *performed,
                    struct error *error);

#endif
