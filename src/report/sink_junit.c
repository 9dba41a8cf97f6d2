/* SPDX-License-Identifier: MIT */
/* JUnit XML for a build server: a suite a document, a case a row with a verdict. Only what both common schemas take: no
 * attributes of testsuites, all attributes of testsuite that one of them wants, a time stamp without a zone. */
#include "report/escape.h"
#include "report/formats.h"
#include "report/gathered.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What a case holds, by its verdict. */
enum mark { MARK_NONE, MARK_FAILURE, MARK_ERROR, MARK_SKIPPED };
enum { MARKS = 4 };

struct junit_state {
    bool begun; /* the file's first line stands */
    size_t suites;
    struct gathered gathered;
    char *kind;  /* of the document under way; owned */
    char *cases; /* the cases of the document under way; owned */
    size_t size;
    FILE *buffer; /* into `cases` */
    struct texts names;
    size_t counts[MARKS];
};

static void write_escaped(FILE *file, const char *before, const char *text, const char *after)
{
    char *escaped = escape_markup(text);
    (void)fprintf(file, "%s%s%s", before, escaped, after);
    free(escaped);
}

static void write_start(struct sink *sink, struct junit_state *state)
{
    if (!state->begun)
        (void)fputs("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites>\n", sink->file);
    state->begun = true;
}

static struct junit_state *state_of(struct sink *sink)
{
    if (sink->state == NULL)
        sink->state = memory_new(1, sizeof(struct junit_state));
    return sink->state;
}

static void begin(struct sink *sink, const char *schema, const char *const *columns)
{
    (void)columns;
    struct junit_state *state = state_of(sink);
    state->kind = sink_kind(schema);
    state->buffer = open_memstream(&state->cases, &state->size);
    memset(state->counts, 0, sizeof state->counts);
}

static void open_group(struct sink *sink, const char *key, enum group_kind kind)
{
    struct junit_state *state = sink->state;
    gathered_open(&state->gathered, key, kind);
}

static void field(struct sink *sink, const char *key, enum role role, const char *label, const struct cell *cell)
{
    struct junit_state *state = sink->state;
    gathered_field(&state->gathered, key, role, label, cell);
}

static enum mark mark_of(const char *verdict)
{
    static const struct {
        const char *verdict;
        enum mark mark;
    } rows[] = {
        {"differs", MARK_FAILURE}, {"implausible", MARK_FAILURE}, {"unread", MARK_ERROR}, {"unchecked", MARK_SKIPPED}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (strcmp(rows[i].verdict, verdict) == 0)
            return rows[i].mark;
    return MARK_NONE;
}

/* A server takes cases of one name for one case: "motor_current", "motor_current (2)". Owned by the state. */
static const char *name_case(struct junit_state *state, const char *name)
{
    size_t same = 0;
    for (size_t i = 0; i < state->names.count; i++)
        same += strcmp(state->names.items[i], name) == 0;
    texts_add(&state->names, text_copy(name));
    if (same > 0)
        texts_add(&state->names, text_format("%s (%zu)", name, same + 1));
    return state->names.items[state->names.count - 1];
}

/* "found 6.00 A, should be 3.00 A (2.948 to 3.052)", from what persons see of the row. Owned. */
static char *figures_of(const struct item *item)
{
    struct texts parts = {0};
    for (enum column column = COLUMN_FOUND; column <= COLUMN_EXPECTED; column++)
        if (item->cells[column] != NULL)
            texts_add(&parts, text_format("%s %s", item->labels[column], item->cells[column]));
    char *figures = texts_join(&parts, ", ");
    texts_free(&parts);
    return figures;
}

static char *message_of(const struct gathered *gathered, enum mark mark)
{
    if (mark == MARK_ERROR)
        return text_copy(facts_text(&gathered->row, "symptom", "not read"));
    if (mark == MARK_SKIPPED)
        return text_copy(facts_text(&gathered->row, "basis", ""));
    return figures_of(&gathered->item);
}

/* A line for each note; where persons see none, because they have been told once for many, what machines are told. */
static void write_notes(FILE *file, const struct gathered *gathered)
{
    static const char *const paths[] = {"remark", "basis"};
    for (size_t i = 0; i < gathered->item.notes.count; i++)
        write_escaped(file, "", gathered->item.notes.items[i], "\n");
    for (size_t i = 0; !gathered->item.open && i < sizeof paths / sizeof *paths; i++)
        if (facts_find(&gathered->row, paths[i]) != NULL)
            write_escaped(file, "", facts_text(&gathered->row, paths[i], ""), "\n");
    write_escaped(file, "at stake: ", facts_text(&gathered->row, "at_stake", "-"), "\n");
}

static void write_mark(struct junit_state *state, enum mark mark, const char *type)
{
    static const char *const elements[MARKS] = {
        [MARK_FAILURE] = "failure", [MARK_ERROR] = "error", [MARK_SKIPPED] = "skipped"};
    char *message = message_of(&state->gathered, mark);
    (void)fprintf(state->buffer, ">\n<%s", elements[mark]);
    write_escaped(state->buffer, " message=\"", message, "\"");
    free(message);
    if (mark == MARK_SKIPPED) {
        (void)fputs("/>\n</testcase>\n", state->buffer);
        return;
    }
    write_escaped(state->buffer, " type=\"", type, "\">");
    write_notes(state->buffer, &state->gathered);
    (void)fprintf(state->buffer, "</%s>\n</testcase>\n", elements[mark]);
}

static void write_case(struct junit_state *state, const char *verdict)
{
    enum mark mark = mark_of(verdict);
    write_escaped(state->buffer, "<testcase classname=\"", facts_text(&state->gathered.document, "tag", state->kind),
                  "\"");
    write_escaped(state->buffer, " name=\"", name_case(state, gathered_row_name(&state->gathered)),
                  "\" time=\"0.000\"");
    state->counts[mark]++;
    if (mark == MARK_NONE)
        (void)fputs("/>\n", state->buffer);
    else
        write_mark(state, mark, mark == MARK_ERROR ? facts_text(&state->gathered.row, "symptom", verdict) : verdict);
}

static void close_group(struct sink *sink)
{
    struct junit_state *state = sink->state;
    if (path_at_row(&state->gathered.path)) {
        const struct fact *verdict = facts_find(&state->gathered.row, "verdict");
        if (verdict != NULL)
            write_case(state, verdict->text);
        gathered_forget_row(&state->gathered);
    }
    gathered_close(&state->gathered);
}

static void write_properties(FILE *file, const struct facts *document)
{
    static const char *const paths[] = {"service", "line", "unit", "map.name", "map.sha256", "sheet.sha256", "verdict"};
    (void)fputs("<properties>\n", file);
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        const struct fact *fact = facts_find(document, paths[i]);
        if (fact == NULL)
            continue;
        (void)fprintf(file, "<property name=\"%s\"", paths[i]);
        write_escaped(file, " value=\"", fact->text, "\"/>\n");
    }
    (void)fputs("</properties>\n", file);
}

