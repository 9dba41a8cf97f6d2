/* SPDX-License-Identifier: MIT */
/* accept: the document that a drive is handed over with; and whether one is still what it was. */
#include "command/commands.h"
#include "command/keep.h"
#include "command/output.h"
#include "command/run.h"
#include "command/trouble.h"
#include "report/words.h"
#include "verdict/judge.h"
#include "verdict/punch.h"
#include "visit/recorded.h"
#include "witness/judge_run.h"

#include <stdio.h>
#include <stdlib.h>

/* One drive's part of the document. */
struct accepted {
    const struct job *job;
    struct run_line line;
    struct visit *visit;
    struct visit_report report;
    struct record now, found, left, run;
    bool has_found, has_left, has_run;
    struct samples samples;
    struct witnessed witnessed;
    struct journal journal;
    bool is_interrupted;
    struct acceptance acceptance;
};

struct accepting {
    const struct options *options;
    struct keep keep;
    struct output output;
    struct accepted *drives;
    size_t count;
};

static void accepted_free(struct accepted *accepted)
{
    visit_free(accepted->visit);
    link_free(accepted->line.link);
    record_free(&accepted->now);
    record_free(&accepted->found);
    record_free(&accepted->left);
    record_free(&accepted->run);
    samples_free(&accepted->samples);
    witnessed_free(&accepted->witnessed);
    journal_free(&accepted->journal);
    acceptance_free(&accepted->acceptance);
}

/* ---- from the store ---- */

static bool load_run(struct accepting *accepting, struct accepted *accepted, struct error *error)
{
    const char *tag = accepted->job->sheet.tag;
    struct record last = {0};
    char id[RECORD_ID_TEXT];
    bool done = store_last(accepting->keep.store, tag, RECORD_WITNESSED, &accepted->has_run, &last, error);
    if (done && accepted->has_run)
        done = store_get_run(accepting->keep.store, tag, record_id_text(&last.id, id), &accepted->run,
                             &accepted->samples, error);
    record_free(&last);
    if (done && accepted->has_run)
        judge_run(&accepted->job->sheet, &accepted->job->setpoints, &accepted->samples, &accepted->witnessed);
    return done;
}

static bool load_records(struct accepting *accepting, struct accepted *accepted, struct error *error)
{
    struct store *store = accepting->keep.store;
    const char *tag = accepted->job->sheet.tag;
    return store_last(store, tag, RECORD_FOUND, &accepted->has_found, &accepted->found, error) &&
           store_last(store, tag, RECORD_LEFT, &accepted->has_left, &accepted->left, error) &&
           store_journal_open(store, tag, &accepted->is_interrupted, &accepted->journal, error) &&
           load_run(accepting, accepted, error);
}

/* ---- from the drive ---- */

/* What is judged, and what else is watched or names the drive. */
static struct wanted wanted_of(const struct job *job)
{
    struct wanted wanted = {0};
    for (size_t i = 0; i < job->map.count; i++) {
        const struct parameter *parameter = &job->map.parameters[i];
        if (parameter->kind == KIND_COMMAND)
            continue;
        if (judge_reads(parameter, &job->setpoints) || parameter->watch || means_is_individual(parameter->means))
            wanted_add(&wanted, i);
    }
    return wanted;
}

static int status_of(const struct accepted *accepted)
{
    int contact = run_contact(&accepted->line);
    if (contact != STATUS_AGREES)
        return contact;
    return run_verdict(acceptance_overall(&accepted->acceptance));
}

static int accept_visited(struct accepting *accepting, struct run *run, struct accepted *accepted)
{
    const struct job *job = accepted->job;
    run_tell_unopened(run, &accepted->line, job, accepted->visit);
    accepted->report = run_report(job, &accepted->line, accepted->visit);
    struct recorder recorder = keep_recorder(&accepting->keep, job);
    record_readings(&job->map, &job->sheet, job->line.unit, visit_readings(accepted->visit), &recorder, RECORD_LEFT,
                    &accepted->now);
    const struct punch_order order = {
        .map = &job->map,
        .sheet = &job->sheet,
        .findings = visit_findings(accepted->visit),
        .now = &accepted->now,
        .found = accepted->has_found ? &accepted->found : NULL,
        .left = accepted->has_left ? &accepted->left : NULL,
        .witnessed = accepted->has_run ? &accepted->witnessed : NULL,
        .run = accepted->has_run ? &accepted->run : NULL,
        .interrupted = accepted->is_interrupted ? &accepted->journal : NULL,
    };
    punch_make(&order, &accepted->acceptance);
    return status_of(accepted);
}

/* False where a signal came first. */
static bool accept_one(struct accepting *accepting, struct run *run, struct accepted *accepted, int *status)
{
    accepted->line = run_open(run, accepted->job);
    struct wanted wanted = wanted_of(accepted->job);
    accepted->visit = run_visit(run, accepted->job, accepted->line.link, &wanted, true);
    wanted_free(&wanted);
    if (accepted->visit == NULL)
        return false;
    *status = accept_visited(accepting, run, accepted);
    return true;
}

/* ---- the document ---- */

static void show(struct accepting *accepting)
{
    struct accept_report *reports = memory_new(accepting->count, sizeof *reports);
    for (size_t i = 0; i < accepting->count; i++) {
        struct accepted *accepted = &accepting->drives[i];
        reports[i] = (struct accept_report){.visit = &accepted->report,
                                            .acceptance = &accepted->acceptance,
                                            .now = &accepted->now,
                                            .found = accepted->has_found ? &accepted->found : NULL,
                                            .left = accepted->has_left ? &accepted->left : NULL,
                                            .run = accepted->has_run ? &accepted->run : NULL,
                                            .samples = &accepted->samples,
                                            .witnessed = &accepted->witnessed,
                                            .seals = accepting->count == 1};
    }
    if (accepting->count > 1 && !accepting->output.sink.format->rows_only)
        doc_accept_cover(&accepting->output.sink, reports, accepting->count);
    for (size_t i = 0; i < accepting->count; i++)
        doc_accept(&accepting->output.sink, &reports[i]);
    free(reports);
}

