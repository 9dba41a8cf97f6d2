/* SPDX-License-Identifier: MIT */
/* The documents, complete: every word that a person sees, and what a machine reads. */
#include <jansson.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/results.h"

static const char verify_text[] = "P-204: Brine transfer pump\n"
                                  "drive     quayside-compact, unit 4 on 192.0.2.10:502\n"
                                  "read      2026-01-31T08:00:00.000Z, 9 requests, 1 retry, 1 timeout\n"
                                  "\n"
                                  "DIFFERS (2)\n"
                                  "  parameter                         found  should be                   at stake\n"
                                  "  start_source                    network  terminals                   people\n"
                                  "      the job: control.start_source: terminals\n"
                                  "  motor_current                   6.000 A  3.000 A (2.948 to 3.052)    equipment\n"
                                  "      read as: 150.0 % of 4.00 A\n"
                                  "      nameplate current in the 460 V column: 3.0 A\n"
                                  "\n"
                                  "THE SHEET CONTRADICTS ITSELF (1)\n"
                                  "  sheet                              says  should be                   at stake\n"
                                  "  sheet.motor.rated_current           3 A  2.63 A (2.58 to 2.68)       equipment\n"
                                  "      2 hp at 460 V with 86.5 % and 82 % take 2.63 A; look at current,\n"
                                  "      efficiency and power factor on the plate\n"
                                  "\n"
                                  "NOT READ (1)\n"
                                  "  parameter                         found  should be                   at stake\n"
                                  "  acceleration_time                locked  at least 9.95 s             process\n"
                                  "      raise the level at the keypad (access_level is 0)\n"
                                  "      the job: at least 10 s from 0 Hz to 60 Hz\n"
                                  "\n"
                                  "NOT CHECKED, AND PEOPLE ARE AT STAKE (1)\n"
                                  "  parameter                         found  should be                   at stake\n"
                                  "  restart_after_power_return    automatic  the sheet does not say      people\n"
                                  "\n"
                                  "AGREES (2)\n"
                                  "  parameter                         found  should be                   at stake\n"
                                  "  rated_speed                    1750 rpm  1745 rpm (1734 to 1756)     equipment\n"
                                  "      allowed within 10 rpm because: rewound in 2019\n"
                                  "  stop_method                        ramp  ramp                        process\n"
                                  "\n"
                                  "NOT CHECKED (2)\n"
                                  "  parameter                         found  should be                   at stake\n"
                                  "  no_load_current                  1.40 A  0.9 to 1.8 A                equipment\n"
                                  "      an estimate only: 30 % to 60 % of 3.0 A for four poles\n"
                                  "  access_code                           7  the sheet does not say      process\n"
                                  "\n"
                                  "P-204 differs: 2 differ, 1 contradiction, 1 not read; 2 agree, 3 not checked\n";
static const char silent_text[] = "P-204: Brine transfer pump\n"
                                  "drive     quayside-compact, unit 4 on 192.0.2.10:502\n"
                                  "read      2026-01-31T08:00:00.000Z, 9 requests, 1 retry, 1 timeout\n"
                                  "but       the line did not open\n"
                                  "\n"
                                  "NOT READ (5)\n"
                                  "  symptom unreachable\n"
                                  "  of      motor_power, motor_voltage, motor_current, rated_speed, start_source\n"
                                  "\n"
                                  "P-204 incomplete: 5 not read; 0 agree, 0 not checked\n";
static const char setpoints_text[] =
    "P-204: Brine transfer pump\n"
    "map       quayside-compact\n"
    "poles     4\n"
    "speed     1800 rpm synchronous\n"
    "slip      3.06 %\n"
    "V/Hz      7.667\n"
    "DC bus    679 V without load\n"
    "run-up    at the shortest 0.4931 s, as a straight ramp never: J = 0.026 kg.m2\n"
    "run-down  not known: the sheet has no load\n"
    "\n"
    "THE SHEET DOES NOT SAY, AND PEOPLE ARE AT STAKE\n"
    "  sheet                              says  should be                   at stake\n"
    "  sheet.motors.own_overloads            -  3 motors share the drive    people\n"
    "\n"
    "SETPOINTS\n"
    "  parameter                      setpoint  permitted                   at stake\n"
    "  motor_current                    3.00 A  3.00 A (2.445 to 3.555)     equipment\n"
    "      motor.rated_current, I_N = 3.00 A: nameplate current in the 460 V column\n"
    "      (nameplate)\n"
    "      allowed within 0.5 A because: rewound in 2019\n"
    "  start_source                             terminals                   people\n"
    "      control.start_source: settings (job)\n"
    "  acceleration_time                        at least 9.95 s             process\n"
    "      ramp.acceleration_time, t_acc: settings (job)\n"
    "  rated_slip                      unknown                              equipment\n"
    "      motor.rated_slip, f_slip: the sheet lacks motor.rated_speed\n"
    "  motor.rated_power                  2 hp  2 hp (1.95 to 2.05)         equipment\n"
    "      P_N = 2 hp: as stamped: 2 hp (nameplate)\n"
    "      no parameter of the map holds it\n"
    "\n"
    "P-204: 5 setpoints, 1 unknown; no contradiction in the sheet\n";
