/* SPDX-License-Identifier: MIT */
/* A drive's visit: the order of things, when it ends early, and which values are believed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "types/sheet.h"
#include "visit/fake_drive.h"
#include "visit/visit.h"

/* A map of registers of 0.1 A whose setpoint is 3.0 A, and a drive that holds them. */
struct scene {
    struct map map;
    struct sheet sheet;
    struct setpoints setpoints;
    struct drive drive;
    struct wanted wanted;
    struct visit *visit;
    int64_t wall_ms;
    unsigned done;
};

static int64_t wall_of(void *user)
{
    struct scene *scene = user;
    return scene->wall_ms += 1000;
}

static int64_t never_asked(void *user)
{
    (void)user;
    return 0;
}

static void scene_start(struct scene *scene)
{
    *scene = (struct scene){.map = map_start(ORDER_HIGH_FIRST)};
    scene->setpoints.items = memory_new(1, sizeof *scene->setpoints.items);
    scene->setpoints.count = 1;
    scene->setpoints.items[0] = (struct setpoint){.means = MEANS_MOTOR_RATED_CURRENT,
                                                  .kind = SETPOINT_RANGE,
                                                  .low = 3,
                                                  .nominal = 3,
                                                  .high = 3,
                                                  .unit = UNIT_A,
                                                  .basis = text_copy("as stamped"),
                                                  .source = SOURCE_NAMEPLATE};
}

static size_t add_plain(struct scene *scene, const char *name)
{
    size_t index = scene->map.count;
    map_add(&scene->map, name, TABLE_HOLDING, (unsigned)index, TYPE_U16);
    return index;
}

static size_t add_current(struct scene *scene)
{
    size_t index = add_plain(scene, "motor_current");
    struct parameter *parameter = &scene->map.parameters[index];
    parameter->means = MEANS_MOTOR_RATED_CURRENT;
    parameter->scale = 0.1;
    parameter->unit = UNIT_A;
    wanted_add(&scene->wanted, index);
    return index;
}

static void mark_done(void *user)
{
    ((struct scene *)user)->done++;
}

static struct visit_order order_of(const struct scene *scene, bool judge)
{
    return (struct visit_order){.map = &scene->map,
                                .sheet = &scene->sheet,
                                .setpoints = &scene->setpoints,
                                .unit = 4,
                                .wanted = &scene->wanted,
                                .judge = judge};
}

static void scene_visit(struct scene *scene, bool judge)
{
    const struct clock clock = {.now_us = never_asked, .wall_ms = wall_of, .user = scene};
    struct visit_order order = order_of(scene, judge);
    scene->visit = visit_start(drive_link(&scene->drive), &clock, &order, mark_done, scene);
    drive_run(&scene->drive);
    assert_int_equal(scene->done, 1);
}

static const struct reading *reading_of(const struct scene *scene, size_t parameter)
{
    return &visit_readings(scene->visit)->items[parameter];
}

static enum verdict verdict_of(const struct scene *scene)
{
    assert_int_equal(visit_findings(scene->visit)->count, 1);
    return visit_findings(scene->visit)->items[0].verdict;
}

static void scene_free(struct scene *scene)
{
    visit_free(scene->visit);
    wanted_free(&scene->wanted);
    setpoints_free(&scene->setpoints);
    map_free(&scene->map);
}

static void a_value_that_agrees_is_read_once(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    size_t current = add_current(&scene);
    drive_says(&scene.drive, current, 30);
    scene_visit(&scene, true);
    assert_int_equal(verdict_of(&scene), VERDICT_AGREES);
    assert_string_equal(scene.drive.log, "0|");
    assert_null(visit_remark(scene.visit));
    assert_int_equal(visit_readings(scene.visit)->began_ms, 1000);
    assert_int_equal(visit_readings(scene.visit)->ended_ms, 2000);
    assert_int_equal(visit_readings(scene.visit)->traffic.requests, 1);
    scene_free(&scene);
}

