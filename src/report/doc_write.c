/* SPDX-License-Identifier: MIT */
/* A list of writes: what it would change and how to confirm it, why it is refused, or what became of each. */
#include "report/fields.h"

#include "report/escape.h"
#include "report/words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const columns[] = {"tag",  "verdict",  "parameter", "means",     "now",   "to",
                                      "unit", "at_stake", "outcome",   "exception", "found", "note",
                                      "why",  "raw_now",  "raw_to",    "raw_found", NULL};

/* How an outcome counts in the last line, in the order it is told there. */
enum count { COUNT_UNKNOWN, COUNT_KEPT, COUNT_CLAMPED, COUNT_NOT_KEPT, COUNT_REFUSED, COUNT_NOT_WRITTEN };
enum { COUNTS = 6 };

static const char *const count_words[COUNTS] = {
    [COUNT_UNKNOWN] = "unknown",   [COUNT_KEPT] = "kept",       [COUNT_CLAMPED] = "clamped",
    [COUNT_NOT_KEPT] = "not kept", [COUNT_REFUSED] = "refused", [COUNT_NOT_WRITTEN] = "not written"};

/* What became of one write, for a person. */
static const struct {
    const char *words;
    bool tells_found; /* what the drive holds now is news */
    enum count count;
} outcomes[WRITE_OUTCOMES] = {
    [WRITE_PLANNED] = {"not begun", false, COUNT_NOT_WRITTEN},
    [WRITE_SENT] = {"unknown: it was sent, and what came of it is not known", false, COUNT_UNKNOWN},
    [WRITE_KEPT] = {"kept", false, COUNT_KEPT},
    [WRITE_SET_BY_ITSELF] = {"kept: the drive held it already when its turn came, and nothing was sent", false,
                             COUNT_KEPT},
    [WRITE_REFUSED] = {"refused", false, COUNT_REFUSED},
    [WRITE_NOT_WRITTEN] = {"not written: no answer came, and the drive holds the old value", false, COUNT_NOT_WRITTEN},
    [WRITE_NOT_KEPT] = {"not kept: the drive acknowledged it, and holds the old value", false, COUNT_NOT_KEPT},
    [WRITE_CLAMPED] = {"clamped", true, COUNT_CLAMPED},
    [WRITE_OTHER_STATE] = {"not written: the drive was not, or no longer, proved stopped", false, COUNT_NOT_WRITTEN},
    [WRITE_ALTERED] = {"not sent: the old value was another one by then", true, COUNT_NOT_WRITTEN},
    [WRITE_UNKNOWN] = {"unknown: it could not be read back", false, COUNT_UNKNOWN},
    [WRITE_LEFT_OUT] = {"not begun: the list ended before its turn", false, COUNT_NOT_WRITTEN},
};

struct tally {
    size_t of[COUNTS];
};

static struct tally tally_of(const struct change_list *list)
{
    struct tally tally = {{0}};
    for (size_t i = 0; i < list->count; i++)
        tally.of[outcomes[list->items[i].outcome].count]++;
    return tally;
}

/* What the list has come to. */
enum standing {
    STANDING_NOTHING,
    STANDING_PENDING,
    STANDING_REFUSED,
    STANDING_KEPT,
    STANDING_STOPPED,
    STANDING_UNKNOWN,
};

static const char *const standing_words[] = {[STANDING_NOTHING] = "nothing-to-change", [STANDING_PENDING] = "pending",
                                             [STANDING_REFUSED] = "refused",           [STANDING_KEPT] = "kept",
                                             [STANDING_STOPPED] = "stopped",           [STANDING_UNKNOWN] = "unknown"};

static enum standing standing_of(const struct change_list *list)
{
    if (list->refusal_count > 0)
        return STANDING_REFUSED;
    if (list->count == 0)
        return STANDING_NOTHING;
    if (!list->performed)
        return STANDING_PENDING;
    struct tally tally = tally_of(list);
    bool is_known = tally.of[COUNT_UNKNOWN] == 0 && list->save != SAVE_UNKNOWN && record_id_given(&list->after);
    if (!is_known)
        return STANDING_UNKNOWN;
    bool saved = list->save == SAVE_NONE || list->save == SAVE_DONE;
    return tally.of[COUNT_KEPT] == list->count && saved ? STANDING_KEPT : STANDING_STOPPED;
}

/* ---- above the list ---- */

/* NULL where there is nothing to be said. */
static const char *save_words(const struct change_list *list)
{
    switch (list->save) {
    case SAVE_NONE:
        return NULL;
    case SAVE_PLANNED:
        return list->performed ? "not sent: what was written does not outlive the power"
                               : "the drive's save command is sent when all are kept";
    case SAVE_DONE:
        return "done: what was written outlives the power";
    case SAVE_FAILED:
        return "failed: what was written does not outlive the power";
    case SAVE_UNKNOWN:
        return "unknown: whether what was written outlives the power";
    }
    return NULL;
}

