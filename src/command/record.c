/* SPDX-License-Identifier: MIT */
/* record: keeps all values of drives, as found or as left. */
#include "command/commands.h"
#include "command/keep.h"
#include "command/output.h"
#include "command/run.h"
#include "command/trouble.h"
#include "files/record_file.h"
#include "visit/recorded.h"

#include <stdlib.h>

struct recording {
    const struct options *options;
    struct run *run;
    struct keep keep;
    struct output output;
    struct output copy; /* the YAML copy; unused without --export */
    size_t kept;
    bool failed; /* the store cannot be used any more */
};

/* One drive's, while it is asked. */
struct one {
    const struct job *job;
    struct record record, against;
    bool compared; /* there is a record of its kind */
};

static bool refuse_mixture(const struct options *options, struct error *error)
{
    if (!options->as_given)
        return error_set(error, ERROR_USE, "as what is it recorded: give --as found or --as left");
    if (options->after_power_cycle && options->as != RECORD_LEFT)
        return error_set(error, ERROR_USE, "--after-power-cycle goes with --as left");
    if (options->export_to != NULL && options->operand_count > 1)
        return error_set(error, ERROR_USE, "--export takes one sheet: each copy is a file of its own");
    return true;
}

/* ---- after a power cycle ---- */

static void tell_lost(const struct job *job, const struct record_value *before, const struct record_value *now)
{
    char *text = text_format("%s: %s was not kept through the power cycle: %s before, %s now", job->sheet.tag,
                             now->parameter, before->shown, now->shown);
    trouble_warning(text);
    free(text);
}

/* Whether what can be set is still there. What was not read on either side leaves that open. */
static int compare_kept(const struct one *one)
{
    int status = STATUS_AGREES;
    for (size_t i = 0; i < one->job->map.count; i++) {
        const struct parameter *parameter = &one->job->map.parameters[i];
        if (parameter->settable == SETTABLE_NEVER || parameter->kind == KIND_COMMAND || parameter->tuned)
            continue;
        const struct record_value *before = record_value_find(&one->against, parameter->name);
        const struct record_value *now = record_value_find(&one->record, parameter->name);
        if (before == NULL || now == NULL || before->symptom != NULL || now->symptom != NULL) {
            status = status == STATUS_AGREES ? STATUS_INCOMPLETE : status;
        } else if (!record_value_same(before, now)) {
            tell_lost(one->job, before, now);
            status = STATUS_DIFFERS;
        }
    }
    return status;
}

/* ---- one drive ---- */

/* What it will be compared with. */
static bool find_last(const struct recording *recording, struct one *one, struct error *error)
{
    return store_last(recording->keep.store, one->job->sheet.tag, recording->options->as, &one->compared, &one->against,
                      error);
}

/* Before any drive is asked. */
static bool all_can_be_compared(const struct recording *recording, const struct jobs *jobs, struct error *error)
{
    bool can = true;
    for (size_t i = 0; can && recording->options->after_power_cycle && i < jobs->count; i++) {
        struct one one = {.job = &jobs->items[i]};
        can = find_last(recording, &one, error);
        if (can && !one.compared)
            can = error_set(error, ERROR_USE,
                            "%s has no record as left to compare with; record it with --as left before its power is "
                            "switched off",
                            one.job->sheet.tag);
        record_free(&one.against);
    }
    return can;
}

static int status_of(const struct visit *visit)
{
    const struct readings *readings = visit_readings(visit);
    for (size_t i = 0; i < readings->count; i++)
        if (readings->items[i].asked && readings->items[i].symptom.kind != SYMPTOM_NONE)
            return STATUS_INCOMPLETE;
    return STATUS_AGREES;
}

/* Keeps what was read. The status is that of the record. */
static int keep_record(struct recording *recording, struct one *one, const struct visit *visit)
{
    const struct job *job = one->job;
    struct recorder recorder = keep_recorder(&recording->keep, job);
    record_readings(&job->map, &job->sheet, job->line.unit, visit_readings(visit), &recorder, recording->options->as,
                    &one->record);
    int status = status_of(visit);
    if (recording->options->after_power_cycle) {
        int kept = compare_kept(one);
        one->record.after_power_cycle = kept == STATUS_AGREES;
        status = kept == STATUS_DIFFERS ? STATUS_DIFFERS : status == STATUS_AGREES ? kept : status;
    }
    struct error error = {0};
    bool stored = store_put(recording->keep.store, &one->record, &error);
    if (stored && one->record.after_power_cycle)
        stored = keep_settle(&recording->keep, job, &error);
    if (!stored) {
        recording->failed = true;
        return (int)trouble(&error);
    }
    recording->kept++;
    if (recording->copy.file != NULL)
        record_write(recording->copy.file, &one->record);
    return status;
}