static const char read_text[] = "P-204: Brine transfer pump\n"
                                "drive     quayside-compact, unit 4 on 192.0.2.10:502\n"
                                "read      2026-01-31T08:00:00.000Z, 9 requests, 1 retry, 1 timeout\n"
                                "\n"
                                "VALUES\n"
                                "  parameter                         value  means                       raw (hex)\n"
                                "  restart_after_power_return exception-02  restart.after_power_return  -\n"
                                "  motor_current                   3.000 A  motor.rated_current         04D2\n"
                                "      75.0 % of 4.00 A\n"
                                "  hours                          8088.5 h  live.hours_run              04D2 162E\n"
                                "  run_state             running, at_speed  live.state                  04D2\n"
                                "  spare                              QC-0                              5143 2D30\n"
                                "\n"
                                "P-204: 4 values, 1 not read\n";
static const char proofread_text[] =
    "error     sheets/P-204.yaml:12:3: unknown key 'rated_curent'; did you mean\n"
    "          'rated_current'?\n"
    "error     sheets/P-205.yaml: no such file\n"
    "warning   maps/quay.yaml:3:1: holding 40001 is register 40001; was holding 1\n"
    "          meant?\n"
    "\n"
    "THE SHEET CONTRADICTS ITSELF\n"
    "  sheet                              says  should be                   at stake\n"
    "  sheet.motor.rated_current           3 A  2.63 A (2.58 to 2.68)       equipment\n"
    "      2 hp at 460 V with 86.5 % and 82 % take 2.63 A; look at current,\n"
    "      efficiency and power factor on the plate\n"
    "\n"
    "sheets/P-204.yaml cannot be used: 2 errors, 1 contradiction, 1 warning\n";

/* A document of the result, made in that format; the caller frees it. */
typedef void (*document)(struct sink *sink, struct result *result);

static char *write_document(document write, struct result *result, const char *format)
{
    struct paper paper;
    paper_start(&paper, format, false, 80);
    write(&paper.sink, result);
    char *text = text_copy(paper_read(&paper));
    paper_free(&paper);
    return text;
}

static void expect_text(document write, struct result *result, const char *expected)
{
    char *text = write_document(write, result, "text");
    assert_string_equal(text, expected);
    free(text);
}

static json_t *parsed(document write, struct result *result)
{
    char *text = write_document(write, result, "json");
    json_error_t error;
    json_t *json = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    assert_non_null(json);
    assert_int_equal(strcspn(text, "\n"), strlen(text) - 1); /* one line */
    free(text);
    return json;
}

static const char *string_of(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    return text == NULL ? "(no string)" : text;
}

static double number_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

static void write_verify(struct sink *sink, struct result *result)
{
    doc_verify(sink, &result->report, false);
}

static void write_verdict_only(struct sink *sink, struct result *result)
{
    doc_verify(sink, &result->report, true);
}

static void write_read(struct sink *sink, struct result *result)
{
    doc_read(sink, &result->report);
}

static void write_setpoints(struct sink *sink, struct result *result)
{
    doc_setpoints(sink, &result->sheet, &result->map, &result->setpoints, &result->findings);
}

static void write_proofread(struct sink *sink, struct result *result)
{
    struct texts errors = {0}, warnings = {0};
    texts_add(&errors, text_copy("sheets/P-204.yaml:12:3: unknown key 'rated_curent'; did you mean 'rated_current'?"));
    texts_add(&errors, text_copy("sheets/P-205.yaml: no such file"));
    texts_add(&warnings, text_copy("maps/quay.yaml:3:1: holding 40001 is register 40001; was holding 1 meant?"));
    doc_proofread(sink, &(struct proofread_report){.file = "sheets/P-204.yaml",
                                                   .kind = "sheet",
                                                   .errors = &errors,
                                                   .warnings = &warnings,
                                                   .implausible = &result->setpoints.implausible});
    texts_free(&errors);
    texts_free(&warnings);
}

/* A drive of which nothing was heard. */
static void result_silent(struct result *result)
{
    static const char *const names[] = {"motor_power", "motor_voltage", "motor_current", "rated_speed", "start_source"};
    result->report.remark = "the line did not open";
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        add_finding(&result->findings, names[i], MEANS_MOTOR_RATED_POWER, VERDICT_UNREAD, "as stamped")->symptom.kind =
            SYMPTOM_UNREACHABLE;
}