static void a_value_that_differs_is_read_a_second_time(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    size_t current = add_current(&scene);
    drive_says(&scene.drive, current, 60);
    scene_visit(&scene, true);
    assert_int_equal(verdict_of(&scene), VERDICT_DIFFERS);
    assert_string_equal(scene.drive.log, "0|0|");
    scene_free(&scene);
}

static void what_differs_to_the_end_gets_its_cause(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    size_t current = add_current(&scene);
    drive_says(&scene.drive, current, 300);
    scene_visit(&scene, true);
    assert_int_equal(visit_findings(scene.visit)->items[0].cause.kind, CAUSE_DECIMAL_SHIFT);
    assert_null(visit_remark(scene.visit)); /* one value has nothing in common with another */
    scene_free(&scene);
}

static void what_several_values_have_in_common_is_the_remark(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    for (size_t i = 0; i < 3; i++) {
        char name[2] = {(char)('a' + i), '\0'};
        size_t index = add_plain(&scene, name);
        scene.map.parameters[index].means = MEANS_MOTOR_RATED_CURRENT;
        scene.map.parameters[index].unit = UNIT_A;
        scene.map.parameters[index].default_value = (struct quantity){.given = true, .value = 7, .unit = UNIT_A};
        wanted_add(&scene.wanted, index);
        drive_says(&scene.drive, index, 7);
    }
    scene_visit(&scene, true);
    assert_string_equal(visit_remark(scene.visit),
                        "3 values are factory defaults: the drive was reset, or never set up");
    scene_free(&scene);
}

static void a_value_that_was_wrong_once_only_is_not_reported(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    size_t current = add_current(&scene);
    drive_says(&scene.drive, current, 60);
    drive_says(&scene.drive, current, 30);
    scene_visit(&scene, true);
    assert_int_equal(verdict_of(&scene), VERDICT_AGREES);
    scene_free(&scene);
}

static void a_difference_counts_once_it_is_the_same_twice_running(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    size_t current = add_current(&scene);
    drive_says(&scene.drive, current, 60);
    drive_says(&scene.drive, current, 61);
    drive_says(&scene.drive, current, 61);
    scene_visit(&scene, true);
    assert_int_equal(verdict_of(&scene), VERDICT_DIFFERS);
    assert_int_equal(reading_of(&scene, current)->raw[0], 61);
    assert_string_equal(scene.drive.log, "0|0|0|");
    scene_free(&scene);
}

static void a_value_that_changes_at_each_reading_is_unread(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    size_t current = add_current(&scene);
    for (uint16_t i = 0; i < 6; i++)
        drive_says(&scene.drive, current, 60 + i);
    scene_visit(&scene, true);
    assert_int_equal(verdict_of(&scene), VERDICT_UNREAD);
    assert_int_equal(reading_of(&scene, current)->symptom.kind, SYMPTOM_CORRUPT);
    assert_string_equal(reading_of(&scene, current)->remark, "another value at each reading");
    assert_int_equal(reading_of(&scene, current)->raw_count, 0);
    assert_string_equal(scene.drive.log, "0|0|0|0|");
    scene_free(&scene);
}

static void a_difference_that_cannot_be_read_again_is_unread(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    size_t current = add_current(&scene);
    drive_says(&scene.drive, current, 60);
    drive_fails(&scene.drive, current, SYMPTOM_NO_REPLY, 0);
    scene_visit(&scene, true);
    assert_int_equal(verdict_of(&scene), VERDICT_UNREAD);
    assert_int_equal(visit_findings(scene.visit)->items[0].symptom.kind, SYMPTOM_NO_REPLY);
    scene_free(&scene);
}

static void a_visit_that_only_reads_judges_nothing(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    size_t current = add_current(&scene);
    drive_says(&scene.drive, current, 60);
    scene_visit(&scene, false);
    assert_int_equal(visit_findings(scene.visit)->count, 0);
    assert_string_equal(scene.drive.log, "0|");
    assert_true(reading_of(&scene, current)->value.number == 6.0);
    scene_free(&scene);
}

static void a_visit_for_nothing_is_over_at_once(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    scene_visit(&scene, true);
    assert_string_equal(scene.drive.log, "");
    scene_free(&scene);
}

