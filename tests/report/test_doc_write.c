/* SPDX-License-Identifier: MIT */
/* The document of a list of writes: before it is confirmed, refused, and performed with every outcome. */
#include "report/kept.h"

#include "types/change.h"

struct planned {
    struct result result;
    struct change_list list;
    struct change_report report;
};

static void add_change(struct change_list *list, size_t parameter, uint16_t now, uint16_t to, const char *now_shown,
                       const char *to_shown)
{
    struct change *change = change_list_add(list);
    *change = (struct change){.parameter = parameter,
                              .now = memory_new(1, sizeof(uint16_t)),
                              .to = memory_new(1, sizeof(uint16_t)),
                              .words = 1,
                              .now_number = NAN,
                              .to_number = NAN,
                              .now_shown = text_copy(now_shown),
                              .to_shown = text_copy(to_shown)};
    change->now[0] = now;
    change->to[0] = to;
}

static const char command[] = "asleft write P-204.yaml --confirm 7K4Q-M2XD";

/* Three changes, confirmed by 7K4Q-M2XD. */
static void start(struct planned *planned)
{
    *planned = (struct planned){0};
    result_start(&planned->result);
    struct map *map = &planned->result.map;
    map_add(map, "motor_current", TABLE_HOLDING, 0, TYPE_U16)->means = MEANS_MOTOR_RATED_CURRENT;
    map_add(map, "start_source", TABLE_HOLDING, 1, TYPE_U16)->means = MEANS_CONTROL_START_SOURCE;
    map_add(map, "boost", TABLE_HOLDING, 2, TYPE_U16);
    struct change_list *list = &planned->list;
    add_change(list, 0, 600, 300, "6.00 A", "3.00 A");
    add_change(list, 1, 2, 1, "network", "terminals");
    add_change(list, 2, 0, 7, "0 V", "7 V");
    list->items[0].now_number = 6;
    list->items[0].to_number = 3;
    list->items[0].unit = UNIT_A;
    list->items[0].stake = STAKE_EQUIPMENT;
    list->items[0].why = text_copy("nameplate current in the 460 V column");
    list->items[1].stake = STAKE_PEOPLE;
    texts_add(&list->cautions, text_copy("keep people away from what the motor moves"));
    texts_add(&list->left, text_copy("unit_number is set at the keypad only: it cuts the line"));
    (void)snprintf(list->code, sizeof list->code, "7K4Q-M2XD");
    list->save = SAVE_PLANNED;
    planned->report = (struct change_report){.visit = &planned->result.report, .list = list, .command = command};
}

static void perform(struct planned *planned, enum write_outcome first, enum write_outcome second,
                    enum write_outcome third)
{
    struct change_list *list = &planned->list;
    planned->report.command = NULL;
    list->performed = true;
    list->items[0].outcome = first;
    list->items[1].outcome = second;
    list->items[2].outcome = third;
    list->save = SAVE_DONE;
    list->before = id_of(0x1a);
    list->after = id_of(0x9f);
}

static void finish(struct planned *planned)
{
    change_list_free(&planned->list);
    result_free(&planned->result);
}

static char *written(const struct planned *planned, const char *format)
{
    struct paper paper;
    paper_start(&paper, format, false, 80);
    doc_write(&paper.sink, &planned->report);
    char *text = text_copy(paper_read(&paper));
    paper_free(&paper);
    return text;
}

static void expect_end(const struct planned *planned, const char *end)
{
    char *text = written(planned, "text");
    assert_true(strlen(text) > strlen(end));
    assert_string_equal(text + strlen(text) - strlen(end), end);
    free(text);
}

static void expect_verdict(const struct planned *planned, const char *verdict)
{
    char *text = written(planned, "json");
    json_t *json = json_of(text);
    free(text);
    assert_string_equal(json_string_value(json_object_get(json, "verdict")), verdict);
    json_decref(json);
}

