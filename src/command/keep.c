/* SPDX-License-Identifier: MIT */
/* The store of records as the commands use it: opened, asked for interrupted writes, and told who keeps what. */
#include "command/keep.h"

#include "bus/clock.h"
#include "bus/line_lock.h"
#include "change/interrupted.h"
#include "command/confirm.h"
#include "command/trouble.h"
#include "report/words.h"

#include <limits.h>
#include <pwd.h>
#include <stdlib.h>
#include <unistd.h>

static char *login_name(void)
{
    const struct passwd *entry = getpwuid(geteuid());
    return entry != NULL ? text_copy(entry->pw_name) : text_format("user %lu", (unsigned long)geteuid());
}

static char *host_name(void)
{
    char name[HOST_NAME_MAX + 1] = {0};
    return text_copy(gethostname(name, sizeof name - 1) == 0 && name[0] != '\0' ? name : "unnamed");
}

bool keep_open(struct keep *keep, const struct options *options, enum store_use use, struct error *error)
{
    *keep = (struct keep){.options = options, .who = login_name(), .host = host_name()};
    keep->where = options->store != NULL ? text_copy(options->store) : store_default(error);
    return keep->where != NULL && store_open(keep->where, use, &keep->store, error);
}

void keep_look(struct keep *keep, const struct options *options)
{
    struct error error = {0};
    /* where nobody can say where a store would be, there is none */
    if (!keep_open(keep, options, STORE_LOOK, &error) && keep->where != NULL)
        trouble_warning(error.text);
}

void keep_close(struct keep *keep)
{
    store_close(keep->store);
    free(keep->where);
    free(keep->who);
    free(keep->host);
    free(keep->line);
    *keep = (struct keep){0};
}

bool keep_tell_interrupted(const struct keep *keep, const struct job *job, struct error *error)
{
    if (keep->store == NULL)
        return true;
    struct journal journal = {0};
    struct texts lines = {0};
    bool found = false;
    bool asked = store_journal_open(keep->store, job->sheet.tag, &found, &journal, error);
    char *sheet = confirm_words(keep->options, job->sheet.path);
    if (asked && found)
        interrupted_tell(&journal, sheet, line_lock_is_held(&job->line), &lines);
    for (size_t i = 0; i < lines.count; i++)
        trouble_note(lines.items[i]);
    free(sheet);
    texts_free(&lines);
    journal_free(&journal);
    return asked;
}

void keep_remind(const struct keep *keep, const struct job *job)
{
    struct error error = {0};
    if (!keep_tell_interrupted(keep, job, &error))
        trouble_warning(error.text);
}

bool keep_settle(const struct keep *keep, const struct job *job, struct error *error)
{
    const struct clock clock = clock_system();
    return store_journal_settle(keep->store, job->sheet.tag, clock.wall_ms(clock.user), error);
}

/* Something was written, and the save that belongs to it was not done. */
static bool lacks_its_save(const struct journal *journal)
{
    bool written = false, missing = false;
    for (size_t i = 0; i < journal->step_count; i++) {
        const struct journal_step *step = &journal->steps[i];
        if (step->parameter == NULL)
            missing = step->outcome != WRITE_KEPT;
        else
            written |= step->outcome != WRITE_PLANNED && step->outcome != WRITE_LEFT_OUT;
    }
    return written && missing;
}

bool keep_settle_found(const struct keep *keep, const struct job *job, const struct record *held, struct error *error)
{
    struct journal journal = {0};
    bool found = false;
    bool asked = store_journal_open(keep->store, job->sheet.tag, &found, &journal, error);
    bool as_before = found && held != NULL && record_id_equal(&held->id, &journal.before);
    bool stays = !found || (lacks_its_save(&journal) && !as_before);
    bool settled = asked && (stays || keep_settle(keep, job, error));
    journal_free(&journal);
    return settled;
}

struct recorder keep_recorder(struct keep *keep, const struct job *job)
{
    free(keep->line);
    keep->line = words_line(&job->line);
    return (struct recorder){
        .who = keep->who, .host = keep->host, .tool = "asleft " ASLEFT_VERSION, .line = keep->line};
}
