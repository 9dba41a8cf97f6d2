/* SPDX-License-Identifier: MIT */
/* A link from inside: what the files link_*.c share. */
#ifndef ASLEFT_BUS_LINK_INTERNAL_H
#define ASLEFT_BUS_LINK_INTERNAL_H

#include "bus/frame.h"
#include "bus/link.h"
#include "bus/link_exchange.h"
#include "bus/link_line.h"
#include "bus/link_tags.h"
#include "bus/link_trace.h"
#include "bus/link_write.h"
#include "bus/unanswered.h"

enum {
    READ_FUNCTIONS = 4,   /* 01 to 04 */
    RECEIVE_BYTES = 1024, /* several frames: the reply, and what stands before and behind it */
};

enum link_state {
    LINK_IDLE,
    LINK_CONNECTING,
    LINK_RESTING, /* until the line has been silent long enough to send */
    LINK_SENDING,
    LINK_WAITING, /* for the reply */
    LINK_LISTENING,
};

enum job_kind { JOB_READ, JOB_EXCHANGE, JOB_WRITE, JOB_LISTEN };

struct job {
    enum job_kind kind;
    /* Of an exchange: unit, function, times; the address tells questions apart, count is 0. Of a write: count is the
     * word that its acknowledgement repeats behind the address; the retries are those of a barrier before it. */
    struct request request;
    struct exchange exchange;   /* of JOB_EXCHANGE */
    struct write_request write; /* of JOB_WRITE */
    int64_t listen_us;          /* of JOB_LISTEN */
    union {
        link_done read;
        link_exchanged exchange;
        link_written write;
        link_listened listen;
    } done;
    void *user;
    void *owned; /* freed where the link goes before the job is done; NULL: nothing */
    struct job *next;
};

/* What came of a job, whatever its kind. */
struct result {
    struct symptom symptom;
    const uint16_t *words;
    const uint8_t *pdu;
    size_t count; /* of words, or of bytes in the pdu */
    int64_t came_us;
    enum line_heard heard;
};

enum { UNIT_HISTORY = 12 }; /* a doubled reply may itself be late: barriers keep clear of more than ordinary reads */

/* What a link knows about a unit. */
struct unit_record {
    uint8_t unit;
    int64_t learned_us;    /* the turnaround to allow for */
    int64_t turnaround_us; /* from the end of a request to the start of its reply, smoothed; 0: not yet seen */
    int64_t rest_us;       /* what its requests asked for between them */
    struct read_tag good[READ_FUNCTIONS]; /* the longest read of each function that it answered; count 0: none yet */
    struct read_tag fillers[2];           /* the shortest ones, of different lengths or functions */
    struct read_tag recent[UNIT_HISTORY]; /* sent, the latest last */
    bool answered[UNIT_HISTORY];          /* in step with it */
    size_t recent_count;
    struct read_tag *reserved; /* owned */
    size_t reserved_count;
};

/* What came while an attempt waited for its reply. */
struct heard {
    unsigned foreign, other_unit, junk;
    bool spoiled;
};

struct link {
    struct loop *loop;
    struct watch *watch;
    struct transport transport;
    struct timing timing;
    struct traffic traffic;
    struct job *head, *tail;
    link_tracer tracer; /* NULL: none */
    void *tracer_user;
    int64_t wall_offset_us; /* from the loop's clock to UTC */

    enum link_state state;
    bool open, ever_open;
    bool stepping, doomed; /* freed from a callback: goes when the step ends */

    /* the attempt */
    struct request sent; /* the head's request, or the barrier before it */
    bool barrier;
    bool filler; /* the barrier proves nothing: it keeps two reads of one length apart */
    struct asked asked;
    uint8_t out[TCP_BYTES];
    size_t out_length, out_done;
    bool write_left; /* the head is a write, and a byte of it was taken: it is never sent again */
    int64_t started_us;
    int64_t deadline_us; /* of connecting, resting or waiting, by state */
    unsigned tries, barrier_tries, busy_tries;
    struct heard heard;

