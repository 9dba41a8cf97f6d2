/* SPDX-License-Identifier: MIT */
/* One drive that a command is about: its sheet, map, setpoints and line. */
#ifndef ASLEFT_COMMAND_JOB_H
#define ASLEFT_COMMAND_JOB_H

#include "command/options.h"
#include "files/files.h"
#include "types/setpoints.h"

struct job {
    struct sheet sheet;
    struct map map;
    struct setpoints setpoints;
    struct line line;
};

struct jobs {
    struct job *items;
    size_t count;
};

/* Reads the first `count` operands as sheets, all before any drive is asked. Trouble is told on standard error; the
 * status is 0, STATUS_FILE, or STATUS_USE where `with_line` and a sheet and the options together name no line. */
int jobs_load(struct jobs *jobs, const struct options *options, size_t count, bool with_line);
void jobs_free(struct jobs *jobs);

#endif
