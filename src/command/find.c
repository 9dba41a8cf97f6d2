/* SPDX-License-Identifier: MIT */
/* find: searches a serial line, or the units behind hosts, side by side. */
#include "bus/search.h"
#include "command/commands.h"
#include "command/output.h"
#include "command/progress.h"
#include "command/run.h"
#include "command/trouble.h"
#include "report/words.h"
#include "verdict/advice.h"

#include <stdio.h>
#include <stdlib.h>

enum { AT_ONCE = 16, DEFAULT_PORT = 502, LAST_SERIAL_UNIT = 247 };

/* One line to search. */
struct target {
    struct line line;
    struct link *link; /* NULL: not begun, over, or did not open */
    struct search *search;
    struct search_result unopened; /* instead of a search's, where there is none */
    enum line_trouble trouble;     /* why it did not open */
    bool begun, ended, reaped;
};

struct find {
    struct run *run;
    struct search_bounds bounds;
    struct target *targets;
    size_t count;
};

/* ---- options ---- */

static bool refuse_mixture(const struct options *options, struct error *error)
{
    if (options->line.serial == NULL && options->host_count == 0)
        return error_set(error, ERROR_USE, "what is to be searched: give --serial PORT or --host HOST");
    if (options->line.serial != NULL && options->port_given)
        return error_set(error, ERROR_USE, "--port goes with --host, not with --serial");
    if (options->line.serial == NULL && (options->baud_given || options->parity_given || options->stop_bits_given))
        return error_set(error, ERROR_USE, "--baud, --parity and --stop-bits go with --serial, not with --host");
    if (options->line.serial != NULL && options->line.unit_given &&
        (options->line.unit < 1 || options->line.unit > LAST_SERIAL_UNIT))
        return error_set(error, ERROR_USE, "--unit %u: on a serial line 1 to 247 is due", options->line.unit);
    return true;
}

static bool find_begin(struct find *find, const struct options *options, struct error *error)
{
    *find = (struct find){0};
    if (options->operand_count > 0)
        return error_set(error, ERROR_USE, "find takes no file, and here is '%s'", options->operands[0]);
    if (!refuse_mixture(options, error))
        return false;
    find->bounds = (struct search_bounds){.baud = options->baud_given ? options->line.baud : 0,
                                          .parity_given = options->parity_given,
                                          .parity = options->line.parity,
                                          .stop_bits = options->stop_bits_given ? options->line.stop_bits : 0,
                                          .unit_given = options->line.unit_given,
                                          .unit = options->line.unit};
    bool serial = options->line.serial != NULL;
    find->count = serial ? 1 : options->host_count;
    find->targets = memory_new(find->count, sizeof *find->targets);
    const struct serial_format format = search_opening_format(&find->bounds);
    for (size_t i = 0; i < find->count; i++) {
        struct line *line = &find->targets[i].line;
        line->serial = text_copy(options->line.serial);
        line->host = serial ? NULL : text_copy(options->hosts[i]);
        line->port = options->port_given ? options->line.port : DEFAULT_PORT;
        line->baud = format.baud;
        line->parity = format.parity;
        line->stop_bits = format.stop_bits;
    }
    return true;
}

static void find_free(struct find *find)
{
    for (size_t i = 0; i < find->count; i++) {
        link_free(find->targets[i].link);
        search_free(find->targets[i].search);
        search_result_free(&find->targets[i].unopened);
        line_free(&find->targets[i].line);
    }
    free(find->targets);
}

/* ---- the searches ---- */

static void end_target(void *user)
{
    ((struct target *)user)->ended = true;
}

