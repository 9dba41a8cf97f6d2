/* SPDX-License-Identifier: MIT */
/* Putting back what a record says: what goes on the list, what is left, and whose record it must be. */
#include "change/list_bench.h"

#define PARAMETERS                                                                                                     \
    "  size: {at: holding 8, type: u16, scale: 0.1, unit: A, means: drive.rated_current}\n"                            \
    "  p: {at: holding 9, type: u16, scale: 0.1, unit: Hz, settable: stopped}\n"                                       \
    "  q: {at: holding 10, type: u16, choices: {0: coast, 1: ramp}, means: control.stop_method, settable: stopped}\n"  \
    "  wide: {at: holding 12, type: f32, unit: s, settable: always, accepts: 0 s to 100 s}\n"                          \
    "  share: {at: holding 14, type: u16, unit: \"%\", percent_of: drive.rated_current, base: register,\n"             \
    "          means: limit.current, settable: always}\n"                                                              \
    "  fixed: {at: holding 15, type: u16}\n"                                                                           \
    "  baud: {at: holding 16, type: u16, settable: always, cuts_line: yes}\n"                                          \
    "  word: {at: holding 17, type: u16, settable: always, kind: command}\n"                                           \
    "  hours: {at: input 1, type: u16, unit: h, means: live.hours_run}\n"

static void open_restored(struct list_bench *bench, struct record *record)
{
    list_open(bench, LIST_MAP(LIST_KEYS, PARAMETERS), LIST_SHEET("settings: {p: 50 Hz}\n"));
    list_answer(bench, "size", 40);
    list_answer(bench, "p", 600);
    list_answer(bench, "q", 1);
    list_answer(bench, "wide", 0x41200000); /* 10 by IEEE 754 binary32, by Python's struct */
    list_answer(bench, "share", 75);
    *record = list_record(bench);
    bench->order.record = record;
}

static void close_restored(struct list_bench *bench, struct record *record)
{
    record_free(record);
    list_close(bench);
}

static void what_differs_is_put_back_as_it_was(void **state)
{
    (void)state;
    struct list_bench bench;
    struct record record;
    open_restored(&bench, &record);
    expect_changes(&bench, ""); /* the sheet's 50 Hz are no matter of a record */
    assert_true(bench.list.restores);
    assert_true(record_id_equal(&bench.list.from, &record.id));
    list_answer(&bench, "p", 200);
    list_answer(&bench, "q", 0);
    list_answer(&bench, "wide", 0x41200001);
    expect_changes(&bench, "p=600 q=1 wide=1092616192");
    assert_string_equal(bench.list.items[0].why, "record ab000000 (left) of 2026-01-31 08:00:00 UTC");
    assert_string_equal(bench.list.items[0].now_shown, "20.0 Hz");
    assert_string_equal(bench.list.items[0].to_shown, "60.0 Hz");
    assert_int_equal(bench.list.left.count, 0);
    close_restored(&bench, &record);
}

static void what_is_never_put_back_is_left(void **state)
{
    (void)state;
    struct list_bench bench;
    struct record record;
    open_restored(&bench, &record);
    list_answer(&bench, "fixed", 5);
    list_answer(&bench, "baud", 5);
    list_answer(&bench, "word", 5); /* not in the record: commands never are */
    list_answer(&bench, "hours", 5);
    list_fail(&bench, "q", SYMPTOM_NO_REPLY);
    expect_changes(&bench, "");
    assert_int_equal(bench.list.left.count, 3);
    expect_left(&bench, "fixed differs from the record (0) and cannot be set by this map");
    expect_left(&bench, "baud differs from the record (0) and would cut the line");
    expect_left(&bench, "q is not read now (no-reply), so it is not written");
    close_restored(&bench, &record);
}

static void forget(struct record *record, const char *parameter, const char *symptom)
{
    for (size_t i = 0; i < record->value_count; i++) {
        struct record_value *value = &record->values[i];
        if (strcmp(value->parameter, parameter) != 0)
            continue;
        free(value->raw);
        value->raw = NULL;
        value->raw_count = 0;
        value->symptom = text_copy(symptom);
    }
}

static void rename_value(struct record *record, const char *from, const char *to)
{
    for (size_t i = 0; i < record->value_count; i++)
        if (strcmp(record->values[i].parameter, from) == 0) {
            free(record->values[i].parameter);
            record->values[i].parameter = text_copy(to);
        }
}

static void what_the_record_lacks_is_left(void **state)
{
    (void)state;
    struct list_bench bench;
    struct record record;
    open_restored(&bench, &record);
    forget(&record, "p", "exception-02");
    rename_value(&record, "q", "quit");
    expect_changes(&bench, "");
    expect_left(&bench, "p was not read when the record was made (exception-02)");
    expect_left(&bench, "quit is in the record (ramp), and the map has it no more");
    expect_left(&bench, "q is not in the record");
    close_restored(&bench, &record);
}

/* The same words mean another current in a drive of another size. */
static void words_that_mean_something_else_are_refused(void **state)
{
    (void)state;
    struct list_bench bench;
    struct record record;
    open_restored(&bench, &record);
    list_answer(&bench, "share", 50);
    expect_changes(&bench, "share=75");
    list_answer(&bench, "size", 70);
    expect_refusal(&bench, "share", "the record's 3.00 A would mean 5.25 A in this drive");
    assert_int_equal(bench.list.count, 0);
    close_restored(&bench, &record);
}

