/* SPDX-License-Identifier: MIT */
/* The table of symptoms: it has a row for everything that can happen, and the one that a drive's readings ask for. */
#include "verdict/advice.h"

#include "bus/map_builder.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

static const enum advice_line lines[] = {ADVICE_SERIAL, ADVICE_TCP};
static const enum advice_extent extents[] = {ADVICE_ALL, ADVICE_TABLE, ADVICE_SOME};
static const enum line_trouble troubles[] = {LINE_PORT_MISSING, LINE_PORT_NOT_PERMITTED, LINE_PORT_IN_USE,
                                             LINE_PORT_UNFIT,   LINE_OTHER_MASTER,       LINE_HOST_UNKNOWN};
enum { FIRST_SYMPTOM = SYMPTOM_NO_REPLY, LAST_SYMPTOM = SYMPTOM_OTHER_MODEL };

/* Four holding registers and two input registers, all read; a test then takes some of it away. */
struct scene {
    struct map map;
    struct readings readings;
    struct advice advice;
};

enum { HOLDING = 0, HOLDINGS = 4, INPUT = 4, ALL = 6 };

static void scene_start(struct scene *scene)
{
    *scene = (struct scene){.map = map_start(ORDER_HIGH_FIRST)};
    for (unsigned i = 0; i < ALL; i++) {
        char name[8];
        (void)snprintf(name, sizeof name, "p%u", i);
        map_add(&scene->map, name, i < INPUT ? TABLE_HOLDING : TABLE_INPUT, 2 * i, TYPE_U16);
    }
    readings_init(&scene->readings, ALL);
    for (size_t i = 0; i < ALL; i++)
        reading_put_word(&scene->readings, i, 1);
}

static void scene_free(struct scene *scene)
{
    readings_free(&scene->readings);
    map_free(&scene->map);
}

static void unread(struct scene *scene, size_t first, size_t count, enum symptom_kind kind, uint8_t exception)
{
    for (size_t i = first; i < first + count; i++) {
        struct reading *reading = &scene->readings.items[i];
        free(reading->raw);
        reading->raw = NULL;
        reading->raw_count = 0;
        reading->symptom = (struct symptom){kind, exception};
    }
}

static void advise_now(struct scene *scene, enum advice_line line, enum line_trouble trouble)
{
    advise(&scene->map, &scene->readings, line, trouble, &scene->advice);
}

/* The cause that comes first in the only row that applies. */
static const char *first_cause(struct scene *scene, enum advice_line line)
{
    advise_now(scene, line, LINE_TROUBLE_NONE);
    assert_int_equal(scene->advice.count, 1);
    return scene->advice.items[0].row->steps[0].cause;
}

/* ---- the table ---- */

static void every_symptom_has_a_row_for_both_lines_and_each_extent(void **state)
{
    (void)state;
    for (unsigned kind = FIRST_SYMPTOM; kind <= LAST_SYMPTOM; kind++)
        for (unsigned code = 0; code <= (kind == SYMPTOM_EXCEPTION ? 0xffU : 0U); code++)
            for (size_t line = 0; line < 2; line++)
                for (size_t extent = 0; extent < 3; extent++) {
                    struct symptom symptom = {(enum symptom_kind)kind, (uint8_t)code};
                    if (advice_for(symptom, lines[line], extents[extent]) == NULL)
                        fail_msg("no row for symptom %u, code 0x%02x, line %u, extent %u", kind, code, lines[line],
                                 extents[extent]);
                }
    assert_non_null(advice_for((struct symptom){.kind = SYMPTOM_CLOSED}, ADVICE_TCP, ADVICE_UNASKED));
    assert_null(advice_for((struct symptom){0}, ADVICE_TCP, ADVICE_ALL));
}

