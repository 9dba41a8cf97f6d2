/* SPDX-License-Identifier: MIT */
/* The acceptance of a drive: what it is, what is open, what was found and left, the witnessed run, who tested. */
#include "report/fields.h"

#include "motor/quantity.h"
#include "report/witness_charts.h"
#include "report/words.h"
#include "types/caution.h"
#include "types/seal_mark.h"

#include <stdlib.h>

/* As long as a line of text is wide beside its label. */
static const char WRITE_HERE[] = "____________________ date ____________ signature ____________________";

static const enum role moods[] = {
    [OVERALL_AGREES] = ROLE_GOOD, [OVERALL_DIFFERS] = ROLE_BAD, [OVERALL_INCOMPLETE] = ROLE_OPEN};

static size_t points_of(const struct acceptance *acceptance, enum stake weight)
{
    size_t count = 0;
    for (size_t i = 0; i < acceptance->point_count; i++)
        count += acceptance->points[i].weight == weight;
    return count;
}

/* "3 points open: 1 people, 2 equipment"; "nothing is open" */
static char *words_open(const struct acceptance *acceptance)
{
    if (acceptance->point_count == 0)
        return text_copy("nothing is open");
    char *words = text_format("%zu point%s open:", acceptance->point_count, acceptance->point_count == 1 ? "" : "s");
    const char *between = " ";
    for (int weight = STAKE_PEOPLE; weight >= STAKE_PROCESS; weight--) {
        size_t count = points_of(acceptance, (enum stake)weight);
        if (count == 0)
            continue;
        char *more = text_format("%s%s%zu %s", words, between, count, stake_word((enum stake)weight));
        free(words);
        words = more;
        between = ", ";
    }
    return words;
}

/* ---- what it is ---- */

static void add_quantity(char **line, const char *before, const struct quantity *quantity)
{
    char text[64];
    if (!quantity->given)
        return;
    char *more = text_format("%s%s%s%s", *line, (*line)[0] == '\0' ? "" : ", ", before,
                             quantity_format(quantity, text, sizeof text));
    free(*line);
    *line = more;
}

/* One column of the plate, as stamped. */
static char *words_column(const struct plate_column *column)
{
    char *line = text_copy("");
    add_quantity(&line, "", &column->power);
    add_quantity(&line, "", &column->voltage_low);
    if (column->voltage_high.given && column->voltage_high.value > column->voltage_low.value)
        add_quantity(&line, "up to ", &column->voltage_high);
    add_quantity(&line, "", &column->current);
    add_quantity(&line, "", &column->frequency);
    add_quantity(&line, "", &column->speed);
    add_quantity(&line, "power factor ", &column->power_factor);
    add_quantity(&line, "efficiency ", &column->efficiency);
    return line;
}

static void write_plate(struct sink *sink, const struct motor *motor)
{
    sink_open(sink, "nameplate", GROUP_LIST);
    for (size_t i = 0; motor->given && i < motor->column_count; i++) {
        bool connected = motor->connected_given || motor->column_count == 1 ? i == motor->connected : false;
        char *words = words_column(&motor->columns[i]);
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field_owned(sink, NULL, ROLE_FACT, i == 0 ? "nameplate" : "",
                         text_format("%s%s", words, connected ? "; connected for this" : ""));
        sink_field_owned(sink, "column", ROLE_DATA, NULL, words);
        sink_field(sink, "connected", ROLE_DATA, NULL, cell_bool(connected));
        sink_close(sink);
    }
    sink_close(sink);
}

