/* SPDX-License-Identifier: MIT */
/* witness: samples a run that is started at the drive, keeps it, and judges it; or judges one that is kept. */
#include "command/commands.h"
#include "command/keep.h"
#include "command/output.h"
#include "command/run.h"
#include "command/trouble.h"
#include "command/witnessing.h"
#include "visit/recorded.h"
#include "witness/judge_run.h"
#include "witness/sampler.h"

#include <stdlib.h>
#include <string.h>

/* A run, however it came here. */
struct witness {
    const struct options *options;
    const struct job *job;
    struct keep keep;
    struct output output;
    struct record record;
    struct samples samples;
    struct witnessed witnessed;
    bool seen;
};

static void witness_free(struct witness *witness)
{
    record_free(&witness->record);
    samples_free(&witness->samples);
    witnessed_free(&witness->witnessed);
    keep_close(&witness->keep);
}

static bool refuse_mixture(const struct options *options, struct error *error)
{
    const struct line *line = &options->line;
    if (options->operand_count > 1)
        return error_set(error, ERROR_USE, "witness takes one sheet; '%s' is one too many", options->operands[1]);
    if (options->from != NULL &&
        (line->serial != NULL || line->host != NULL || line->unit_given || options->port_given || options->baud_given ||
         options->parity_given || options->stop_bits_given || options->trace != NULL || options->most_s > 0))
        return error_set(error, ERROR_USE,
                         "--from judges samples that are kept, and opens no line: leave out --most, "
                         "--trace, and what says where the drive is");
    return true;
}

/* ---- the result ---- */

/* Of what the map has to show a run: was all of it there before, and was each sampled? */
static bool all_was_read(const struct witness *witness)
{
    const struct record *record = &witness->record;
    for (size_t i = 0; i < witness->job->map.count; i++) {
        const struct parameter *parameter = &witness->job->map.parameters[i];
        const struct record_value *value = record_value_find(record, parameter->name);
        if (sampler_shows(parameter->means) && value != NULL && value->symptom != NULL)
            return false;
    }
    for (size_t i = 0; i < witness->samples.count; i++)
        if (witness->samples.items[i].count == 0)
            return false;
    return true;
}

static void remark(struct witness *witness, const char *text)
{
    texts_add(&witness->witnessed.remarks, text_copy(text));
}

static void judge_samples(struct witness *witness)
{
    const struct job *job = witness->job;
    if (!witness->seen) {
        remark(witness, "no run was seen: the output frequency never left zero");
        return;
    }
    judge_run(&job->sheet, &job->setpoints, &witness->samples, &witness->witnessed);
    if (witness->options->from != NULL && strcmp(witness->record.sheet_sha256, job->sheet.sha256) != 0)
        remark(witness, "the sheet has changed since this run was witnessed; it is judged by the sheet as it is now");
}

static int show(struct witness *witness, const struct visit_report *visit)
{
    const struct witness_report report = {.visit = visit,
                                          .record = &witness->record,
                                          .samples = &witness->samples,
                                          .witnessed = &witness->witnessed,
                                          .seen = witness->seen,
                                          .all_read = all_was_read(witness)};
    doc_witness(&witness->output.sink, &report);
    return report.seen ? run_verdict(witnessed_overall(report.witnessed, report.all_read)) : STATUS_INCOMPLETE;
}

/* ---- at the drive ---- */

/* A run that was not seen is not kept: nothing could be done with it. */
static int keep_run(struct witness *witness, int status)
{
    struct error error = {0};
    if (!witness->seen || store_put_run(witness->keep.store, &witness->record, &witness->samples, &error))
        return status;
    return (int)trouble(&error);
}

static int witness_visited(struct witness *witness, struct run *run, struct run_line *line, const struct visit *visit)
{
    const struct job *job = witness->job;
    struct recorder recorder = keep_recorder(&witness->keep, job);
    record_readings(&job->map, &job->sheet, job->line.unit, visit_readings(visit), &recorder, RECORD_WITNESSED,
                    &witness->record);
    /* before the link goes */
    struct visit_report report = run_report(job, line, visit);
    if (!witnessing(run, job, line, visit, witness->options->most_s, &witness->samples, &witness->seen))
        remark(witness, "the output frequency could not be read: without it no run is seen");
    else
        judge_samples(witness);
    int kept = keep_run(witness, STATUS_AGREES);
    int status = show(witness, &report);
    return kept == STATUS_AGREES ? status : kept;
}