static void every_trouble_of_a_line_has_a_row(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof troubles / sizeof *troubles; i++) {
        const struct advice_row *row = advice_for_trouble(troubles[i]);
        assert_non_null(row);
        assert_int_equal(row->trouble, troubles[i]);
    }
    assert_null(advice_for_trouble(LINE_TROUBLE_NONE));
}

/* True where some situation leads to the row. */
static bool is_reached(const struct advice_row *row)
{
    if (row->trouble != LINE_TROUBLE_NONE)
        return advice_for_trouble(row->trouble) == row;
    struct symptom symptom = {row->symptom, row->exception_last};
    for (unsigned extent = ADVICE_ALL; extent <= ADVICE_SEARCHED; extent *= 2)
        for (size_t line = 0; line < 2; line++)
            if ((row->lines & lines[line]) != 0 && (row->extents & extent) != 0 &&
                advice_for(symptom, lines[line], (enum advice_extent)extent) == row)
                return true;
    return false;
}

static void no_row_hides_behind_another(void **state)
{
    (void)state;
    const struct advice_row *row = NULL;
    for (size_t i = 0; (row = advice_row_at(i)) != NULL; i++)
        if (!is_reached(row))
            fail_msg("nothing leads to row %zu: %s", i, row->observation);
}

/* "cause: check" is one sentence of a report, so neither has a colon of its own, but in quotes. */
static void expect_clean(const char *text)
{
    bool quoted = false;
    assert_true(text[0] == '\'' || (text[0] >= 'a' && text[0] <= 'z') || (text[0] >= '0' && text[0] <= '9') ||
                strncmp(text, "Modbus", 6) == 0 || strncmp(text, "A and B", 7) == 0);
    assert_int_not_equal(text[strlen(text) - 1], '.');
    assert_in_range(strlen(text), 5, 170);
    for (; *text != '\0'; text++) {
        if (*text == '\'' && (text[1] == ' ' || !quoted || text[1] == '\0' || text[1] == ';' || text[1] == ','))
            quoted = !quoted;
        if (text[0] == ':' && text[1] == ' ' && !quoted)
            fail_msg("a colon outside quotes at: %s", text);
    }
}

static void a_row_has_one_to_five_steps_each_with_its_check(void **state)
{
    (void)state;
    const struct advice_row *row = NULL;
    for (size_t i = 0; (row = advice_row_at(i)) != NULL; i++) {
        assert_non_null(row->steps[0].cause);
        bool ended = false;
        for (size_t k = 0; k < ADVICE_STEPS; k++) {
            assert_int_equal(row->steps[k].cause == NULL, row->steps[k].check == NULL);
            assert_false(ended && row->steps[k].cause != NULL);
            ended = row->steps[k].cause == NULL;
            if (!ended) {
                expect_clean(row->steps[k].cause);
                expect_clean(row->steps[k].check);
            }
        }
    }
}

/* MODBUS over Serial Line V1.02, 3.3.2: D1 is B and lies above D0, which is A; 3.4: bias of 450 to 650 ohm at one
 * place, 150 ohm at both ends, of which two side by side make 75. */
static void figures_of_the_wires_are_the_standards(void **state)
{
    (void)state;
    const struct advice_row *silent = advice_for((struct symptom){.kind = SYMPTOM_NO_REPLY}, ADVICE_SERIAL, ADVICE_ALL);
    const struct advice_row *spoiled =
        advice_for((struct symptom){.kind = SYMPTOM_CORRUPT}, ADVICE_SERIAL, ADVICE_SOME);
    assert_non_null(strstr(silent->steps[4].check, "450 to 650 ohm, at one place"));
    assert_non_null(strstr(silent->steps[4].check, "D1 (B) lies at least 0.2 V above D0 (A)"));
    char text[64];
    (void)snprintf(text, sizeof text, "about %d ohm between the data wires", 150 / 2);
    assert_non_null(strstr(spoiled->steps[2].check, text));
    (void)snprintf(text, sizeof text, "with two of 150 ohm; %d ohm with two of 120 ohm", 120 / 2);
    assert_non_null(strstr(spoiled->steps[2].check, text));
}

