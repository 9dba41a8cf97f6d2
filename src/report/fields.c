/* SPDX-License-Identifier: MIT */
/* Groups of fields that several documents share. */
#include "report/fields.h"

#include "motor/quantity.h"
#include "motor/show.h"
#include "report/words.h"

#include <stdlib.h>
#include <string.h>

void sink_field_owned(struct sink *sink, const char *key, enum role role, const char *label, char *text)
{
    sink_field(sink, key, role, label, cell_text(text));
    free(text);
}

void sink_field_number(struct sink *sink, const char *key, double number)
{
    sink_field(sink, key, ROLE_DATA, NULL, cell_number(number));
}

void sink_field_unit(struct sink *sink, enum unit unit)
{
    sink_field(sink, "unit", ROLE_DATA, NULL, cell_text(unit == UNIT_NONE ? NULL : unit_name(unit)));
}

void sink_field_title(struct sink *sink, const struct sheet *sheet)
{
    sink_field_owned(sink, NULL, ROLE_TITLE, NULL,
                     sheet->service == NULL ? text_copy(sheet->tag)
                                            : text_format("%s: %s", sheet->tag, sheet->service));
}

void fields_visit(struct sink *sink, const struct visit_report *report)
{
    const struct sheet *sheet = report->sheet;
    char *line = report->where == NULL ? words_line(report->line) : text_copy(report->where);
    char *began = words_time(report->readings->began_ms);
    sink_field_title(sink, sheet);
    sink_field_owned(sink, NULL, ROLE_FACT, "drive",
                     text_format("%s, unit %u on %s", report->map->name, report->line->unit, line));
    char *traffic = words_traffic(&report->readings->traffic);
    sink_field_owned(sink, NULL, ROLE_FACT, "read", text_format("%s, %s", began, traffic));
    free(traffic);
    if (report->remark != NULL)
        sink_field(sink, NULL, ROLE_FACT, "but", cell_text(report->remark));

    sink_field(sink, "tag", ROLE_DATA, NULL, cell_text(sheet->tag));
    sink_field(sink, "service", ROLE_DATA, NULL, cell_text(sheet->service));
    sink_field_owned(sink, "line", ROLE_DATA, NULL, line);
    sink_field(sink, "unit", ROLE_DATA, NULL, cell_integer(report->line->unit));
    sink_open(sink, "map", GROUP_OBJECT);
    sink_field(sink, "name", ROLE_DATA, NULL, cell_text(report->map->name));
    sink_field(sink, "sha256", ROLE_DATA, NULL, cell_text(report->map->sha256));
    sink_close(sink);
    sink_open(sink, "sheet", GROUP_OBJECT);
    sink_field(sink, "sha256", ROLE_DATA, NULL, cell_text(sheet->sha256));
    sink_close(sink);
    sink_field_owned(sink, "began", ROLE_DATA, NULL, began);
    sink_field_owned(sink, "ended", ROLE_DATA, NULL, words_time(report->readings->ended_ms));
    sink_field(sink, "remark", ROLE_DATA, NULL, cell_text(report->remark));
}

void show_list(struct sink *sink, enum role mood, const char *heading, const struct texts *lines)
{
    if (lines->count == 0)
        return;
    char *counted = text_format("%s (%zu)", heading, lines->count);
    sink_heading(sink, mood, counted);
    free(counted);
    for (size_t i = 0; i < lines->count; i++) {
        char label[24];
        (void)snprintf(label, sizeof label, "  %zu", i + 1);
        sink_field(sink, NULL, ROLE_FACT, label, cell_text(lines->items[i]));
    }
}

void fields_traffic(struct sink *sink, const struct traffic *traffic)
{
    const struct {
        const char *key;
        uint64_t count;
    } rows[] = {{"requests", traffic->requests},     {"retries", traffic->retries},
                {"exceptions", traffic->exceptions}, {"timeouts", traffic->timeouts},
                {"bad_frames", traffic->bad_frames}, {"discarded", traffic->discarded}};
    sink_open(sink, "traffic", GROUP_OBJECT);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        sink_field(sink, rows[i].key, ROLE_DATA, NULL, cell_integer((int64_t)rows[i].count));
    sink_close(sink);
}

static bool has_step(const struct advice_row *row, size_t index)
{
    return index < ADVICE_STEPS && row->steps[index].cause != NULL;
}

