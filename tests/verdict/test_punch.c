/* SPDX-License-Identifier: MIT */
/* The punch list: what opens a point, how grave it is, in which order points stand, and what closes them. */
#include "bus/map_builder.h"
#include "motor/quantity.h"
#include "verdict/punch.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum { USUAL = 8, MOST = 16 };

/* The checks that no register shows, as the interface names them; their stakes are common practice, no source. */
static const struct {
    const char *name;
    enum stake weight;
} usual[USUAL] = {
    {"rotation", STAKE_PEOPLE},        {"emergency stop", STAKE_PEOPLE},
    {"safe torque off", STAKE_PEOPLE}, {"restart after power return", STAKE_PEOPLE},
    {"loss of signal", STAKE_PEOPLE},  {"clamp-meter current", STAKE_EQUIPMENT},
    {"insulation", STAKE_EQUIPMENT},   {"tachometer", STAKE_PROCESS},
};

/* A drive with which nothing is open, for a test to spoil. */
struct bench {
    struct map map;
    struct sheet sheet;
    struct by_hand rows[MOST];
    struct findings findings;
    struct record now, left, found, run;
    struct witnessed witnessed;
    struct journal journal;
    struct punch_order order;
    struct acceptance acceptance;
};

static void hold(struct record *record, const char *parameter, uint16_t raw)
{
    record->values = memory_grow(record->values, record->value_count, sizeof *record->values);
    struct record_value *value = &record->values[record->value_count++];
    *value = (struct record_value){.parameter = text_copy(parameter), .shown = text_format("%d A", raw)};
    value->raw = memory_new(1, sizeof *value->raw);
    value->raw[0] = raw;
    value->raw_count = 1;
}

static struct finding *find_that(struct bench *bench, enum verdict verdict, enum means means)
{
    struct finding *finding = findings_add(&bench->findings);
    finding->parameter = text_copy("p");
    finding->means = text_copy(means_table[means].name);
    finding->verdict = verdict;
    finding->stake = means_table[means].stake;
    finding->unit = UNIT_A;
    finding->found = (struct value){.kind = VALUE_NUMBER, .number = 6};
    finding->basis = text_copy("3 A as stamped");
    return finding;
}

static void watch(struct bench *bench, const char *name, enum means means)
{
    struct parameter *parameter = map_add(&bench->map, name, TABLE_HOLDING, (unsigned)bench->map.count, TYPE_U16);
    parameter->means = means;
    parameter->watch = true;
    parameter->settable = SETTABLE_STOPPED;
}

/* The row of the sheet says that now. */
static void rewrite(struct bench *bench, size_t row, const char *check, const char *found)
{
    free(bench->rows[row].check);
    free(bench->rows[row].found);
    bench->rows[row].check = text_copy(check);
    bench->rows[row].found = found == NULL ? NULL : text_copy(found);
    if (bench->rows[row].by == NULL) {
        bench->rows[row].by = text_copy("Meyer");
        bench->rows[row].at = text_copy("2026-01-05");
    }
}

static void add_measure(struct bench *bench, enum verdict verdict, const char *basis)
{
    struct witnessed *witnessed = &bench->witnessed;
    witnessed->measures = memory_grow(witnessed->measures, witnessed->measure_count, sizeof *witnessed->measures);
    witnessed->measures[witnessed->measure_count++] =
        (struct measure){.name = text_copy("overshoot"),
                         .verdict = verdict,
                         .stake = STAKE_EQUIPMENT,
                         .basis = basis == NULL ? NULL : text_copy(basis)};
}