/* The network watchdog, as the map's first parameter, whose value 0 is off. */
static size_t watchdog_scene(struct scene *scene)
{
    scene_start(scene);
    size_t watchdog = add_plain(scene, "link_timeout");
    scene->map.network_watchdog.given = true;
    scene->map.network_watchdog.parameter = watchdog;
    size_t current = add_current(scene);
    drive_says(&scene->drive, current, 30);
    return watchdog;
}

static void a_watchdog_that_is_off_is_read_first(void **state)
{
    (void)state;
    struct scene scene;
    drive_says(&scene.drive, watchdog_scene(&scene), 0);
    scene_visit(&scene, true);
    assert_int_equal(verdict_of(&scene), VERDICT_AGREES);
    assert_string_equal(scene.drive.log, "0|1|");
    scene_free(&scene);
}

static void an_armed_watchdog_ends_the_visit(void **state)
{
    (void)state;
    struct scene scene;
    drive_says(&scene.drive, watchdog_scene(&scene), 30);
    scene_visit(&scene, true);
    assert_string_equal(scene.drive.log, "0|");
    assert_int_equal(verdict_of(&scene), VERDICT_UNREAD);
    assert_int_equal(reading_of(&scene, 1)->symptom.kind, SYMPTOM_WATCHDOG_ARMED);
    assert_string_equal(visit_remark(scene.visit),
                        "the drive's network watchdog is armed (link_timeout is 30): it would trip when reading ends; "
                        "say 'watchdog: known' in the sheet where that is wanted");
    scene_free(&scene);
}

static void a_watchdog_that_the_sheet_knows_of_is_not_asked(void **state)
{
    (void)state;
    struct scene scene;
    drive_says(&scene.drive, watchdog_scene(&scene), 30);
    scene.sheet.watchdog_known = true;
    scene_visit(&scene, true);
    assert_string_equal(scene.drive.log, "1|");
    assert_int_equal(verdict_of(&scene), VERDICT_AGREES);
    scene_free(&scene);
}

static void a_watchdog_that_cannot_be_read_ends_the_visit(void **state)
{
    (void)state;
    struct scene scene;
    drive_fails(&scene.drive, watchdog_scene(&scene), SYMPTOM_NO_REPLY, 0);
    scene_visit(&scene, true);
    assert_string_equal(scene.drive.log, "0|");
    assert_int_equal(reading_of(&scene, 1)->symptom.kind, SYMPTOM_NO_REPLY);
    assert_string_equal(visit_remark(scene.visit),
                        "the network watchdog (link_timeout) is read first, and could not be");
    scene_free(&scene);
}

/* The identity, as the map's first parameter, which must be 0x5143. */
static size_t identity_scene(struct scene *scene)
{
    scene_start(scene);
    size_t code = add_plain(scene, "model_code");
    scene->map.identity = memory_new(1, sizeof *scene->map.identity);
    scene->map.identity[0] = (struct identity){.parameter = code, .raw = 0x5143};
    scene->map.identity_count = 1;
    size_t current = add_current(scene);
    drive_says(&scene->drive, current, 30);
    return code;
}

static void the_right_model_is_read_on(void **state)
{
    (void)state;
    struct scene scene;
    drive_says(&scene.drive, identity_scene(&scene), 0x5143);
    scene_visit(&scene, true);
    assert_string_equal(scene.drive.log, "0|1|");
    assert_int_equal(verdict_of(&scene), VERDICT_AGREES);
    scene_free(&scene);
}

static void another_model_is_not_read_on(void **state)
{
    (void)state;
    struct scene scene;
    drive_says(&scene.drive, identity_scene(&scene), 0x5144);
    scene_visit(&scene, true);
    assert_string_equal(scene.drive.log, "0|");
    assert_int_equal(reading_of(&scene, 1)->symptom.kind, SYMPTOM_OTHER_MODEL);
    assert_string_equal(visit_remark(scene.visit),
                        "this is another model than the map's: model_code is 0x5144, not 0x5143");
    scene_free(&scene);
}