static void begin_target(const struct find *find, struct target *target)
{
    const struct clock *clock = &find->run->clock;
    struct error error = {0};
    target->begun = true;
    if (link_open(find->run->loop, &target->line, &target->link, &error)) {
        run_watch(find->run, target->link, "find", &target->line);
        target->search = search_start(target->link, clock, &target->line, &find->bounds, end_target, target);
        return;
    }
    target->link = NULL;
    target->ended = true;
    target->trouble = error.trouble;
    (void)trouble(&error);
    int64_t now_ms = clock->wall_ms(clock->user);
    target->unopened = (struct search_result){.line = line_copy(&target->line),
                                              .verdict = error.kind == ERROR_BUSY ? SEARCH_BUSY : SEARCH_NO_CONTACT,
                                              .remark = text_copy(error.text),
                                              .began_ms = now_ms,
                                              .ended_ms = now_ms};
}

static bool one_has_ended(void *user)
{
    const struct find *find = user;
    for (size_t i = 0; i < find->count; i++)
        if (find->targets[i].ended && !find->targets[i].reaped)
            return true;
    return false;
}

/* Closes what is over, begins what may begin now; false: all is over. */
static bool keep_going(struct find *find)
{
    size_t running = 0;
    for (size_t i = 0; i < find->count; i++) {
        struct target *target = &find->targets[i];
        if (!target->begun && running < AT_ONCE && !run_interrupted())
            begin_target(find, target);
        if (target->ended && !target->reaped) {
            link_free(target->link);
            target->link = NULL;
            target->reaped = true;
        }
        running += target->begun && !target->ended;
    }
    return running > 0;
}

static const struct search_result *result_of(struct target *target)
{
    return target->search == NULL ? &target->unopened : search_result(target->search);
}

/* ---- progress ---- */

static void tell_where(const struct search_progress *progress, char *text, size_t size)
{
    char *format = words_format(&progress->format);
    if (progress->format.baud == 0)
        (void)snprintf(text, size, "unit %u", progress->unit);
    else if (progress->listening)
        (void)snprintf(text, size, "listening at %s", format);
    else
        (void)snprintf(text, size, "%s unit %u", format, progress->unit);
    free(format);
}

/* Several hosts end when the slowest of them does; those that wait take as long as a silent one, AT_ONCE at a time. */
static void tell(void *user, struct progress_state *state)
{
    const struct find *find = user;
    struct search_progress slowest = {0};
    size_t over = 0, waiting = 0, found = 0;
    int64_t whole_us = 0;
    for (size_t i = 0; i < find->count; i++) {
        const struct target *target = &find->targets[i];
        over += target->ended;
        waiting += !target->begun;
        if (target->search == NULL)
            continue;
        struct search_progress progress = search_progress(target->search);
        found += progress.found;
        whole_us = progress.spent_us + progress.left_us > whole_us ? progress.spent_us + progress.left_us : whole_us;
        if (!target->ended && progress.left_us >= slowest.left_us)
            slowest = progress;
    }
    state->left_us = slowest.left_us + (int64_t)((waiting + AT_ONCE - 1) / AT_ONCE) * whole_us;
    char where[64];
    tell_where(&slowest, where, sizeof where);
    if (find->count == 1) {
        state->share = (double)slowest.spent_us / (double)(slowest.spent_us + state->left_us + 1);
        (void)snprintf(state->text, sizeof state->text, "%s, %zu found", where, found);
    } else {
        state->share = (double)over / (double)find->count;
        (void)snprintf(state->text, sizeof state->text, "%zu of %zu hosts done, %zu found", over, find->count, found);
    }
}

/* ---- the result ---- */

static int status_of(const struct search_result *result)
{
    switch (result->verdict) {
    case SEARCH_FOUND:
        return STATUS_AGREES;
    case SEARCH_NOTHING:
    case SEARCH_SOMETHING:
    case SEARCH_GATEWAY_ONLY:
    case SEARCH_LOST:
        return STATUS_INCOMPLETE;
    case SEARCH_OTHER_MASTER:
    case SEARCH_BUSY:
        return STATUS_BUSY;
    case SEARCH_NO_CONTACT:
        return STATUS_CONTACT;
    }
    return STATUS_INCOMPLETE;
}