static void show(struct recording *recording, const struct one *one, const struct run_line *line,
                 const struct visit *visit, const struct wanted *wanted)
{
    struct visit_report report = run_report(one->job, line, visit);
    report.parameters = wanted->items;
    report.parameter_count = wanted->count;
    struct record_report record = {
        .visit = &report, .record = &one->record, .against = one->compared ? &one->against : NULL};
    doc_record(&recording->output.sink, &record);
    (void)output_flush(&recording->output, NULL); /* told when it is finished */
}

static int visit_one(struct recording *recording, struct one *one, struct run_line *line)
{
    struct wanted wanted = {0};
    wanted_add_values(&wanted, &one->job->map);
    struct visit *visit = run_visit(recording->run, one->job, line->link, &wanted, false);
    int status = STATUS_INCOMPLETE;
    if (visit != NULL) {
        run_tell_unopened(recording->run, line, one->job, visit);
        status = run_contact(line);
        if (status == STATUS_AGREES) {
            status = keep_record(recording, one, visit);
            if (!recording->failed)
                show(recording, one, line, visit, &wanted);
        }
    }
    visit_free(visit);
    wanted_free(&wanted);
    return status;
}

static int record_one(struct recording *recording, const struct job *job)
{
    struct one one = {.job = job};
    struct error error = {0};
    int status;
    if (keep_tell_interrupted(&recording->keep, job, &error) && find_last(recording, &one, &error)) {
        struct run_line line = run_open(recording->run, job);
        status = line.link == NULL ? line.status : visit_one(recording, &one, &line);
        link_free(line.link);
    } else {
        recording->failed = true;
        status = (int)trouble(&error);
    }
    record_free(&one.record);
    record_free(&one.against);
    return status;
}

/* ---- all of them ---- */

static int visit_all(struct recording *recording, const struct jobs *jobs)
{
    int *statuses = memory_new(jobs->count, sizeof *statuses);
    size_t count = 0;
    while (count < jobs->count && !run_interrupted() && !recording->failed) {
        statuses[count] = record_one(recording, &jobs->items[count]);
        count++;
    }
    int status = recording->failed ? STATUS_CONTACT : run_status(statuses, count);
    free(statuses);
    return status;
}

static int record_all(struct recording *recording, const struct jobs *jobs)
{
    struct run run;
    struct error error = {0};
    run_begin(&run);
    recording->run = &run;
    int status = run_trace(&run, recording->options);
    if (status == STATUS_AGREES)
        status = run_trace_end(&run, visit_all(recording, jobs));
    recording->run = NULL; /* it ends here */
    if (recording->kept == 0) {
        output_discard(&recording->output);
        output_discard(&recording->copy);
    }
    /* what was kept before a signal came is a result */
    if (recording->kept > 0 && !output_finish(&recording->output, &error))
        status = (int)trouble(&error);
    if (recording->copy.file != NULL && !output_finish(&recording->copy, &error))
        status = (int)trouble(&error);
    run_end(&run);
    return status;
}

static bool recording_begin(struct recording *recording, const struct options *options, const struct jobs *jobs,
                            struct error *error)
{
    *recording = (struct recording){.options = options};
    if (!keep_open(&recording->keep, options, STORE_KEEP, error) || !all_can_be_compared(recording, jobs, error) ||
        !output_open(&recording->output, options, error))
        return false;
    if (options->export_to == NULL || output_open_file(&recording->copy, options->export_to, error))
        return true;
    output_discard(&recording->output);
    return false;
}

int command_record(const struct options *options)
{
    struct jobs jobs;
    struct recording recording;
    struct error error = {0};
    if (!refuse_mixture(options, &error))
        return (int)trouble(&error);
    int status = jobs_load(&jobs, options, options->operand_count, true);
    if (status == STATUS_AGREES) {
        status =
            recording_begin(&recording, options, &jobs, &error) ? record_all(&recording, &jobs) : (int)trouble(&error);
        keep_close(&recording.keep);
    }
    jobs_free(&jobs);
    return status;
}