/* Five parameters, read as well as it went. */
static void result_values(struct result *result)
{
    static const size_t shown[] = {1, 0, 2, 3, 4};
    static const uint16_t words[] = {0x4D2, 0x162E, 0x5143, 0x2D30};
    static const struct {
        const char *name;
        enum means means;
    } rows[] = {{"motor_current", MEANS_MOTOR_RATED_CURRENT},
                {"restart_after_power_return", MEANS_RESTART_AFTER_POWER_RETURN},
                {"hours", MEANS_LIVE_HOURS_RUN},
                {"run_state", MEANS_LIVE_STATE},
                {"spare", MEANS_NONE}};
    for (unsigned i = 0; i < sizeof rows / sizeof *rows; i++)
        map_add(&result->map, rows[i].name, TABLE_HOLDING, i, TYPE_U16)->means = rows[i].means;
    struct readings *readings = &result->readings;
    readings->items = memory_new(result->map.count, sizeof *readings->items);
    readings->count = result->map.count;
    struct reading *reading = readings->items;
    reading_put(readings, 0, words, 1);
    reading[0].value = (struct value){.kind = VALUE_NUMBER, .number = 3};
    reading[0].unit = UNIT_A;
    reading[0].step = 0.004;
    reading[0].remark = text_copy("75.0 % of 4.00 A");
    reading[1].symptom = (struct symptom){.kind = SYMPTOM_EXCEPTION, .exception = 2};
    reading_put(readings, 2, words, 2);
    reading[2].value = (struct value){.kind = VALUE_NUMBER, .number = 8088.5};
    reading[2].unit = UNIT_H;
    reading[2].step = 0.1;
    reading_put(readings, 3, words, 1);
    reading[3].value.kind = VALUE_BITS;
    texts_add(&reading[3].value.words, text_copy("running"));
    texts_add(&reading[3].value.words, text_copy("at_speed"));
    reading_put(readings, 4, words + 2, 2);
    reading[4].value = (struct value){.kind = VALUE_TEXT, .text = text_copy("QC-0")};
    result->report.parameters = shown;
    result->report.parameter_count = sizeof shown / sizeof *shown;
}

/* A small worksheet: a number, a word, bounds, something unknown, and something that the map lacks. */
static void result_worksheet(struct result *result)
{
    struct findings *worksheet = &result->findings;
    struct finding *setpoint = add_finding(worksheet, "motor_current", MEANS_MOTOR_RATED_CURRENT, VERDICT_UNCHECKED,
                                           "nameplate current in the 460 V column");
    setpoint->unit = UNIT_A;
    setpoint->step = 0.01;
    should_be(setpoint, 2.445, 3, 3.555, SOURCE_NAMEPLATE);
    setpoint->allow_within = 0.5;
    setpoint->allow_because = text_copy("rewound in 2019");
    setpoint = add_finding(worksheet, "start_source", MEANS_CONTROL_START_SOURCE, VERDICT_UNCHECKED, "settings");
    should_be_word(setpoint, "terminals");
    setpoint = add_finding(worksheet, "acceleration_time", MEANS_RAMP_ACCELERATION_TIME, VERDICT_UNCHECKED, "settings");
    setpoint->unit = UNIT_S;
    setpoint->step = 0.1;
    should_be(setpoint, 9.95, NAN, INFINITY, SOURCE_JOB);
    (void)add_finding(worksheet, "rated_slip", MEANS_MOTOR_RATED_SLIP, VERDICT_UNCHECKED,
                      "the sheet lacks motor.rated_speed");
    setpoint = add_finding(worksheet, NULL, MEANS_MOTOR_RATED_POWER, VERDICT_UNCHECKED, "as stamped: 2 hp");
    setpoint->unit = UNIT_HP;
    should_be(setpoint, 1.95, 2, 2.05, SOURCE_NAMEPLATE);
    setpoint->remark = text_copy("no parameter of the map holds it");
    result->setpoints.derived = (struct derived){.poles = 4,
                                                 .synchronous_speed_rpm = 1800,
                                                 .slip = 55.0 / 1800,
                                                 .rated_torque_nm = NAN,
                                                 .volts_per_hertz = 460.0 / 60,
                                                 .shortest_acceleration_s = 0.4931,
                                                 .straight_acceleration_s = INFINITY,
                                                 .shortest_deceleration_s = NAN,
                                                 .straight_deceleration_s = NAN,
                                                 .dc_bus_v = 678.8};
    result->setpoints.acceleration_basis = text_copy("J = 0.026 kg.m2");
    result->setpoints.deceleration_basis = text_copy("the sheet has no load");
    struct finding *open = findings_add(&result->setpoints.open);
    open->means = text_copy("sheet.motors.own_overloads");
    open->verdict = VERDICT_UNCHECKED;
    open->stake = STAKE_PEOPLE;
    open->basis = text_copy("3 motors share the drive");
}

static void a_verification_is_told_in_order_of_urgency(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_findings(&result);
    expect_text(write_verify, &result, verify_text);
    result_free(&result);
}