static void a_model_code_that_stands_for_nothing_is_another_model(void **state)
{
    (void)state;
    struct scene scene;
    size_t code = identity_scene(&scene);
    raws_add(&scene.map.parameters[code].no_value, 0xffff);
    drive_says(&scene.drive, code, 0xffff);
    scene_visit(&scene, true);
    assert_int_equal(reading_of(&scene, 1)->symptom.kind, SYMPTOM_OTHER_MODEL);
    scene_free(&scene);
}

static void a_drive_that_refuses_to_name_itself_is_another_model(void **state)
{
    (void)state;
    for (uint8_t exception = 1; exception <= 3; exception++) {
        struct scene scene;
        drive_fails(&scene.drive, identity_scene(&scene), SYMPTOM_EXCEPTION, exception);
        scene_visit(&scene, true);
        assert_int_equal(reading_of(&scene, 1)->symptom.kind, SYMPTOM_OTHER_MODEL);
        assert_non_null(strstr(visit_remark(scene.visit), "model_code is not read (exception-0"));
        scene_free(&scene);
    }
}

static void what_the_drive_refused_keeps_its_refusal(void **state)
{
    (void)state;
    struct scene scene;
    size_t code = identity_scene(&scene);
    wanted_add(&scene.wanted, code);
    drive_fails(&scene.drive, code, SYMPTOM_EXCEPTION, 0x02);
    scene_visit(&scene, true);
    assert_int_equal(reading_of(&scene, code)->symptom.kind, SYMPTOM_EXCEPTION);
    assert_int_equal(reading_of(&scene, code)->symptom.exception, 0x02);
    assert_int_equal(reading_of(&scene, 1)->symptom.kind, SYMPTOM_OTHER_MODEL);
    scene_free(&scene);
}

static void a_drive_that_does_not_answer_is_only_silent(void **state)
{
    (void)state;
    static const struct symptom silences[] = {
        {.kind = SYMPTOM_NO_REPLY},
        {.kind = SYMPTOM_EXCEPTION, .exception = 0x0b}, /* so says a gateway */
        {.kind = SYMPTOM_REFUSED},
        {.kind = SYMPTOM_EXCEPTION, .exception = 0x06}, /* busy */
    };
    for (size_t i = 0; i < sizeof silences / sizeof *silences; i++) {
        struct scene scene;
        size_t code = identity_scene(&scene);
        drive_fails(&scene.drive, code, silences[i].kind, silences[i].exception);
        scene_visit(&scene, true);
        assert_string_equal(scene.drive.log, "0|");
        assert_int_equal(reading_of(&scene, 1)->symptom.kind, silences[i].kind);
        assert_int_equal(reading_of(&scene, 1)->symptom.exception, silences[i].exception);
        assert_null(visit_remark(scene.visit));
        scene_free(&scene);
    }
}

static void an_identity_of_text_is_compared_as_text(void **state)
{
    (void)state;
    for (int right = 0; right <= 1; right++) {
        struct scene scene;
        size_t code = identity_scene(&scene);
        scene.map.parameters[code].type = TYPE_TEXT;
        scene.map.identity[0].is_text = true;
        scene.map.identity[0].text = text_copy("QC");
        drive_says(&scene.drive, code, right ? 0x5143 : 0x5144);
        scene_visit(&scene, true);
        assert_int_equal(verdict_of(&scene), right ? VERDICT_AGREES : VERDICT_UNREAD);
        if (!right)
            assert_string_equal(visit_remark(scene.visit),
                                "this is another model than the map's: model_code is 'QD', not 'QC'");
        scene_free(&scene);
    }
}

/* A current whose scale is selected by the map's first parameter: 0 is 0.1 A, 1 is 0.01 A. */
static size_t selector_scene(struct scene *scene)
{
    scene_start(scene);
    size_t step = add_plain(scene, "current_step");
    size_t current = add_current(scene);
    struct selector *scale = &scene->map.parameters[current].scale_by;
    row_add(scale, step, (struct choice_row){.raw = 0, .scale = 0.1});
    row_add(scale, step, (struct choice_row){.raw = 1, .scale = 0.01});
    drive_says(&scene->drive, current, 300);
    return step;
}