/* So that it is known again. */
static int keep_document(struct accepting *accepting, const struct run *run, int status)
{
    struct error error = {0};
    struct texts tags = {0};
    if (accepting->output.digest[0] == '\0')
        return status;
    for (size_t i = 0; i < accepting->count; i++)
        texts_add(&tags, text_copy(accepting->drives[i].job->sheet.tag));
    struct store_document document = {.digest = accepting->output.digest,
                                      .tags = texts_join(&tags, ", "),
                                      .who = accepting->keep.who,
                                      .host = accepting->keep.host,
                                      .tool = (char *)accepting->drives[0].now.tool,
                                      .made_ms = run->clock.wall_ms(run->clock.user)};
    bool kept = store_put_document(accepting->keep.store, &document, &error);
    free(document.tags);
    texts_free(&tags);
    return kept ? status : (int)trouble(&error);
}

static int accept_all(struct accepting *accepting)
{
    struct run run;
    struct error error = {0};
    int *statuses = memory_new(accepting->count, sizeof *statuses);
    run_begin(&run);
    int status = run_trace(&run, accepting->options);
    bool whole = status == STATUS_AGREES;
    for (size_t i = 0; i < accepting->count && whole; i++)
        whole = accept_one(accepting, &run, &accepting->drives[i], &statuses[i]);
    if (whole && !run_interrupted()) {
        show(accepting);
        status = run_trace_end(&run, run_status(statuses, accepting->count));
        /* known before it is handed out: never the other way round */
        bool sealed = output_seal(&accepting->output, &error);
        int kept = sealed ? keep_document(accepting, &run, STATUS_AGREES) : (int)trouble(&error);
        if (kept != STATUS_AGREES)
            output_discard(&accepting->output);
        else if (!output_finish(&accepting->output, &error))
            kept = (int)trouble(&error);
        status = kept == STATUS_AGREES ? status : kept;
    } else {
        output_discard(&accepting->output);
        status = run_trace_end(&run, status);
    }
    for (size_t i = 0; i < accepting->count; i++)
        accepted_free(&accepting->drives[i]); /* their links go before the loop */
    run_end(&run);
    free(statuses);
    return status;
}

static int make_document(const struct options *options)
{
    struct options html = *options;
    struct jobs jobs = {0};
    struct error error = {0};
    if (!options->format_given)
        html.format = sink_format_find("html");
    int status = jobs_load(&jobs, options, options->operand_count, true);
    if (status == STATUS_AGREES) {
        struct accepting accepting = {.options = &html, .count = jobs.count};
        accepting.drives = memory_new(jobs.count, sizeof *accepting.drives);
        bool ready = keep_open(&accepting.keep, &html, STORE_KEEP, &error);
        for (size_t i = 0; ready && i < jobs.count; i++) {
            accepting.drives[i].job = &jobs.items[i];
            ready = load_records(&accepting, &accepting.drives[i], &error);
        }
        if (ready && output_open_sealed(&accepting.output, &html, &error)) {
            status = accept_all(&accepting);
        } else {
            status = (int)trouble(&error);
            for (size_t i = 0; i < jobs.count; i++)
                accepted_free(&accepting.drives[i]);
        }
        free(accepting.drives);
        keep_close(&accepting.keep);
    }
    jobs_free(&jobs);
    return status;
}

/* ---- is it still what it was? ---- */

static int tell_known(const struct options *options, const char *path, const char *digest)
{
    struct keep keep = {0};
    struct error error = {0};
    struct store_document document = {0};
    bool found = false;
    bool looked = keep_open(&keep, options, STORE_LOOK, &error) &&
                  (keep.store == NULL || store_find_document(keep.store, digest, &found, &document, &error));
    int status = STATUS_INCOMPLETE;
    if (!looked) {
        status = (int)trouble(&error);
    } else if (found) {
        char *made = words_time(document.made_ms);
        (void)printf("%s: whole, and known: of %s, made %s by %s at %s with %s\n", path, document.tags, made,
                     document.who, document.host, document.tool);
        free(made);
        status = STATUS_AGREES;
    } else {
        (void)printf("%s: whole by its own digest, but this store does not know it: it was made elsewhere, or altered "
                     "together with its digest (%s)\n",
                     path, digest);
    }
    store_document_free(&document);
    keep_close(&keep);
    return status;
}

static int check_document(const struct options *options)
{
    struct error error = {0};
    const char *path = options->operands[0];
    char digest[SEAL_DIGEST];
    enum seal seal = SEAL_NONE;
    if (options->operand_count > 1)
        error_set(&error, ERROR_USE, "--check takes one document; '%s' is one too many", options->operands[1]);
    else if (seal_try_file(path, &seal, digest, &error) && seal == SEAL_NONE)
        error_set(&error, ERROR_FILE, "%s is no document of accept: it bears no digest", path);
    if (error.kind != ERROR_NONE)
        return (int)trouble(&error);
    int status = STATUS_DIFFERS;
    if (seal == SEAL_ALTERED)
        (void)printf("%s: ALTERED: it is not what was made under the digest that it bears (%s)\n", path, digest);
    else
        status = tell_known(options, path, digest);
    if (fflush(stdout) == 0 && ferror(stdout) == 0)
        return status;
    error_set(&error, ERROR_OUTPUT, "standard output could not be written");
    return (int)trouble(&error);
}

int command_accept(const struct options *options)
{
    return options->check ? check_document(options) : make_document(options);
}