static void write_identity(struct sink *sink, const struct accept_report *report)
{
    const struct record *now = report->now;
    const struct sheet *sheet = report->visit->sheet;
    fields_visit(sink, report->visit);
    sink_field(sink, "serial_number", ROLE_FACT, "serial", cell_text(now->serial_number));
    sink_field(sink, "firmware", ROLE_FACT, "firmware", cell_text(now->firmware));
    write_plate(sink, &sheet->motor);
    if (sheet->supply.given) {
        char *supply = text_copy("");
        add_quantity(&supply, "", &sheet->supply.voltage);
        add_quantity(&supply, "", &sheet->supply.frequency);
        sink_field_owned(sink, NULL, ROLE_FACT, "supply", supply);
    }
    sink_field_owned(sink, NULL, ROLE_FACT, "map", text_format("sha256 %s", report->visit->map->sha256));
    sink_field_owned(sink, NULL, ROLE_FACT, "sheet", text_format("sha256 %s", sheet->sha256));
    sink_field_owned(sink, NULL, ROLE_FACT, "tested",
                     text_format("by %s at %s with %s", now->who, now->host, now->tool));
    sink_field(sink, "who", ROLE_DATA, NULL, cell_text(now->who));
    sink_field(sink, "host", ROLE_DATA, NULL, cell_text(now->host));
    sink_field(sink, "tool", ROLE_DATA, NULL, cell_text(now->tool));
}

/* ---- what is open ---- */

static void write_points(struct sink *sink, const struct acceptance *acceptance)
{
    if (acceptance->point_count > 0) {
        char *heading = text_format("OPEN (%zu)", acceptance->point_count);
        sink_heading(sink, acceptance_overall(acceptance) == OVERALL_DIFFERS ? ROLE_BAD : ROLE_OPEN, heading);
        free(heading);
    }
    sink_open(sink, "open", GROUP_SIDE_ROWS);
    for (size_t i = 0; i < acceptance->point_count; i++) {
        const struct open_point *point = &acceptance->points[i];
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field(sink, "about", ROLE_NAME, "point", cell_text(point->about));
        sink_field(sink, NULL, ROLE_FOUND, "state", cell_text(point->differs ? "differs" : "open"));
        sink_field(sink, NULL, ROLE_EXPECTED, "done, by whom", cell_text("____________________"));
        sink_field(sink, "at_stake", ROLE_STAKE, "at stake", cell_text(stake_word(point->weight)));
        sink_field(sink, "text", ROLE_NOTE, NULL, cell_text(point->text));
        sink_field(sink, "differs", ROLE_DATA, NULL, cell_bool(point->differs));
        sink_close(sink);
    }
    sink_close(sink);
}

/* ---- as found, as left ---- */

static void write_record_of(struct sink *sink, const char *key, const struct record *record)
{
    if (record == NULL) {
        sink_field(sink, key, ROLE_DATA, NULL, cell_null());
        return;
    }
    sink_open(sink, key, GROUP_OBJECT);
    fields_record(sink, record);
    sink_field_owned(sink, "began", ROLE_DATA, NULL, words_time(record->began_ms));
    sink_close(sink);
}

/* What can be set and was read both times. */
static bool was_changed(const struct accept_report *report, size_t index, const struct record_value **was,
                        const struct record_value **left)
{
    const struct parameter *parameter = &report->visit->map->parameters[index];
    *was = record_value_find(report->found, parameter->name);
    *left = record_value_find(report->left, parameter->name);
    return parameter->watch && *was != NULL && *left != NULL && (*was)->symptom == NULL && (*left)->symptom == NULL &&
           !record_value_same(*was, *left);
}

