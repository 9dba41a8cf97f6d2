/* SPDX-License-Identifier: MIT */
/* The report of a verification: what differs first, then what could not be read, then the rest. */
#include "report/fields.h"

#include <stdlib.h>

const char *const findings_columns[] = {"tag",
                                        "verdict",
                                        "parameter",
                                        "means",
                                        "at_stake",
                                        "expected.low",
                                        "expected.nominal",
                                        "expected.high",
                                        "expected.one_of",
                                        "found",
                                        "unit",
                                        "raw",
                                        "basis",
                                        "source",
                                        "symptom",
                                        "remark",
                                        "allow.because",
                                        "cause.kind",
                                        "cause.text",
                                        NULL};

/* A chapter of the report. */
struct chapter {
    const char *heading;
    enum role mood;
    bool brief;
    bool (*holds)(const struct finding *finding);
};

static bool differs(const struct finding *finding)
{
    return finding->verdict == VERDICT_DIFFERS;
}

static bool implausible(const struct finding *finding)
{
    return finding->verdict == VERDICT_IMPLAUSIBLE;
}

static bool unread(const struct finding *finding)
{
    return finding->verdict == VERDICT_UNREAD;
}

/* What can hurt somebody and the job says nothing of is worth a look before what agrees. */
static bool people_unsaid(const struct finding *finding)
{
    return finding->verdict == VERDICT_UNCHECKED && finding->stake == STAKE_PEOPLE &&
           finding->expected.kind == EXPECTED_NOTHING;
}

static bool agreeing(const struct finding *finding)
{
    return finding->verdict == VERDICT_AGREES;
}

static bool unchecked(const struct finding *finding)
{
    return finding->verdict == VERDICT_UNCHECKED && !people_unsaid(finding);
}

static const struct chapter chapters[] = {
    {"DIFFERS", ROLE_BAD, false, differs},  {"THE SHEET CONTRADICTS ITSELF", ROLE_BAD, false, implausible},
    {"NOT READ", ROLE_OPEN, false, unread}, {"NOT CHECKED, AND PEOPLE ARE AT STAKE", ROLE_OPEN, false, people_unsaid},
    {"AGREES", ROLE_GOOD, true, agreeing},  {"NOT CHECKED", ROLE_OPEN, false, unchecked},
};

/* The first of what is unread, if it is many that all have the same symptom and remark: then a list of names says more
 * than a table. Else NULL. */
static const struct finding *one_cause(const struct findings *findings)
{
    enum { WORTH_A_TABLE = 3 };
    const struct finding *first = NULL;
    for (size_t i = 0; i < findings->count; i++) {
        const struct finding *finding = &findings->items[i];
        if (!unread(finding))
            continue;
        if (first == NULL)
            first = finding;
        if (finding->symptom.kind != first->symptom.kind || finding->symptom.exception != first->symptom.exception ||
            !text_same(finding->remark, first->remark))
            return NULL;
    }
    return findings_count(findings, VERDICT_UNREAD) > WORTH_A_TABLE ? first : NULL;
}

static void list_unread(struct sink *sink, const struct findings *findings, const struct finding *first)
{
    char symptom[32];
    char *names = text_copy("");
    for (size_t i = 0; i < findings->count; i++) {
        if (!unread(&findings->items[i]))
            continue;
        char *more = text_format("%s%s%s", names, names[0] == '\0' ? "" : ", ", findings->items[i].parameter);
        free(names);
        names = more;
    }
    sink_field(sink, NULL, ROLE_FACT, "  symptom", cell_text(symptom_word(first->symptom, symptom, sizeof symptom)));
    if (first->remark != NULL)
        sink_field(sink, NULL, ROLE_FACT, "", cell_text(first->remark));
    sink_field_owned(sink, NULL, ROLE_FACT, "  of", names);
}

