/* SPDX-License-Identifier: MIT */
/* A command's run on the bus: the loop, the signals that end it, and visits. */
#include "command/run.h"

#include "bus/describe.h"
#include "command/trouble.h"
#include "report/words.h"
#include "verdict/advice.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>

enum { LISTEN_US = 2000000 };

/* A signal handler has no other way to reach the loop: these two are the program's only writable globals. */
static struct loop *volatile loop_to_stop;
static volatile sig_atomic_t signal_that_came;

static const int stopping[] = {SIGINT, SIGTERM, SIGHUP};
enum { STOPPING = sizeof stopping / sizeof *stopping };

static void on_signal(int number)
{
    signal_that_came = number;
    if (loop_to_stop != NULL)
        loop_stop(loop_to_stop);
}

static void set_handlers(void (*handler)(int))
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = handler;
    (void)sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < STOPPING; i++) {
        struct sigaction now;
        /* what the caller chose to ignore (nohup) stays ignored */
        if (sigaction(stopping[i], NULL, &now) == 0 && now.sa_handler != SIG_IGN)
            (void)sigaction(stopping[i], &action, NULL);
    }
}

void run_begin(struct run *run)
{
    *run = (struct run){.clock = clock_system()};
    run->loop = loop_new(&run->clock);
    loop_to_stop = run->loop;
    set_handlers(on_signal);
}

void run_end(struct run *run)
{
    set_handlers(SIG_DFL);
    loop_to_stop = NULL;
    loop_free(run->loop);
    run->loop = NULL;
    for (size_t i = 0; i < run->watched_count; i++) {
        free(run->watched[i]->frame);
        free(run->watched[i]);
    }
    free(run->watched);
    texts_free(&run->listened);
    texts_free(&run->remarked);
    struct error error = {0};
    (void)trace_close(&run->trace, &error); /* where a signal ended the run; its loss is told nowhere else */
    if (signal_that_came != 0)
        (void)raise(signal_that_came);
}

bool run_interrupted(void)
{
    return signal_that_came != 0;
}

int run_trace(struct run *run, const struct options *options)
{
    struct error error = {0};
    return trace_open(&run->trace, options->trace, &error) ? STATUS_AGREES : (int)trouble(&error);
}

int run_trace_end(struct run *run, int status)
{
    struct error error = {0};
    return trace_close(&run->trace, &error) ? status : (int)trouble(&error);
}

/* ---- opening a line ---- */

static void on_frame(void *user, enum trace_kind kind, int64_t wall_us, const uint8_t *bytes, size_t length)
{
    struct watched *watched = user;
    trace_frame(&watched->run->trace, watched->tcp, kind, wall_us, bytes, length);
    if (kind == TRACE_FOREIGN && watched->frame == NULL)
        watched->frame = frame_describe(watched->tcp, kind, bytes, length);
}

static struct watched *watch_link(struct run *run, struct link *link, const char *name, const struct line *line)
{
    struct watched *watched = memory_new(1, sizeof *watched);
    *watched = (struct watched){.run = run, .tcp = line->serial == NULL};
    run->watched = memory_grow(run->watched, run->watched_count, sizeof(struct watched *));
    run->watched[run->watched_count++] = watched;
    char *words = words_line(line);
    trace_line(&run->trace, name, words);
    free(words);
    link_trace(link, on_frame, watched);
    return watched;
}

void run_watch(struct run *run, struct link *link, const char *name, const struct line *line)
{
    (void)watch_link(run, link, name, line);
}

static void make_remark(struct run *run, const struct link *link, const char *port)
{
    const char *remark = link_remark(link);
    if (remark == NULL || texts_have(&run->remarked, port))
        return;
    trouble_note(remark);
    texts_add(&run->remarked, text_copy(port));
}

static void take_heard(void *user, enum line_heard heard)
{
    struct watched *watched = user;
    watched->heard = heard;
    watched->listened = true;
}

static bool has_listened(void *user)
{
    return ((const struct watched *)user)->listened;
}

/* Noise is none of our business here: if the drive can be read through it, good; else its symptom will say so. */
static bool hears_a_master(struct run *run, struct link *link, const struct line *line, struct watched *watched)
{
    if (line->serial == NULL || line->alone || texts_have(&run->listened, line->serial))
        return false;
    link_listen(link, LISTEN_US, take_heard, watched);
    (void)loop_run(run->loop, has_listened, watched, -1);
    texts_add(&run->listened, text_copy(line->serial));
    return watched->heard == HEARD_MASTER;
}

/* Below an error that was told. */
static void tell_steps(struct run *run, const struct advice_row *row)
{
    if (row != run->told)
        trouble_steps(row);
    run->told = row;
}

static struct run_line unusable(struct run *run, const struct job *job, struct error *error, const char *why)
{
    run->no_line = why;
    error_context(error, "%s", job->sheet.tag);
    struct run_line line = {.status = (int)trouble(error), .trouble = error->trouble, .told = true};
    tell_steps(run, advice_for_trouble(error->trouble));
    return line;
}