static int start(void **state)
{
    struct bench *bench = memory_new(1, sizeof *bench);
    bench->map = map_start(ORDER_HIGH_FIRST);
    bench->map.keeps = KEEPS_AT_ONCE;
    watch(bench, "motor_current", MEANS_MOTOR_RATED_CURRENT);
    watch(bench, "restart", MEANS_RESTART_AFTER_TRIP);
    for (size_t i = 0; i < USUAL; i++)
        rewrite(bench, i, usual[i].name, "right");
    bench->sheet.motor.given = true;
    bench->sheet.by_hand = bench->rows;
    bench->sheet.by_hand_count = USUAL;
    hold(&bench->now, "motor_current", 300);
    hold(&bench->left, "motor_current", 300);
    hold(&bench->now, "restart", 1);
    hold(&bench->left, "restart", 1);
    bench->order = (struct punch_order){.map = &bench->map,
                                        .sheet = &bench->sheet,
                                        .findings = &bench->findings,
                                        .now = &bench->now,
                                        .left = &bench->left,
                                        .witnessed = &bench->witnessed};
    add_measure(bench, VERDICT_AGREES, "within");
    *state = bench;
    return 0;
}

static int end(void **state)
{
    struct bench *bench = *state;
    acceptance_free(&bench->acceptance);
    map_free(&bench->map);
    for (size_t i = 0; i < MOST; i++) {
        free(bench->rows[i].check);
        free(bench->rows[i].found);
        free(bench->rows[i].by);
        free(bench->rows[i].at);
    }
    findings_free(&bench->findings);
    record_free(&bench->now);
    record_free(&bench->left);
    record_free(&bench->found);
    record_free(&bench->run);
    witnessed_free(&bench->witnessed);
    free(bench);
    return 0;
}

static void make(struct bench *bench)
{
    acceptance_free(&bench->acceptance);
    bench->acceptance = (struct acceptance){0};
    punch_make(&bench->order, &bench->acceptance);
}

/* One point and no other, and its text says that. */
static void assert_point(struct bench *bench, enum stake weight, bool differs, const char *about, const char *text)
{
    make(bench);
    assert_int_equal(bench->acceptance.point_count, 1);
    const struct open_point *point = bench->acceptance.points;
    assert_non_null(point);
    assert_string_equal(point->about, about);
    assert_int_equal(point->weight, weight);
    assert_int_equal(point->differs, differs);
    if (strstr(point->text, text) == NULL)
        fail_msg("'%s' does not say '%s'", point->text, text);
    assert_int_equal(acceptance_overall(&bench->acceptance), differs ? OVERALL_DIFFERS : OVERALL_INCOMPLETE);
}

static void assert_nothing_is_open(struct bench *bench)
{
    make(bench);
    for (size_t i = 0; i < bench->acceptance.point_count; i++)
        fail_msg("%s: %s", bench->acceptance.points[i].about, bench->acceptance.points[i].text);
    assert_int_equal(acceptance_overall(&bench->acceptance), OVERALL_AGREES);
}

/* ---- findings ---- */

static void a_drive_with_nothing_open_agrees(void **state)
{
    struct bench *bench = *state;
    assert_nothing_is_open(bench);
    find_that(bench, VERDICT_AGREES, MEANS_MOTOR_RATED_CURRENT);
    assert_nothing_is_open(bench);
    assert_int_equal(bench->acceptance.check_count, USUAL);
}

static void a_value_that_differs(void **state)
{
    find_that(*state, VERDICT_DIFFERS, MEANS_MOTOR_RATED_CURRENT);
    assert_point(*state, means_table[MEANS_MOTOR_RATED_CURRENT].stake, true, "p",
                 "holds 6 A, which differs: 3 A as stamped");
}

static void a_sheet_that_contradicts_itself(void **state)
{
    struct finding *finding = find_that(*state, VERDICT_IMPLAUSIBLE, MEANS_MOTOR_RATED_CURRENT);
    free(finding->parameter);
    finding->parameter = NULL;
    free(finding->means);
    finding->means = text_copy("sheet.power");
    assert_point(*state, finding->stake, true, "sheet.power", "the sheet contradicts itself: 3 A as stamped");
}