static void a_silent_drive_is_told_shortly(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_silent(&result);
    expect_text(write_verify, &result, silent_text);
    json_t *json = parsed(write_verify, &result);
    assert_string_equal(string_of(json, "verdict"), "incomplete");
    assert_string_equal(string_of(json, "remark"), "the line did not open");
    assert_int_equal(json_array_size(json_object_get(json, "findings")), 5); /* a machine has them all */
    json_decref(json);
    result_free(&result);
}

static void different_causes_are_told_one_by_one(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_silent(&result);
    result.findings.items[4].remark = text_copy("raise the level at the keypad");
    char *text = write_document(write_verify, &result, "text");
    assert_non_null(strstr(text, "\n  motor_power "));
    assert_non_null(strstr(text, "\n      raise the level at the keypad\n"));
    assert_null(strstr(text, "  symptom"));
    free(text);
    for (size_t i = 0; i < 4; i++)
        result.findings.items[i].remark = text_copy("raise the level at the keypad");
    text = write_document(write_verify, &result, "text");
    assert_non_null(
        strstr(text, "\n  symptom unreachable\n          raise the level at the keypad\n  of      motor_power, "));
    free(text);
    result_free(&result);
}

static const struct advice_row refused_row = {
    .observation = "the drive refuses some addresses",
    .steps = {{"not in this firmware", "the firmware at the keypad, against the list of the maker of the drive"},
              {"a slip in the map", "the address in the list"}}};
static const struct advice_row silent_row = {.observation = "nothing comes back",
                                             .steps = {{"a", "1"}, {"b", "2"}, {"c", "3"}, {"d", "4"}, {"e", "5"}},
                                             .caution = "ask who owns the line"};
static const char advice_text[] = "\n"
                                  "WHERE TO LOOK\n"
                                  "  symptom exception-02\n"
                                  "          the drive refuses some addresses\n"
                                  "  1       not in this firmware: the firmware at the keypad, against the list of\n"
                                  "          the maker of the drive\n"
                                  "  2       a slip in the map: the address in the list\n"
                                  "  symptom no-reply\n"
                                  "          nothing comes back\n"
                                  "  1       a: 1\n"
                                  "  2       b: 2\n"
                                  "  3       c: 3\n"
                                  "  4       d: 4\n"
                                  "  5       e: 5\n"
                                  "  caution ask who owns the line\n"
                                  "\n";

static void result_advice(struct result *result)
{
    struct advice *advice = &result->report.advice;
    advice->items[advice->count++] = (struct advised){&refused_row, {.kind = SYMPTOM_EXCEPTION, .exception = 0x02}};
    advice->items[advice->count++] = (struct advised){&silent_row, {.kind = SYMPTOM_NO_REPLY}};
}

static void advice_follows_what_was_not_read(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_findings(&result);
    result_advice(&result);
    char *text = write_document(write_verify, &result, "text");
    const char *advice = strstr(text, advice_text), *unread = strstr(text, "\nNOT READ (1)\n");
    assert_non_null(advice);
    assert_true(unread != NULL && unread < advice);
    assert_true(strncmp(advice + strlen(advice_text), "NOT CHECKED, AND", 16) == 0);
    free(text);
    result_free(&result);

    result_start(&result);
    result_values(&result);
    result_advice(&result);
    text = write_document(write_read, &result, "text");
    assert_non_null(strstr(text, advice_text));
    free(text);
    result_free(&result);
}

static void a_caution_that_two_rows_share_stands_once(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_findings(&result);
    result_advice(&result);
    result.report.advice.items[0].row = &silent_row;
    char *text = write_document(write_verify, &result, "text");
    const char *caution = strstr(text, "  caution ");
    assert_non_null(caution);
    assert_null(strstr(caution + 1, "  caution "));
    free(text);
    result_free(&result);
}

static void advice_that_was_told_is_not_told_again(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_findings(&result);
    result_advice(&result);
    result.report.advice_told = true;
    expect_text(write_verify, &result, verify_text);
    json_t *json = parsed(write_verify, &result);
    assert_int_equal(json_array_size(json_object_get(json, "advice")), 2); /* a machine has it always */
    json_decref(json);
    result_free(&result);
}

static void advice_is_json_of_the_interface(void **state)
{
    (void)state;
    static const document documents[] = {write_verify, write_read};
    for (size_t i = 0; i < 2; i++) {
        struct result result;
        result_start(&result);
        json_t *json = parsed(documents[i], &result);
        assert_int_equal(json_array_size(json_object_get(json, "advice")), 0);
        json_decref(json);
        result_advice(&result);
        json = parsed(documents[i], &result);
        const json_t *advice = json_object_get(json, "advice");
        assert_int_equal(json_array_size(advice), 2);
        const json_t *refused = json_array_get(advice, 0), *silent = json_array_get(advice, 1);
        assert_string_equal(string_of(refused, "symptom"), "exception-02");
        assert_string_equal(string_of(refused, "observation"), "the drive refuses some addresses");
        assert_true(json_is_null(json_object_get(refused, "caution")));
        assert_int_equal(json_array_size(json_object_get(refused, "steps")), 2);
        assert_int_equal(json_array_size(json_object_get(silent, "steps")), 5);
        const json_t *last = json_array_get(json_object_get(silent, "steps"), 4);
        assert_string_equal(string_of(last, "cause"), "e");
        assert_string_equal(string_of(last, "check"), "5");
        assert_string_equal(string_of(silent, "caution"), "ask who owns the line");
        json_decref(json);
        result_free(&result);
    }
}

