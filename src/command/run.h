/* SPDX-License-Identifier: MIT */
/* A command's run on the bus: the loop, the signals that end it, and visits. */
#ifndef ASLEFT_COMMAND_RUN_H
#define ASLEFT_COMMAND_RUN_H

#include "bus/link.h"
#include "bus/loop.h"
#include "command/command.h"
#include "command/job.h"
#include "report/documents.h"
#include "visit/visit.h"

struct run {
    struct clock clock;
    struct loop *loop;
    const struct advice_row *told; /* the steps last told: several drives of one line need them once */
};

/* From here to run_end, SIGINT, SIGTERM and SIGHUP stop the loop instead of the process. One run at a time. */
void run_begin(struct run *run);

/* Frees the loop, and lets a signal that has arrived meanwhile end the process in the usual way. */
void run_end(struct run *run);

/* A signal has arrived: nothing more is to be asked. */
bool run_interrupted(void);

/* A job's line, and what is known of it. */
struct run_line {
    struct link *link; /* the caller's to free; NULL: it did not open */
    int status;        /* STATUS_AGREES where it opened */
    enum line_trouble trouble;
    bool told; /* that it did not open has been said on standard error, with what to look at */
};

/* Opens the job's line; where it does not open, that is told. */
struct run_line run_open(struct run *run, const struct job *job);

/* Tells, once, of a TCP connection that did not come about, which shows only when something is asked. */
void run_tell_unopened(struct run *run, struct run_line *line, const struct job *job, const struct visit *visit);

/* Visits one drive and waits for the end; with `link` NULL the visit is over at once, everything unreachable.
 * NULL where a signal came first. The visit is the caller's. */
struct visit *run_visit(const struct run *run, const struct job *job, struct link *link, const struct wanted *wanted,
                        bool judge);

/* Waits until that time on the run's clock, or for a signal. */
void run_sleep(const struct run *run, int64_t until_us);

/* What the documents need of a visit. */
struct visit_report run_report(const struct job *job, const struct run_line *line, const struct visit *visit);

/* The exit status of several drives: a difference wins, then a busy line, then what could not be read; STATUS_CONTACT
 * only where not one drive was contacted. */
int run_status(const int *statuses, size_t count);

#endif
