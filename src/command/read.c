/* SPDX-License-Identifier: MIT */
/* read: the drive's values now, once or again and again. */
#include "command/commands.h"
#include "command/keep.h"
#include "command/output.h"
#include "command/run.h"
#include "command/trouble.h"
#include "types/nearest.h"

#include <stdlib.h>

struct reading_order {
    struct wanted wanted; /* what is read */
    size_t *shown;        /* in the order of the command line; owned */
    size_t count;
};

static bool unknown_parameter(const struct map *map, const char *name, struct error *error)
{
    const char **names = memory_new(map->count, sizeof *names);
    for (size_t i = 0; i < map->count; i++)
        names[i] = map->parameters[i].name;
    const char *near = nearest(name, names, map->count);
    if (near != NULL)
        error_set(error, ERROR_USE, "map %s has no parameter '%s'; did you mean %s", map->name, name, near);
    else
        error_set(error, ERROR_USE, "map %s has no parameter '%s'", map->name, name);
    free(names);
    return false;
}

static void order_add(struct reading_order *order, size_t parameter)
{
    order->shown[order->count++] = parameter;
    wanted_add(&order->wanted, parameter);
}

/* What the operands behind the sheet name, else all that may be read. */
static bool order_make(const struct options *options, const struct map *map, struct reading_order *order,
                       struct error *error)
{
    bool all = options->operand_count == 1;
    *order = (struct reading_order){.shown = memory_new(map->count + options->operand_count, sizeof *order->shown)};
    for (size_t i = 0; all && i < map->count; i++)
        if (map->parameters[i].kind != KIND_COMMAND)
            order_add(order, i);
    for (size_t i = 1; i < options->operand_count; i++) {
        size_t parameter = map_find(map, options->operands[i]);
        if (parameter == PARAMETER_NOT_FOUND)
            return unknown_parameter(map, options->operands[i], error);
        if (map->parameters[parameter].kind == KIND_COMMAND)
            return error_set(error, ERROR_USE, "'%s' is a command word of the drive, not a value",
                             options->operands[i]);
        order_add(order, parameter);
    }
    return true;
}

static int status_of(const struct reading_order *order, const struct visit *visit, const struct run_line *line)
{
    int contact = run_contact(line);
    if (contact != STATUS_AGREES)
        return contact;
    for (size_t i = 0; i < order->count; i++)
        if (visit_readings(visit)->items[order->shown[i]].symptom.kind != SYMPTOM_NONE)
            return STATUS_INCOMPLETE;
    return STATUS_AGREES;
}

static int read_passes(struct run *run, const struct job *job, const struct reading_order *order, struct output *output,
                       const struct options *options)
{
    struct run_line line = run_open(run, job);
    int status = STATUS_AGREES;
    bool endless = options->every_s > 0 && options->passes == 0;
    unsigned passes = options->passes == 0 ? 1 : options->passes;
    int64_t start_us = run->clock.now_us(run->clock.user);
    for (unsigned pass = 0; (endless || pass < passes) && !run_interrupted(); pass++) {
        struct visit *visit = run_visit(run, job, line.link, &order->wanted, false);
        if (visit == NULL)
            break;
        int one = status_of(order, visit, &line);
        status = one == STATUS_AGREES ? status : one;
        run_tell_unopened(run, &line, job, visit);
        struct visit_report report = run_report(job, &line, visit);
        report.parameters = order->shown;
        report.parameter_count = order->count;
        doc_read(&output->sink, &report);
        visit_free(visit);
        if (!output_flush(output, NULL) || line.link == NULL)
            break;
        if (endless || pass + 1 < passes)
            run_sleep(run, start_us + (int64_t)((double)(pass + 1) * options->every_s * 1e6));
    }
    link_free(line.link);
    return status;
}

static int read_drive(const struct job *job, const struct reading_order *order, struct output *output,
                      const struct options *options)
{
    struct run run;
    struct keep keep;
    keep_look(&keep, options);
    keep_remind(&keep, job);
    keep_close(&keep);
    run_begin(&run);
    int status = run_trace(&run, options);
    if (status == STATUS_AGREES)
        status = run_trace_end(&run, read_passes(&run, job, order, output, options));
    else
        output_discard(output);
    /* what was read before a signal came is a result; an endless reading has no other end */
    struct error error = {0};
    if (!output_finish(output, &error))
        status = (int)trouble(&error);
    run_end(&run);
    return status;
}

int command_read(const struct options *options)
{
    struct jobs jobs;
    struct output output;
    struct reading_order order = {0};
    struct error error = {0};
    int status = jobs_load(&jobs, options, 1, true);
    if (status == STATUS_AGREES) {
        if (order_make(options, &jobs.items[0].map, &order, &error) && output_open(&output, options, &error))
            status = read_drive(&jobs.items[0], &order, &output, options);
        else
            status = (int)trouble(&error);
    }
    wanted_free(&order.wanted);
    free(order.shown);
    jobs_free(&jobs);
    return status;
}
