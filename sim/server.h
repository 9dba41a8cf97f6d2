/* SPDX-License-Identifier: MIT */
/* The simulator's own frame loop: several drives on one line, answering in wire time, with faults. Knows no sockets:
 * requests come in by server_take, replies leave by the line that is attached, and time is the caller's. */
#ifndef ASLEFT_SIM_SERVER_H
#define ASLEFT_SIM_SERVER_H

#include "sim/drive.h"
#include "sim/line_faults.h"
#include "sim/pace.h"
#include "sim/wire.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

enum { SERVER_NOTHING_DUE = -1 };

struct server_setup {
    enum wire wire;
    struct drive *drives; /* not owned */
    size_t count;         /* of drives */
    unsigned first_unit;  /* of the first drive; the others follow */
    struct pace pace;
    bool ignores;               /* a request to a drive that still owes a late reply is lost; else it waits its turn */
    struct line_faults *faults; /* seeded; not owned */
    FILE *log;                  /* NULL: none; not owned */
    FILE *writes;               /* likewise, for write_log.h */
    int64_t (*clock_us)(void *user);
    void *user;
};

/* Where replies go. */
struct server_line {
    void *line;
    void (*send)(void *line, uint64_t client, const uint8_t *bytes, size_t length);
    void (*hang_up)(void *line, uint64_t client);
};

/* One request that a line has taken in, whole. */
struct arrival {
    uint64_t client;      /* whom the reply goes to */
    const uint8_t *frame; /* as it came, for echoes */
    size_t frame_length;
    uint16_t transaction; /* TCP */
    uint8_t unit;
    const uint8_t *pdu; /* at least one byte */
    size_t pdu_length;
};

/* What there was so far. Times from the start of a request to the end of its reply. */
struct server_sums {
    unsigned long requests; /* to these drives */
    unsigned long answered; /* with whatever bytes */
    unsigned long lost;     /* came while the drive had no power, or was busy and ignores them then */
    unsigned long unheard;  /* frames to nobody here, and at another format */
    int64_t ideal_us;       /* of the answered ones: as the line clock has it, */
    int64_t real_us;        /* and as it was */
};

struct server;

struct server *server_new(const struct server_setup *setup);
void server_free(struct server *server); /* NULL is fine; what is still due is not sent */

void server_attach(struct server *server, const struct server_line *line);

/* Carries out a request, and puts its reply into the queue. */
void server_take(struct server *server, const struct arrival *arrival);

/* Counts bytes that no drive here could make out. */
void server_unheard(struct server *server);

/* When server_release has to be called next, or SERVER_NOTHING_DUE. */
int64_t server_due_us(const struct server *server);

/* Sends what is due by the clock. */
void server_release(struct server *server);

const struct server_sums *server_sums(const struct server *server);

#endif