static const char head[] = "P-204: Brine transfer pump\n"
                           "drive     quayside-compact, unit 4 on 192.0.2.10:502\n"
                           "read      2026-01-31T08:00:00.000Z, 9 requests, 1 retry, 1 timeout\n";

static void what_would_be_written_ends_with_its_command(void **state)
{
    (void)state;
    struct planned planned;
    start(&planned);
    char *text = written(&planned, "text");
    assert_memory_equal(text, head, strlen(head));
    assert_string_equal(text + strlen(head),
                        "save      the drive's save command is sent when all are kept\n"
                        "\n"
                        "CAUTION (1)\n"
                        "  1       keep people away from what the motor moves\n"
                        "\n"
                        "TO BE WRITTEN (3)\n"
                        "  parameter                           now  to                          at stake\n"
                        "  motor_current                    6.00 A  3.00 A                      equipment\n"
                        "      nameplate current in the 460 V column\n"
                        "  start_source                    network  terminals                   people\n"
                        "  boost                               0 V  7 V                         process\n"
                        "\n"
                        "STAYS AS IT IS (1)\n"
                        "  1       unit_number is set at the keypad only: it cuts the line\n"
                        "\n"
                        "NOTHING HAS BEEN WRITTEN\n"
                        "to write this: asleft write P-204.yaml --confirm 7K4Q-M2XD\n");
    free(text);
    finish(&planned);
}

static void a_list_is_json(void **state)
{
    (void)state;
    struct planned planned;
    start(&planned);
    char *text = written(&planned, "json");
    json_t *json = json_of(text);
    free(text);
    expect_json(json, "schema", "\"asleft/write/1\"");
    expect_json(json, "what", "\"write\"");
    expect_json(json, "from", "null");
    expect_json(json, "verdict", "\"pending\"");
    expect_json(json, "performed", "false");
    expect_json(json, "code", "\"7K4Q-M2XD\"");
    expect_json(json, "code_refused", "null");
    expect_json(json, "command", "\"asleft write P-204.yaml --confirm 7K4Q-M2XD\"");
    expect_json(json, "save", "\"planned\"");
    expect_json(json, "refusals", "[]");
    expect_json(json, "left", "[\"unit_number is set at the keypad only: it cuts the line\"]");
    expect_json(json, "cautions", "[\"keep people away from what the motor moves\"]");
    expect_json(json, "changed_by_drive", "[]");
    expect_json(json, "to_do", "[]");
    expect_json(json, "record_before", "null");
    expect_json(json, "record_after", "null");
    char *change = json_dumps(row_of(json, "changes", 0), JSON_COMPACT);
    assert_string_equal(change,
                        "{\"parameter\":\"motor_current\",\"means\":\"motor.rated_current\",\"now\":6.0,\"to\":3.0,"
                        "\"unit\":\"A\",\"raw_now\":[600],\"raw_to\":[300],"
                        "\"why\":\"nameplate current in the 460 V column\",\"at_stake\":\"equipment\","
                        "\"outcome\":\"planned\",\"exception\":null,\"found\":null,\"raw_found\":null,"
                        "\"note\":null,\"began\":null}");
    free(change);
    expect_json(row_of(json, "changes", 1), "to", "\"terminals\"");
    expect_json(row_of(json, "changes", 2), "means", "null");
    json_decref(json);
    finish(&planned);
}