static void a_value_that_was_not_read(void **state)
{
    struct finding *finding = find_that(*state, VERDICT_UNREAD, MEANS_MOTOR_RATED_CURRENT);
    finding->symptom.kind = SYMPTOM_NO_REPLY;
    assert_point(*state, finding->stake, false, "p", "was not read (no-reply)");
}

static void what_the_job_does_not_say_is_open_only_where_people_are_at_stake(void **state)
{
    struct bench *bench = *state;
    find_that(bench, VERDICT_UNCHECKED, MEANS_MOTOR_RATED_CURRENT)->stake = STAKE_EQUIPMENT;
    find_that(bench, VERDICT_UNCHECKED, MEANS_MOTOR_RATED_CURRENT)->stake = STAKE_PROCESS;
    find_that(bench, VERDICT_UNCHECKED, MEANS_RESTART_AFTER_TRIP)->expected.kind = EXPECTED_RANGE;
    assert_nothing_is_open(bench);
    find_that(bench, VERDICT_UNCHECKED, MEANS_RESTART_AFTER_TRIP)->stake = STAKE_PEOPLE;
    assert_point(bench, STAKE_PEOPLE, false, "p", "the sheet does not say what it should be");
}

/* ---- records ---- */

static void a_write_that_did_not_end(void **state)
{
    struct bench *bench = *state;
    bench->order.interrupted = &bench->journal;
    assert_point(bench, STAKE_PEOPLE, false, "interrupted write", "did not come to its end");
}

static void a_record_as_left_that_is_missing(void **state)
{
    struct bench *bench = *state;
    bench->order.left = NULL;
    bench->map.keeps = KEEPS_NEVER; /* the record comes first: no second point asks for a power cycle */
    assert_point(bench, STAKE_PROCESS, false, "record as left", "--as left");
}

static void a_value_that_is_not_as_it_was_left(void **state)
{
    struct bench *bench = *state;
    bench->now.values[0].raw[0] = 301;
    free(bench->now.values[0].shown);
    bench->now.values[0].shown = text_copy("301 A");
    assert_point(bench, means_table[MEANS_MOTOR_RATED_CURRENT].stake, true, "motor_current",
                 "was left at 300 A, and holds 301 A now");
    bench->map.parameters[0].watch = false;
    assert_nothing_is_open(bench);
}

static void what_was_not_read_either_time_is_not_compared(void **state)
{
    struct bench *bench = *state;
    bench->now.values[0].raw[0] = 301;
    bench->left.values[0].symptom = text_copy("no-reply");
    assert_nothing_is_open(bench);
    free(bench->left.values[0].parameter);
    bench->left.values[0].parameter = text_copy("of another map");
    assert_nothing_is_open(bench);
}

static void a_drive_that_was_exchanged(void **state)
{
    struct bench *bench = *state;
    bench->now.serial_number = text_copy("B2");
    assert_nothing_is_open(bench); /* the record does not say */
    bench->left.serial_number = text_copy("A1");
    assert_point(bench, STAKE_EQUIPMENT, true, "serial number", "A1 then, B2 now");
    bench->now.serial_number[0] = 'A';
    bench->now.serial_number[1] = '1';
    assert_nothing_is_open(bench);
}

static void a_power_cycle_where_values_need_one_to_last(void **state)
{
    static const enum keeps kinds[] = {KEEPS_UNSAID, KEEPS_AFTER_SAVE, KEEPS_NEVER};
    struct bench *bench = *state;
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        bench->map.keeps = kinds[i];
        bench->left.after_power_cycle = false;
        assert_point(bench, STAKE_EQUIPMENT, false, "power cycle", "--after-power-cycle");
        bench->left.after_power_cycle = true;
        assert_nothing_is_open(bench);
    }
}

