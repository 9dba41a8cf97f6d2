/* SPDX-License-Identifier: MIT */
/* write: shows what would be changed in a drive, and changes it where that is confirmed. */
#include "command/apply.h"
#include "command/command.h"
#include "command/commands.h"

int command_write(const struct options *options)
{
    struct jobs jobs = {0};
    struct keep keep = {0};
    int status = apply_begin(options, 1, &jobs, &keep);
    if (status == STATUS_AGREES) {
        struct apply_order order = {.command = "write", .options = options, .job = jobs.items, .keep = &keep};
        status = apply(&order);
    }
    keep_close(&keep);
    jobs_free(&jobs);
    return status;
}