static void a_refused_list_has_no_command(void **state)
{
    (void)state;
    struct planned planned;
    start(&planned);
    planned.list.code[0] = '\0';
    change_list_refuse(&planned.list, text_copy("start_source"), text_copy("set this at the keypad, with enable open"));
    expect_end(&planned, "\n\nP-204: refused: start_source: set this at the keypad, with enable open\n");
    change_list_refuse(&planned.list, NULL, text_copy("the drive is running"));
    char *text = written(&planned, "text");
    assert_non_null(strstr(text, "\nREFUSED (2)\n"
                                 "  1       start_source: set this at the keypad, with enable open\n"
                                 "  2       the drive is running\n"));
    assert_null(strstr(text, "--confirm"));
    assert_null(strstr(text, "TO BE WRITTEN"));
    /* whoever is told to set these at the keypad has to see which */
    assert_non_null(strstr(text, "\nTHE REFUSED LIST (3)\n"));
    assert_non_null(
        strstr(text, "\n  motor_current                    6.00 A  3.00 A                      equipment\n"));
    free(text);
    expect_end(&planned, "\nP-204: refused: start_source: set this at the keypad, with enable open (and 1 more)\n");
    text = written(&planned, "json");
    json_t *json = json_of(text);
    free(text);
    expect_json(json, "verdict", "\"refused\"");
    expect_json(json, "code", "null");
    expect_json(json, "command", "null");
    expect_json(json, "refusals",
                "[{\"parameter\":\"start_source\",\"reason\":\"set this at the keypad, with enable open\"},"
                "{\"parameter\":null,\"reason\":\"the drive is running\"}]");
    assert_int_equal(json_array_size(json_object_get(json, "changes")), 3); /* a machine has them all */
    json_decref(json);
    finish(&planned);
}

static void nothing_to_change_is_one_line(void **state)
{
    (void)state;
    struct planned planned;
    start(&planned);
    change_list_free(&planned.list);
    char *text = written(&planned, "text");
    assert_memory_equal(text, head, strlen(head));
    assert_string_equal(text + strlen(head), "\nP-204: nothing to change\n");
    free(text);
    expect_verdict(&planned, "nothing-to-change");
    finish(&planned);
}

/* The list is shown anew with its own code; without one, the reason is the last line. */
static void a_code_that_does_not_count_is_told(void **state)
{
    (void)state;
    struct planned planned;
    start(&planned);
    planned.report.refused = "the code is of another list";
    char *text = written(&planned, "text");
    assert_non_null(strstr(text, "\nNOT CONFIRMED\n  because the code is of another list\n"));
    free(text);
    expect_end(&planned, "\nNOTHING HAS BEEN WRITTEN\nto write this: asleft write P-204.yaml --confirm 7K4Q-M2XD\n");
    planned.report.command = NULL;
    expect_end(&planned, "\nP-204: refused: the code is of another list\n");
    planned.report.refused = NULL;
    expect_end(&planned, "\nP-204: 3 changes pending, nothing has been written\n");
    finish(&planned);
}

static void all_kept(void **state)
{
    (void)state;
    struct planned planned;
    start(&planned);
    perform(&planned, WRITE_KEPT, WRITE_SET_BY_ITSELF, WRITE_KEPT);
    planned.result.sheet.path = text_copy("it's here/P-204.yaml");
    planned.list.own = memory_new(2, sizeof *planned.list.own);
    planned.list.own_count = 2;
    planned.list.own[0] = (struct own_change){.parameter = 2, .was = text_copy("0 V"), .now = text_copy("3 V")};
    planned.list.own[1] =
        (struct own_change){.parameter = 1, .was = text_copy("a"), .now = text_copy("b"), .announced = true};
    texts_add(&planned.list.punch, text_copy("repeat the motor tuning"));
    char *text = written(&planned, "text");
    assert_memory_equal(text, head, strlen(head));
    assert_string_equal(text + strlen(head),
                        "before    record 1a2b3c4d: what the drive held before the first write\n"
                        "after     record 9f2b3c4d: what it held after the last one\n"
                        "save      done: what was written outlives the power\n"
                        "\n"
                        "WHAT BECAME OF EACH (3)\n"
                        "  parameter                           was  to                          at stake\n"
                        "  motor_current                    6.00 A  3.00 A                      equipment\n"
                        "      kept\n"
                        "      because nameplate current in the 460 V column\n"
                        "  start_source                    network  terminals                   people\n"
                        "      kept: the drive held it already when its turn came, and nothing was sent\n"
                        "  boost                               0 V  7 V                         process\n"
                        "      kept\n"
                        "\n"
                        "NOT ON THE LIST (2)\n"
                        "  1       changed by the drive itself: boost from 0 V to 3 V\n"
                        "  2       changed by the drive itself: start_source from a to b, as the map\n"
                        "          announces\n"
                        "\n"
                        "STAYS AS IT IS (1)\n"
                        "  1       unit_number is set at the keypad only: it cuts the line\n"
                        "\n"
                        "STILL TO DO (1)\n"
                        "  1       repeat the motor tuning\n"
                        "\n"
                        "TO PUT BACK WHAT WAS THERE\n"
                        "asleft restore 'it'\\''s here/P-204.yaml' 1a2b3c4d\n"
                        "\n"
                        "P-204: all 3 written and kept\n");
    free(text);
    text = written(&planned, "json");
    json_t *json = json_of(text);
    free(text);
    expect_json(json, "verdict", "\"kept\"");
    expect_json(json, "performed", "true");
    expect_json(json, "record_before", "\"1a2b3c4d5e0000000000000000000000\"");
    expect_json(json, "record_after", "\"9f2b3c4d5e0000000000000000000000\"");
    expect_json(json, "changed_by_drive",
                "[{\"parameter\":\"boost\",\"was\":\"0 V\",\"now\":\"3 V\",\"announced\":false},"
                "{\"parameter\":\"start_source\",\"was\":\"a\",\"now\":\"b\",\"announced\":true}]");
    expect_json(json, "to_do", "[\"repeat the motor tuning\"]");
    json_decref(json);
    finish(&planned);
}

