/* SPDX-License-Identifier: MIT */
/* setpoints: the worksheet of one or more sheets, without a drive. */
#include "command/command.h"
#include "command/commands.h"
#include "command/job.h"
#include "command/output.h"
#include "command/trouble.h"
#include "report/documents.h"
#include "verdict/worksheet.h"

static int show(const struct job *job, struct output *output)
{
    struct findings findings = {0};
    worksheet(&job->map, &job->setpoints, &findings);
    doc_setpoints(&output->sink, &job->sheet, &job->map, &job->setpoints, &findings);
    findings_free(&findings);
    return job->setpoints.implausible.count > 0 ? STATUS_DIFFERS : STATUS_AGREES;
}

int command_setpoints(const struct options *options)
{
    struct jobs jobs;
    struct output output;
    struct error error = {0};
    int status = jobs_load(&jobs, options, options->operand_count, false);
    if (status == STATUS_AGREES && !output_open(&output, options, &error)) {
        status = (int)trouble(&error);
    } else if (status == STATUS_AGREES) {
        for (size_t i = 0; i < jobs.count; i++) {
            int one = show(&jobs.items[i], &output);
            status = one == STATUS_AGREES ? status : one;
        }
        if (!output_finish(&output, &error))
            status = (int)trouble(&error);
    }
    jobs_free(&jobs);
    return status;
}