static void a_power_cycle_where_values_need_one_to_count(void **state)
{
    struct bench *bench = *state;
    struct parameter *parameter = &bench->map.parameters[0];
    parameter->takes_effect = EFFECT_AT_STOP;
    assert_nothing_is_open(bench);
    parameter->takes_effect = EFFECT_POWER_CYCLE;
    assert_point(bench, STAKE_EQUIPMENT, false, "power cycle", "--after-power-cycle");
    parameter->settable = SETTABLE_NEVER;
    assert_nothing_is_open(bench);
    parameter->settable = SETTABLE_STOPPED;
    parameter->cuts_line = true; /* such a one is never written here */
    assert_nothing_is_open(bench);
    parameter->cuts_line = false;
    parameter->kind = KIND_COMMAND;
    assert_nothing_is_open(bench);
}

/* ---- the run ---- */

static void a_run_that_was_not_witnessed(void **state)
{
    struct bench *bench = *state;
    bench->order.witnessed = NULL;
    assert_point(bench, STAKE_PROCESS, false, "witnessed run", "witness a run");
}

static void a_run_that_showed_a_difference(void **state)
{
    struct bench *bench = *state;
    add_measure(bench, VERDICT_UNCHECKED, "not seen");
    assert_nothing_is_open(bench);
    add_measure(bench, VERDICT_DIFFERS, "4 s, where 3 s are asked");
    assert_point(bench, STAKE_EQUIPMENT, true, "overshoot", "in the witnessed run: 4 s, where 3 s are asked");
    free(bench->witnessed.measures[2].basis);
    bench->witnessed.measures[2].basis = NULL;
    assert_point(bench, STAKE_EQUIPMENT, true, "overshoot", "in the witnessed run: differs");
}

/* ---- by hand ---- */

static void each_usual_check_is_missed(void **state)
{
    struct bench *bench = *state;
    for (size_t i = 0; i < USUAL; i++) {
        rewrite(bench, i, "paint", "green");
        assert_point(bench, usual[i].weight, false, usual[i].name, "not checked by hand");
        assert_int_equal(bench->acceptance.check_count, USUAL + 1);
        assert_null(bench->acceptance.checks[i].done);
        assert_ptr_equal(bench->acceptance.checks[USUAL].done, &bench->rows[i]);
        rewrite(bench, i, usual[i].name, "right");
        assert_nothing_is_open(bench);
    }
}

static void each_usual_check_without_what_was_found_is_open(void **state)
{
    struct bench *bench = *state;
    for (size_t i = 0; i < USUAL; i++) {
        rewrite(bench, i, usual[i].name, NULL);
        assert_point(bench, usual[i].weight, false, usual[i].name, "does not say all of what was found");
        rewrite(bench, i, usual[i].name, "right");
    }
}

static void a_usual_check_may_have_more_words_and_other_letters(void **state)
{
    struct bench *bench = *state;
    for (size_t i = 0; i < USUAL; i++) {
        char *longer = text_format("%s, both doors", usual[i].name);
        for (char *c = longer; *c != '\0' && *c != ','; c++) {
            *c = *c >= 'a' && *c <= 'z' ? (char)(*c - 'a' + 'A') : *c;
            *c = *c == ' ' ? '-' : *c == '-' ? '_' : *c;
        }
        rewrite(bench, i, longer, "right");
        assert_nothing_is_open(bench);
        assert_string_equal(bench->acceptance.checks[i].name, longer);
        assert_int_equal(bench->acceptance.checks[i].weight, usual[i].weight);
        free(longer);
    }
    assert_int_equal(bench->acceptance.check_count, USUAL);
}

/* People rely on it: a word that only begins like the check's is another check. */
static void a_longer_word_is_no_usual_check(void **state)
{
    struct bench *bench = *state;
    rewrite(bench, 0, "rotational play", "0.1 mm");
    assert_point(bench, STAKE_PEOPLE, false, "rotation", "not checked by hand");
    rewrite(bench, 0, "rotation2", "right");
    assert_point(bench, STAKE_PEOPLE, false, "rotation", "not checked by hand");
    rewrite(bench, 0, "rotat", "right");
    assert_point(bench, STAKE_PEOPLE, false, "rotation", "not checked by hand");
    rewrite(bench, 0, "no rotation", "right");
    assert_point(bench, STAKE_PEOPLE, false, "rotation", "not checked by hand");
}

