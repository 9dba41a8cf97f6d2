/* SPDX-License-Identifier: MIT */
/* The documents: each turns results into the events of a sink. */
#ifndef ASLEFT_REPORT_DOCUMENTS_H
#define ASLEFT_REPORT_DOCUMENTS_H

#include "report/sink.h"
#include "types/acceptance.h"
#include "types/advice.h"
#include "types/change.h"
#include "types/finding.h"
#include "types/journal.h"
#include "types/map.h"
#include "types/readings.h"
#include "types/samples.h"
#include "types/search_result.h"
#include "types/setpoints.h"
#include "types/sheet.h"
#include "types/witnessed.h"

/* What a visit brought home, for doc_verify and doc_read. All are the caller's. */
struct visit_report {
    const struct map *map;
    const struct sheet *sheet;
    const struct line *line;
    const char *where; /* the line in words, where only a record says it; NULL: `line` does */
    const struct readings *readings;
    const struct findings *findings; /* doc_verify */
    const size_t *parameters;        /* doc_read: which, in which order */
    size_t parameter_count;
    /* why the drive as a whole was not asked or believed, or what its wrong values share; or NULL */
    const char *remark;
    struct advice advice; /* where to look for what was not read */
    bool advice_told;     /* persons have been told that, elsewhere */
};

/* asleft/verify/1. With `verdict_only`, which is for persons, nothing but the last line. */
void doc_verify(struct sink *sink, const struct visit_report *report, bool verdict_only);

/* asleft/read/1: one pass. */
void doc_read(struct sink *sink, const struct visit_report *report);

/* asleft/setpoints/1. `worksheet` has one finding a setpoint, whose `expected` is the permitted band. */
void doc_setpoints(struct sink *sink, const struct sheet *sheet, const struct map *map,
                   const struct setpoints *setpoints, const struct findings *worksheet);

/* What proofreading one file found, for doc_proofread. All are the caller's. */
struct proofread_report {
    const char *file;
    const char *kind;           /* "map", "sheet", "plant", "record" or "file" */
    const struct texts *errors; /* each "file:line:column: text" */
    const struct texts *warnings;
    const struct findings *implausible; /* of a sheet that could be read, else NULL */
};

/* asleft/proofread/1. */
void doc_proofread(struct sink *sink, const struct proofread_report *report);

/* What doc_record has to say beyond what was read (doc_read's). All are the caller's. */
struct record_report {
    const struct visit_report *visit;
    const struct record *record;  /* as kept, with its id */
    const struct record *against; /* the record it is compared with: the last of its kind; NULL: none */
};

/* asleft/record/1. What was read both times and is another value counts as changed, where it lasts: what is watched for
 * drift, and what is not settable and names the drive; not what flows or runs just now. */
void doc_record(struct sink *sink, const struct record_report *report);

/* A witnessed run. All are the caller's. */
struct witness_report {
    const struct visit_report *visit; /* before the run */
    const struct record *record;      /* as kept; without an id where it was not */
    const struct samples *samples;
    const struct witnessed *witnessed;
    bool seen;     /* a run was */
    bool all_read; /* what the map has to show one */
};

/* What its measures come to: differs where one does, incomplete where something is unread or nothing agrees. */
enum overall witnessed_overall(const struct witnessed *witnessed, bool all_read);

/* asleft/witness/1. */
void doc_witness(struct sink *sink, const struct witness_report *report);

/* What the acceptance of one drive rests on. All are the caller's. */
struct accept_report {
    const struct visit_report *visit; /* judged */
    const struct acceptance *acceptance;
    const struct record *now;          /* what the drive holds, who looked and with what; without an id */
    const struct record *found, *left; /* the last of each kind, or NULL */
    const struct record *run;          /* of the last witnessed run, or NULL; then also: */
    const struct samples *samples;
    const struct witnessed *witnessed;
    bool seals; /* the digest of the whole result stands in this document */
};

/* asleft/accept/1. */
void doc_accept(struct sink *sink, const struct accept_report *report);

/* asleft/accept-cover/1: the page before several drives' documents, with the digest of the whole. */
void doc_accept_cover(struct sink *sink, const struct accept_report *reports, size_t count);

/* A list of writes, before or after it was performed. All are the caller's. */
struct change_report {
    const struct visit_report *visit;
    const struct change_list *list;
    const char *command; /* that writes the list, its code at the end; NULL: not offered */
    /* the sheet, and what else a command line for this drive names, as a shell takes them; NULL: the sheet's path */
    const char *sheet_words;
    const char *refused; /* why a code that was given does not count; NULL: none was, or it does */
};

/* asleft/write/1. */
void doc_write(struct sink *sink, const struct change_report *report);

/* asleft/history/1: a document a drive. Open it, give it the records and changes in order, close it. */
struct history_doc {
    struct sink *sink;
    char *tag; /* owned until the end */
    bool in_changes;
    size_t records, changes;
};
void doc_history_begin(struct history_doc *doc, struct sink *sink, const char *tag);
void doc_history_record(struct history_doc *doc, const struct record *record);
void doc_history_change(struct history_doc *doc, const struct record *record, const struct record_value *was,
                        const struct record_value *now);
/* `interrupted`: lines on a write that did not come to its end, shown just above the last line; may be NULL. */
void doc_history_end(struct history_doc *doc, const struct texts *interrupted);

/* asleft/find/1: one line that was searched, and where to look for what was not found. */
void doc_find(struct sink *sink, const struct search_result *result, const struct advice *advice);

#endif
