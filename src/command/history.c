/* SPDX-License-Identifier: MIT */
/* history: the records that are kept of drives, and what changed between them. */
#include "change/interrupted.h"
#include "command/commands.h"
#include "command/keep.h"
#include "command/output.h"
#include "command/trouble.h"
#include "report/documents.h"
#include "types/nearest.h"

#include <stdlib.h>
#include <string.h>

static bool gather_tag(void *user, const struct record *record)
{
    struct texts *tags = user;
    if (!texts_have(tags, record->tag))
        texts_add(tags, text_copy(record->tag));
    return true;
}

static bool gather_parameter(void *user, const struct history_row *row)
{
    struct texts *names = user;
    if (!texts_have(names, row->parameter))
        texts_add(names, text_copy(row->parameter));
    return true;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* Nothing of `given` is in the store. */
static bool unknown(const char *what, const char *given, const struct texts *names, struct error *error)
{
    const char *near = nearest(given, (const char *const *)names->items, names->count);
    if (near != NULL)
        return error_set(error, ERROR_USE, "the store has no %s '%s'; did you mean %s", what, given, near);
    return error_set(error, ERROR_USE, "the store has no %s '%s'", what, given);
}

/* The drives that are asked for: one, or all of the store by name. */
static bool find_tags(struct store *store, const char *tag, struct texts *tags, struct error *error)
{
    if (!store_list(store, NULL, 0, gather_tag, tags, error))
        return false;
    if (tag == NULL) {
        if (tags->count > 0)
            qsort(tags->items, tags->count, sizeof *tags->items, by_name);
        return true;
    }
    if (!texts_have(tags, tag))
        return unknown("drive", tag, tags, error);
    texts_free(tags);
    texts_add(tags, text_copy(tag));
    return true;
}

static bool parameter_is_known(struct store *store, const char *tag, const char *parameter, struct error *error)
{
    if (parameter == NULL)
        return true;
    struct history_query query = {.tag = tag, .parameter = NULL, .first_too = true};
    struct texts names = {0};
    bool known = store_history(store, &query, gather_parameter, &names, error);
    if (known && !texts_have(&names, parameter))
        known = unknown("parameter", parameter, &names, error);
    texts_free(&names);
    return known;
}

static bool tell_record(void *user, const struct record *record)
{
    doc_history_record(user, record);
    return true;
}

/* What is told, and of which parameter: NULL of all. */
struct telling {
    struct history_doc doc;
    const char *parameter;
};

/* What flows or runs is another value in each record. It is told to whoever asks for it by name. */
static bool tell_change(void *user, const struct history_row *row)
{
    static const char live[] = "live.";
    struct telling *telling = user;
    if (telling->parameter != NULL || row->means == NULL || strncmp(row->means, live, sizeof live - 1) != 0)
        doc_history_change(&telling->doc, row->record, row->was, row->now);
    return true;
}

static bool interrupted_lines(struct store *store, const char *tag, struct texts *lines, struct error *error)
{
    struct journal journal = {0};
    bool found = false;
    bool asked = store_journal_open(store, tag, &found, &journal, error);
    if (asked && found)
        interrupted_tell(&journal, "SHEET", false, lines);
    journal_free(&journal);
    return asked;
}

/* The first value of one parameter is worth a line; those of all would hide the changes. */
static bool tell_drive(struct store *store, const char *tag, const struct options *options, struct sink *sink,
                       struct error *error)
{
    struct history_query query = {.tag = tag,
                                  .parameter = options->parameter,
                                  .since_ms = options->since_ms,
                                  .first_too = options->parameter != NULL};
    struct texts lines = {0};
    struct telling telling = {.parameter = options->parameter};
    if (!interrupted_lines(store, tag, &lines, error))
        return false;
    doc_history_begin(&telling.doc, sink, tag);
    bool told = store_list(store, tag, options->since_ms, tell_record, &telling.doc, error) &&
                store_history(store, &query, tell_change, &telling, error);
    doc_history_end(&telling.doc, lines.count > 0 ? &lines : NULL);
    texts_free(&lines);
    return told;
}

static bool tell_all(const struct options *options, struct store *store, struct output *output, struct error *error)
{
    const char *tag = options->operand_count > 0 ? options->operands[0] : NULL;
    struct texts tags = {0};
    bool told = find_tags(store, tag, &tags, error) && parameter_is_known(store, tag, options->parameter, error) &&
                output_open(output, options, error);
    bool opened = told;
    for (size_t i = 0; told && i < tags.count; i++)
        told = tell_drive(store, tags.items[i], options, &output->sink, error);
    texts_free(&tags);
    if (opened && !told)
        output_discard(output);
    return told && output_finish(output, error);
}

int command_history(const struct options *options)
{
    struct keep keep;
    struct output output;
    struct error error = {0};
    if (options->operand_count > 1) {
        error_set(&error, ERROR_USE, "history takes one drive's tag, or none for all; '%s' is one too many",
                  options->operands[1]);
        return (int)trouble(&error);
    }
    bool told = keep_open(&keep, options, STORE_LOOK, &error);
    if (told && keep.store == NULL)
        told = error_set(&error, ERROR_STORE, "there is no store at %s; record makes one", keep.where);
    told = told && tell_all(options, keep.store, &output, &error);
    keep_close(&keep);
    return told ? STATUS_AGREES : (int)trouble(&error);
}