static void a_check_that_was_made_twice_is_listed_twice(void **state)
{
    struct bench *bench = *state;
    rewrite(bench, USUAL, "emergency stop, door", "right");
    bench->sheet.by_hand_count = USUAL + 1;
    assert_nothing_is_open(bench);
    assert_int_equal(bench->acceptance.check_count, USUAL + 1);
    rewrite(bench, USUAL, "emergency stop, door", NULL);
    assert_point(bench, STAKE_PEOPLE, false, "emergency stop, door", "does not say all of");
}

static void another_check_of_the_sheet(void **state)
{
    struct bench *bench = *state;
    rewrite(bench, USUAL, "paint", "green");
    bench->sheet.by_hand_count = USUAL + 1;
    assert_nothing_is_open(bench);
    assert_string_equal(bench->acceptance.checks[USUAL].name, "paint");
    assert_int_equal(bench->acceptance.checks[USUAL].weight, STAKE_PROCESS);
    rewrite(bench, USUAL, "paint", NULL);
    assert_point(bench, STAKE_PROCESS, false, "paint", "does not say all of what was found");
}

static void a_run_in_which_nothing_was_compared(void **state)
{
    struct bench *bench = *state;
    bench->witnessed.measures[0].verdict = VERDICT_UNCHECKED;
    assert_point(bench, STAKE_PROCESS, false, "witnessed run", "nothing in it could be compared");
}

static void a_run_in_which_something_was_not_read(void **state)
{
    struct bench *bench = *state;
    add_measure(bench, VERDICT_UNREAD, NULL);
    assert_point(bench, STAKE_EQUIPMENT, false, "overshoot", "was not read in the witnessed run");
}

static void a_run_of_other_settings_or_another_drive(void **state)
{
    struct bench *bench = *state;
    bench->order.run = &bench->run;
    hold(&bench->run, "motor_current", 300);
    hold(&bench->run, "restart", 1);
    assert_nothing_is_open(bench);
    bench->run.values[0].raw[0] = 310;
    assert_point(bench, STAKE_PROCESS, false, "witnessed run",
                 "changed since it was witnessed: motor_current; witness");
    bench->run.values[0].raw[0] = 300;
    bench->run.serial_number = text_copy("A1");
    bench->now.serial_number = text_copy("B2");
    assert_point(bench, STAKE_PROCESS, false, "witnessed run", "changed since it was witnessed: the drive itself");
}

static void tuning_is_due_once_the_nameplate_was_changed(void **state)
{
    struct bench *bench = *state;
    bench->order.found = &bench->found;
    hold(&bench->found, "motor_current", 300);
    hold(&bench->found, "restart", 7);
    assert_nothing_is_open(bench);
    bench->found.values[0].raw[0] = 600;
    assert_point(bench, STAKE_PROCESS, false, "motor tuning", "not checked by hand");
    rewrite(bench, USUAL, "motor tuning", "done, at standstill");
    bench->sheet.by_hand_count = USUAL + 1;
    assert_nothing_is_open(bench);
}

static void a_check_says_who_and_when(void **state)
{
    struct bench *bench = *state;
    free(bench->rows[0].by);
    bench->rows[0].by = NULL;
    assert_point(bench, STAKE_PEOPLE, false, "rotation", "by whom and when");
    bench->rows[0].by = text_copy("Meyer");
    free(bench->rows[0].at);
    bench->rows[0].at = NULL;
    assert_point(bench, STAKE_PEOPLE, false, "rotation", "by whom and when");
}

