/* SPDX-License-Identifier: MIT */
/* What a witnessed run shows: what differs first, then the rest, its phases, and what it cannot show. */
#include "report/fields.h"

#include "motor/quantity.h"
#include "motor/show.h"
#include "report/sampled.h"
#include "report/witness_charts.h"
#include "report/words.h"

#include <math.h>
#include <stdlib.h>

/* ---- measures ---- */

static size_t count_of(const struct witnessed *witnessed, enum verdict verdict)
{
    size_t count = 0;
    for (size_t i = 0; i < witnessed->measure_count; i++)
        count += witnessed->measures[i].verdict == verdict;
    return count;
}

enum overall witnessed_overall(const struct witnessed *witnessed, bool all_read)
{
    if (count_of(witnessed, VERDICT_DIFFERS) + count_of(witnessed, VERDICT_IMPLAUSIBLE) > 0)
        return OVERALL_DIFFERS;
    if (!all_read || count_of(witnessed, VERDICT_UNREAD) > 0 || count_of(witnessed, VERDICT_AGREES) == 0)
        return OVERALL_INCOMPLETE;
    return OVERALL_AGREES;
}

/* As many decimals as the uncertainty is worth: the first digit of it. */
static double step_of(double uncertainty)
{
    return uncertainty > 0 && isfinite(uncertainty) ? pow(10, floor(log10(uncertainty))) : 0;
}

/* Of a band, or of the one end that it has: three digits. */
static double step_of_band(const struct expected *band)
{
    if (isfinite(band->low) && isfinite(band->high))
        return step_of((band->high - band->low) / 2);
    return step_of(fabs(isfinite(band->low) ? band->low : band->high)) / 100;
}

static double shown(const struct measure *measure, double base)
{
    return unit_from_base(base, measure->unit);
}

/* "10.31 s (10.10 to 10.52)" */
static char *words_measured(const struct measure *measure)
{
    const double below = measure->below, above = measure->above;
    const struct expected range = {.kind = EXPECTED_RANGE,
                                   .low = shown(measure, measure->value - below),
                                   .nominal = shown(measure, measure->value),
                                   .high = shown(measure, measure->value + above)};
    const double step = step_of(shown(measure, fmax(below, above)));
    if (!isfinite(measure->value))
        return text_copy("-");
    return below + above > 0 ? words_expected(&range, measure->unit, step)
                             : show_number(range.nominal, measure->unit, step);
}

static struct expected expected_shown(const struct measure *measure)
{
    struct expected expected = measure->expected;
    expected.low = shown(measure, expected.low);
    expected.nominal = shown(measure, expected.nominal);
    expected.high = shown(measure, expected.high);
    return expected;
}

static void write_measure(struct sink *sink, const struct measure *measure)
{
    const struct expected expected = expected_shown(measure);
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, NULL, ROLE_NAME, "measured", cell_text(measure->name));
    sink_field_owned(sink, NULL, ROLE_FOUND, "found", words_measured(measure));
    sink_field_owned(sink, NULL, ROLE_EXPECTED, "should be",
                     words_expected(&expected, measure->unit, step_of_band(&expected)));
    sink_field(sink, NULL, ROLE_STAKE, "at stake", cell_text(stake_word(measure->stake)));
    sink_field(sink, NULL, ROLE_NOTE, NULL, cell_text(measure->basis));
    sink_field(sink, "name", ROLE_DATA, NULL, cell_text(measure->name));
    sink_field(sink, "means", ROLE_DATA, NULL,
               cell_text(measure->means == MEANS_NONE ? NULL : means_table[measure->means].name));
    sink_field(sink, "verdict", ROLE_DATA, NULL, cell_text(verdict_word(measure->verdict)));
    sink_field(sink, "at_stake", ROLE_DATA, NULL, cell_text(stake_word(measure->stake)));
    fields_expected(sink, &expected);
    sink_field_number(sink, "found", shown(measure, measure->value));
    sink_field_number(sink, "below", shown(measure, measure->below));
    sink_field_number(sink, "above", shown(measure, measure->above));
    sink_field_unit(sink, measure->unit);
    sink_field(sink, "phase", ROLE_DATA, NULL,
               measure->phase == (size_t)-1 ? cell_null() : cell_integer((int64_t)measure->phase));
    sink_field(sink, "basis", ROLE_DATA, NULL, cell_text(measure->basis));
    sink_close(sink);
}

