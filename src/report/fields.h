/* SPDX-License-Identifier: MIT */
/* Groups of fields that several documents share. */
#ifndef ASLEFT_REPORT_FIELDS_H
#define ASLEFT_REPORT_FIELDS_H

#include "report/documents.h"

/* Advice, a caution, a task each: a chapter of numbered lines for persons, or nothing where there are none. */
void show_list(struct sink *sink, enum role mood, const char *heading, const struct texts *lines);

/* A text that is freed once it was shown. */
void sink_field_owned(struct sink *sink, const char *key, enum role role, const char *label, char *text);

/* A number of JSON, null where it is not finite. */
void sink_field_number(struct sink *sink, const char *key, double number);

/* "unit" for machines, null where there is none. */
void sink_field_unit(struct sink *sink, enum unit unit);

/* The document's title: the drive's tag and its service. */
void sink_field_title(struct sink *sink, const struct sheet *sheet);

/* tag, service, line, unit, map, sheet, began, ended: who was visited. Persons see title, drive, read. */
void fields_visit(struct sink *sink, const struct visit_report *report);

/* A value of doc_read or doc_record as an object of the rows under way. */
void fields_value(struct sink *sink, const struct parameter *parameter, const struct reading *reading);

/* An id in full, null where none is given; for machines. */
void sink_field_id(struct sink *sink, const char *key, const struct record_id *id);

/* record, kind, after_power_cycle, who, host, tool, serial_number, firmware: which record it is; for machines. */
void fields_record(struct sink *sink, const struct record *record);

/* What a parameter held in two records: the first columns of an item, and keys of the object under way. Either may be
 * NULL, not both. */
void fields_was_now(struct sink *sink, const struct record_value *was, const struct record_value *now);

void fields_traffic(struct sink *sink, const struct traffic *traffic);

/* What to look at for what was not found, for persons: a chapter, or nothing where there is no advice. */
void show_steps(struct sink *sink, const struct advice *advice);

/* What to look at for what was not read, for persons: a chapter, or nothing where there is no advice. */
void show_advice(struct sink *sink, const struct visit_report *report);

/* The same for machines: "advice": [{"symptom", "observation", "steps": [{"cause", "check"}], "caution"}]. */
void fields_advice(struct sink *sink, const struct advice *advice);

/* "expected": {"low", "nominal", "high"}, {"one_of": []} or null; for machines. */
void fields_expected(struct sink *sink, const struct expected *expected);

/* A widened tolerance with its reason, for persons and as "allow"; nothing where there is none. */
void fields_allowance(struct sink *sink, const struct finding *finding, bool hidden);

/* "counts": how many findings have each verdict; for machines. */
void fields_counts(struct sink *sink, const struct findings *findings);

/* All findings of a verification, in chapters, and advice; and the columns of a CSV of them. */
void fields_findings(struct sink *sink, const struct visit_report *report);
extern const char *const findings_columns[];

/* Measures and phases of a witnessed run, in chapters. */
void fields_witnessed(struct sink *sink, const struct witnessed *witnessed);

/* One finding as an object of the rows under way. Persons see nothing of a `hidden` one,
 * and of a `brief` one no basis. */
void fields_finding(struct sink *sink, const struct finding *finding, bool hidden, bool brief);

#endif
