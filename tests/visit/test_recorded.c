/* SPDX-License-Identifier: MIT */
/* Readings as a record: every parameter that was asked, as it was read. */
#include "bus/decode.h"
#include "bus/map_builder.h"
#include "visit/recorded.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

enum { CURRENT, SOURCE, SERIAL, FIRMWARE, SILENT, BROKEN, COMMAND, UNASKED, BITS, ALL };

struct scene {
    struct map map;
    struct sheet sheet;
    struct readings readings;
    struct record record;
};

static void build_map(struct map *map)
{
    *map = map_start(ORDER_HIGH_FIRST);
    map->name = text_copy("invented");
    (void)memset(map->sha256, 'a', 64);
    struct parameter *row = map_add(map, "current", TABLE_HOLDING, 0, TYPE_U16);
    row->scale = 0.01;
    row->unit = UNIT_A;
    row->means = MEANS_MOTOR_RATED_CURRENT;
    names_add(&map_add(map, "source", TABLE_HOLDING, 1, TYPE_U16)->choices, 1, "terminals");
    row = map_add(map, "serial", TABLE_HOLDING, 2, TYPE_TEXT);
    row->words = 2;
    row->means = MEANS_DRIVE_SERIAL_NUMBER;
    row = map_add(map, "firmware", TABLE_HOLDING, 4, TYPE_U16);
    row->scale = 0.01;
    row->means = MEANS_DRIVE_FIRMWARE;
    (void)map_add(map, "silent", TABLE_HOLDING, 5, TYPE_U16);
    raws_add(&map_add(map, "broken", TABLE_HOLDING, 6, TYPE_U16)->no_value, 0x7fff);
    map_add(map, "command", TABLE_HOLDING, 7, TYPE_U16)->kind = KIND_COMMAND;
    (void)map_add(map, "unasked", TABLE_HOLDING, 8, TYPE_U16);
    names_add(&map_add(map, "bits", TABLE_HOLDING, 9, TYPE_BITS)->bits, 3, "running");
}

static void scene_start(struct scene *scene)
{
    static const uint16_t serial[] = {0x532d, 0x3700}; /* "S-7" */
    *scene = (struct scene){.sheet = {.tag = text_copy("P-204"), .service = text_copy("Brine pump")}};
    (void)memset(scene->sheet.sha256, 'b', 64);
    build_map(&scene->map);
    readings_init(&scene->readings, ALL);
    reading_put_word(&scene->readings, CURRENT, 600);
    reading_put_word(&scene->readings, SOURCE, 1);
    reading_put(&scene->readings, SERIAL, serial, 2);
    reading_put_word(&scene->readings, FIRMWARE, 102);
    scene->readings.items[SILENT].asked = true;
    scene->readings.items[SILENT].symptom = (struct symptom){SYMPTOM_EXCEPTION, 2};
    reading_put_word(&scene->readings, BROKEN, 0x7fff);
    reading_put_word(&scene->readings, COMMAND, 5);
    reading_put_word(&scene->readings, BITS, 0x28);
    scene->readings.began_ms = 1000;
    scene->readings.ended_ms = 2500;
    scene->readings.traffic.requests = 9;
}

static void scene_record(struct scene *scene)
{
    static const struct recorder recorder = {.who = "mira", .host = "cart-2", .tool = "asleft 0.1.0", .line = "a line"};
    readings_decode(&scene->map, NULL, &scene->readings);
    record_free(&scene->record);
    record_readings(&scene->map, &scene->sheet, 4, &scene->readings, &recorder, RECORD_FOUND, &scene->record);
}

static void scene_free(struct scene *scene)
{
    record_free(&scene->record);
    readings_free(&scene->readings);
    map_free(&scene->map);
    sheet_free(&scene->sheet);
}