static void show_id(struct sink *sink, const char *label, const struct record_id *id, const char *what)
{
    if (!record_id_given(id))
        return;
    char *digits = words_id(id);
    sink_field_owned(sink, NULL, ROLE_FACT, label, text_format("record %s%s", digits, what));
    free(digits);
}

static void write_head(struct sink *sink, const struct change_report *report, enum standing standing)
{
    const struct change_list *list = report->list;
    const char *save = save_words(list);
    fields_visit(sink, report->visit);
    show_id(sink, "from", &list->from, "");
    show_id(sink, "before", &list->before, ": what the drive held before the first write");
    show_id(sink, "after", &list->after, ": what it held after the last one");
    if (save != NULL && standing != STANDING_REFUSED && standing != STANDING_NOTHING)
        sink_field(sink, NULL, ROLE_FACT, "save", cell_text(save));

    sink_field(sink, "what", ROLE_DATA, NULL, cell_text(list->restores ? "restore" : "write"));
    sink_field_id(sink, "from", &list->from);
    sink_field(sink, "verdict", ROLE_DATA, NULL, cell_text(standing_words[standing]));
    sink_field(sink, "performed", ROLE_DATA, NULL, cell_bool(list->performed));
    sink_field(sink, "code", ROLE_DATA, NULL, cell_text(list->code[0] == '\0' ? NULL : list->code));
    sink_field(sink, "code_refused", ROLE_DATA, NULL, cell_text(report->refused));
    sink_field(sink, "command", ROLE_DATA, NULL, cell_text(standing == STANDING_PENDING ? report->command : NULL));
    sink_field(sink, "save", ROLE_DATA, NULL, cell_text(save_outcome_word(list->save)));
    sink_field_id(sink, "record_before", &list->before);
    sink_field_id(sink, "record_after", &list->after);
}

static void show_counted(struct sink *sink, enum role mood, const char *heading, size_t count)
{
    char *text = text_format("%s (%zu)", heading, count);
    sink_heading(sink, mood, text);
    free(text);
}

static char *refusal_words(const struct refusal *refusal)
{
    return refusal->parameter == NULL ? text_copy(refusal->reason)
                                      : text_format("%s: %s", refusal->parameter, refusal->reason);
}

static void write_refusals(struct sink *sink, const struct change_list *list)
{
    sink_open(sink, "refusals", GROUP_SIDE_ROWS);
    if (list->refusal_count > 0)
        show_counted(sink, ROLE_BAD, "REFUSED", list->refusal_count);
    for (size_t i = 0; i < list->refusal_count; i++) {
        const struct refusal *refusal = &list->refusals[i];
        char label[24];
        (void)snprintf(label, sizeof label, "  %zu", i + 1);
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field_owned(sink, NULL, ROLE_FACT, label, refusal_words(refusal));
        sink_field(sink, "parameter", ROLE_DATA, NULL, cell_text(refusal->parameter));
        sink_field(sink, "reason", ROLE_DATA, NULL, cell_text(refusal->reason));
        sink_close(sink);
    }
    sink_close(sink);
}

/* ---- the list ---- */

static char *outcome_words(const struct change *change)
{
    const char *words = outcomes[change->outcome].words;
    char symptom[32];
    if (change->outcome == WRITE_REFUSED)
        return text_format(
            "%s (%s)", words,
            symptom_word((struct symptom){SYMPTOM_EXCEPTION, change->exception}, symptom, sizeof symptom));
    if (outcomes[change->outcome].tells_found && change->found_shown != NULL)
        return text_format("%s: the drive holds %s", words, change->found_shown);
    return text_copy(words);
}

static void show_change(struct sink *sink, const struct change_list *list, const struct change *change,
                        const char *parameter)
{
    sink_field(sink, NULL, ROLE_NAME, "parameter", cell_text(parameter));
    sink_field(sink, NULL, ROLE_FOUND, list->performed ? "was" : "now", cell_text(change->now_shown));
    sink_field(sink, NULL, ROLE_EXPECTED, "to", cell_text(change->to_shown));
    sink_field(sink, NULL, ROLE_STAKE, "at stake", cell_text(stake_word(change->stake)));
    if (list->performed)
        sink_field_owned(sink, NULL, ROLE_NOTE, NULL, outcome_words(change));
    if (change->note != NULL)
        sink_field(sink, NULL, ROLE_NOTE, NULL, cell_text(change->note));
    if (change->why != NULL)
        sink_field(sink, NULL, ROLE_NOTE, list->performed ? "because" : NULL, cell_text(change->why));
}

static struct cell worth(double number, const char *shown)
{
    return isnan(number) ? cell_text(shown) : cell_number(number);
}