static void write_changed(struct sink *sink, const struct accept_report *report)
{
    bool both = report->found != NULL && report->left != NULL;
    if (both) {
        char *found = words_time(report->found->began_ms), *left = words_time(report->left->began_ms);
        sink_heading(sink, ROLE_OPEN, "AS FOUND, AND AS LEFT");
        sink_field_owned(sink, NULL, ROLE_FACT, "found", found);
        sink_field_owned(sink, NULL, ROLE_FACT, "left",
                         text_format("%s%s", left, report->left->after_power_cycle ? ", after a power cycle" : ""));
        free(left);
    }
    write_record_of(sink, "as_found", report->found);
    write_record_of(sink, "as_left", report->left);
    sink_open(sink, "changed", GROUP_SIDE_ROWS);
    size_t count = 0;
    for (size_t i = 0; both && i < report->visit->map->count; i++) {
        const struct record_value *was, *left;
        if (!was_changed(report, i, &was, &left))
            continue;
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field(sink, "parameter", ROLE_NAME, "parameter", cell_text(was->parameter));
        sink_field(sink, "found", ROLE_FOUND, "as found", cell_text(was->shown));
        sink_field(sink, "left", ROLE_EXPECTED, "as left", cell_text(left->shown));
        sink_field(sink, NULL, ROLE_STAKE, "at stake",
                   cell_text(stake_word(means_table[report->visit->map->parameters[i].means].stake)));
        sink_close(sink);
        count++;
    }
    sink_close(sink);
    if (both && count == 0)
        sink_field(sink, NULL, ROLE_FACT, "changed", cell_text("nothing that is watched"));
}

/* ---- the run ---- */

static void write_run(struct sink *sink, const struct accept_report *report)
{
    write_record_of(sink, "run", report->run);
    if (report->run == NULL)
        return;
    char *began = words_time(report->run->began_ms);
    sink_heading(sink, ROLE_OPEN, "WITNESSED RUN");
    sink_field_owned(sink, NULL, ROLE_FACT, "witnessed",
                     text_format("%s by %s at %s", began, report->run->who, report->run->host));
    free(began);
    fields_witnessed(sink, report->witnessed);
    witness_charts(sink, report->samples, report->witnessed);
    show_list(sink, ROLE_OPEN, "WHAT THE RUN DOES NOT SHOW", &report->witnessed->remarks);
}

/* ---- by hand ---- */

static void write_checks(struct sink *sink, const struct acceptance *acceptance)
{
    sink_heading(sink, ROLE_OPEN, "CHECKED BY HAND: WHAT NO REGISTER SHOWS");
    sink_open(sink, "by_hand", GROUP_SIDE_ROWS);
    for (size_t i = 0; i < acceptance->check_count; i++) {
        const struct hand_check *check = &acceptance->checks[i];
        const struct by_hand *done = check->done;
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field(sink, "check", ROLE_NAME, "check", cell_text(check->name));
        sink_field(sink, NULL, ROLE_FOUND, "by", cell_text(done == NULL ? "" : done->by));
        sink_field(sink, NULL, ROLE_EXPECTED, "at", cell_text(done == NULL ? "missing" : done->at));
        sink_field(sink, "at_stake", ROLE_STAKE, "at stake", cell_text(stake_word(check->weight)));
        if (done != NULL)
            sink_field(sink, NULL, ROLE_NOTE, NULL, cell_text(done->found));
        sink_field(sink, "found", ROLE_DATA, NULL, cell_text(done == NULL ? NULL : done->found));
        sink_field(sink, "by", ROLE_DATA, NULL, cell_text(done == NULL ? NULL : done->by));
        sink_field(sink, "at", ROLE_DATA, NULL, cell_text(done == NULL ? NULL : done->at));
        sink_close(sink);
    }
    sink_close(sink);
}

/* ---- the end ---- */

static void show_cautions(struct sink *sink)
{
    const char *const cautions[] = {
        "This document is about numbers in registers, and what was written into it by hand. It is no release for use.",
        cautions_all[CAUTION_ISOLATE],
        cautions_all[CAUTION_BUS],
        "Local codes and site rules go first, and those who answer for this machine by them.",
    };
    struct texts lines = {0};
    for (size_t i = 0; i < sizeof cautions / sizeof *cautions; i++)
        texts_add(&lines, text_copy(cautions[i]));
    show_list(sink, ROLE_OPEN, "CAUTION", &lines);
    texts_free(&lines);
}