static void without_a_motor_nothing_of_it_is_checked(void **state)
{
    struct bench *bench = *state;
    bench->sheet.motor.given = false;
    rewrite(bench, 0, "paint", "green"); /* instead of rotation */
    assert_nothing_is_open(bench);
}

static void a_doubt_about_the_sheet(void **state)
{
    struct bench *bench = *state;
    struct finding *finding = find_that(bench, VERDICT_UNCHECKED, MEANS_MOTOR_RATED_CURRENT);
    free(finding->parameter);
    finding->parameter = NULL;
    assert_point(bench, finding->stake, false, finding->means, "in doubt, look at it: 3 A as stamped");
}

/* ---- all at once ---- */

static void the_gravest_stand_first_and_equals_as_they_were_found(void **state)
{
    static const char *const expected[] = {"q3", "interrupted write", "rotation",    "emergency stop",
                                           "q2", "serial number",     "power cycle", "insulation",
                                           "q1", "witnessed run",     "tachometer"};
    struct bench *bench = *state;
    for (int i = 1; i <= 3; i++) {
        struct finding *finding = find_that(bench, VERDICT_DIFFERS, MEANS_MOTOR_RATED_CURRENT);
        free(finding->parameter);
        finding->parameter = text_format("q%d", i);
        finding->stake = i == 1 ? STAKE_PROCESS : i == 2 ? STAKE_EQUIPMENT : STAKE_PEOPLE;
    }
    bench->order.interrupted = &bench->journal;
    bench->order.witnessed = NULL;
    bench->map.keeps = KEEPS_NEVER;
    bench->now.serial_number = text_copy("B2");
    bench->left.serial_number = text_copy("A1");
    static const size_t undone[] = {0, 1, 6, 7};
    for (size_t i = 0; i < sizeof undone / sizeof *undone; i++)
        rewrite(bench, undone[i], usual[undone[i]].name, NULL);
    make(bench);
    assert_int_equal(bench->acceptance.point_count, sizeof expected / sizeof *expected);
    for (size_t i = 0; i < sizeof expected / sizeof *expected; i++)
        assert_string_equal(bench->acceptance.points[i].about, expected[i]);
    assert_int_equal(acceptance_overall(&bench->acceptance), OVERALL_DIFFERS);
}

#define TEST(function) cmocka_unit_test_setup_teardown(function, start, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_drive_with_nothing_open_agrees),
        TEST(a_value_that_differs),
        TEST(a_sheet_that_contradicts_itself),
        TEST(a_value_that_was_not_read),
        TEST(what_the_job_does_not_say_is_open_only_where_people_are_at_stake),
        TEST(a_write_that_did_not_end),
        TEST(a_record_as_left_that_is_missing),
        TEST(a_value_that_is_not_as_it_was_left),
        TEST(what_was_not_read_either_time_is_not_compared),
        TEST(a_drive_that_was_exchanged),
        TEST(a_power_cycle_where_values_need_one_to_last),
        TEST(a_power_cycle_where_values_need_one_to_count),
        TEST(a_run_that_was_not_witnessed),
        TEST(a_run_that_showed_a_difference),
        TEST(each_usual_check_is_missed),
        TEST(each_usual_check_without_what_was_found_is_open),
        TEST(a_usual_check_may_have_more_words_and_other_letters),
        TEST(a_longer_word_is_no_usual_check),
        TEST(a_check_that_was_made_twice_is_listed_twice),
        TEST(another_check_of_the_sheet),
        TEST(a_run_in_which_nothing_was_compared),
        TEST(a_run_in_which_something_was_not_read),
        TEST(a_run_of_other_settings_or_another_drive),
        TEST(tuning_is_due_once_the_nameplate_was_changed),
        TEST(a_check_says_who_and_when),
        TEST(without_a_motor_nothing_of_it_is_checked),
        TEST(a_doubt_about_the_sheet),
        TEST(the_gravest_stand_first_and_equals_as_they_were_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