struct run_line run_open(struct run *run, const struct job *job)
{
    struct run_line opened = {.status = STATUS_AGREES};
    struct error error = {0};
    const struct line *line = &job->line;
    if (!link_open(run->loop, line, &opened.link, &error))
        return unusable(run, job, &error, "the line did not open");
    struct watched *watched = watch_link(run, opened.link, job->sheet.tag, line);
    if (line->serial != NULL)
        make_remark(run, opened.link, line->serial);
    if (!hears_a_master(run, opened.link, line, watched))
        return opened;
    link_free(opened.link);
    error_set_line(
        &error, ERROR_BUSY, LINE_OTHER_MASTER,
        "another master uses %s; heard: %s; nothing was sent; end that program, or ask again when it is silent",
        line->serial, watched->frame == NULL ? "a frame" : watched->frame);
    return unusable(run, job, &error, "another master uses the line");
}

int run_contact(const struct run_line *line)
{
    if (line->status == STATUS_BUSY)
        return STATUS_BUSY;
    return line->link == NULL || !link_opened(line->link) ? STATUS_CONTACT : STATUS_AGREES;
}

/* The symptom that all bear where the line did not open; SYMPTOM_NONE for any other. */
static struct symptom unopened(const struct visit *visit)
{
    const struct readings *readings = visit_readings(visit);
    for (size_t i = 0; i < readings->count; i++) {
        enum symptom_kind kind = readings->items[i].symptom.kind;
        if (kind == SYMPTOM_REFUSED || kind == SYMPTOM_UNREACHABLE || kind == SYMPTOM_CLOSED)
            return readings->items[i].symptom;
    }
    return (struct symptom){0};
}

static enum advice_line line_kind(const struct line *line)
{
    return line->serial != NULL ? ADVICE_SERIAL : ADVICE_TCP;
}

void run_tell_unopened(struct run *run, struct run_line *line, const struct job *job, const struct visit *visit)
{
    const struct advice_row *row = advice_for(unopened(visit), line_kind(&job->line), ADVICE_ALL);
    if (line->told || row == NULL || link_opened(line->link))
        return;
    struct error error = {0};
    char *where = words_line(&job->line);
    error_set(&error, ERROR_CONTACT, "%s: %s: %s", job->sheet.tag, where, row->observation);
    free(where);
    (void)trouble(&error);
    tell_steps(run, row);
    line->told = true;
}

/* ---- visits ---- */

static void mark(void *user)
{
    *(bool *)user = true;
}

static bool is_marked(void *user)
{
    return *(const bool *)user;
}

struct visit *run_visit(const struct run *run, const struct job *job, struct link *link, const struct wanted *wanted,
                        bool judge)
{
    struct visit_order order = {.map = &job->map,
                                .sheet = &job->sheet,
                                .setpoints = &job->setpoints,
                                .unit = job->line.unit,
                                .wanted = wanted,
                                .judge = judge};
    if (run_interrupted())
        return NULL;
    if (link == NULL)
        return visit_without_line(&run->clock, &order, (struct symptom){.kind = SYMPTOM_UNREACHABLE}, run->no_line);
    bool done = false;
    struct visit *visit = visit_start(link, &run->clock, &order, mark, &done);
    if (loop_run(run->loop, is_marked, &done, -1))
        return visit;
    visit_free(visit);
    return NULL;
}

static bool never(void *user)
{
    (void)user;
    return false;
}

void run_sleep(const struct run *run, int64_t until_us)
{
    (void)loop_run(run->loop, never, NULL, until_us);
}

struct visit_report run_report(const struct job *job, const struct run_line *line, const struct visit *visit)
{
    struct visit_report report = {.map = &job->map,
                                  .sheet = &job->sheet,
                                  .line = &job->line,
                                  .readings = visit_readings(visit),
                                  .findings = visit_findings(visit),
                                  .remark = visit_remark(visit),
                                  .advice_told = line->told};
    advise(&job->map, report.readings, line_kind(&job->line), line->trouble, &report.advice);
    return report;
}

int run_verdict(enum overall overall)
{
    switch (overall) {
    case OVERALL_AGREES:
        return STATUS_AGREES;
    case OVERALL_DIFFERS:
        return STATUS_DIFFERS;
    case OVERALL_INCOMPLETE:
        return STATUS_INCOMPLETE;
    }
    return STATUS_INCOMPLETE;
}

int run_status(const int *statuses, size_t count)
{
    static const int order[] = {STATUS_DIFFERS, STATUS_BUSY};
    for (size_t wanted = 0; wanted < sizeof order / sizeof *order; wanted++)
        for (size_t i = 0; i < count; i++)
            if (statuses[i] == order[wanted])
                return order[wanted];
    size_t uncontacted = 0;
    int status = STATUS_AGREES;
    for (size_t i = 0; i < count; i++) {
        uncontacted += statuses[i] == STATUS_CONTACT;
        status = statuses[i] != STATUS_AGREES ? STATUS_INCOMPLETE : status;
    }
    return uncontacted == count && count > 0 ? STATUS_CONTACT : status;
}