static void show_signatures(struct sink *sink)
{
    sink_heading(sink, ROLE_OPEN, "SIGNED");
    sink_field(sink, NULL, ROLE_FACT, "tested", cell_text(WRITE_HERE));
    sink_field(sink, NULL, ROLE_FACT, "accepted", cell_text(WRITE_HERE));
}

/* A line of its own, whole. */
static void write_digest(struct sink *sink)
{
    sink_heading(sink, ROLE_OPEN, "DIGEST OF THIS DOCUMENT");
    sink_field(sink, "digest", ROLE_COPY, NULL, cell_text(SEAL_OPEN));
}

void doc_accept(struct sink *sink, const struct accept_report *report)
{
    const struct acceptance *acceptance = report->acceptance;
    enum overall overall = acceptance_overall(acceptance);
    char *traffic = words_traffic(&report->visit->readings->traffic);
    sink_begin(sink, "asleft/accept/1", findings_columns);
    write_identity(sink, report);
    char *open = words_open(acceptance);
    sink_field(sink, "verdict", ROLE_DATA, NULL, cell_text(overall_word(overall)));
    fields_counts(sink, report->visit->findings);
    sink_field_owned(sink, NULL, ROLE_FACT, "verdict", text_format("%s: %s", overall_word(overall), open));
    write_points(sink, acceptance);
    fields_findings(sink, report->visit);
    write_changed(sink, report);
    write_run(sink, report);
    write_checks(sink, acceptance);
    sink_heading(sink, ROLE_OPEN, "THE LINE");
    sink_field_owned(sink, NULL, ROLE_FACT, "traffic", traffic);
    fields_traffic(sink, &report->visit->readings->traffic);
    show_cautions(sink);
    show_signatures(sink);
    if (report->seals)
        write_digest(sink);
    sink_field_owned(sink, NULL, moods[overall], NULL,
                     text_format("%s %s: %s", report->visit->sheet->tag, overall_word(overall), open));
    free(open);
    sink_end(sink);
}

void doc_accept_cover(struct sink *sink, const struct accept_report *reports, size_t count)
{
    static const char *const columns[] = {"tag", "verdict", "open", NULL};
    enum overall worst = OVERALL_AGREES;
    size_t open = 0;
    sink_begin(sink, "asleft/accept-cover/1", columns);
    sink_field(sink, NULL, ROLE_TITLE, NULL, cell_text("Acceptance of drives"));
    sink_field_owned(
        sink, NULL, ROLE_FACT, "tested",
        text_format("by %s at %s with %s", reports[0].now->who, reports[0].now->host, reports[0].now->tool));
    sink_open(sink, "drives", GROUP_ROWS);
    sink_heading(sink, ROLE_OPEN, "DRIVES");
    for (size_t i = 0; i < count; i++) {
        const struct acceptance *acceptance = reports[i].acceptance;
        enum overall overall = acceptance_overall(acceptance);
        char *words = words_open(acceptance);
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field(sink, "tag", ROLE_NAME, "drive", cell_text(reports[i].visit->sheet->tag));
        sink_field(sink, "verdict", ROLE_FOUND, "verdict", cell_text(overall_word(overall)));
        sink_field(sink, "service", ROLE_EXPECTED, "service", cell_text(reports[i].visit->sheet->service));
        sink_field_owned(sink, NULL, ROLE_NOTE, NULL, words);
        sink_field(sink, "open", ROLE_DATA, NULL, cell_integer((int64_t)acceptance->point_count));
        sink_close(sink);
        open += acceptance->point_count;
        if (overall == OVERALL_DIFFERS || worst == OVERALL_AGREES)
            worst = overall;
    }
    sink_close(sink);
    for (size_t i = 0; i < count; i++)
        sink_link(sink, i == 0 ? "pages" : "", reports[i].visit->sheet->tag, i + 2);
    show_signatures(sink);
    write_digest(sink);
    sink_field_owned(sink, NULL, moods[worst], NULL, text_format("%zu drives, %zu points open", count, open));
    sink_end(sink);
}