static void the_visit_as_a_whole(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    scene_record(&scene);
    const struct record *record = &scene.record;
    assert_false(record_id_given(&record->id));
    assert_int_equal(record->kind, RECORD_FOUND);
    assert_false(record->after_power_cycle);
    assert_string_equal(record->tag, "P-204");
    assert_string_equal(record->service, "Brine pump");
    assert_string_equal(record->line, "a line");
    assert_int_equal(record->unit, 4);
    assert_string_equal(record->serial_number, "S-7");
    assert_string_equal(record->firmware, "1.02");
    assert_string_equal(record->map_name, "invented");
    assert_string_equal(record->map_sha256, scene.map.sha256);
    assert_string_equal(record->sheet_sha256, scene.sheet.sha256);
    assert_string_equal(record->who, "mira");
    assert_string_equal(record->host, "cart-2");
    assert_string_equal(record->tool, "asleft 0.1.0");
    assert_int_equal(record->began_ms, 1000);
    assert_int_equal(record->ended_ms, 2500);
    assert_int_equal(record->traffic.requests, 9);
    scene_free(&scene);
}

static void each_value_as_it_was_read(void **state)
{
    (void)state;
    static const struct {
        const char *parameter, *means, *unit, *shown, *symptom;
        double number;
        size_t raw_count;
    } due[] = {
        {"current", "motor.rated_current", "A", "6.00 A", NULL, 6, 1},
        {"source", NULL, NULL, "terminals", NULL, NAN, 1},
        {"serial", "drive.serial_number", NULL, "S-7", NULL, NAN, 2},
        {"firmware", "drive.firmware", NULL, "1.02", NULL, 1.02, 1},
        {"silent", NULL, NULL, NULL, "exception-02", NAN, 0},
        {"broken", NULL, NULL, NULL, "not-a-number", NAN, 0},
        {"bits", NULL, NULL, "running", NULL, NAN, 1},
    };
    struct scene scene;
    scene_start(&scene);
    scene_record(&scene);
    assert_int_equal(scene.record.value_count, sizeof due / sizeof *due);
    for (size_t i = 0; i < scene.record.value_count; i++) {
        const struct record_value *value = &scene.record.values[i];
        const char *const texts[][2] = {{value->parameter, due[i].parameter},
                                        {value->means, due[i].means},
                                        {value->unit, due[i].unit},
                                        {value->shown, due[i].shown},
                                        {value->symptom, due[i].symptom}};
        for (size_t k = 0; k < sizeof texts / sizeof *texts; k++) {
            assert_int_equal(texts[k][0] == NULL, texts[k][1] == NULL);
            if (texts[k][0] != NULL)
                assert_string_equal(texts[k][0], texts[k][1]);
        }
        assert_true(isnan(due[i].number) ? isnan(value->number) : fabs(value->number - due[i].number) < 1e-12);
        assert_int_equal(value->raw_count, due[i].raw_count);
        assert_int_equal(value->raw != NULL, due[i].raw_count > 0);
    }
    assert_int_equal(scene.record.values[0].raw[0], 600);
    assert_int_equal(scene.record.values[2].raw[1], 0x3700);
    scene_free(&scene);
}

static void what_names_the_drive_may_be_unknown(void **state)
{
    (void)state;
    struct scene scene;
    scene_start(&scene);
    free(scene.readings.items[SERIAL].raw);
    scene.readings.items[SERIAL].raw = NULL;
    scene.readings.items[SERIAL].raw_count = 0;
    scene.readings.items[SERIAL].symptom = (struct symptom){.kind = SYMPTOM_NO_REPLY};
    scene.map.parameters[FIRMWARE].means = MEANS_NONE;
    free(scene.sheet.service);
    scene.sheet.service = NULL;
    scene_record(&scene);
    assert_null(scene.record.serial_number);
    assert_null(scene.record.firmware);
    assert_null(scene.record.service);
    scene_free(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_visit_as_a_whole),
        cmocka_unit_test(each_value_as_it_was_read),
        cmocka_unit_test(what_names_the_drive_may_be_unknown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