static bool same_caution(const struct advice *advice, size_t first, size_t second)
{
    return first < advice->count && second < advice->count &&
           advice->items[first].row->caution == advice->items[second].row->caution;
}

void show_steps(struct sink *sink, const struct advice *advice)
{
    if (advice->count == 0)
        return;
    sink_heading(sink, ROLE_OPEN, "WHERE TO LOOK");
    for (size_t i = 0; i < advice->count; i++) {
        const struct advice_row *row = advice->items[i].row;
        char symptom[32], label[8];
        sink_field(sink, NULL, ROLE_FACT, "  symptom",
                   cell_text(symptom_word(advice->items[i].symptom, symptom, sizeof symptom)));
        sink_field(sink, NULL, ROLE_FACT, "", cell_text(row->observation));
        for (size_t k = 0; has_step(row, k); k++) {
            (void)snprintf(label, sizeof label, "  %zu", k + 1);
            sink_field_owned(sink, NULL, ROLE_FACT, label,
                             text_format("%s: %s", row->steps[k].cause, row->steps[k].check));
        }
        if (row->caution != NULL && !same_caution(advice, i, i + 1))
            sink_field(sink, NULL, ROLE_FACT, "  caution", cell_text(row->caution));
    }
}

void show_advice(struct sink *sink, const struct visit_report *report)
{
    if (!report->advice_told)
        show_steps(sink, &report->advice);
}

void fields_advice(struct sink *sink, const struct advice *advice)
{
    sink_open(sink, "advice", GROUP_LIST);
    for (size_t i = 0; i < advice->count; i++) {
        const struct advice_row *row = advice->items[i].row;
        char symptom[32];
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field(sink, "symptom", ROLE_DATA, NULL,
                   cell_text(symptom_word(advice->items[i].symptom, symptom, sizeof symptom)));
        sink_field(sink, "observation", ROLE_DATA, NULL, cell_text(row->observation));
        sink_open(sink, "steps", GROUP_LIST);
        for (size_t k = 0; has_step(row, k); k++) {
            sink_open(sink, NULL, GROUP_OBJECT);
            sink_field(sink, "cause", ROLE_DATA, NULL, cell_text(row->steps[k].cause));
            sink_field(sink, "check", ROLE_DATA, NULL, cell_text(row->steps[k].check));
            sink_close(sink);
        }
        sink_close(sink);
        sink_field(sink, "caution", ROLE_DATA, NULL, cell_text(row->caution));
        sink_close(sink);
    }
    sink_close(sink);
}

void fields_expected(struct sink *sink, const struct expected *expected)
{
    switch (expected->kind) {
    case EXPECTED_NOTHING:
        sink_field(sink, "expected", ROLE_DATA, NULL, cell_null());
        break;
    case EXPECTED_RANGE:
        sink_open(sink, "expected", GROUP_OBJECT);
        sink_field_number(sink, "low", expected->low);
        sink_field_number(sink, "nominal", expected->nominal);
        sink_field_number(sink, "high", expected->high);
        sink_close(sink);
        break;
    case EXPECTED_ONE_OF:
        sink_open(sink, "expected", GROUP_OBJECT);
        sink_field(sink, "one_of", ROLE_DATA, NULL, cell_words(&expected->one_of));
        sink_close(sink);
        break;
    }
}

/* A reason for not checking that is so short that it stands where the expectation would. */
static bool reason_is_short(const struct finding *finding)
{
    enum { SHORT = 24 };
    return finding->verdict == VERDICT_UNCHECKED && finding->expected.kind == EXPECTED_NOTHING &&
           finding->basis != NULL && strlen(finding->basis) <= SHORT;
}

static void show_causes(struct sink *sink, const struct finding *finding)
{
    if (finding->cause.kind != CAUSE_NONE)
        sink_field(sink, NULL, ROLE_NOTE, "probably:", cell_text(finding->cause.text));
    for (size_t i = 0; i < finding->also_count; i++)
        sink_field(sink, NULL, ROLE_NOTE, "or:", cell_text(finding->also[i].text));
}