static void write_change(struct sink *sink, const struct change_report *report, const struct change *change)
{
    const struct parameter *parameter = &report->visit->map->parameters[change->parameter];
    bool has_exception = change->outcome == WRITE_REFUSED;
    sink_open(sink, NULL, GROUP_OBJECT);
    show_change(sink, report->list, change, parameter->name);
    sink_field(sink, "parameter", ROLE_DATA, NULL, cell_text(parameter->name));
    sink_field(sink, "means", ROLE_DATA, NULL,
               cell_text(parameter->means == MEANS_NONE ? NULL : means_table[parameter->means].name));
    sink_field(sink, "now", ROLE_DATA, NULL, worth(change->now_number, change->now_shown));
    sink_field(sink, "to", ROLE_DATA, NULL, worth(change->to_number, change->to_shown));
    sink_field_unit(sink, change->unit);
    sink_field(sink, "raw_now", ROLE_DATA, NULL, cell_raw(change->now, change->words));
    sink_field(sink, "raw_to", ROLE_DATA, NULL, cell_raw(change->to, change->words));
    sink_field(sink, "why", ROLE_DATA, NULL, cell_text(change->why));
    sink_field(sink, "at_stake", ROLE_DATA, NULL, cell_text(stake_word(change->stake)));
    sink_field(sink, "outcome", ROLE_DATA, NULL, cell_text(write_outcome_word(change->outcome)));
    sink_field(sink, "exception", ROLE_DATA, NULL, has_exception ? cell_integer(change->exception) : cell_null());
    sink_field(sink, "found", ROLE_DATA, NULL, cell_text(change->found_shown));
    sink_field(sink, "raw_found", ROLE_DATA, NULL,
               change->found == NULL ? cell_null() : cell_raw(change->found, change->words));
    sink_field(sink, "note", ROLE_DATA, NULL, cell_text(change->note));
    sink_field_owned(sink, "began", ROLE_DATA, NULL, change->began_ms == 0 ? NULL : words_time(change->began_ms));
    sink_close(sink);
}

static void write_changes(struct sink *sink, const struct change_report *report)
{
    const struct change_list *list = report->list;
    sink_open(sink, "changes", GROUP_ROWS);
    const char *heading = list->performed           ? "WHAT BECAME OF EACH"
                          : list->refusal_count > 0 ? "THE REFUSED LIST"
                                                    : "TO BE WRITTEN";
    if (list->count > 0)
        show_counted(sink, ROLE_OPEN, heading, list->count);
    for (size_t i = 0; i < list->count; i++)
        write_change(sink, report, &list->items[i]);
    sink_close(sink);
}

static void write_own(struct sink *sink, const struct change_report *report)
{
    const struct change_list *list = report->list;
    sink_open(sink, "changed_by_drive", GROUP_SIDE_ROWS);
    if (list->own_count > 0)
        show_counted(sink, ROLE_OPEN, "NOT ON THE LIST", list->own_count);
    for (size_t i = 0; i < list->own_count; i++) {
        const struct own_change *own = &list->own[i];
        const char *parameter = report->visit->map->parameters[own->parameter].name;
        char label[24];
        (void)snprintf(label, sizeof label, "  %zu", i + 1);
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field_owned(sink, NULL, ROLE_FACT, label,
                         text_format("changed by the drive itself: %s from %s to %s%s", parameter, own->was, own->now,
                                     own->announced ? ", as the map announces" : ""));
        sink_field(sink, "parameter", ROLE_DATA, NULL, cell_text(parameter));
        sink_field(sink, "was", ROLE_DATA, NULL, cell_text(own->was));
        sink_field(sink, "now", ROLE_DATA, NULL, cell_text(own->now));
        sink_field(sink, "announced", ROLE_DATA, NULL, cell_bool(own->announced));
        sink_close(sink);
    }
    sink_close(sink);
}

/* ---- below it ---- */

static void show_way_back(struct sink *sink, const struct change_report *report)
{
    if (!report->list->performed || !record_id_given(&report->list->before))
        return;
    const char *path = report->visit->sheet->path;
    char *sheet = report->sheet_words != NULL ? text_copy(report->sheet_words)
                  : path != NULL              ? escape_shell(path)
                                              : text_copy("SHEET");
    char *id = words_id(&report->list->before);
    sink_heading(sink, ROLE_OPEN, "TO PUT BACK WHAT WAS THERE");
    sink_field_owned(sink, NULL, ROLE_COPY, NULL, text_format("asleft restore %s %s", sheet, id));
    free(id);
    free(sheet);
}