static void a_verdict_alone_is_one_line(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_findings(&result);
    expect_text(write_verdict_only, &result,
                "P-204 differs: 2 differ, 1 contradiction, 1 not read; 2 agree, 3 not checked\n");
    result_free(&result);
}

static void the_last_line_leaves_out_what_did_not_happen(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    expect_text(write_verdict_only, &result, "P-204 incomplete: 0 agree, 0 not checked\n");
    (void)add_finding(&result.findings, "a", MEANS_NONE, VERDICT_AGREES, "");
    expect_text(write_verdict_only, &result, "P-204 agrees: 1 agree, 0 not checked\n");
    (void)add_finding(&result.findings, "b", MEANS_NONE, VERDICT_UNREAD, "");
    expect_text(write_verdict_only, &result, "P-204 incomplete: 1 not read; 1 agree, 0 not checked\n");
    (void)add_finding(&result.findings, "c", MEANS_NONE, VERDICT_DIFFERS, "");
    expect_text(write_verdict_only, &result, "P-204 differs: 1 differs, 1 not read; 1 agree, 0 not checked\n");
    result_free(&result);
}

static void a_verification_is_json_of_the_interface(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_findings(&result);
    json_t *json = parsed(write_verify, &result);
    assert_string_equal(string_of(json, "schema"), "asleft/verify/1");
    assert_string_equal(string_of(json, "tag"), "P-204");
    assert_string_equal(string_of(json, "service"), "Brine transfer pump");
    assert_string_equal(string_of(json, "line"), "192.0.2.10:502");
    assert_true(number_of(json, "unit") == 4);
    assert_string_equal(string_of(json_object_get(json, "map"), "name"), "quayside-compact");
    assert_int_equal(strlen(string_of(json_object_get(json, "map"), "sha256")), 64);
    assert_int_equal(strlen(string_of(json_object_get(json, "sheet"), "sha256")), 64);
    assert_string_equal(string_of(json, "began"), "2026-01-31T08:00:00.000Z");
    assert_string_equal(string_of(json, "ended"), "2026-01-31T08:00:01.234Z");
    assert_string_equal(string_of(json, "verdict"), "differs");
    const json_t *counts = json_object_get(json, "counts");
    assert_true(number_of(counts, "agrees") == 2 && number_of(counts, "differs") == 2);
    assert_true(number_of(counts, "unread") == 1 && number_of(counts, "implausible") == 1);
    assert_true(number_of(counts, "unchecked") == 3);
    const json_t *traffic = json_object_get(json, "traffic");
    assert_int_equal(json_object_size(traffic), 6);
    assert_true(number_of(traffic, "requests") == 9 && number_of(traffic, "retries") == 1);
    json_decref(json);
    result_free(&result);
}

static void findings_are_json_of_the_interface(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_findings(&result);
    json_t *json = parsed(write_verify, &result);
    const json_t *findings = json_object_get(json, "findings");
    const json_t *source = json_array_get(findings, 0), *current = json_array_get(findings, 1);
    assert_string_equal(string_of(source, "found"), "network");
    assert_true(json_is_null(json_object_get(source, "unit")));
    const json_t *words = json_object_get(json_object_get(source, "expected"), "one_of");
    assert_string_equal(json_string_value(json_array_get(words, 0)), "terminals");

    assert_string_equal(string_of(current, "parameter"), "motor_current");
    assert_string_equal(string_of(current, "means"), "motor.rated_current");
    assert_string_equal(string_of(current, "verdict"), "differs");
    assert_string_equal(string_of(current, "at_stake"), "equipment");
    assert_true(number_of(current, "found") == 6);
    assert_string_equal(string_of(current, "unit"), "A");
    assert_string_equal(string_of(current, "source"), "nameplate");
    assert_true(number_of(json_object_get(current, "expected"), "high") == 3.052);
    assert_int_equal(json_integer_value(json_array_get(json_object_get(current, "raw"), 0)), 1500);
    assert_null(json_object_get(current, "symptom"));

    const json_t *unread = json_array_get(findings, 3);
    assert_string_equal(string_of(unread, "symptom"), "locked");
    assert_true(json_is_null(json_object_get(unread, "found")));
    assert_true(json_is_null(json_object_get(unread, "raw")));
    assert_true(json_is_null(json_object_get(json_object_get(unread, "expected"), "high")));
    const json_t *unsaid = json_array_get(findings, 4);
    assert_true(json_is_null(json_object_get(unsaid, "expected")));
    assert_true(json_is_null(json_object_get(unsaid, "source")));
    const json_t *allow = json_object_get(json_array_get(findings, 5), "allow");
    assert_true(number_of(allow, "within") == 10);
    assert_string_equal(string_of(allow, "because"), "rewound in 2019");
    json_decref(json);
    result_free(&result);
}

