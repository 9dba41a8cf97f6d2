/* SPDX-License-Identifier: MIT */
/* verify: compares drives with their setpoints. */
#include "command/commands.h"
#include "command/keep.h"
#include "command/output.h"
#include "command/run.h"
#include "command/trouble.h"
#include "verdict/judge.h"

#include <stdlib.h>

static struct wanted judged(const struct map *map, const struct setpoints *setpoints)
{
    struct wanted wanted = {0};
    for (size_t i = 0; i < map->count; i++)
        if (judge_reads(&map->parameters[i], setpoints))
            wanted_add(&wanted, i);
    return wanted;
}

static int status_of(const struct visit *visit, const struct run_line *line)
{
    int contact = run_contact(line);
    if (contact != STATUS_AGREES)
        return contact;
    return run_verdict(findings_overall(visit_findings(visit)));
}

static void show(struct output *output, const struct options *options, const struct visit_report *report, int status)
{
    bool text = options->format == sink_format_find("text");
    if (!options->quiet || status != STATUS_AGREES)
        doc_verify(&output->sink, report, options->quiet && text);
}

/* One drive: its own exit status, and its part of the result. */
static int verify_one(struct run *run, const struct job *job, struct output *output, const struct options *options)
{
    struct run_line line = run_open(run, job);
    struct wanted wanted = judged(&job->map, &job->setpoints);
    struct visit *visit = run_visit(run, job, line.link, &wanted, true);
    int status = STATUS_INCOMPLETE;
    if (visit != NULL) {
        status = status_of(visit, &line);
        run_tell_unopened(run, &line, job, visit);
        struct visit_report report = run_report(job, &line, visit);
        show(output, options, &report, status);
    }
    visit_free(visit);
    wanted_free(&wanted);
    link_free(line.link);
    return status;
}

/* Before any is asked: of writes to these drives that were interrupted. */
static void remind(const struct jobs *jobs, const struct options *options)
{
    struct keep keep;
    keep_look(&keep, options);
    for (size_t i = 0; i < jobs->count; i++)
        keep_remind(&keep, &jobs->items[i]);
    keep_close(&keep);
}

static int verify_all(const struct jobs *jobs, struct output *output, const struct options *options)
{
    struct run run;
    int *statuses = memory_new(jobs->count, sizeof *statuses);
    run_begin(&run);
    int traced = run_trace(&run, options);
    for (size_t i = 0; i < jobs->count && traced == STATUS_AGREES && !run_interrupted(); i++) {
        statuses[i] = verify_one(&run, &jobs->items[i], output, options);
        (void)output_flush(output, NULL); /* told when it is finished */
    }
    if (run_interrupted() || traced != STATUS_AGREES)
        output_discard(output);
    int status = traced == STATUS_AGREES ? run_trace_end(&run, run_status(statuses, jobs->count)) : traced;
    run_end(&run);
    free(statuses);
    return status;
}

int command_verify(const struct options *options)
{
    struct jobs jobs;
    struct output output;
    struct error error = {0};
    int status = jobs_load(&jobs, options, options->operand_count, true);
    if (status == STATUS_AGREES) {
        if (!output_open(&output, options, &error)) {
            status = (int)trouble(&error);
        } else {
            remind(&jobs, options);
            status = verify_all(&jobs, &output, options);
            if (!output_finish(&output, &error))
                status = (int)trouble(&error);
        }
    }
    jobs_free(&jobs);
    return status;
}