static void write_measures(struct sink *sink, const struct witnessed *witnessed)
{
    static const struct {
        enum verdict verdict;
        enum role mood;
        const char *heading;
    } chapters[] = {{VERDICT_DIFFERS, ROLE_BAD, "DIFFERS"},
                    {VERDICT_IMPLAUSIBLE, ROLE_BAD, "THE SHEET CONTRADICTS ITSELF"},
                    {VERDICT_UNREAD, ROLE_OPEN, "NOT READ"},
                    {VERDICT_AGREES, ROLE_GOOD, "AGREES"},
                    {VERDICT_UNCHECKED, ROLE_OPEN, "NOT CHECKED"}};
    sink_open(sink, "measures", GROUP_SIDE_ROWS);
    for (size_t i = 0; i < sizeof chapters / sizeof *chapters; i++) {
        size_t count = count_of(witnessed, chapters[i].verdict);
        if (count == 0)
            continue;
        char *heading = text_format("%s (%zu)", chapters[i].heading, count);
        sink_heading(sink, chapters[i].mood, heading);
        free(heading);
        for (int stake = STAKE_PEOPLE; stake >= STAKE_PROCESS; stake--)
            for (size_t k = 0; k < witnessed->measure_count; k++)
                if (witnessed->measures[k].verdict == chapters[i].verdict && (int)witnessed->measures[k].stake == stake)
                    write_measure(sink, &witnessed->measures[k]);
    }
    sink_close(sink);
}

static void write_counts(struct sink *sink, const struct witnessed *witnessed)
{
    static const enum verdict kinds[VERDICT_KINDS] = {VERDICT_AGREES, VERDICT_DIFFERS, VERDICT_UNREAD,
                                                      VERDICT_IMPLAUSIBLE, VERDICT_UNCHECKED};
    sink_open(sink, "counts", GROUP_OBJECT);
    for (size_t i = 0; i < VERDICT_KINDS; i++)
        sink_field(sink, verdict_word(kinds[i]), ROLE_DATA, NULL, cell_integer((int64_t)count_of(witnessed, kinds[i])));
    sink_close(sink);
}

/* ---- phases ---- */

static char *words_seconds(int64_t us)
{
    return show_number((double)us * 1e-6, UNIT_S, 0.01);
}

/* "0.0 to 60.0 Hz, stretched by a limit" */
static char *words_phase(const struct phase *phase)
{
    char from[64], to[64];
    bool known = isfinite(phase->from_hz) && isfinite(phase->to_hz);
    number_format(phase->from_hz, 0.1, from, sizeof from);
    number_format(phase->to_hz, 0.1, to, sizeof to);
    bool moves = phase->kind == PHASE_RAMP_UP || phase->kind == PHASE_RAMP_DOWN || phase->kind == PHASE_COASTING;
    char *hz = !known ? text_copy("-") : moves ? text_format("%s to %s Hz", from, to) : text_format("%s Hz", from);
    char *words = text_format("%s%s%s%s", hz, phase->s_shaped ? ", rounded at both ends" : "",
                              phase->stretched ? ", held back by a limit" : "", phase->is_whole ? "" : ", cut off");
    free(hz);
    return words;
}

static void write_phases(struct sink *sink, const struct witnessed *witnessed)
{
    if (witnessed->phase_count > 0)
        sink_heading(sink, ROLE_GOOD, "PHASES");
    sink_open(sink, "phases", GROUP_SIDE_ROWS);
    for (size_t i = 0; i < witnessed->phase_count; i++) {
        const struct phase *phase = &witnessed->phases[i];
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field(sink, "kind", ROLE_NAME, "phase", cell_text(phase_word(phase->kind)));
        sink_field_owned(sink, NULL, ROLE_FOUND, "from", words_seconds(phase->from_us));
        sink_field_owned(sink, NULL, ROLE_EXPECTED, "for", words_seconds(phase->to_us - phase->from_us));
        sink_field_owned(sink, NULL, ROLE_STAKE, "frequency", words_phase(phase));
        sink_field_number(sink, "from_ms", (double)phase->from_us / 1000);
        sink_field_number(sink, "to_ms", (double)phase->to_us / 1000);
        sink_field_number(sink, "from_hz", phase->from_hz);
        sink_field_number(sink, "to_hz", phase->to_hz);
        sink_field(sink, "whole", ROLE_DATA, NULL, cell_bool(phase->is_whole));
        sink_field(sink, "stretched", ROLE_DATA, NULL, cell_bool(phase->stretched));
        sink_field(sink, "s_shaped", ROLE_DATA, NULL, cell_bool(phase->s_shaped));
        sink_field(sink, "command_settled", ROLE_DATA, NULL, cell_bool(phase->command_settled));
        sink_close(sink);
    }
    sink_close(sink);
}

void fields_witnessed(struct sink *sink, const struct witnessed *witnessed)
{
    write_measures(sink, witnessed);
    write_phases(sink, witnessed);
}

/* ---- the document ---- */

static size_t most_samples(const struct samples *samples)
{
    size_t most = 0;
    for (size_t i = 0; i < samples->count; i++)
        most = samples->items[i].count > most ? samples->items[i].count : most;
    return most;
}