static void write_suite_start(FILE *file, const struct junit_state *state)
{
    enum { WITHOUT_ZONE = sizeof "2026-01-31T08:00:00" - 1 };
    const struct facts *document = &state->gathered.document;
    const size_t *counts = state->counts;
    double took_s = facts_took_s(document);
    (void)fprintf(file, "<testsuite id=\"%zu\" package=\"asleft.%s\"", state->suites, state->kind);
    write_escaped(file, " name=\"", facts_text(document, "tag", state->kind), "\"");
    write_escaped(file, " hostname=\"", facts_text(document, "host", "localhost"), "\"");
    (void)fprintf(file, " timestamp=\"%.*s\"", WITHOUT_ZONE, facts_text(document, "began", "1970-01-01T00:00:00"));
    (void)fprintf(file, " tests=\"%zu\" failures=\"%zu\" errors=\"%zu\" time=\"%.3f\">\n",
                  counts[MARK_NONE] + counts[MARK_FAILURE] + counts[MARK_ERROR] + counts[MARK_SKIPPED],
                  counts[MARK_FAILURE], counts[MARK_ERROR], took_s > 0 ? took_s : 0);
}

static void forget_document(struct junit_state *state)
{
    gathered_free(&state->gathered);
    texts_free(&state->names);
    if (state->buffer != NULL)
        (void)fclose(state->buffer);
    state->buffer = NULL;
    free(state->cases);
    free(state->kind);
    state->cases = state->kind = NULL;
}

static void end(struct sink *sink)
{
    struct junit_state *state = sink->state;
    const struct facts *document = &state->gathered.document;
    const char *last_line = state->gathered.last_line;
    write_start(sink, state);
    write_suite_start(sink->file, state);
    write_properties(sink->file, document);
    (void)fflush(state->buffer);
    (void)fputs(state->cases, sink->file);
    write_escaped(sink->file, "<system-out>", last_line == NULL ? "" : last_line, "</system-out>\n");
    write_escaped(sink->file, "<system-err>", facts_text(document, "remark", ""), "</system-err>\n</testsuite>\n");
    state->suites++;
    forget_document(state);
}

static void free_state(struct sink *sink)
{
    struct junit_state *state = state_of(sink);
    if (sink->file != NULL) {
        write_start(sink, state);
        (void)fputs("</testsuites>\n", sink->file);
    }
    forget_document(state);
    free(state);
}

const struct sink_format sink_junit = {.name = "junit",
                                       .verdicts_only = true,
                                       .rows_only = true,
                                       .begin = begin,
                                       .open = open_group,
                                       .field = field,
                                       .close = close_group,
                                       .end = end,
                                       .free = free_state};