static void selectors_are_read_before_and_after(void **state)
{
    (void)state;
    struct scene scene;
    drive_says(&scene.drive, selector_scene(&scene), 1);
    scene_visit(&scene, true);
    assert_string_equal(scene.drive.log, "0|1|0|");
    assert_int_equal(verdict_of(&scene), VERDICT_AGREES);
    scene_free(&scene);
}

static void a_selector_that_changed_meanwhile_leaves_its_dependents_unread(void **state)
{
    (void)state;
    struct scene scene;
    size_t step = selector_scene(&scene);
    drive_says(&scene.drive, step, 0);
    drive_says(&scene.drive, step, 1);
    scene_visit(&scene, true);
    assert_int_equal(verdict_of(&scene), VERDICT_UNREAD);
    assert_int_equal(visit_findings(scene.visit)->items[0].symptom.kind, SYMPTOM_SELECTOR);
    assert_int_equal(reading_of(&scene, step)->symptom.kind, SYMPTOM_SELECTOR);
    assert_string_equal(reading_of(&scene, step)->remark, "not the same before and after the values were read");
    scene_free(&scene);
}

static void a_selector_that_fails_afterwards_keeps_its_own_symptom(void **state)
{
    (void)state;
    struct scene scene;
    size_t step = selector_scene(&scene);
    drive_says(&scene.drive, step, 1);
    drive_fails(&scene.drive, step, SYMPTOM_NO_REPLY, 0);
    scene_visit(&scene, true);
    assert_int_equal(reading_of(&scene, step)->symptom.kind, SYMPTOM_NO_REPLY);
    assert_int_equal(visit_findings(scene.visit)->items[0].symptom.kind, SYMPTOM_SELECTOR);
    scene_free(&scene);
}

static void a_selector_that_is_not_read_is_not_asked_again(void **state)
{
    (void)state;
    struct scene scene;
    drive_fails(&scene.drive, selector_scene(&scene), SYMPTOM_EXCEPTION, 2);
    scene_visit(&scene, true);
    assert_string_equal(scene.drive.log, "0|1|");
    assert_int_equal(visit_findings(scene.visit)->items[0].symptom.kind, SYMPTOM_SELECTOR);
    scene_free(&scene);
}

static void a_selector_is_read_again_with_what_differs(void **state)
{
    (void)state;
    struct scene scene;
    size_t step = selector_scene(&scene);
    drive_says(&scene.drive, step, 0);
    drive_says(&scene.drive, step, 0);
    drive_says(&scene.drive, step, 1); /* 300 steps of 0.1 A would differ */
    scene_visit(&scene, true);
    assert_string_equal(scene.drive.log, "0|1|0|0,1|");
    assert_int_equal(verdict_of(&scene), VERDICT_UNREAD);
    assert_int_equal(reading_of(&scene, step)->symptom.kind, SYMPTOM_SELECTOR);
    scene_free(&scene);
}

static void a_base_that_changes_at_each_reading_takes_its_percentages_along(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    size_t share = add_plain(&scene, "overload");
    size_t base = add_current(&scene);
    wanted_add(&scene.wanted, share);
    struct parameter *overload = &scene.map.parameters[share];
    overload->settable = SETTABLE_STOPPED;
    overload->unit = UNIT_PERCENT;
    overload->is_percent = true;
    overload->percent_of = MEANS_MOTOR_RATED_CURRENT;
    drive_says(&scene.drive, share, 100);
    drive_says(&scene.drive, base, 60);
    drive_says(&scene.drive, base, 60);
    for (uint16_t i = 0; i < 5; i++)
        drive_says(&scene.drive, base, 61 + i);
    scene_visit(&scene, true);
    assert_int_equal(reading_of(&scene, base)->symptom.kind, SYMPTOM_SELECTOR);
    assert_int_equal(reading_of(&scene, share)->symptom.kind, SYMPTOM_SELECTOR);
    assert_int_equal(reading_of(&scene, share)->value.kind, VALUE_NOTHING);
    scene_free(&scene);
}