/* For the record all is read that can be. */
static int visit_drive(struct witness *witness, struct run *run, struct run_line *line)
{
    const struct job *job = witness->job;
    struct wanted wanted = {0};
    wanted_add_values(&wanted, &job->map);
    struct visit *visit = run_visit(run, job, line->link, &wanted, false);
    int status = STATUS_INCOMPLETE;
    if (visit != NULL) {
        run_tell_unopened(run, line, job, visit);
        status = run_contact(line);
        if (status == STATUS_AGREES)
            status = witness_visited(witness, run, line, visit);
        else
            output_discard(&witness->output);
    } else {
        output_discard(&witness->output);
    }
    visit_free(visit);
    wanted_free(&wanted);
    return status;
}

static int witness_drive(struct witness *witness)
{
    struct run run;
    struct error error = {0};
    run_begin(&run);
    int status = run_trace(&run, witness->options);
    if (status == STATUS_AGREES) {
        trouble_note("this program starts nothing. Before the motor is started: people and tools clear, guards on, "
                     "somebody at the emergency stop; wait until you are told");
        struct run_line line = run_open(&run, witness->job);
        status = line.link == NULL ? line.status : visit_drive(witness, &run, &line);
        if (line.link == NULL && line.status != STATUS_AGREES)
            output_discard(&witness->output);
        link_free(line.link);
        status = run_trace_end(&run, status);
    } else {
        output_discard(&witness->output);
    }
    /* what was seen before a signal came is a result */
    if (witness->output.file != NULL && !output_finish(&witness->output, &error))
        status = (int)trouble(&error);
    run_end(&run);
    return status;
}

static int witness_live(struct witness *witness)
{
    struct error error = {0};
    if (!keep_open(&witness->keep, witness->options, STORE_KEEP, &error) ||
        !keep_tell_interrupted(&witness->keep, witness->job, &error) ||
        !output_open(&witness->output, witness->options, &error))
        return (int)trouble(&error);
    return witness_drive(witness);
}

/* ---- from the store ---- */

static int witness_kept(struct witness *witness)
{
    const struct job *job = witness->job;
    struct error error = {0};
    bool opened = keep_open(&witness->keep, witness->options, STORE_LOOK, &error);
    if (opened && witness->keep.store == NULL)
        opened = error_set(&error, ERROR_STORE, "there is no store at %s; witness makes one", witness->keep.where);
    if (!opened ||
        !store_get_run(witness->keep.store, job->sheet.tag, witness->options->from, &witness->record, &witness->samples,
                       &error) ||
        !output_open(&witness->output, witness->options, &error))
        return (int)trouble(&error);
    const struct line line = {.unit = witness->record.unit};
    const struct readings readings = {
        .traffic = witness->record.traffic, .began_ms = witness->record.began_ms, .ended_ms = witness->record.ended_ms};
    const struct visit_report report = {
        .map = &job->map, .sheet = &job->sheet, .line = &line, .where = witness->record.line, .readings = &readings};
    witness->seen = true; /* else it would not be kept */
    judge_samples(witness);
    int status = show(witness, &report);
    return output_finish(&witness->output, &error) ? status : (int)trouble(&error);
}

int command_witness(const struct options *options)
{
    struct jobs jobs = {0};
    struct error error = {0};
    if (!refuse_mixture(options, &error))
        return (int)trouble(&error);
    bool live = options->from == NULL;
    int status = jobs_load(&jobs, options, 1, live);
    if (status == STATUS_AGREES) {
        struct witness witness = {.options = options, .job = &jobs.items[0]};
        status = live ? witness_live(&witness) : witness_kept(&witness);
        witness_free(&witness);
    }
    jobs_free(&jobs);
    return status;
}