static void a_verification_is_rows_of_csv(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_findings(&result);
    char *text = write_document(write_verify, &result, "csv");
    static const char head[] =
        "tag,verdict,parameter,means,at_stake,expected.low,expected.nominal,expected.high,expected.one_of,found,unit,"
        "raw,basis,source,symptom,remark,allow.because,cause.kind,cause.text\r\n"
        "P-204,differs,start_source,control.start_source,people,,,,terminals,network,,2,"
        "the job: control.start_source: terminals,job,,,,,\r\n"
        "P-204,differs,motor_current,motor.rated_current,equipment,2.948,3,3.052,,6,A,1500,"
        "nameplate current in the 460 V column: 3.0 A,nameplate,,150.0 % of 4.00 A,,,\r\n";
    assert_memory_equal(text, head, strlen(head));
    size_t rows = 0;
    for (const char *at = text; (at = strstr(at, "\r\n")) != NULL; at += 2)
        rows++;
    assert_int_equal(rows, 1 + 9);
    free(text);
    result_free(&result);
}

/* The wrong current, and what may have made it so. */
static void result_explained(struct result *result)
{
    result->report.remark = "2 values are those of another column of the nameplate";
    struct finding *finding = add_finding(&result->findings, "motor_current", MEANS_MOTOR_RATED_CURRENT,
                                          VERDICT_DIFFERS, "nameplate current in the 460 V column");
    has_number(finding, 6, 600, UNIT_A, 0.01);
    should_be(finding, 2.945, 3, 3.055, SOURCE_NAMEPLATE);
    finding->remark = text_copy("150.0 % of 4.00 A");
    finding->cause = (struct cause){.kind = CAUSE_OTHER_VOLTAGE_COLUMN, .text = text_copy("6.00 A is for 230 V")};
    finding->also = memory_new(1, sizeof *finding->also);
    finding->also[finding->also_count++] =
        (struct cause){.kind = CAUSE_FACTORY_DEFAULT, .text = text_copy("6.00 A is the factory default")};
}

static void the_cause_stands_first_below_what_differs(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_explained(&result);
    static const char lines[] = "      probably: 6.00 A is for 230 V\n"
                                "      or: 6.00 A is the factory default\n"
                                "      read as: 150.0 % of 4.00 A\n"
                                "      nameplate current in the 460 V column\n";
    char *text = write_document(write_verify, &result, "text");
    assert_non_null(strstr(text, lines));
    assert_non_null(strstr(text, "but       2 values are those of another column of the nameplate\n"));
    free(text);
    result_free(&result);
}

static void the_cause_is_a_key_of_a_finding(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_explained(&result);
    add_finding(&result.findings, "speed", MEANS_MOTOR_RATED_SPEED, VERDICT_DIFFERS, "as stamped");
    json_t *json = parsed(write_verify, &result);
    json_t *cause = json_object_get(json_array_get(json_object_get(json, "findings"), 0), "cause");
    assert_string_equal(string_of(cause, "kind"), "other-voltage-column");
    assert_string_equal(string_of(cause, "text"), "6.00 A is for 230 V");
    json_t *also = json_object_get(cause, "also");
    assert_int_equal(json_array_size(also), 1);
    assert_string_equal(json_string_value(json_array_get(also, 0)), "factory-default");
    assert_null(json_object_get(json_array_get(json_object_get(json, "findings"), 1), "cause"));
    json_decref(json);
    char *csv = write_document(write_verify, &result, "csv");
    assert_non_null(strstr(csv, ",other-voltage-column,6.00 A is for 230 V\r\n"));
    free(csv);
    result_free(&result);
}

static void values_are_told_in_the_order_asked_for(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_values(&result);
    expect_text(write_read, &result, read_text);
    json_t *json = parsed(write_read, &result);
    assert_string_equal(string_of(json, "schema"), "asleft/read/1");
    const json_t *values = json_object_get(json, "values");
    assert_int_equal(json_array_size(values), 5);
    const json_t *unread = json_array_get(values, 0), *current = json_array_get(values, 1);
    assert_string_equal(string_of(unread, "parameter"), "restart_after_power_return");
    assert_string_equal(string_of(unread, "symptom"), "exception-02");
    assert_true(json_is_null(json_object_get(unread, "value")));
    assert_true(json_is_null(json_object_get(unread, "raw")));
    assert_true(number_of(current, "value") == 3);
    assert_string_equal(string_of(current, "unit"), "A");
    assert_true(json_is_null(json_object_get(current, "symptom")));
    assert_string_equal(json_string_value(json_array_get(json_object_get(json_array_get(values, 3), "value"), 1)),
                        "at_speed");
    assert_true(json_is_null(json_object_get(json_array_get(values, 4), "means")));
    json_decref(json);
    result_free(&result);
}