/* Each outcome in words, and how it counts. */
static void every_outcome_is_told(void **state)
{
    (void)state;
    static const struct {
        enum write_outcome outcome;
        const char *words, *last, *verdict;
    } rows[] = {
        {WRITE_PLANNED, "not begun", "stopped: 1 kept, 2 not written", "stopped"},
        {WRITE_SENT, "unknown: it was sent, and what came of it is not known", "1 unknown, 1 kept, 1 not written",
         "unknown"},
        {WRITE_REFUSED, "refused (exception-02)", "stopped: 1 kept, 1 refused, 1 not written", "stopped"},
        {WRITE_NOT_WRITTEN, "not written: no answer came, and the drive holds the old value",
         "stopped: 1 kept, 2 not written", "stopped"},
        {WRITE_NOT_KEPT, "not kept: the drive acknowledged it, and holds the old value",
         "stopped: 1 kept, 1 not kept, 1 not written", "stopped"},
        {WRITE_CLAMPED, "clamped: the drive holds 9.9 A", "stopped: 1 kept, 1 clamped, 1 not written", "stopped"},
        {WRITE_OTHER_STATE, "not written: the drive was not, or no longer, proved stopped",
         "stopped: 1 kept, 2 not written", "stopped"},
        {WRITE_ALTERED, "not sent: the old value was another one by then: the drive holds 9.9 A",
         "stopped: 1 kept, 2 not written", "stopped"},
        {WRITE_UNKNOWN, "unknown: it could not be read back", "1 unknown, 1 kept, 1 not written", "unknown"},
        {WRITE_LEFT_OUT, "not begun: the list ended before its turn", "stopped: 1 kept, 2 not written", "stopped"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct planned planned;
        start(&planned);
        perform(&planned, WRITE_KEPT, rows[i].outcome, WRITE_LEFT_OUT);
        planned.list.items[1].exception = 2;
        planned.list.items[1].found_shown = text_copy("9.9 A");
        planned.list.items[1].note = text_copy("look at the keypad");
        char *text = written(&planned, "text");
        char *note = text_format("people\n      %s\n      look at the keypad\n", rows[i].words);
        assert_non_null(strstr(text, note));
        free(note);
        free(text);
        char *last = text_format("\n\nP-204: %s\n", rows[i].last);
        expect_end(&planned, last);
        free(last);
        expect_verdict(&planned, rows[i].verdict);
        finish(&planned);
    }
}

/* What is kept and not saved is lost with the power; what could not be read afterwards is not known. */
static void what_is_not_saved_is_not_well(void **state)
{
    (void)state;
    struct planned planned;
    start(&planned);
    perform(&planned, WRITE_KEPT, WRITE_KEPT, WRITE_KEPT);
    planned.list.save = SAVE_FAILED;
    expect_end(&planned, "\nP-204: all 3 written and kept; not saved\n");
    expect_verdict(&planned, "stopped");
    planned.list.save = SAVE_PLANNED;
    expect_end(&planned, "\nP-204: all 3 written and kept; not saved\n");
    planned.list.save = SAVE_UNKNOWN;
    expect_end(&planned, "\nP-204: all 3 written and kept; whether saved is unknown\n");
    expect_verdict(&planned, "unknown");
    planned.list.save = SAVE_NONE;
    expect_verdict(&planned, "kept");
    planned.list.after = (struct record_id){0};
    expect_end(&planned, "\nP-204: all 3 written and kept; what else changed is unknown\n");
    expect_verdict(&planned, "unknown");
    finish(&planned);
}

static void a_restore_names_its_record(void **state)
{
    (void)state;
    struct planned planned;
    start(&planned);
    planned.list.restores = true;
    planned.list.from = id_of(0x77);
    char *text = written(&planned, "text");
    assert_non_null(strstr(text, "\nfrom      record 772b3c4d\n"));
    free(text);
    text = written(&planned, "json");
    json_t *json = json_of(text);
    free(text);
    expect_json(json, "what", "\"restore\"");
    expect_json(json, "from", "\"772b3c4d5e0000000000000000000000\"");
    json_decref(json);
    finish(&planned);
}

static void changes_are_rows_of_csv(void **state)
{
    (void)state;
    struct planned planned;
    start(&planned);
    perform(&planned, WRITE_KEPT, WRITE_REFUSED, WRITE_LEFT_OUT);
    planned.list.items[1].exception = 3;
    char *text = written(&planned, "csv");
    assert_string_equal(text,
                        "tag,verdict,parameter,means,now,to,unit,at_stake,outcome,exception,found,note,why,raw_now,"
                        "raw_to,raw_found\r\n"
                        "P-204,stopped,motor_current,motor.rated_current,6,3,A,equipment,kept,,,,"
                        "nameplate current in the 460 V column,600,300,\r\n"
                        "P-204,stopped,start_source,control.start_source,network,terminals,,people,refused,3,,,,"
                        "2,1,\r\n"
                        "P-204,stopped,boost,,0 V,7 V,,process,left-out,,,,,0,7,\r\n");
    free(text);
    finish(&planned);
}

static void a_list_is_a_page(void **state)
{
    (void)state;
    struct planned planned;
    start(&planned);
    char *text = written(&planned, "html");
    assert_non_null(strstr(text, "<h2 class=\"bad\" id=\"document-1-1\">CAUTION (1)</h2>\n"));
    assert_non_null(
        strstr(text, "<th scope=\"col\" class=\"found\">now</th><th scope=\"col\" class=\"expected\">to</th>"));
    assert_non_null(strstr(text, "\">NOTHING HAS BEEN WRITTEN</h2>\n"
                                 "<pre>\nto write this: asleft write P-204.yaml --confirm 7K4Q-M2XD\n</pre>\n"
                                 "</article>\n"));
    free(text);
    finish(&planned);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_would_be_written_ends_with_its_command),
        cmocka_unit_test(a_list_is_json),
        cmocka_unit_test(a_refused_list_has_no_command),
        cmocka_unit_test(nothing_to_change_is_one_line),
        cmocka_unit_test(a_code_that_does_not_count_is_told),
        cmocka_unit_test(all_kept),
        cmocka_unit_test(every_outcome_is_told),
        cmocka_unit_test(what_is_not_saved_is_not_well),
        cmocka_unit_test(a_restore_names_its_record),
        cmocka_unit_test(changes_are_rows_of_csv),
        cmocka_unit_test(a_list_is_a_page),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
