/* SPDX-License-Identifier: MIT */
/* A command's run on the bus: the loop, the signals that end it, and visits. */
#ifndef ASLEFT_COMMAND_RUN_H
#define ASLEFT_COMMAND_RUN_H

#include "bus/link_line.h"
#include "bus/loop.h"
#include "command/command.h"
#include "command/job.h"
#include "command/trace.h"
#include "report/documents.h"
#include "visit/visit.h"

/* What stands between a link and the run: its frames are traced, and what is heard on it before it is used is kept. */
struct watched {
    struct run *run;
    bool tcp;
    bool listened; /* before anything was sent; then what was heard: */
    enum line_heard heard;
    char *frame; /* the first frame of somebody else, in words; owned, or NULL */
};

struct run {
    struct clock clock;
    struct loop *loop;
    const struct advice_row *told; /* the steps last told: several drives of one line need them once */
    struct trace trace;
    struct watched **watched; /* of each link opened; owned */
    size_t watched_count;
    struct texts listened; /* the serial ports on which this run has listened */
    struct texts remarked; /* and those about which it has made its remark */
    const char *no_line;   /* why the last line could not be used */
};

/* From here to run_end, SIGINT, SIGTERM and SIGHUP stop the loop instead of the process. One run at a time. */
void run_begin(struct run *run);

/* Frees the loop, and lets a signal that has arrived meanwhile end the process in the usual way. */
void run_end(struct run *run);

/* Begins the trace that the options ask for, if any. The status is 0, or STATUS_OUTPUT, told. */
int run_trace(struct run *run, const struct options *options);

/* Ends it; `status`, or STATUS_OUTPUT, told, where the trace is not whole. */
int run_trace_end(struct run *run, int status);

/* A signal has arrived: nothing more is to be asked. */
bool run_interrupted(void);

/* A job's line, and what is known of it. */
struct run_line {
    struct link *link; /* the caller's to free, before run_end; NULL: it cannot be used */
    int status;        /* STATUS_AGREES where it can */
    enum line_trouble trouble;
    bool told; /* that it cannot be used has been said on standard error, with what to look at */
};

/* Opens the job's line, and on a serial one listens for another master before anything is sent, once a port and run,
 * unless the sheet says that there can be none. Where the line does not open, or another master was heard, that is
 * told. */
struct run_line run_open(struct run *run, const struct job *job);

/* Tells, once, of a TCP connection that did not come about, which shows only when something is asked. */
void run_tell_unopened(struct run *run, struct run_line *line, const struct job *job, const struct visit *visit);

/* STATUS_AGREES where the line opened, else the exit status that belongs to it; once a visit is over. */
int run_contact(const struct run_line *line);

/* Lets the run see the link's frames, under that name: for a link that run_open did not open. */
void run_watch(struct run *run, struct link *link, const char *name, const struct line *line);

/* Visits one drive and waits for the end; with `link` NULL the visit is over at once, everything unreachable.
 * NULL where a signal came first. The visit is the caller's. */
struct visit *run_visit(const struct run *run, const struct job *job, struct link *link, const struct wanted *wanted,
                        bool judge);

/* Waits until that time on the run's clock, or for a signal. */
void run_sleep(const struct run *run, int64_t until_us);

/* What the documents need of a visit. */
struct visit_report run_report(const struct job *job, const struct run_line *line, const struct visit *visit);

/* The exit status that belongs to a verdict. */
int run_verdict(enum overall overall);

/* The exit status of several drives: a difference wins, then a busy line, then what could not be read; STATUS_CONTACT
 * only where not one drive was contacted. */
int run_status(const int *statuses, size_t count);

#endif
