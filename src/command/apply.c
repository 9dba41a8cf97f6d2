/* SPDX-License-Identifier: MIT */
/* What write and restore share: the list is made, shown, confirmed and written. */
#include "command/apply.h"

#include "bus/line_lock.h"
#include "change/code.h"
#include "change/list.h"
#include "change/perform.h"
#include "command/command.h"
#include "command/confirm.h"
#include "command/run.h"
#include "command/trouble.h"
#include "report/words.h"

#include <stdlib.h>

struct applying {
    const struct apply_order *order;
    struct run *run;
    struct output *output;
    struct run_line line;
    char *line_words;
    /* of the last look at the drive */
    struct wanted wanted;
    struct visit *visit;
    struct change_order change;
    struct change_list list;
    bool shown; /* there is a result */
};

static int64_t now_ms(const struct applying *applying)
{
    return applying->run->clock.wall_ms(applying->run->clock.user);
}

static void forget(struct applying *applying)
{
    change_list_free(&applying->list);
    applying->list = (struct change_list){0};
    visit_free(applying->visit);
    applying->visit = NULL;
    wanted_free(&applying->wanted);
    applying->wanted = (struct wanted){0};
}

/* ---- the list ---- */

/* Looks at the drive and makes the list; false where a signal came. */
static bool look(struct applying *applying)
{
    const struct apply_order *order = applying->order;
    const struct job *job = order->job;
    forget(applying);
    change_reads(&job->map, &job->setpoints, &applying->wanted);
    applying->visit = run_visit(applying->run, job, applying->line.link, &applying->wanted, true);
    if (applying->visit == NULL)
        return false;
    run_tell_unopened(applying->run, &applying->line, job, applying->visit);
    applying->change = (struct change_order){.map = &job->map,
                                             .sheet = &job->sheet,
                                             .setpoints = &job->setpoints,
                                             .unit = job->line.unit,
                                             .readings = visit_readings(applying->visit),
                                             .findings = visit_findings(applying->visit),
                                             .record = order->record,
                                             .replacement = order->options->replacement};
    change_list_make(&applying->change, &applying->list);
    code_make(&applying->change, applying->line_words, &applying->list, now_ms(applying));
    return true;
}

static size_t count_read(const struct applying *applying, bool settable_only, size_t *asked)
{
    const struct readings *readings = visit_readings(applying->visit);
    size_t read = 0;
    *asked = 0;
    for (size_t i = 0; i < readings->count; i++) {
        if (!readings->items[i].asked ||
            (settable_only && applying->order->job->map.parameters[i].settable == SETTABLE_NEVER))
            continue;
        ++*asked;
        read += readings->items[i].symptom.kind == SYMPTOM_NONE;
    }
    return read;
}

/* Of a list that was not written. */
static int status_of_list(const struct applying *applying)
{
    size_t asked;
    int contact = run_contact(&applying->line);
    if (contact != STATUS_AGREES)
        return contact;
    if (applying->list.count == 0 && count_read(applying, false, &asked) == 0)
        return STATUS_INCOMPLETE;
    if (applying->list.count > 0 || applying->list.refusal_count > 0)
        return STATUS_DIFFERS;
    return count_read(applying, true, &asked) == asked ? STATUS_AGREES : STATUS_INCOMPLETE;
}

static bool is_offered(const struct applying *applying)
{
    return applying->list.code[0] != '\0' && !applying->list.performed;
}

static void show(struct applying *applying, const char *refused)
{
    const struct apply_order *order = applying->order;
    struct visit_report report = run_report(order->job, &applying->line, applying->visit);
    char *command = is_offered(applying) ? confirm_command(order->command, order->options, applying->list.code) : NULL;
    char *sheet_words = confirm_words(order->options, order->job->sheet.path);
    struct change_report change = {
        .visit = &report, .list = &applying->list, .command = command, .sheet_words = sheet_words, .refused = refused};
    doc_write(&applying->output->sink, &change);
    (void)output_flush(applying->output, NULL); /* told when it is finished */
    applying->shown = true;
    free(sheet_words);
    free(command);
}

/* ---- writing ---- */