static void what_decides_is_read_though_nobody_named_it(void **state)
{
    (void)state;
    struct scene scene;
    size_t step = selector_scene(&scene);
    assert_false(wanted_has(&scene.wanted, step));
    drive_says(&scene.drive, step, 1);
    scene_visit(&scene, false);
    assert_true(reading_of(&scene, step)->asked);
    assert_true(reading_of(&scene, 1)->value.kind == VALUE_NUMBER);
    scene_free(&scene);
}

static void without_a_line_everything_bears_its_symptom(void **state)
{
    (void)state;
    struct scene scene;
    size_t step = selector_scene(&scene);
    const struct clock clock = {.now_us = never_asked, .wall_ms = wall_of, .user = &scene};
    struct visit_order order = order_of(&scene, true);
    scene.visit =
        visit_without_line(&clock, &order, (struct symptom){.kind = SYMPTOM_UNREACHABLE}, "the line did not open");
    assert_int_equal(verdict_of(&scene), VERDICT_UNREAD);
    assert_int_equal(reading_of(&scene, step)->symptom.kind, SYMPTOM_UNREACHABLE);
    assert_int_equal(reading_of(&scene, 1)->symptom.kind, SYMPTOM_UNREACHABLE);
    assert_string_equal(visit_remark(scene.visit), "the line did not open");
    assert_int_equal(visit_readings(scene.visit)->traffic.requests, 0);
    scene_free(&scene);
}

static void no_visit_can_be_freed(void **state)
{
    (void)state;
    visit_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_value_that_agrees_is_read_once),
        cmocka_unit_test(a_value_that_differs_is_read_a_second_time),
        cmocka_unit_test(what_differs_to_the_end_gets_its_cause),
        cmocka_unit_test(what_several_values_have_in_common_is_the_remark),
        cmocka_unit_test(a_value_that_was_wrong_once_only_is_not_reported),
        cmocka_unit_test(a_difference_counts_once_it_is_the_same_twice_running),
        cmocka_unit_test(a_value_that_changes_at_each_reading_is_unread),
        cmocka_unit_test(a_difference_that_cannot_be_read_again_is_unread),
        cmocka_unit_test(a_visit_that_only_reads_judges_nothing),
        cmocka_unit_test(a_visit_for_nothing_is_over_at_once),
        cmocka_unit_test(a_watchdog_that_is_off_is_read_first),
        cmocka_unit_test(an_armed_watchdog_ends_the_visit),
        cmocka_unit_test(a_watchdog_that_the_sheet_knows_of_is_not_asked),
        cmocka_unit_test(a_watchdog_that_cannot_be_read_ends_the_visit),
        cmocka_unit_test(the_right_model_is_read_on),
        cmocka_unit_test(another_model_is_not_read_on),
        cmocka_unit_test(a_model_code_that_stands_for_nothing_is_another_model),
        cmocka_unit_test(a_drive_that_refuses_to_name_itself_is_another_model),
        cmocka_unit_test(what_the_drive_refused_keeps_its_refusal),
        cmocka_unit_test(a_drive_that_does_not_answer_is_only_silent),
        cmocka_unit_test(an_identity_of_text_is_compared_as_text),
        cmocka_unit_test(selectors_are_read_before_and_after),
        cmocka_unit_test(a_selector_that_changed_meanwhile_leaves_its_dependents_unread),
        cmocka_unit_test(a_selector_that_fails_afterwards_keeps_its_own_symptom),
        cmocka_unit_test(a_selector_that_is_not_read_is_not_asked_again),
        cmocka_unit_test(a_selector_is_read_again_with_what_differs),
        cmocka_unit_test(a_base_that_changes_at_each_reading_takes_its_percentages_along),
        cmocka_unit_test(what_decides_is_read_though_nobody_named_it),
        cmocka_unit_test(without_a_line_everything_bears_its_symptom),
        cmocka_unit_test(no_visit_can_be_freed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
