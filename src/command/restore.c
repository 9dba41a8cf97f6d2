/* SPDX-License-Identifier: MIT */
/* restore: puts the values of a record back into a drive, as write does with setpoints. */
#include "command/apply.h"
#include "command/command.h"
#include "command/commands.h"
#include "command/trouble.h"
#include "files/record_file.h"

#include <string.h>
#include <unistd.h>

static bool is_id(const char *word)
{
    size_t length = strlen(word);
    return length >= RECORD_ID_SHORT && length < RECORD_ID_TEXT && strspn(word, "0123456789abcdef") == length;
}

static bool ends_in(const char *word, const char *ending)
{
    size_t length = strlen(word), tail = strlen(ending);
    return length > tail && strcmp(word + length - tail, ending) == 0;
}

/* A word for a record wins over a file of that name: "./found" is the file. */
static bool names_file(const char *word)
{
    enum record_kind kind;
    if (strchr(word, '/') != NULL || ends_in(word, ".yaml"))
        return true;
    return !is_id(word) && !record_kind_find(word, &kind) && access(word, F_OK) == 0;
}

/* The record is the caller's in any case. */
static int find_record(const struct keep *keep, const struct job *job, const char *word, struct record *record)
{
    struct problems problems = {0};
    struct error error = {0};
    if (names_file(word)) {
        int status = record_load(word, record, &problems) ? STATUS_AGREES : STATUS_FILE;
        trouble_files(&problems);
        problems_free(&problems);
        return status;
    }
    return store_get(keep->store, job->sheet.tag, word, record, &error) ? STATUS_AGREES : (int)trouble(&error);
}

int command_restore(const struct options *options)
{
    struct jobs jobs = {0};
    struct keep keep = {0};
    struct record record = {0};
    int status = apply_begin(options, 2, &jobs, &keep);
    if (status == STATUS_AGREES)
        status = find_record(&keep, jobs.items, options->operands[1], &record);
    if (status == STATUS_AGREES) {
        struct apply_order order = {
            .command = "restore", .options = options, .job = jobs.items, .keep = &keep, .record = &record};
        status = apply(&order);
    }
    record_free(&record);
    keep_close(&keep);
    jobs_free(&jobs);
    return status;
}