/* The row of the table of symptoms for a line on which nothing was found; NULL for a find. */
static const struct advice_row *row_for(const struct target *target, const struct search_result *result,
                                        struct symptom *symptom)
{
    static const enum symptom_kind symptoms[] = {
        [SEARCH_NOTHING] = SYMPTOM_NO_REPLY,
        [SEARCH_SOMETHING] = SYMPTOM_CORRUPT,
        [SEARCH_GATEWAY_ONLY] = SYMPTOM_EXCEPTION,
        [SEARCH_NO_CONTACT] = SYMPTOM_UNREACHABLE,
        [SEARCH_LOST] = SYMPTOM_CLOSED,
    };
    enum advice_line line = target->line.serial != NULL ? ADVICE_SERIAL : ADVICE_TCP;
    bool searched = result->verdict == SEARCH_NOTHING || (result->verdict == SEARCH_SOMETHING && line == ADVICE_SERIAL);
    switch (result->verdict) {
    case SEARCH_FOUND:
        return NULL;
    case SEARCH_OTHER_MASTER:
        return advice_for_trouble(LINE_OTHER_MASTER);
    case SEARCH_BUSY:
        return advice_for_trouble(target->trouble);
    case SEARCH_NO_CONTACT:
        if (target->trouble != LINE_TROUBLE_NONE)
            return advice_for_trouble(target->trouble);
        break;
    case SEARCH_NOTHING:
    case SEARCH_SOMETHING:
    case SEARCH_GATEWAY_ONLY:
    case SEARCH_LOST:
        break;
    }
    *symptom = (struct symptom){.kind = symptoms[result->verdict],
                                .exception = result->verdict == SEARCH_GATEWAY_ONLY ? 0x0b : 0};
    if (result->refused)
        symptom->kind = SYMPTOM_REFUSED;
    return advice_for(*symptom, line, searched ? ADVICE_SEARCHED : ADVICE_ALL);
}

static void tell_target(struct target *target, struct output *output)
{
    const struct search_result *result = result_of(target);
    struct advice advice = {0};
    const struct advice_row *row = row_for(target, result, &advice.items[0].symptom);
    if (row != NULL && !result->interrupted) {
        advice.items[0].row = row;
        advice.count = 1;
    }
    doc_find(&output->sink, result, &advice);
}

/* A find anywhere is a find; no contact is the status only where no host was contacted. */
static int status_of_all(struct find *find)
{
    int status = STATUS_CONTACT;
    for (size_t i = 0; i < find->count; i++) {
        if (!find->targets[i].begun)
            continue;
        int one = status_of(result_of(&find->targets[i]));
        if (one == STATUS_AGREES)
            return one;
        status = one == STATUS_BUSY || status == STATUS_CONTACT ? one : status;
    }
    return status;
}

static int search_targets(struct find *find, struct output *output)
{
    struct progress *progress = progress_start(find->run->loop, tell, find);
    while (keep_going(find) && loop_run(find->run->loop, one_has_ended, find, -1))
        ;
    progress_end(progress);
    for (size_t i = 0; i < find->count; i++)
        if (find->targets[i].begun)
            tell_target(&find->targets[i], output);
    return status_of_all(find);
}

static int search_all(struct find *find, struct output *output, const struct options *options)
{
    struct run run;
    run_begin(&run);
    find->run = &run;
    int status = run_trace(&run, options);
    if (status == STATUS_AGREES)
        status = run_trace_end(&run, search_targets(find, output));
    else
        output_discard(output);
    find_free(find);
    struct error error = {0};
    if (!output_finish(output, &error))
        status = (int)trouble(&error);
    run_end(&run);
    find->run = NULL; /* it ends here */
    return status;
}

int command_find(const struct options *options)
{
    struct find find;
    struct output output;
    struct error error = {0};
    if (find_begin(&find, options, &error) && output_open(&output, options, &error))
        return search_all(&find, &output, options);
    find_free(&find);
    return (int)trouble(&error);
}
