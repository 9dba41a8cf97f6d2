/* SPDX-License-Identifier: MIT */
/* A small result of each kind, built by hand, and a sink that writes into memory. */
#ifndef ASLEFT_TESTS_REPORT_RESULTS_H
#define ASLEFT_TESTS_REPORT_RESULTS_H

#include "bus/map_builder.h"
#include "report/documents.h"

#include <math.h>
#include <stdio.h>

/* What a sink has written. */
struct paper {
    char *text;
    size_t size;
    FILE *file;
    struct sink sink;
};

static inline void paper_start(struct paper *paper, const char *format, bool color, unsigned width)
{
    *paper = (struct paper){0};
    paper->file = open_memstream(&paper->text, &paper->size);
    sink_init(&paper->sink, sink_format_find(format), paper->file,
              (struct sink_options){.color = color, .width = width});
}

static inline const char *paper_read(struct paper *paper)
{
    sink_free(&paper->sink);
    (void)fclose(paper->file);
    paper->file = NULL;
    return paper->text;
}

static inline void paper_free(struct paper *paper)
{
    free(paper->text);
}

/* A visit to P-204, with all that a report is made of. */
struct result {
    struct map map;
    struct sheet sheet;
    struct readings readings;
    struct findings findings;
    struct setpoints setpoints;
    struct visit_report report;
};

static inline struct finding *add_finding(struct findings *findings, const char *parameter, enum means means,
                                          enum verdict verdict, const char *basis)
{
    struct finding *finding = findings_add(findings);
    finding->parameter = text_copy(parameter);
    finding->means = means == MEANS_NONE ? NULL : text_copy(means_table[means].name);
    finding->stake = means_table[means].stake;
    finding->verdict = verdict;
    finding->basis = text_copy(basis);
    return finding;
}

static inline void has_number(struct finding *finding, double found, uint16_t raw, enum unit unit, double step)
{
    finding->found = (struct value){.kind = VALUE_NUMBER, .number = found};
    finding->unit = unit;
    finding->step = step;
    finding->raw = memory_new(1, sizeof *finding->raw);
    finding->raw[0] = raw;
    finding->raw_count = 1;
}

static inline void should_be(struct finding *finding, double low, double nominal, double high, enum source source)
{
    finding->expected = (struct expected){.kind = EXPECTED_RANGE, .low = low, .nominal = nominal, .high = high};
    finding->source = source;
}

static inline void should_be_word(struct finding *finding, const char *word)
{
    finding->expected.kind = EXPECTED_ONE_OF;
    texts_add(&finding->expected.one_of, text_copy(word));
    finding->source = SOURCE_JOB;
}

static inline void has_word(struct finding *finding, const char *word, uint16_t raw)
{
    has_number(finding, 0, raw, UNIT_NONE, 0);
    finding->found = (struct value){.kind = VALUE_WORD, .text = text_copy(word)};
}

static inline void add_contradiction(struct findings *findings)
{
    struct finding *sheet = findings_add(findings);
    sheet->means = text_copy("sheet.motor.rated_current");
    sheet->verdict = VERDICT_IMPLAUSIBLE;
    sheet->stake = STAKE_EQUIPMENT;
    sheet->found = (struct value){.kind = VALUE_NUMBER, .number = 3};
    sheet->unit = UNIT_A;
    should_be(sheet, 2.58, 2.63, 2.68, SOURCE_NAMEPLATE);
    sheet->basis = text_copy("2 hp at 460 V with 86.5 % and 82 % take 2.63 A; look at current, efficiency and power "
                             "factor on the plate");
}

static inline void result_start(struct result *result)
{
    *result = (struct result){.map = map_start(ORDER_HIGH_FIRST)};
    result->map.name = text_copy("quayside-compact");
    (void)snprintf(result->map.sha256, sizeof result->map.sha256, "%064d", 1);
    result->sheet.tag = text_copy("P-204");
    result->sheet.service = text_copy("Brine transfer pump");
    (void)snprintf(result->sheet.sha256, sizeof result->sheet.sha256, "%064d", 2);
    result->sheet.line = (struct line){.host = text_copy("192.0.2.10"), .port = 502, .unit = 4};
    result->readings.traffic = (struct traffic){.requests = 9, .retries = 1, .timeouts = 1};
    result->readings.began_ms = 1769846400000; /* 2026-01-31T08:00:00Z */
    result->readings.ended_ms = 1769846401234;
    result->report = (struct visit_report){.map = &result->map,
                                           .sheet = &result->sheet,
                                           .line = &result->sheet.line,
                                           .readings = &result->readings,
                                           .findings = &result->findings};
}

/* One finding of each kind, in an order that the report must change. */
static inline void result_findings(struct result *result)
{
    struct findings *findings = &result->findings;
    struct finding *finding =
        add_finding(findings, "rated_speed", MEANS_MOTOR_RATED_SPEED, VERDICT_AGREES, "as stamped: 1745 rpm");
    has_number(finding, 1750, 1750, UNIT_RPM, 1);
    should_be(finding, 1734, 1745, 1756, SOURCE_NAMEPLATE);
    finding->allow_within = 10;
    finding->allow_because = text_copy("rewound in 2019");
    finding = add_finding(findings, "motor_current", MEANS_MOTOR_RATED_CURRENT, VERDICT_DIFFERS,
                          "nameplate current in the 460 V column: 3.0 A");
    has_number(finding, 6, 1500, UNIT_A, 0.004);
    should_be(finding, 2.948, 3, 3.052, SOURCE_NAMEPLATE);
    finding->remark = text_copy("150.0 % of 4.00 A");
    finding = add_finding(findings, "access_code", MEANS_NONE, VERDICT_UNCHECKED, "the sheet does not say");
    has_number(finding, 7, 7, UNIT_NONE, 1);
    finding = add_finding(findings, "restart_after_power_return", MEANS_RESTART_AFTER_POWER_RETURN, VERDICT_UNCHECKED,
                          "the sheet does not say");
    has_word(finding, "automatic", 1);
    finding = add_finding(findings, "start_source", MEANS_CONTROL_START_SOURCE, VERDICT_DIFFERS,
                          "the job: control.start_source: terminals");
    has_word(finding, "network", 2);
    should_be_word(finding, "terminals");
    finding = add_finding(findings, "acceleration_time", MEANS_RAMP_ACCELERATION_TIME, VERDICT_UNREAD,
                          "the job: at least 10 s from 0 Hz to 60 Hz");
    finding->symptom = (struct symptom){.kind = SYMPTOM_LOCKED};
    finding->remark = text_copy("raise the level at the keypad (access_level is 0)");
    finding->unit = UNIT_S;
    finding->step = 0.1;
    should_be(finding, 9.95, NAN, INFINITY, SOURCE_JOB);
    finding = add_finding(findings, "no_load_current", MEANS_MOTOR_NO_LOAD_CURRENT, VERDICT_UNCHECKED,
                          "an estimate only: 30 % to 60 % of 3.0 A for four poles");
    has_number(finding, 1.4, 140, UNIT_A, 0.01);
    should_be(finding, 0.9, NAN, 1.8, SOURCE_ESTIMATE);
    finding = add_finding(findings, "stop_method", MEANS_CONTROL_STOP_METHOD, VERDICT_AGREES,
                          "the job: control.stop_method: ramp");
    has_word(finding, "ramp", 0);
    should_be_word(finding, "ramp");
    add_contradiction(findings);
}

static inline void result_free(struct result *result)
{
    findings_free(&result->findings);
    readings_free(&result->readings);
    setpoints_free(&result->setpoints);
    sheet_free(&result->sheet);
    map_free(&result->map);
}

#endif