/* "35.2 s from ..., 1373 samples of 8 parameters, 39 a second" */
static void show_run(struct sink *sink, const struct samples *samples)
{
    char *began = words_time(samples->began_ms);
    char *traffic = words_traffic(&samples->traffic);
    size_t most = most_samples(samples);
    double took_s = (double)(samples->ended_ms - samples->began_ms) / 1000;
    char rate[64];
    sink_field_owned(sink, NULL, ROLE_FACT, "sampled",
                     text_format("%s, %.1f s, %zu samples of %zu parameters, %s a second", began, took_s, most,
                                 samples->count,
                                 number_format(took_s > 0 ? (double)most / took_s : 0, 0.1, rate, sizeof rate)));
    sink_field(sink, NULL, ROLE_FACT, "asked", cell_text(traffic));
    free(traffic);
    free(began);
}

static void write_run(struct sink *sink, const struct samples *samples)
{
    sink_open(sink, "run", GROUP_OBJECT);
    sink_field_owned(sink, "began", ROLE_DATA, NULL, words_time(samples->began_ms));
    sink_field_owned(sink, "ended", ROLE_DATA, NULL, words_time(samples->ended_ms));
    fields_traffic(sink, &samples->traffic);
    sink_close(sink);
}

static void write_last_line(struct sink *sink, const struct witness_report *report, enum overall overall)
{
    static const enum role moods[] = {
        [OVERALL_AGREES] = ROLE_GOOD, [OVERALL_DIFFERS] = ROLE_BAD, [OVERALL_INCOMPLETE] = ROLE_OPEN};
    const struct witnessed *witnessed = report->witnessed;
    size_t differ = count_of(witnessed, VERDICT_DIFFERS) + count_of(witnessed, VERDICT_IMPLAUSIBLE);
    const char *tag = report->visit->sheet->tag;
    if (!report->seen) {
        sink_field_owned(sink, NULL, ROLE_OPEN, NULL, text_format("%s incomplete: no run was seen", tag));
        return;
    }
    char *id = words_id(&report->record->id);
    char *differing = differ == 0 ? text_copy("") : text_format("%zu differ%s; ", differ, differ == 1 ? "s" : "");
    char *kept = record_id_given(&report->record->id) ? text_format("; run %s", id) : text_copy("; not kept");
    sink_field_owned(sink, NULL, moods[overall], NULL,
                     text_format("%s %s: %s%zu agree, %zu not checked%s", tag, overall_word(overall), differing,
                                 count_of(witnessed, VERDICT_AGREES), count_of(witnessed, VERDICT_UNCHECKED), kept));
    free(kept);
    free(differing);
    free(id);
}

static void write_remarks(struct sink *sink, const struct texts *remarks)
{
    show_list(sink, ROLE_OPEN, "WHAT THIS DOES NOT SHOW", remarks);
    sink_field(sink, "remarks", ROLE_DATA, NULL, cell_words(remarks));
}

/* Columns of the CSV: what names the run, then a column a series. `names` owns these. NULL at the end; owned. */
static const char **make_columns(const struct samples *samples, struct texts *names)
{
    static const char *const first[] = {"tag", "record", "at_s"};
    enum { FIRST = sizeof first / sizeof *first };
    const char **columns = memory_new(FIRST + samples->count + 1, sizeof *columns);
    for (size_t i = 0; i < FIRST; i++)
        columns[i] = first[i];
    for (size_t i = 0; i < samples->count; i++) {
        texts_add(names, samples_column(&samples->items[i]));
        columns[FIRST + i] = names->items[i];
    }
    return columns;
}

static void write_record(struct sink *sink, const struct record *record)
{
    sink_field_owned(sink, NULL, ROLE_FACT, "witnessed",
                     text_format("by %s at %s with %s", record->who, record->host, record->tool));
    if (record->serial_number != NULL)
        sink_field(sink, NULL, ROLE_FACT, "serial", cell_text(record->serial_number));
    if (record->firmware != NULL)
        sink_field(sink, NULL, ROLE_FACT, "firmware", cell_text(record->firmware));
    fields_record(sink, record);
}

void doc_witness(struct sink *sink, const struct witness_report *report)
{
    const struct witnessed *witnessed = report->witnessed;
    struct texts names = {0};
    const char **columns = make_columns(report->samples, &names);
    enum overall overall = report->seen ? witnessed_overall(witnessed, report->all_read) : OVERALL_INCOMPLETE;
    sink_begin(sink, "asleft/witness/1", columns);
    fields_visit(sink, report->visit);
    show_run(sink, report->samples);
    write_record(sink, report->record);
    write_run(sink, report->samples);
    sink_field(sink, "seen", ROLE_DATA, NULL, cell_bool(report->seen));
    sink_field(sink, "verdict", ROLE_DATA, NULL, cell_text(overall_word(overall)));
    write_counts(sink, witnessed);
    fields_witnessed(sink, witnessed);
    witness_charts(sink, report->samples, witnessed);
    write_remarks(sink, &witnessed->remarks);
    show_advice(sink, report->visit);
    fields_advice(sink, &report->visit->advice);
    sink_samples(sink, "series", report->samples);
    fields_traffic(sink, &report->visit->readings->traffic);
    write_last_line(sink, report, overall);
    sink_end(sink);
    free(columns);
    texts_free(&names);
}