/* ---- the choice ---- */

static void a_drive_that_was_read_needs_no_advice(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    advise_now(&scene, ADVICE_SERIAL, LINE_TROUBLE_NONE);
    assert_int_equal(scene.advice.count, 0);
    scene_free(&scene);
}

static void all_addresses_refused_is_counting_or_table(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    unread(&scene, 0, ALL, SYMPTOM_EXCEPTION, 0x02);
    assert_string_equal(first_cause(&scene, ADVICE_TCP), "addresses counted from the other start");
    assert_non_null(strstr(scene.advice.items[0].row->steps[1].cause, "the wrong table"));
    scene_free(&scene);
}

static void a_whole_table_refused_is_the_wrong_table(void **state)
{
    (void)state;
    for (uint8_t exception = 1; exception <= 2; exception++) {
        struct scene scene;
        scene_start(&scene);
        unread(&scene, INPUT, ALL - INPUT, SYMPTOM_EXCEPTION, exception);
        assert_non_null(strstr(first_cause(&scene, ADVICE_SERIAL), "wrong table"));
        scene_free(&scene);
    }
}

static void some_addresses_refused_is_another_model_or_firmware(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    unread(&scene, HOLDING + 1, 2, SYMPTOM_EXCEPTION, 0x02);
    assert_string_equal(first_cause(&scene, ADVICE_SERIAL), "not in this model or firmware");
    scene_free(&scene);
}

static void one_symptom_of_two_extents_has_two_rows(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    unread(&scene, HOLDING + 1, 1, SYMPTOM_EXCEPTION, 0x02);
    unread(&scene, INPUT, ALL - INPUT, SYMPTOM_EXCEPTION, 0x02);
    advise_now(&scene, ADVICE_SERIAL, LINE_TROUBLE_NONE);
    assert_int_equal(scene.advice.count, 2);
    assert_true(scene.advice.items[0].row->extents == ADVICE_SOME);
    assert_true(scene.advice.items[1].row->extents == ADVICE_TABLE);
    scene_free(&scene);
}

static void silence_differs_by_line_and_extent(void **state)
{
    (void)state;
    struct scene scene;
    const struct advice_row *rows[4] = {0};
    for (size_t line = 0; line < 2; line++) {
        scene_start(&scene);
        unread(&scene, HOLDING, 1, SYMPTOM_NO_REPLY, 0);
        (void)first_cause(&scene, lines[line]);
        rows[2 * line] = scene.advice.items[0].row;
        unread(&scene, 0, ALL, SYMPTOM_NO_REPLY, 0);
        (void)first_cause(&scene, lines[line]);
        rows[2 * line + 1] = scene.advice.items[0].row;
        scene_free(&scene);
    }
    for (size_t i = 0; i < 4; i++)
        for (size_t k = 0; k < i; k++)
            assert_ptr_not_equal(rows[i], rows[k]);
}

static void each_symptom_is_advised_once(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    unread(&scene, HOLDING, 2, SYMPTOM_LOCKED, 0);
    unread(&scene, HOLDING + 2, 1, SYMPTOM_EXCEPTION, 0x10);
    unread(&scene, INPUT, 1, SYMPTOM_EXCEPTION, 0x11);
    advise_now(&scene, ADVICE_TCP, LINE_TROUBLE_NONE);
    assert_int_equal(scene.advice.count, 3);
    assert_int_equal(scene.advice.items[0].symptom.kind, SYMPTOM_LOCKED);
    assert_int_equal(scene.advice.items[1].symptom.exception, 0x10);
    assert_int_equal(scene.advice.items[2].symptom.exception, 0x11);
    assert_ptr_equal(scene.advice.items[1].row, scene.advice.items[2].row);
    scene_free(&scene);
}