static void the_worksheet_shows_formula_and_band(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_worksheet(&result);
    expect_text(write_setpoints, &result, setpoints_text);
    json_t *json = parsed(write_setpoints, &result);
    assert_string_equal(string_of(json, "schema"), "asleft/setpoints/1");
    const json_t *derived = json_object_get(json, "derived");
    assert_true(json_integer_value(json_object_get(derived, "poles")) == 4);
    assert_true(number_of(derived, "synchronous_speed_rpm") == 1800);
    assert_true(json_is_null(json_object_get(derived, "rated_torque_nm")));
    assert_true(number_of(derived, "shortest_acceleration_s") == 0.4931);
    assert_true(json_is_null(json_object_get(derived, "straight_acceleration_s")));
    assert_true(json_is_null(json_object_get(derived, "shortest_deceleration_s")));
    assert_string_equal(string_of(derived, "deceleration_basis"), "the sheet has no load");
    const json_t *findings = json_object_get(json, "findings");
    assert_int_equal(json_array_size(findings), 1);
    assert_string_equal(string_of(json_array_get(findings, 0), "verdict"), "unchecked");
    const json_t *setpoints = json_object_get(json, "setpoints"), *current = json_array_get(setpoints, 0);
    assert_string_equal(string_of(current, "means"), "motor.rated_current");
    assert_true(number_of(current, "low") == 2.445 && number_of(current, "nominal") == 3);
    assert_true(number_of(current, "high") == 3.555);
    assert_string_equal(string_of(current, "unit"), "A");
    assert_string_equal(string_of(current, "source"), "nameplate");
    assert_string_equal(string_of(current, "at_stake"), "equipment");
    assert_string_equal(string_of(json_object_get(current, "allow"), "because"), "rewound in 2019");
    assert_true(json_is_null(json_object_get(json_array_get(setpoints, 3), "nominal")));
    assert_string_equal(string_of(json_array_get(setpoints, 4), "remark"), "no parameter of the map holds it");
    json_decref(json);
    result_free(&result);
}

static void a_worksheet_of_a_wrong_sheet_says_so_first_and_last(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_worksheet(&result);
    add_contradiction(&result.setpoints.implausible);
    char *text = write_document(write_setpoints, &result, "text");
    const char *contradiction = strstr(text, "\nTHE SHEET CONTRADICTS ITSELF\n");
    assert_non_null(contradiction);
    assert_true(contradiction < strstr(text, "\nSETPOINTS\n"));
    assert_non_null(strstr(text, "\n\nP-204: 5 setpoints, 1 unknown; 1 contradiction in the sheet\n"));
    free(text);
    result_free(&result);
}

/* An estimate against the sheet is shown before the setpoints, and is no contradiction. */
static void a_worksheet_shows_doubts(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_worksheet(&result);
    add_contradiction(&result.setpoints.doubts);
    result.setpoints.doubts.items[0].verdict = VERDICT_UNCHECKED;
    char *text = write_document(write_setpoints, &result, "text");
    const char *doubt = strstr(text, "\nLOOK AT, BY ESTIMATE OR COMMON PRACTICE\n");
    assert_non_null(doubt);
    assert_true(doubt < strstr(text, "\nSETPOINTS\n"));
    assert_null(strstr(text, "THE SHEET CONTRADICTS ITSELF"));
    assert_non_null(strstr(text, "; no contradiction in the sheet\n"));
    free(text);
    json_t *json = parsed(write_setpoints, &result);
    assert_string_equal(string_of(json_array_get(json_object_get(json, "findings"), 0), "verdict"), "unchecked");
    json_decref(json);
    result_free(&result);
}

/* Where the supply is known, both the idle and the loaded bus are told. */
static void a_worksheet_shows_the_bus_loaded(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_worksheet(&result);
    result.setpoints.derived.dc_bus_loaded_v = 648.2;
    char *text = write_document(write_setpoints, &result, "text");
    assert_non_null(strstr(text, "679 V without load, 648 V under load\n"));
    free(text);
    json_t *json = parsed(write_setpoints, &result);
    assert_true(number_of(json_object_get(json, "derived"), "dc_bus_loaded_v") == 648.2);
    json_decref(json);
    result_free(&result);
}

