/* SPDX-License-Identifier: MIT */
/* What is wrong with a file, and with what it says. */
#include "report/fields.h"

#include <stdlib.h>
#include <string.h>

static const char *const columns[] = {"file", "kind", "verdict", "severity", "place", "line", "column", "text", NULL};

/* Where "FILE:LINE:COLUMN: " ends in a problem's line, and the two numbers; false where it has no such head. */
static bool split(const char *problem, size_t *file_length, int64_t *line, int64_t *column, const char **text)
{
    for (const char *colon = strchr(problem, ':'); colon != NULL; colon = strchr(colon + 1, ':')) {
        char *after = NULL;
        *line = strtoll(colon + 1, &after, 10);
        if (after == colon + 1 || *after != ':')
            continue;
        char *end = NULL;
        *column = strtoll(after + 1, &end, 10);
        if (end == after + 1 || strncmp(end, ": ", 2) != 0)
            continue;
        *file_length = (size_t)(colon - problem);
        *text = end + 2;
        return true;
    }
    return false;
}

static void write_problem(struct sink *sink, const char *severity, const char *problem)
{
    size_t file_length = 0;
    int64_t line = 0, column = 0;
    const char *text = problem;
    bool placed = split(problem, &file_length, &line, &column, &text);
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field_owned(sink, NULL, ROLE_FACT, severity, text_copy(problem));
    sink_field(sink, "severity", ROLE_DATA, NULL, cell_text(severity));
    sink_field_owned(sink, "place", ROLE_DATA, NULL, placed ? text_format("%.*s", (int)file_length, problem) : NULL);
    sink_field(sink, "line", ROLE_DATA, NULL, placed ? cell_integer(line) : cell_null());
    sink_field(sink, "column", ROLE_DATA, NULL, placed ? cell_integer(column) : cell_null());
    sink_field(sink, "text", ROLE_DATA, NULL, cell_text(text));
    sink_close(sink);
}

/* A contradiction among the problems, for machines: persons see it with its figures below. */
static void write_contradiction(struct sink *sink, const struct finding *finding)
{
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, "severity", ROLE_DATA, NULL, cell_text("contradiction"));
    sink_field(sink, "place", ROLE_DATA, NULL, cell_text(finding->means));
    sink_field(sink, "line", ROLE_DATA, NULL, cell_null());
    sink_field(sink, "column", ROLE_DATA, NULL, cell_null());
    sink_field(sink, "text", ROLE_DATA, NULL, cell_text(finding->basis));
    sink_close(sink);
}

static void write_verdict(struct sink *sink, const struct proofread_report *report)
{
    size_t contradictions = report->implausible == NULL ? 0 : report->implausible->count;
    size_t errors = report->errors->count, warnings = report->warnings->count;
    enum role mood = errors + contradictions > 0 ? ROLE_BAD : warnings > 0 ? ROLE_OPEN : ROLE_GOOD;
    sink_field_owned(sink, NULL, mood, NULL,
                     text_format("%s %s: %zu error%s, %zu contradiction%s, %zu warning%s", report->file,
                                 errors > 0           ? "cannot be used"
                                 : contradictions > 0 ? "is implausible"
                                                      : "can be used",
                                 errors, errors == 1 ? "" : "s", contradictions, contradictions == 1 ? "" : "s",
                                 warnings, warnings == 1 ? "" : "s"));
}

void doc_proofread(struct sink *sink, const struct proofread_report *report)
{
    size_t contradictions = report->implausible == NULL ? 0 : report->implausible->count;
    sink_begin(sink, "asleft/proofread/1", columns);
    sink_field(sink, "file", ROLE_DATA, NULL, cell_text(report->file));
    sink_field(sink, "kind", ROLE_DATA, NULL, cell_text(report->kind));
    sink_field(sink, "verdict", ROLE_DATA, NULL,
               cell_text(report->errors->count > 0 ? "unusable"
                         : contradictions > 0      ? "implausible"
                                                   : "usable"));
    sink_open(sink, "problems", GROUP_ROWS);
    for (size_t i = 0; i < report->errors->count; i++)
        write_problem(sink, "error", report->errors->items[i]);
    for (size_t i = 0; i < report->warnings->count; i++)
        write_problem(sink, "warning", report->warnings->items[i]);
    for (size_t i = 0; i < contradictions; i++)
        write_contradiction(sink, &report->implausible->items[i]);
    sink_close(sink);
    if (contradictions > 0)
        sink_heading(sink, ROLE_BAD, "THE SHEET CONTRADICTS ITSELF");
    sink_open(sink, "findings", GROUP_SIDE_ROWS);
    for (size_t i = 0; i < contradictions; i++)
        fields_finding(sink, &report->implausible->items[i], false, false);
    sink_close(sink);
    write_verdict(sink, report);
    sink_end(sink);
}