/* A map that was corrected since: what it reads alike is put back, what it reads otherwise is left. */
static void another_map_is_fine_where_it_reads_alike(void **state)
{
    (void)state;
    struct list_bench bench;
    struct record record;
    open_restored(&bench, &record);
    record.map_sha256[0] = record.map_sha256[0] == '0' ? '1' : '0';
    list_answer(&bench, "p", 200);
    list_answer(&bench, "q", 0);
    expect_changes(&bench, "p=600 q=1");
    bench.map.parameters[list_index(&bench, "p")].scale = 0.01;
    expect_changes(&bench, "q=1");
    expect_left(&bench, "p is 60.0 Hz in the record; by the map as it is now these words mean 6.00 Hz: set it by hand");
    free(bench.map.parameters[list_index(&bench, "q")].choices.items[1].word);
    bench.map.parameters[list_index(&bench, "q")].choices.items[1].word = text_copy("quick");
    expect_changes(&bench, "");
    expect_left(&bench, "q is ramp in the record; by the map as it is now these words mean quick: set it by hand");
    bench.map.parameters[list_index(&bench, "wide")].type = TYPE_U16;
    bench.map.parameters[list_index(&bench, "wide")].words = 1;
    list_answer(&bench, "wide", 3);
    expect_changes(&bench, "");
    expect_left(&bench, "wide has 2 words in the record and 1 in the map as it is now");
    close_restored(&bench, &record);
}

static void a_recorded_value_outside_of_its_range_is_refused(void **state)
{
    (void)state;
    struct list_bench bench;
    struct record record;
    open_restored(&bench, &record);
    bench.map.parameters[list_index(&bench, "wide")].accepts_high.value.value = 5;
    list_answer(&bench, "wide", 0x40000000);
    expect_refusal(&bench, "wide", "its range ends at");
    close_restored(&bench, &record);
}

static void an_exchanged_drive_has_to_be_named(void **state)
{
    (void)state;
    struct list_bench bench;
    struct record record;
    open_restored(&bench, &record);
    list_answer(&bench, "p", 200);
    list_answer_text(&bench, "serial", "S-200");
    expect_refusal(&bench, NULL, "where the drive was exchanged, say --replacement S-200");
    bench.order.replacement = "S-300";
    expect_refusal(&bench, NULL, "the serial number is S-200, not S-300 as given with --replacement");
    bench.order.replacement = "S-100"; /* the old one's */
    expect_refusal(&bench, NULL, "the serial number is S-200, not S-100");
    bench.order.replacement = "S-200";
    expect_changes(&bench, "p=600");
    list_fail(&bench, "serial", SYMPTOM_NO_REPLY);
    expect_refusal(&bench, NULL, "the serial number is not read, not S-200");
    bench.order.replacement = NULL;
    expect_refusal(&bench, NULL, "the record is of the drive with serial number S-100, and this one's is not read");
    free(record.serial_number); /* nobody knows whose it is: identity has to do */
    record.serial_number = NULL;
    expect_changes(&bench, "p=600");
    close_restored(&bench, &record);
}

/* The sheet still has the old drive's number: naming the new one goes before it. */
static void a_named_replacement_goes_before_the_sheet(void **state)
{
    (void)state;
    struct list_bench bench;
    list_open(&bench, LIST_MAP(LIST_KEYS, PARAMETERS),
              "tag: T\ndrive: {map: m.yaml, serial_number: S-100}\nline: {host: h, unit: 4}\n");
    struct record record = list_record(&bench);
    bench.order.record = &record;
    list_answer(&bench, "p", 200);
    expect_changes(&bench, "p=0");
    list_answer_text(&bench, "serial", "S-200");
    bench.order.replacement = "S-200";
    expect_changes(&bench, "p=0");
    expect_left(&bench, "serial number S-100 still stands in the sheet");
    close_restored(&bench, &record);
}

static void another_firmware_needs_the_same_map(void **state)
{
    (void)state;
    struct list_bench bench;
    struct record record;
    open_restored(&bench, &record);
    list_answer(&bench, "p", 200);
    list_answer(&bench, "q", 0);
    list_answer(&bench, "firmware", 103);
    expect_changes(&bench, "p=600 q=1");
    expect_left(&bench, "firmware 103 is another than the record's 102");
    record.map_sha256[0] = record.map_sha256[0] == '0' ? '1' : '0';
    expect_refusal(&bench, NULL, "whether the ranges and defaults of p, q agree");
    list_answer(&bench, "firmware", 102);
    expect_changes(&bench, "p=600 q=1");
    close_restored(&bench, &record);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_differs_is_put_back_as_it_was),
        cmocka_unit_test(what_is_never_put_back_is_left),
        cmocka_unit_test(what_the_record_lacks_is_left),
        cmocka_unit_test(words_that_mean_something_else_are_refused),
        cmocka_unit_test(another_map_is_fine_where_it_reads_alike),
        cmocka_unit_test(a_recorded_value_outside_of_its_range_is_refused),
        cmocka_unit_test(an_exchanged_drive_has_to_be_named),
        cmocka_unit_test(a_named_replacement_goes_before_the_sheet),
        cmocka_unit_test(another_firmware_needs_the_same_map),
    };
    return cmocka_run_group_tests(tests, bench_open, bench_close);
}