/* Symbol, formula, numbers, result: for what follows from the plate, and for a setpoint that is computed. */
static void a_worksheet_shows_how_figures_come_about(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    result_worksheet(&result);
    struct setpoints *setpoints = &result.setpoints;
    setpoints->derivations = memory_new(1, sizeof *setpoints->derivations);
    setpoints->derivations[setpoints->derivation_count++] =
        (struct derivation){"synchronous_speed_rpm", "n_s", "120 f_N / p", text_copy("120 x 60 Hz / 4")};
    setpoints->items = memory_new(1, sizeof *setpoints->items);
    setpoints->items[setpoints->count++] = (struct setpoint){.means = MEANS_MOTOR_RATED_CURRENT, .formula = "N I_N"};
    char *text = write_document(write_setpoints, &result, "text");
    assert_non_null(strstr(text, "\nspeed     n_s = 120 f_N / p = 120 x 60 Hz / 4 = 1800 rpm synchronous\n"));
    assert_non_null(strstr(text, "\n      motor.rated_current, I_N = N I_N\n"
                                 "      nameplate current in the 460 V column (nameplate)\n"));
    free(text);
    json_t *json = parsed(write_setpoints, &result);
    const json_t *derivation = json_array_get(json_object_get(json, "derivation"), 0);
    assert_string_equal(string_of(derivation, "of"), "synchronous_speed_rpm");
    assert_string_equal(string_of(derivation, "symbol"), "n_s");
    assert_string_equal(string_of(derivation, "formula"), "120 f_N / p");
    assert_string_equal(string_of(derivation, "basis"), "120 x 60 Hz / 4");
    assert_string_equal(string_of(derivation, "source"), "derived");
    const json_t *current = json_array_get(json_object_get(json, "setpoints"), 0);
    assert_string_equal(string_of(current, "symbol"), "I_N");
    assert_string_equal(string_of(current, "formula"), "N I_N");
    assert_true(json_is_null(json_object_get(json_array_get(json_object_get(json, "setpoints"), 1), "symbol")));
    json_decref(json);
    result_free(&result);
}

static void proofreading_lists_every_problem_with_its_place(void **state)
{
    (void)state;
    struct result result;
    result_start(&result);
    add_contradiction(&result.setpoints.implausible);
    expect_text(write_proofread, &result, proofread_text);
    json_t *json = parsed(write_proofread, &result);
    assert_string_equal(string_of(json, "verdict"), "unusable");
    const json_t *problems = json_object_get(json, "problems"), *first = json_array_get(problems, 0);
    assert_int_equal(json_array_size(problems), 4);
    assert_string_equal(string_of(first, "severity"), "error");
    assert_string_equal(string_of(first, "place"), "sheets/P-204.yaml");
    assert_true(number_of(first, "line") == 12 && number_of(first, "column") == 3);
    assert_string_equal(string_of(first, "text"), "unknown key 'rated_curent'; did you mean 'rated_current'?");
    const json_t *nowhere = json_array_get(problems, 1);
    assert_true(json_is_null(json_object_get(nowhere, "line")));
    assert_string_equal(string_of(nowhere, "text"), "sheets/P-205.yaml: no such file");
    assert_string_equal(string_of(json_array_get(problems, 2), "severity"), "warning");
    assert_string_equal(string_of(json_array_get(problems, 3), "severity"), "contradiction");
    assert_int_equal(json_array_size(json_object_get(json, "findings")), 1);
    json_decref(json);
    result_free(&result);
}

static void a_file_without_problems_can_be_used(void **state)
{
    (void)state;
    struct texts none = {0};
    struct paper paper;
    paper_start(&paper, "text", false, 80);
    doc_proofread(&paper.sink, &(struct proofread_report){
                                   .file = "maps/quay.yaml", .kind = "map", .errors = &none, .warnings = &none});
    assert_string_equal(paper_read(&paper), "maps/quay.yaml can be used: 0 errors, 0 contradictions, 0 warnings\n");
    paper_free(&paper);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_verification_is_told_in_order_of_urgency),
        cmocka_unit_test(a_silent_drive_is_told_shortly),
        cmocka_unit_test(different_causes_are_told_one_by_one),
        cmocka_unit_test(advice_follows_what_was_not_read),
        cmocka_unit_test(a_caution_that_two_rows_share_stands_once),
        cmocka_unit_test(advice_that_was_told_is_not_told_again),
        cmocka_unit_test(advice_is_json_of_the_interface),
        cmocka_unit_test(a_verdict_alone_is_one_line),
        cmocka_unit_test(the_last_line_leaves_out_what_did_not_happen),
        cmocka_unit_test(a_verification_is_json_of_the_interface),
        cmocka_unit_test(findings_are_json_of_the_interface),
        cmocka_unit_test(a_verification_is_rows_of_csv),
        cmocka_unit_test(the_cause_stands_first_below_what_differs),
        cmocka_unit_test(the_cause_is_a_key_of_a_finding),
        cmocka_unit_test(values_are_told_in_the_order_asked_for),
        cmocka_unit_test(the_worksheet_shows_formula_and_band),
        cmocka_unit_test(a_worksheet_of_a_wrong_sheet_says_so_first_and_last),
        cmocka_unit_test(a_worksheet_shows_doubts),
        cmocka_unit_test(a_worksheet_shows_the_bus_loaded),
        cmocka_unit_test(a_worksheet_shows_how_figures_come_about),
        cmocka_unit_test(proofreading_lists_every_problem_with_its_place),
        cmocka_unit_test(a_file_without_problems_can_be_used),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