    /* the line */
    uint8_t in[RECEIVE_BYTES];
    size_t in_length;
    size_t listened;       /* bytes of it that were looked at while listening */
    int64_t last_byte_us;  /* in or out */
    int64_t not_before_us; /* the next request */
    bool disturbed;        /* something went wrong: let the line fall silent first */
    int64_t wait_out_us;   /* no barrier is possible: after so much silence nothing more comes; 0: there is one */
    bool wait_out_copies;  /* of replies that came already, that is */
    bool echoes;           /* it gave back what was sent on it, once at least: so does its adapter, always */
    size_t throw_away;     /* replies to the next attempts that count for nothing; a gateway may have kept old ones */

    /* the units */
    struct unanswered unanswered;
    struct unit_record *units; /* owned */
    size_t unit_count;
};

struct unit_record *link_unit(struct link *link, uint8_t unit);
/* NULL: nothing is known of it. */
const struct unit_record *link_known_unit(const struct link *link, uint8_t unit);

/* link.c */
void link_queue(struct link *link, const struct job *job); /* copied */
/* Answers the job at the head of the queue. */
void link_finish(struct link *link, const struct result *result);

/* link_receive.c: takes in the bytes that are there. False: the other end has closed. */
bool link_hear(struct link *link);
/* Nothing in the buffer is wanted: counts the frames and the junk in it, and empties it of them. */
void link_discard(struct link *link);
/* Looks for the reply to the attempt. The scan's pdu points into link->in. Counts what else there is. */
struct scan link_look(struct link *link);
/* What came so far has no reply in it, and none is waited for any longer: counts it in `heard` and traffic. */
void link_give_up_looking(struct link *link);
/* Allows the unit that much turnaround from now on, if it is more than before. */
void link_learn(struct link *link, uint8_t unit, int64_t turnaround_us);
/* Drops the bytes at the front of the buffer. */
void link_drop(struct link *link, size_t bytes);

/* link_attempt.c: moves the state machine on by one step. False: nothing to do before something happens. */
bool link_advance(struct link *link);
/* When the line will have been silent long enough to send. */
int64_t link_rest_until_us(const struct link *link);
/* Disconnects; what was received stays to be looked at. */
void link_hang_up(struct link *link);

/* link_barrier.c: chooses what to send for the job at the head: its request, or a barrier before it. False: it is a
 * write, and nothing can prove that an old reply would not be taken for its own. */
bool link_choose(struct link *link);
/* Can the job at the head be sent without a barrier? What came meanwhile may have proved it. */
bool link_is_clean(const struct link *link);

/* link_exchange.c: may this be sent at all? Builds it if so. */
bool link_build_exchange(const struct exchange *exchange, struct pdu *pdu);

/* link_write.c: may this be sent at all? Builds it if so. */
bool link_build_write(const struct link *link, const struct write_request *request, struct pdu *pdu);
/* link_write for a user that goes with the job where the link is freed before it is done. */
void link_write_owned(struct link *link, const struct write_request *request, link_written done, void *owned);

/* link_line.c: the job at the head is to listen, and the port is open. */
void link_begin_listening(struct link *link);
/* A step of it, like link_advance. */
bool link_go_on_listening(struct link *link);
/* The turnaround of a reply that has just come. */
void link_measure(struct link *link, int64_t turnaround_us);

/* link_tags.c: a read or a write goes out. */
void link_remember_sent(struct link *link);
/* It was answered, with values or an exception; with values. */
void link_remember_answered(struct link *link);
void link_remember_good(struct link *link);
/* Would a doubled reply to one of the last requests pass for the answer to this one? Then `filler` is something to read
 * first that it could not pass for; count 0: nothing is known that would do. */
bool link_could_be_doubled(const struct link *link, const struct request *next, struct read_tag *filler);
/* Has another read of the unit, of late or to come, a reply of the same length? */
bool link_tag_was_used(const struct link *link, uint8_t unit, const struct read_tag *read);
bool link_tag_is_reserved(const struct link *link, uint8_t unit, const struct read_tag *read);

/* link_trace.c: shows these received bytes, as a scan for `asked` takes them, to the tracer. */
void link_show_received(struct link *link, const uint8_t *bytes, size_t length, const struct asked *asked);
void link_show_sent(const struct link *link);

#endif
