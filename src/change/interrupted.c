/* SPDX-License-Identifier: MIT */
/* What an interrupted write has left behind, in words. */
#include "change/interrupted.h"

#include "change/when.h"

#include <stdlib.h>

/* What is said of the steps with one outcome; the most urgent first. */
static const struct {
    enum write_outcome outcome;
    const char *says;
} groups[WRITE_OUTCOMES] = {
    {WRITE_SENT, "Not known, the request was on its way (read these at the drive)"},
    {WRITE_UNKNOWN, "Not known, it could not be read back (read these at the drive)"},
    {WRITE_CLAMPED, "Written, and the drive took another value"},
    {WRITE_NOT_KEPT, "Written, and the drive did not keep it"},
    {WRITE_REFUSED, "Refused by the drive"},
    {WRITE_NOT_WRITTEN, "Not written, the drive did not answer"},
    {WRITE_OTHER_STATE, "Not written, the drive was not proved stopped"},
    {WRITE_ALTERED, "Not written, the drive held another value than the list says"},
    {WRITE_KEPT, "Written and read back"},
    {WRITE_SET_BY_ITSELF, "Set by the drive itself"},
    {WRITE_LEFT_OUT, "Left out"},
    {WRITE_PLANNED, "Not begun"},
};

static void tell_step(const struct journal_step *step, struct texts *parts)
{
    const char *was = step->was_shown == NULL ? "?" : step->was_shown;
    const char *to = step->to_shown == NULL ? "?" : step->to_shown;
    if (step->note != NULL)
        texts_add(parts, text_format("%s from %s to %s (%s)", step->parameter, was, to, step->note));
    else
        texts_add(parts, text_format("%s from %s to %s", step->parameter, was, to));
}

static void tell_group(const struct journal *journal, size_t group, struct texts *lines)
{
    struct texts parts = {0};
    for (size_t i = 0; i < journal->step_count; i++)
        if (journal->steps[i].parameter != NULL && journal->steps[i].outcome == groups[group].outcome)
            tell_step(&journal->steps[i], &parts);
    if (parts.count > 0) {
        char *all = texts_join(&parts, "; ");
        texts_add(lines, text_format("%s: %s.", groups[group].says, all));
        free(all);
    }
    texts_free(&parts);
}

static bool has_reached_drive(enum write_outcome outcome)
{
    return outcome == WRITE_SENT || outcome == WRITE_UNKNOWN || outcome == WRITE_KEPT || outcome == WRITE_CLAMPED;
}

/* The save command is a step without parameter. */
static void tell_save(const struct journal *journal, bool anything, struct texts *lines)
{
    for (size_t i = 0; i < journal->step_count; i++) {
        const struct journal_step *step = &journal->steps[i];
        if (step->parameter != NULL || step->outcome == WRITE_KEPT || !anything)
            continue;
        bool unknown = step->outcome == WRITE_SENT || step->outcome == WRITE_UNKNOWN;
        texts_add(lines, text_copy(unknown ? "Whether the drive saved its values is not known: what was written may be "
                                             "lost at power off."
                                           : "The drive was not told to save: what was written is lost at power off."));
    }
}

static void tell_start(const struct journal *journal, bool running, struct texts *lines)
{
    char *when = when_text(journal->began_ms);
    texts_add(lines, text_format("A %s of %s (%s, unit %u), begun %s by %s on %s, did not come to its end.",
                                 journal->restores ? "restore" : "write", journal->tag, journal->line, journal->unit,
                                 when, journal->who, journal->host));
    if (running)
        texts_add(lines, text_format("The line is in use at this moment: it may still be at work (process %lld on %s). "
                                     "Wait until it has ended, then call again.",
                                     (long long)journal->process, journal->host));
    free(when);
}

void interrupted_tell(const struct journal *journal, const char *sheet, bool running, struct texts *lines)
{
    if (journal->ended_ms != 0)
        return;
    bool anything = false;
    for (size_t i = 0; i < journal->step_count; i++)
        anything = anything || (journal->steps[i].parameter != NULL && has_reached_drive(journal->steps[i].outcome));
    tell_start(journal, running, lines);
    for (size_t i = 0; i < WRITE_OUTCOMES; i++)
        tell_group(journal, i, lines);
    tell_save(journal, anything, lines);
    if (running)
        return;
    if (!anything) {
        texts_add(lines, text_copy("Nothing was written: the drive holds what it held."));
    } else if (record_id_given(&journal->before)) {
        char id[RECORD_ID_TEXT];
        texts_add(lines,
                  text_format("Keep the machine stopped until this is settled. To put back what was there: asleft "
                              "restore %s %.*s",
                              sheet, (int)RECORD_ID_SHORT, record_id_text(&journal->before, id)));
    } else {
        texts_add(lines, text_copy("Keep the machine stopped until this is settled. There is no record of what was "
                                   "there: put it back by hand."));
    }
    texts_add(lines, text_format("To see what is still to be written: asleft write %s", sheet));
}
