/* SPDX-License-Identifier: MIT */
/* A search from inside: what the files search*.c share. */
#ifndef ASLEFT_BUS_SEARCH_INTERNAL_H
#define ASLEFT_BUS_SEARCH_INTERNAL_H

#include "bus/frame.h"
#include "bus/identification.h"
#include "bus/link_exchange.h"
#include "bus/link_line.h"
#include "bus/link_trace.h"
#include "bus/search.h"

enum {
    UNITS = 256,
    NO_FORMAT = SEARCH_FORMATS, /* TCP */
    GLITCH = 2,                 /* bytes or errors that adapters make when a port is set (common practice, no source) */
};

enum unit_state {
    UNIT_UNASKED,
    UNIT_ASKED,
    UNIT_ANSWERED, /* to be asked more */
    UNIT_SETTLED,
};

/* One unit that answered is asked again, and who it is. */
struct interview {
    struct found_unit found;
    bool known;         /* what it answered to the first question */
    unsigned questions; /* of SEARCH_CONFIRMATIONS, so far */
    uint8_t code;       /* of 43/14, under way */
    unsigned parts;     /* of 43/14, so far */
};

/* What came since a question was asked, or since listening began. */
struct came {
    unsigned long junk_bytes;
    unsigned strange; /* whole frames that nothing we asked explains */
    bool master;      /* they are those of somebody who asks */
};

struct search {
    struct link *link;
    struct clock clock;
    struct search_bounds bounds;
    bool serial;
    void (*done)(void *user);
    void *user;
    struct search_result result;
    bool over;
    link_tracer watcher; /* who watched the link before, and goes on seeing everything; or NULL */
    void *watcher_user;

    enum search_phase phase;
    struct search_order first, second;
    size_t next; /* step of the pass, or index into `units` */
    struct search_ground ground;
    bool favoured[SEARCH_FORMATS];
    uint8_t states[SEARCH_FORMATS + 1][UNITS]; /* enum unit_state, by format and unit */
    uint8_t units[UNITS];                      /* what all units are, in the order of asking */
    size_t unit_count;

    /* what is under way */
    struct request question;
    struct symptom answer; /* to the last question, of `question.unit` */
    bool listening;
    struct interview interview;
    int64_t began_us, asked_us; /* the search; what is under way */
    int64_t expected_us;        /* how long that may take */
    struct line_errors errors_before;
    struct came came;
    uint8_t sent[RTU_BYTES]; /* the last frame, to tell its echo */
    size_t sent_length;

    /* TCP */
    bool gateway_spoke;    /* it said of a unit that it is not there */
    int64_t gateway_us;    /* the longest that it took for that */
    unsigned silent_units; /* of which nobody said anything */
    unsigned closed_row;   /* connections closed without an answer, one after the other */
};

int64_t search_now_us(const struct search *search);

/* The format that the port has now; zero on TCP. */
struct serial_format search_format(const struct search *search);

/* search.c: does what is next. */
void search_go_on(struct search *search);
void search_finish(struct search *search, enum search_verdict verdict);
/* Ends the search where what came forbids to go on: another master, or a port or host that is gone. True: it is over.
 */
bool search_ended_by(struct search *search, enum symptom_kind kind);

/* search_heard.c: what comes in. `search_hear` begins anew, `search_heard` adds what came to the signs of this format;
 * true where it was more than a glitch. */
void search_tracer(void *user, enum trace_kind kind, int64_t wall_us, const uint8_t *bytes, size_t length);
void search_hear(struct search *search);
bool search_heard(struct search *search, bool unasked);
/* Is there more than a glitch among the signs? */
bool search_has_signs(const struct search *search);

/* search_interview.c: asks the unit on, which ends in search_interviewed. */
void search_interview(struct search *search, uint8_t unit);
void search_interviewed(struct search *search);

/* An answer of the gateway itself, not of a unit behind it: exceptions 0A and 0B (V1.1b3, section 7). */
bool search_is_gateways(const struct search *search, struct symptom symptom);

#endif