/* The list is confirmed. */
static int perform(struct applying *applying)
{
    const struct apply_order *order = applying->order;
    struct error error = {0};
    if (run_interrupted())
        return STATUS_INCOMPLETE; /* a signal came first: nothing is written */
    struct recorder recorder = keep_recorder(order->keep, order->job);
    struct perform_order perform = {.change = &applying->change,
                                    .loop = applying->run->loop,
                                    .link = applying->line.link,
                                    .clock = &applying->run->clock,
                                    .store = order->keep->store,
                                    .recorder = &recorder,
                                    .interrupted = run_interrupted};
    enum performed performed = PERFORMED_UNKNOWN;
    if (!change_perform(&perform, &applying->list, &performed, &error))
        return (int)trouble(&error);
    show(applying, NULL);
    switch (performed) {
    case PERFORMED_KEPT:
        return keep_settle(order->keep, order->job, &error) ? STATUS_AGREES : (int)trouble(&error);
    case PERFORMED_STOPPED:
        return STATUS_DIFFERS;
    case PERFORMED_UNKNOWN:
        return STATUS_INCOMPLETE;
    }
    return STATUS_INCOMPLETE;
}

static int show_list(struct applying *applying, const char *given)
{
    char *refused = NULL;
    int status = status_of_list(applying);
    if (given != NULL && status != STATUS_AGREES)
        refused = text_format("the code %s is not that of this list: it was made for another drive, line or list, the "
                              "drive has changed since, or 15 minutes are over; nothing was written",
                              given);
    show(applying, refused);
    free(refused);
    const struct apply_order *order = applying->order;
    struct error error = {0};
    if (status == STATUS_AGREES && !keep_settle_found(order->keep, order->job, order->record, &error))
        return (int)trouble(&error);
    return status;
}

/* Once through: the list is written where `given` is its code, else it is shown. */
static int look_and_write(struct applying *applying, const char *given)
{
    if (!look(applying))
        return STATUS_INCOMPLETE;
    if (given != NULL && is_offered(applying) &&
        code_fits(&applying->change, applying->line_words, &applying->list, now_ms(applying), given))
        return perform(applying);
    return show_list(applying, given);
}

static int with_line(struct applying *applying)
{
    const struct options *options = applying->order->options;
    int status = look_and_write(applying, options->confirm);
    if (options->confirm != NULL || applying->visit == NULL || !is_offered(applying) || !confirm_can_ask(options))
        return status;
    if (!confirm_ask(applying->run, applying->order->job->sheet.tag, applying->list.count)) {
        trouble_note("nothing was written");
        return status;
    }
    char code[sizeof applying->list.code];
    for (size_t i = 0; i < sizeof code; i++)
        code[i] = applying->list.code[i];
    return look_and_write(applying, code); /* the drive may have changed while somebody thought */
}

static int with_lock(struct applying *applying)
{
    const struct job *job = applying->order->job;
    struct line_lock *lock = NULL;
    struct error error = {0};
    if (!keep_tell_interrupted(applying->order->keep, job, &error))
        return (int)trouble(&error);
    if (!line_lock_take(&job->line, &lock, &error)) {
        (void)error_context(&error, "%s", job->sheet.tag);
        return (int)trouble(&error);
    }
    applying->line = run_open(applying->run, job);
    int status = with_line(applying);
    forget(applying);
    link_free(applying->line.link);
    line_lock_free(lock);
    return status;
}

int apply(const struct apply_order *order)
{
    struct run run;
    struct output output;
    struct error error = {0};
    struct applying applying = {.order = order, .run = &run, .output = &output};
    if (!output_open(&output, order->options, &error))
        return (int)trouble(&error);
    applying.line_words = words_line(&order->job->line);
    run_begin(&run);
    int status = run_trace(&run, order->options);
    if (status == STATUS_AGREES)
        status = run_trace_end(&run, with_lock(&applying));
    if (!applying.shown)
        output_discard(&output);
    else if (!output_finish(&output, &error))
        status = (int)trouble(&error);
    run_end(&run);
    free(applying.line_words);
    return status;
}

int apply_begin(const struct options *options, size_t operands, struct jobs *jobs, struct keep *keep)
{
    struct error error = {0};
    if (options->operand_count > operands) {
        error_set(&error, ERROR_USE, "one drive at a time: '%s' is one file too many", options->operands[operands]);
        return (int)trouble(&error);
    }
    int status = jobs_load(jobs, options, 1, true);
    if (status == STATUS_AGREES && !keep_open(keep, options, STORE_KEEP, &error))
        status = (int)trouble(&error);
    return status;
}