static void write_chapter(struct sink *sink, const struct chapter *chapter, const struct findings *findings)
{
    size_t count = 0;
    for (size_t i = 0; i < findings->count; i++)
        count += chapter->holds(&findings->items[i]);
    if (count == 0)
        return;
    char *heading = text_format("%s (%zu)", chapter->heading, count);
    sink_heading(sink, chapter->mood, heading);
    free(heading);
    const struct finding *cause = chapter->holds == unread ? one_cause(findings) : NULL;
    if (cause != NULL)
        list_unread(sink, findings, cause);
    /* what hurts people before what hurts equipment */
    for (int stake = STAKE_PEOPLE; stake >= STAKE_PROCESS; stake--)
        for (size_t i = 0; i < findings->count; i++)
            if (chapter->holds(&findings->items[i]) && (int)findings->items[i].stake == stake)
                fields_finding(sink, &findings->items[i], cause != NULL, chapter->brief);
}

void fields_counts(struct sink *sink, const struct findings *findings)
{
    static const enum verdict kinds[VERDICT_KINDS] = {VERDICT_AGREES, VERDICT_DIFFERS, VERDICT_UNREAD,
                                                      VERDICT_IMPLAUSIBLE, VERDICT_UNCHECKED};
    sink_open(sink, "counts", GROUP_OBJECT);
    for (size_t i = 0; i < VERDICT_KINDS; i++)
        sink_field(sink, verdict_word(kinds[i]), ROLE_DATA, NULL,
                   cell_integer((int64_t)findings_count(findings, kinds[i])));
    sink_close(sink);
}

/* "P-204 differs: 4 differ, 1 contradiction, 2 not read; 11 agree, 2 not checked", without what did not happen. */
static void write_last_line(struct sink *sink, const char *tag, const struct findings *findings)
{
    static const enum role moods[] = {
        [OVERALL_AGREES] = ROLE_GOOD, [OVERALL_DIFFERS] = ROLE_BAD, [OVERALL_INCOMPLETE] = ROLE_OPEN};
    static const struct {
        enum verdict verdict;
        const char *one, *many;
    } parts[] = {{VERDICT_DIFFERS, "differs", "differ"},
                 {VERDICT_IMPLAUSIBLE, "contradiction", "contradictions"},
                 {VERDICT_UNREAD, "not read", "not read"}};
    enum overall overall = findings_overall(findings);
    char *line = text_format("%s %s: ", tag, overall_word(overall));
    const char *between = "";
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        size_t count = findings_count(findings, parts[i].verdict);
        if (count == 0)
            continue;
        char *longer = text_format("%s%s%zu %s", line, between, count, count == 1 ? parts[i].one : parts[i].many);
        free(line);
        line = longer;
        between = ", ";
    }
    sink_field_owned(sink, NULL, moods[overall], NULL,
                     text_format("%s%s%zu agree, %zu not checked", line, between[0] == '\0' ? "" : "; ",
                                 findings_count(findings, VERDICT_AGREES),
                                 findings_count(findings, VERDICT_UNCHECKED)));
    free(line);
}

void fields_findings(struct sink *sink, const struct visit_report *report)
{
    const struct findings *findings = report->findings;
    sink_open(sink, "findings", GROUP_ROWS);
    for (size_t i = 0; i < sizeof chapters / sizeof *chapters; i++) {
        write_chapter(sink, &chapters[i], findings);
        if (chapters[i].holds == unread)
            show_advice(sink, report);
    }
    sink_close(sink);
    fields_advice(sink, &report->advice);
}

static void write_body(struct sink *sink, const struct visit_report *report)
{
    const struct findings *findings = report->findings;
    fields_visit(sink, report);
    sink_field(sink, "verdict", ROLE_DATA, NULL, cell_text(overall_word(findings_overall(findings))));
    fields_counts(sink, findings);
    fields_findings(sink, report);
    fields_traffic(sink, &report->readings->traffic);
}

void doc_verify(struct sink *sink, const struct visit_report *report, bool verdict_only)
{
    sink_begin(sink, "asleft/verify/1", findings_columns);
    if (!verdict_only)
        write_body(sink, report);
    write_last_line(sink, report->sheet->tag, report->findings);
    sink_end(sink);
}