static void write_cause(struct sink *sink, const struct finding *finding)
{
    if (finding->cause.kind == CAUSE_NONE)
        return;
    sink_open(sink, "cause", GROUP_OBJECT);
    sink_field(sink, "kind", ROLE_DATA, NULL, cell_text(cause_word(finding->cause.kind)));
    sink_field(sink, "text", ROLE_DATA, NULL, cell_text(finding->cause.text));
    if (finding->also_count > 0) {
        struct texts also = {0};
        for (size_t i = 0; i < finding->also_count; i++)
            texts_add(&also, text_copy(cause_word(finding->also[i].kind)));
        sink_field(sink, "also", ROLE_DATA, NULL, cell_words(&also));
        texts_free(&also);
    }
    sink_close(sink);
}

/* The item that a person sees of a finding. */
static void show_finding(struct sink *sink, const struct finding *finding, bool brief)
{
    char symptom[32];
    bool is_short = reason_is_short(finding);
    bool unread = finding->verdict == VERDICT_UNREAD;
    char *found = unread ? text_copy(symptom_word(finding->symptom, symptom, sizeof symptom))
                         : show_value(&finding->found, finding->unit, finding->step);
    sink_field(sink, NULL, ROLE_NAME, finding->parameter == NULL ? "sheet" : "parameter",
               cell_text(finding->parameter == NULL ? finding->means : finding->parameter));
    sink_field_owned(sink, NULL, ROLE_FOUND, finding->parameter == NULL ? "says" : "found", found);
    sink_field_owned(sink, NULL, ROLE_EXPECTED, "should be",
                     is_short ? text_copy(finding->basis)
                              : words_expected(&finding->expected, finding->unit, finding->step));
    sink_field(sink, NULL, ROLE_STAKE, "at stake", cell_text(stake_word(finding->stake)));
    if (!brief)
        show_causes(sink, finding);
    if (!brief && finding->remark != NULL)
        sink_field(sink, NULL, ROLE_NOTE, finding->verdict == VERDICT_DIFFERS ? "read as:" : NULL,
                   cell_text(finding->remark));
    if (!brief && !is_short && finding->basis != NULL)
        sink_field(sink, NULL, ROLE_NOTE, NULL, cell_text(finding->basis));
}

void fields_allowance(struct sink *sink, const struct finding *finding, bool hidden)
{
    if (finding->allow_because == NULL)
        return;
    struct value within = {.kind = VALUE_NUMBER, .number = finding->allow_within};
    char *text = show_value(&within, finding->unit, 0);
    if (!hidden)
        sink_field_owned(sink, NULL, ROLE_NOTE, NULL,
                         text_format("allowed within %s because: %s", text, finding->allow_because));
    free(text);
    sink_open(sink, "allow", GROUP_OBJECT);
    sink_field_number(sink, "within", finding->allow_within);
    sink_field(sink, "because", ROLE_DATA, NULL, cell_text(finding->allow_because));
    sink_close(sink);
}

void fields_finding(struct sink *sink, const struct finding *finding, bool hidden, bool brief)
{
    char symptom[32];
    sink_open(sink, NULL, GROUP_OBJECT);
    if (!hidden)
        show_finding(sink, finding, brief);
    sink_field(sink, "parameter", ROLE_DATA, NULL, cell_text(finding->parameter));
    sink_field(sink, "means", ROLE_DATA, NULL, cell_text(finding->means));
    sink_field(sink, "verdict", ROLE_DATA, NULL, cell_text(verdict_word(finding->verdict)));
    sink_field(sink, "at_stake", ROLE_DATA, NULL, cell_text(stake_word(finding->stake)));
    fields_expected(sink, &finding->expected);
    sink_field(sink, "found", ROLE_DATA, NULL, cell_value(&finding->found));
    sink_field_unit(sink, finding->unit);
    sink_field(sink, "raw", ROLE_DATA, NULL,
               finding->raw_count == 0 ? cell_null() : cell_raw(finding->raw, finding->raw_count));
    sink_field(sink, "basis", ROLE_DATA, NULL, cell_text(finding->basis));
    sink_field(sink, "source", ROLE_DATA, NULL,
               cell_text(finding->source == SOURCE_NONE ? NULL : source_word(finding->source)));
    if (finding->verdict == VERDICT_UNREAD)
        sink_field(sink, "symptom", ROLE_DATA, NULL,
                   cell_text(symptom_word(finding->symptom, symptom, sizeof symptom)));
    write_cause(sink, finding);
    sink_field(sink, "remark", ROLE_DATA, NULL, cell_text(finding->remark));
    fields_allowance(sink, finding, hidden);
    sink_close(sink);
}