/* The line that ends the page of a list that is not written yet. */
static void write_offer(struct sink *sink, const struct change_report *report)
{
    const struct change_list *list = report->list;
    const char *tag = report->visit->sheet->tag;
    if (report->command != NULL) {
        sink_heading(sink, ROLE_OPEN, "NOTHING HAS BEEN WRITTEN");
        sink_field_owned(sink, NULL, ROLE_COPY, NULL, text_format("to write this: %s", report->command));
    } else if (report->refused != NULL) {
        sink_field_owned(sink, NULL, ROLE_BAD, NULL, text_format("%s: refused: %s", tag, report->refused));
    } else {
        sink_field_owned(sink, NULL, ROLE_OPEN, NULL,
                         text_format("%s: %zu change%s pending, nothing has been written", tag, list->count,
                                     list->count == 1 ? "" : "s"));
    }
}

/* "P-204: refused: set this at the keypad, with enable open (and 2 more)" */
static void write_refused(struct sink *sink, const struct change_report *report)
{
    const struct change_list *list = report->list;
    char *first = refusal_words(&list->refusals[0]);
    char *more = list->refusal_count == 1 ? text_copy("") : text_format(" (and %zu more)", list->refusal_count - 1);
    sink_field_owned(sink, NULL, ROLE_BAD, NULL,
                     text_format("%s: refused: %s%s", report->visit->sheet->tag, first, more));
    free(more);
    free(first);
}

/* "1 kept, 1 not kept, 2 not written", without what did not happen. */
static char *tally_words(const struct change_list *list)
{
    struct tally tally = tally_of(list);
    struct texts parts = {0};
    for (size_t i = 0; i < COUNTS; i++)
        if (tally.of[i] > 0)
            texts_add(&parts, text_format("%zu %s", tally.of[i], count_words[i]));
    char *text = texts_join(&parts, ", ");
    texts_free(&parts);
    return text;
}

static void write_performed(struct sink *sink, const struct change_report *report, enum standing standing)
{
    const struct change_list *list = report->list;
    const char *tag = report->visit->sheet->tag;
    struct tally tally = tally_of(list);
    bool all_kept = tally.of[COUNT_KEPT] == list->count;
    const char *unsaved = list->save == SAVE_UNKNOWN                                ? "; whether saved is unknown"
                          : list->save == SAVE_FAILED || list->save == SAVE_PLANNED ? "; not saved"
                                                                                    : "";
    const char *unseen = record_id_given(&list->after) ? "" : "; what else changed is unknown";
    enum role mood = standing == STANDING_KEPT ? ROLE_GOOD : standing == STANDING_STOPPED ? ROLE_BAD : ROLE_OPEN;
    char *counts = all_kept ? text_format("all %zu written and kept", list->count) : tally_words(list);
    bool stopped = !all_kept && tally.of[COUNT_UNKNOWN] == 0;
    sink_field_owned(sink, NULL, mood, NULL,
                     text_format("%s: %s%s%s%s", tag, stopped ? "stopped: " : "", counts, unsaved, unseen));
    free(counts);
}

static void write_last_line(struct sink *sink, const struct change_report *report, enum standing standing)
{
    const struct change_list *list = report->list;
    switch (standing) {
    case STANDING_NOTHING:
        sink_field_owned(sink, NULL, list->left.count > 0 ? ROLE_OPEN : ROLE_GOOD, NULL,
                         text_format("%s: nothing to change", report->visit->sheet->tag));
        break;
    case STANDING_PENDING:
        write_offer(sink, report);
        break;
    case STANDING_REFUSED:
        write_refused(sink, report);
        break;
    case STANDING_KEPT:
    case STANDING_STOPPED:
    case STANDING_UNKNOWN:
        write_performed(sink, report, standing);
        break;
    }
}

void doc_write(struct sink *sink, const struct change_report *report)
{
    const struct change_list *list = report->list;
    enum standing standing = standing_of(list);
    sink_begin(sink, "asleft/write/1", columns);
    write_head(sink, report, standing);
    if (report->refused != NULL) {
        sink_heading(sink, ROLE_BAD, "NOT CONFIRMED");
        sink_field(sink, NULL, ROLE_FACT, "  because", cell_text(report->refused));
    }
    if (!list->performed)
        show_list(sink, ROLE_BAD, "CAUTION", &list->cautions);
    sink_field(sink, "cautions", ROLE_DATA, NULL, cell_words(&list->cautions));
    write_refusals(sink, list);
    write_changes(sink, report);
    write_own(sink, report);
    show_list(sink, ROLE_OPEN, "STAYS AS IT IS", &list->left);
    sink_field(sink, "left", ROLE_DATA, NULL, cell_words(&list->left));
    show_list(sink, ROLE_OPEN, "STILL TO DO", &list->punch);
    sink_field(sink, "to_do", ROLE_DATA, NULL, cell_words(&list->punch));
    show_advice(sink, report->visit);
    fields_advice(sink, &report->visit->advice);
    fields_traffic(sink, &report->visit->readings->traffic);
    show_way_back(sink, report);
    write_last_line(sink, report, standing);
    sink_end(sink);
}
