/* SPDX-License-Identifier: MIT */
/* A record that was made: who and when, what changed since the one before, and every value. */
#include "report/fields.h"

#include "report/words.h"

#include <stdlib.h>

static const char *const columns[] = {"tag",   "began", "record", "kind",    "parameter", "means",
                                      "value", "unit",  "raw",    "symptom", "remark",    NULL};

/* What a technician would want to hear of if it changed: settings that are watched, and what names the drive; not the
 * current that flows just now. */
static bool is_lasting(const struct parameter *parameter)
{
    bool is_fact =
        parameter->settable == SETTABLE_NEVER && parameter->means != MEANS_NONE && !means_is_live(parameter->means);
    return parameter->watch || is_fact;
}

/* What the parameter held in the record before, if that is another value; else NULL. What was not read then or is not
 * read now has not changed for all that anybody knows. */
static const struct record_value *changed_from(const struct record_report *report, const struct record_value *now)
{
    size_t index = map_find(report->visit->map, now->parameter);
    if (index == PARAMETER_NOT_FOUND || !is_lasting(&report->visit->map->parameters[index]))
        return NULL;
    const struct record_value *was = record_value_find(report->against, now->parameter);
    if (was == NULL || was->symptom != NULL || now->symptom != NULL || was->raw_count == 0 || now->raw_count == 0)
        return NULL;
    return record_value_same(was, now) ? NULL : was;
}

/* The record that this one is compared with. */
static void write_against(struct sink *sink, const struct record *against)
{
    if (against == NULL) {
        sink_field(sink, "against", ROLE_DATA, NULL, cell_null());
        return;
    }
    sink_open(sink, "against", GROUP_OBJECT);
    sink_field_id(sink, "record", &against->id);
    sink_field(sink, "kind", ROLE_DATA, NULL, cell_text(record_kind_word(against->kind)));
    sink_field_owned(sink, "began", ROLE_DATA, NULL, words_time(against->began_ms));
    sink_close(sink);
}

static void show_since(struct sink *sink, const struct record *against)
{
    char *since = words_time(against->began_ms);
    char *heading = text_format("CHANGED SINCE %s", since);
    sink_heading(sink, ROLE_OPEN, heading);
    free(heading);
    free(since);
}

/* Returns how many there are. */
static size_t write_changed(struct sink *sink, const struct record_report *report)
{
    size_t count = 0;
    write_against(sink, report->against);
    sink_open(sink, "changed", GROUP_SIDE_ROWS);
    for (size_t i = 0; report->against != NULL && i < report->record->value_count; i++) {
        const struct record_value *now = &report->record->values[i], *was = changed_from(report, now);
        if (was == NULL)
            continue;
        if (count++ == 0)
            show_since(sink, report->against);
        sink_open(sink, NULL, GROUP_OBJECT);
        fields_was_now(sink, was, now);
        sink_close(sink);
    }
    sink_close(sink);
    return count;
}

static void write_identity(struct sink *sink, const struct record *record)
{
    sink_field_owned(sink, NULL, ROLE_FACT, "recorded",
                     text_format("%s%s, by %s at %s with %s", words_kind(record->kind),
                                 record->after_power_cycle ? " after a power cycle" : "", record->who, record->host,
                                 record->tool));
    if (record->serial_number != NULL)
        sink_field(sink, NULL, ROLE_FACT, "serial", cell_text(record->serial_number));
    if (record->firmware != NULL)
        sink_field(sink, NULL, ROLE_FACT, "firmware", cell_text(record->firmware));
    fields_record(sink, record);
}

/* "P-204: recorded as found, 43 values, 2 changed since 2026-01-31, 0 not read; record 1a2b3c4d" */
static void write_last_line(struct sink *sink, const struct record_report *report, size_t changed)
{
    const struct visit_report *visit = report->visit;
    const struct record *record = report->record;
    size_t unread = 0;
    for (size_t i = 0; i < visit->parameter_count; i++)
        unread += visit->readings->items[visit->parameters[i]].symptom.kind != SYMPTOM_NONE;
    size_t count = visit->parameter_count - unread;
    char *since = text_copy("");
    if (report->against != NULL) {
        enum { DAY = 10 };
        char *time = words_time(report->against->began_ms);
        free(since);
        since = text_format("%zu changed since %.*s, ", changed, DAY, time);
        free(time);
    }
    char *id = words_id(&record->id);
    sink_field_owned(sink, NULL, unread + changed > 0 ? ROLE_OPEN : ROLE_GOOD, NULL,
                     text_format("%s: recorded %s%s, %zu value%s, %s%zu not read; record %s", record->tag,
                                 words_kind(record->kind), record->after_power_cycle ? " after a power cycle" : "",
                                 count, count == 1 ? "" : "s", since, unread, id));
    free(id);
    free(since);
}

void doc_record(struct sink *sink, const struct record_report *report)
{
    const struct visit_report *visit = report->visit;
    sink_begin(sink, "asleft/record/1", columns);
    fields_visit(sink, visit);
    write_identity(sink, report->record);
    size_t changed = write_changed(sink, report);
    sink_open(sink, "values", GROUP_ROWS);
    sink_heading(sink, ROLE_GOOD, "VALUES");
    for (size_t i = 0; i < visit->parameter_count; i++)
        fields_value(sink, &visit->map->parameters[visit->parameters[i]],
                     &visit->readings->items[visit->parameters[i]]);
    sink_close(sink);
    show_advice(sink, visit);
    fields_advice(sink, &visit->advice);
    fields_traffic(sink, &visit->readings->traffic);
    write_last_line(sink, report, changed);
    sink_end(sink);
}
