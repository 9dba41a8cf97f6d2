/* SPDX-License-Identifier: MIT */
/* What is kept of a drive: its records, and when each value changed from what to what. */
#include "report/fields.h"

#include "report/words.h"

#include <stdlib.h>

static const char *const columns[] = {"tag",     "time",    "parameter",   "means",   "was",
                                      "now",     "unit",    "unit_was",    "kind",    "record",
                                      "raw_was", "raw_now", "symptom_was", "symptom", NULL};

void doc_history_begin(struct history_doc *doc, struct sink *sink, const char *tag)
{
    *doc = (struct history_doc){.sink = sink, .tag = text_copy(tag)};
    sink_begin(sink, "asleft/history/1", columns);
    sink_field_owned(sink, NULL, ROLE_TITLE, NULL, text_format("history of %s", tag));
    sink_field(sink, "tag", ROLE_DATA, NULL, cell_text(tag));
    sink_open(sink, "records", GROUP_SIDE_ROWS);
}

static void show_record(struct sink *sink, const struct record *record, const char *began)
{
    sink_field(sink, NULL, ROLE_NAME, "at", cell_text(began));
    sink_field(sink, NULL, ROLE_FOUND, "as", cell_text(record_kind_word(record->kind)));
    sink_field_owned(sink, NULL, ROLE_EXPECTED, "by", text_format("%s at %s", record->who, record->host));
    sink_field_owned(sink, NULL, ROLE_STAKE, "record", words_id(&record->id));
    bool has_serial = record->serial_number != NULL, has_firmware = record->firmware != NULL;
    sink_field_owned(sink, NULL, ROLE_NOTE, NULL,
                     text_format("with %s%s%s%s%s%s", record->tool,
                                 record->after_power_cycle ? ", after a power cycle" : "",
                                 has_serial ? ", serial number " : "", has_serial ? record->serial_number : "",
                                 has_firmware ? ", firmware " : "", has_firmware ? record->firmware : ""));
}

void doc_history_record(struct history_doc *doc, const struct record *record)
{
    struct sink *sink = doc->sink;
    if (doc->records++ == 0)
        sink_heading(sink, ROLE_GOOD, "RECORDS");
    char *began = words_time(record->began_ms);
    sink_open(sink, NULL, GROUP_OBJECT);
    show_record(sink, record, began);
    sink_field_owned(sink, "began", ROLE_DATA, NULL, began);
    sink_field_owned(sink, "ended", ROLE_DATA, NULL, words_time(record->ended_ms));
    fields_record(sink, record);
    sink_field(sink, "line", ROLE_DATA, NULL, cell_text(record->line));
    sink_field(sink, "unit", ROLE_DATA, NULL, cell_integer(record->unit));
    sink_open(sink, "map", GROUP_OBJECT);
    sink_field(sink, "name", ROLE_DATA, NULL, cell_text(record->map_name));
    sink_field(sink, "sha256", ROLE_DATA, NULL, cell_text(record->map_sha256));
    sink_close(sink);
    sink_open(sink, "sheet", GROUP_OBJECT);
    sink_field(sink, "sha256", ROLE_DATA, NULL, cell_text(record->sheet_sha256));
    sink_close(sink);
    sink_close(sink);
}

static void enter_changes(struct history_doc *doc)
{
    if (doc->in_changes)
        return;
    sink_close(doc->sink);
    sink_open(doc->sink, "changes", GROUP_ROWS);
    doc->in_changes = true;
}

void doc_history_change(struct history_doc *doc, const struct record *record, const struct record_value *was,
                        const struct record_value *now)
{
    struct sink *sink = doc->sink;
    enter_changes(doc);
    if (doc->changes++ == 0)
        sink_heading(sink, ROLE_OPEN, "CHANGES");
    char *time = words_time(record->began_ms);
    sink_open(sink, NULL, GROUP_OBJECT);
    fields_was_now(sink, was, now);
    sink_field_owned(sink, NULL, ROLE_STAKE, "seen by", words_id(&record->id));
    sink_field_owned(sink, NULL, ROLE_NOTE, NULL, text_format("%s, %s", time, record_kind_word(record->kind)));
    sink_field_owned(sink, "time", ROLE_DATA, NULL, time);
    sink_field_id(sink, "record", &record->id);
    sink_field(sink, "kind", ROLE_DATA, NULL, cell_text(record_kind_word(record->kind)));
    sink_close(sink);
}

void doc_history_end(struct history_doc *doc, const struct texts *interrupted)
{
    static const struct texts none;
    const struct texts *lines = interrupted == NULL ? &none : interrupted;
    struct sink *sink = doc->sink;
    enter_changes(doc);
    sink_close(sink);
    show_list(sink, ROLE_BAD, "A WRITE DID NOT COME TO ITS END", lines);
    sink_field(sink, "interrupted", ROLE_DATA, NULL, cell_words(lines));
    sink_field_owned(sink, NULL, lines->count > 0 ? ROLE_BAD : ROLE_GOOD, NULL,
                     text_format("%s: %zu record%s, %zu change%s%s", doc->tag, doc->records,
                                 doc->records == 1 ? "" : "s", doc->changes, doc->changes == 1 ? "" : "s",
                                 lines->count > 0 ? "; a write did not come to its end" : ""));
    sink_end(sink);
    free(doc->tag);
    *doc = (struct history_doc){0};
}