static void a_number_that_is_none_counts_as_answered(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    unread(&scene, 0, ALL - 1, SYMPTOM_EXCEPTION, 0x02);
    scene.readings.items[ALL - 1].symptom.kind = SYMPTOM_NOT_A_NUMBER; /* with its words */
    assert_int_equal(advice_extent_of(&scene.map, &scene.readings, HOLDING), ADVICE_TABLE);
    assert_int_equal(advice_extent_of(&scene.map, &scene.readings, INPUT), ADVICE_SOME);
    scene_free(&scene);
}

static void what_the_map_closes_was_not_asked(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    map_close(&scene.map, TABLE_HOLDING, 2, 2);
    unread(&scene, HOLDING + 1, 1, SYMPTOM_CLOSED, 0);
    assert_string_equal(first_cause(&scene, ADVICE_TCP), "its address is among those that the map closes");
    unread(&scene, HOLDING, 1, SYMPTOM_CLOSED, 0); /* this one was asked, and the connection went */
    advise_now(&scene, ADVICE_TCP, LINE_TROUBLE_NONE);
    assert_int_equal(scene.advice.count, 2);
    unread(&scene, 0, ALL, SYMPTOM_NO_REPLY, 0); /* silence is silence, closed or not */
    (void)first_cause(&scene, ADVICE_TCP);
    scene_free(&scene);
}

static void a_line_that_did_not_open_has_its_reasons_row_alone(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    unread(&scene, 0, ALL, SYMPTOM_UNREACHABLE, 0);
    for (size_t i = 0; i < sizeof troubles / sizeof *troubles; i++) {
        advise_now(&scene, ADVICE_SERIAL, troubles[i]);
        assert_int_equal(scene.advice.count, 1);
        assert_int_equal(scene.advice.items[0].row->trouble, troubles[i]);
        assert_int_equal(scene.advice.items[0].symptom.kind, SYMPTOM_UNREACHABLE);
    }
    scene_free(&scene);
}

static void more_kinds_than_anybody_works_through_are_left_out(void **state)
{
    (void)state;
    struct scene scene = {.map = map_start(ORDER_HIGH_FIRST)};
    enum { MANY = 40 };
    for (unsigned i = 0; i < MANY; i++)
        map_add(&scene.map, "p", TABLE_HOLDING, i, TYPE_U16);
    readings_init(&scene.readings, MANY);
    for (uint8_t i = 0; i < MANY; i++)
        unread(&scene, i, 1, SYMPTOM_EXCEPTION, (uint8_t)(0x10 + i));
    advise_now(&scene, ADVICE_SERIAL, LINE_TROUBLE_NONE);
    assert_int_equal(scene.advice.count, ADVICE_MOST);
    scene_free(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_symptom_has_a_row_for_both_lines_and_each_extent),
        cmocka_unit_test(every_trouble_of_a_line_has_a_row),
        cmocka_unit_test(no_row_hides_behind_another),
        cmocka_unit_test(a_row_has_one_to_five_steps_each_with_its_check),
        cmocka_unit_test(figures_of_the_wires_are_the_standards),
        cmocka_unit_test(a_drive_that_was_read_needs_no_advice),
        cmocka_unit_test(all_addresses_refused_is_counting_or_table),
        cmocka_unit_test(a_whole_table_refused_is_the_wrong_table),
        cmocka_unit_test(some_addresses_refused_is_another_model_or_firmware),
        cmocka_unit_test(one_symptom_of_two_extents_has_two_rows),
        cmocka_unit_test(silence_differs_by_line_and_extent),
        cmocka_unit_test(each_symptom_is_advised_once),
        cmocka_unit_test(a_number_that_is_none_counts_as_answered),
        cmocka_unit_test(what_the_map_closes_was_not_asked),
        cmocka_unit_test(a_line_that_did_not_open_has_its_reasons_row_alone),
        cmocka_unit_test(more_kinds_than_anybody_works_through_are_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
