/* SPDX-License-Identifier: MIT */
/* A list of writes: what would be changed in a drive, why it is refused, and what came of each. */
#ifndef ASLEFT_TYPES_CHANGE_H
#define ASLEFT_TYPES_CHANGE_H

#include "types/finding.h"
#include "types/map.h"
#include "types/memory.h"
#include "types/record.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What became of one write. The order counts for nothing. */
enum write_outcome {
    WRITE_PLANNED, /* not begun */
    WRITE_SENT,    /* a request went out, and what came of it is not known yet; in a journal: was interrupted here */
    WRITE_KEPT,    /* read back as written */
    WRITE_SET_BY_ITSELF, /* the drive held the new value already when its turn came; nothing was sent */
    WRITE_REFUSED,       /* the drive answered with an exception, and holds the old value */
    WRITE_NOT_WRITTEN,   /* no answer, and the drive holds the old value */
    WRITE_NOT_KEPT,      /* acknowledged, and the drive holds the old value */
    WRITE_CLAMPED,       /* acknowledged, and the drive holds another value: the nearest end of its range, or its own */
    WRITE_OTHER_STATE,   /* the drive was not, or no longer, proved stopped; not sent, or not kept for that reason */
    WRITE_ALTERED,       /* the old value was not the one of the list any more; not sent */
    WRITE_UNKNOWN,       /* it could not be read back */
    WRITE_LEFT_OUT,      /* the list ended before its turn */
};
enum { WRITE_OUTCOMES = 12 };

/* One parameter to be set. */
struct change {
    size_t parameter;   /* index in the map */
    uint16_t *now, *to; /* raw words, owned; `words` each */
    size_t words;
    double now_number, to_number; /* NAN where the value is no number */
    enum unit unit;               /* of both */
    char *now_shown, *to_shown;   /* owned; "6.00 A", "terminals" */
    char *why;                    /* owned; the setpoint's basis, or which record it comes from */
    enum stake stake;
    enum write_outcome outcome;
    uint8_t exception; /* WRITE_REFUSED */
    uint16_t *found;   /* owned; what was read back, `words`; NULL where it was not */
    char *found_shown; /* owned, or NULL */
    char *note;        /* owned, or NULL: what else is to be said of the outcome */
    int64_t began_ms;  /* UTC, when the first request of it went out; 0: none did */
};

/* Why the list is not written. */
struct refusal {
    char *parameter; /* owned; NULL where the whole drive or list is meant */
    char *reason;    /* owned; what to do instead included */
};

/* A parameter that was not on the list and holds another value afterwards. */
struct own_change {
    size_t parameter;
    char *was, *now; /* owned; as shown */
    bool announced;  /* the map's writing_changes has it */
};

enum save_outcome { SAVE_NONE, SAVE_PLANNED, SAVE_DONE, SAVE_FAILED, SAVE_UNKNOWN };

struct change_list {
    bool restores;         /* a record's values, not setpoints */
    struct record_id from; /* that record, if so */
    struct change *items;  /* in the order of writing; owned */
    size_t count;
    struct refusal *refusals; /* owned */
    size_t refusal_count;
    struct texts left;     /* what differs and is no matter of this list: "P is set at the keypad only: ..." */
    struct texts cautions; /* that apply, the gravest first; see change/cautions.h */
    char code[10];         /* "7K4Q-M2XD"; "" where refused or nothing to change */
    enum save_outcome save;
    /* afterwards */
    bool performed;
    struct own_change *own; /* owned */
    size_t own_count;
    struct texts punch;             /* what is still to be done: power cycle, motor tuning, saving */
    struct record_id before, after; /* records of this write; zero where there is none */
};

/* "planned", "sent", "kept", "set-by-itself", "refused", "not-written", "not-kept", "clamped", "other-state",
 * "altered", "unknown", "left-out" */
const char *write_outcome_word(enum write_outcome outcome);
bool write_outcome_find(const char *word, enum write_outcome *outcome);

/* "none", "planned", "done", "failed", "unknown" */
const char *save_outcome_word(enum save_outcome outcome);

/* Appends an empty change and returns it; it moves when the next one is added. */
struct change *change_list_add(struct change_list *list);

/* Appends a refusal; both texts become the list's, `parameter` may be NULL. */
void change_list_refuse(struct change_list *list, char *parameter, char *reason);

void change_free(struct change *change);
void change_list_free(struct change_list *list);

#endif
