/* SPDX-License-Identifier: MIT */
/* One drive that a command is about: its sheet, map, setpoints and line. */
#include "command/job.h"

#include "command/trouble.h"
#include "motor/setpoints.h"

#include <stdlib.h>

static int load(struct job *job, const struct options *options, const char *path, bool with_line)
{
    struct problems problems = {0};
    struct error error = {0};
    int status = sheet_load(path, &job->sheet, &job->map, &problems) ? STATUS_AGREES : STATUS_FILE;
    trouble_files(&problems);
    problems_free(&problems);
    if (status != STATUS_AGREES)
        return status;
    setpoints_compute(&job->sheet, &job->map, &job->setpoints);
    if (with_line && !options_line(options, &job->sheet, &job->line, &error))
        status = (int)trouble(&error);
    return status;
}

int jobs_load(struct jobs *jobs, const struct options *options, size_t count, bool with_line)
{
    int status = STATUS_AGREES;
    jobs->items = memory_new(count, sizeof *jobs->items);
    jobs->count = count;
    for (size_t i = 0; i < count; i++) {
        int one = load(&jobs->items[i], options, options->operands[i], with_line);
        status = status == STATUS_AGREES ? one : status;
    }
    return status;
}

void jobs_free(struct jobs *jobs)
{
    for (size_t i = 0; i < jobs->count; i++) {
        setpoints_free(&jobs->items[i].setpoints);
        line_free(&jobs->items[i].line);
        sheet_free(&jobs->items[i].sheet);
        map_free(&jobs->items[i].map);
    }
    free(jobs->items);
    *jobs = (struct jobs){0};
}
