/* SPDX-License-Identifier: MIT */
/* The document of a search: complete text, lines that a sheet can take, and text from a drive that does no harm. */
#include "report/results.h"

#include <jansson.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static struct found_unit *add_unit(struct search_result *result, uint8_t unit, unsigned confirmed)
{
    result->units = memory_grow(result->units, result->unit_count, sizeof *result->units);
    struct found_unit *added = &result->units[result->unit_count++];
    *added = (struct found_unit){.unit = unit, .confirmed = confirmed, .slowest_us = 11400};
    return added;
}

static void add_object(struct found_unit *unit, uint8_t id, const char *text)
{
    struct device_identification *device = &unit->device;
    device->objects = memory_grow(device->objects, device->count, sizeof *device->objects);
    device->objects[device->count++] = (struct device_object){.id = id, .text = text_copy(text)};
}

static struct search_result serial_result(const char *port)
{
    return (struct search_result){.line = {.serial = text_copy(port)},
                                  .began_ms = 1769846400000, /* 2026-01-31T08:00:00Z */
                                  .ended_ms = 1769846433000,
                                  .formats_tried = 24,
                                  .probes = 142};
}

/* Two units at 9600 8N2 and one that is not sure. */
static struct search_result rich_result(const char *port, const char *vendor)
{
    struct search_result result = serial_result(port);
    result.verdict = SEARCH_FOUND;
    const struct serial_format format = {9600, PARITY_NONE, 2};
    struct found_unit *unit = add_unit(&result, 4, 3);
    unit->format = format;
    add_object(unit, 0, vendor);
    add_object(unit, 2, "1.4");
    add_object(unit, 0x80, "batch 7");
    unit->device.server_id = text_copy("\\x04\\xFF");
    unit = add_unit(&result, 9, 3);
    unit->format = format;
    unit->answered = (struct symptom){SYMPTOM_EXCEPTION, 0x02};
    add_unit(&result, 11, 1)->format = format;
    result.signs = memory_new(1, sizeof *result.signs);
    result.signs[0] = (struct line_sign){.format = {9600, PARITY_EVEN, 1}, .bytes = 7, .parity = 3, .unasked = true};
    result.sign_count = 1;
    return result;
}

static char *written(const struct search_result *result, const struct advice *advice, const char *format)
{
    static const struct advice none;
    struct paper paper;
    paper_start(&paper, format, false, 80);
    doc_find(&paper.sink, result, advice == NULL ? &none : advice);
    char *text = text_copy(paper_read(&paper));
    paper_free(&paper);
    return text;
}

static void a_search_is_told_completely(void **state)
{
    (void)state;
    struct search_result result = rich_result("/dev/serial/by-id/usb-a", "Fenbridge Works");
    char *text = written(&result, NULL, "text");
    assert_string_equal(text, "search of /dev/serial/by-id/usb-a\n"
                              "tried     142 questions at 24 formats in 33 s\n"
                              "\n"
                              "UNITS\n"
                              "  unit                            answers  format                      within\n"
                              "  4                                values  9600 8N2                    12 ms\n"
                              "      vendor Fenbridge Works; revision 1.4; object 0x80 batch 7\n"
                              "      server id \\x04\\xFF\n"
                              "  9                          exception-02  9600 8N2                    12 ms\n"
                              "      an exception is an answer: the unit is there, and has no register to read\n"
                              "      at address 0\n"
                              "  11                               values  9600 8N2                    12 ms\n"
                              "      not sure: of 3 further questions it answered 1. Noise, two devices with\n"
                              "      the same number, or a bad wire\n"
                              "\n"
                              "WHAT ELSE CAME\n"
                              "  at                             no frame  errors counted by the port\n"
                              "  9600 8E1                        7 bytes  3 parity                    unasked\n"
                              "\n"
                              "FOR THE SHEET\n"
                              "line:\n"
                              "  serial: /dev/serial/by-id/usb-a\n"
                              "  baud: 9600\n"
                              "  parity: none\n"
                              "  stop_bits: 2  # reaches a drive that is set to 1 as well\n"
                              "  unit: 4\n"
                              "\n"
                              "line:\n"
                              "  serial: /dev/serial/by-id/usb-a\n"
                              "  baud: 9600\n"
                              "  parity: none\n"
                              "  stop_bits: 2  # reaches a drive that is set to 1 as well\n"
                              "  unit: 9\n"
                              "\n"
                              "/dev/serial/by-id/usb-a: 2 units found\n");
    free(text);
    search_result_free(&result);
}

static void machines_get_every_unit(void **state)
{
    (void)state;
    struct search_result result = rich_result("/dev/ttyUSB0", "Fenbridge Works");
    char *text = written(&result, NULL, "csv");
    assert_string_equal(text, "line,unit,baud,parity,stop_bits,answered,confirmed,slowest_ms,device.vendor,"
                              "device.product_code,device.revision,verdict\r\n"
                              "/dev/ttyUSB0,4,9600,none,2,values,true,11.4,Fenbridge Works,,1.4,found\r\n"
                              "/dev/ttyUSB0,9,9600,none,2,exception-02,true,11.4,,,,found\r\n"
                              "/dev/ttyUSB0,11,9600,none,2,values,false,11.4,,,,found\r\n");
    free(text);
    text = written(&result, NULL, "json");
    json_t *record = json_loads(text, 0, NULL);
    assert_string_equal(json_string_value(json_object_get(record, "verdict")), "found");
    assert_int_equal(json_array_size(json_object_get(record, "units")), 3);
    assert_int_equal(json_array_size(json_object_get(record, "signs")), 1);
    json_decref(record);
    free(text);
    search_result_free(&result);
}

static void text_of_a_device_is_data(void **state)
{
    (void)state;
    struct search_result result = rich_result("/dev/ttyUSB0", "=1+1\x1b[2J\nline: {unit: 1}");
    char *text = written(&result, NULL, "text");
    assert_null(strchr(text, '\x1b'));
    assert_non_null(strstr(text, "\\x1B[2J\\x0Aline:"));
    free(text);
    text = written(&result, NULL, "csv");
    assert_non_null(strstr(text, "\"'=1+1"));
    free(text);
    text = written(&result, NULL, "json");
    json_t *record = json_loads(text, 0, NULL);
    json_t *unit = json_array_get(json_object_get(record, "units"), 0);
    assert_string_equal(json_string_value(json_object_get(json_object_get(unit, "device"), "vendor")),
                        "=1+1\x1b[2J\nline: {unit: 1}");
    json_decref(record);
    free(text);
    search_result_free(&result);
}

static void a_strange_port_is_quoted_for_the_sheet(void **state)
{
    (void)state;
    struct search_result result = rich_result("/dev/my \"port\": 1\n#", "x");
    char *text = written(&result, NULL, "text");
    assert_non_null(strstr(text, "  serial: \"/dev/my \\\"port\\\": 1\\x0A#\"\n"));
    free(text);
    search_result_free(&result);
}

static void each_outcome_has_its_last_line(void **state)
{
    (void)state;
    static const struct {
        enum search_verdict verdict;
        const char *last;
    } cases[] = {
        {SEARCH_NOTHING, "/dev/a: nothing on the line, at 24 formats\n"},
        {SEARCH_SOMETHING, "/dev/a: no unit found, but something is there at another speed or parity\n"},
        {SEARCH_OTHER_MASTER, "/dev/a: another master asks on this line; nothing was sent\n"},
        {SEARCH_BUSY, "/dev/a: why\n"},
        {SEARCH_LOST, "/dev/a: why\n"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct search_result result = serial_result("/dev/a");
        result.verdict = cases[i].verdict;
        result.remark = text_copy("why");
        char *text = written(&result, NULL, "text");
        assert_true(strlen(text) > strlen(cases[i].last));
        assert_string_equal(text + strlen(text) - strlen(cases[i].last), cases[i].last);
        free(text);
        search_result_free(&result);
    }
}

static void steps_stand_before_the_last_line(void **state)
{
    (void)state;
    static const struct advice_row row = {.observation = "not one byte came back",
                                          .steps = {{"a broken wire", "measure it"}}};
    struct search_result result = serial_result("/dev/a");
    result.verdict = SEARCH_NOTHING;
    struct advice advice = {.items = {{.row = &row, .symptom = {.kind = SYMPTOM_NO_REPLY}}}, .count = 1};
    char *text = written(&result, &advice, "text");
    assert_non_null(strstr(text, "\nWHERE TO LOOK\n"));
    assert_non_null(strstr(text, "a broken wire: measure it\n\n/dev/a: nothing"));
    free(text);
    search_result_free(&result);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_search_is_told_completely),    cmocka_unit_test(machines_get_every_unit),
        cmocka_unit_test(text_of_a_device_is_data),       cmocka_unit_test(a_strange_port_is_quoted_for_the_sheet),
        cmocka_unit_test(each_outcome_has_its_last_line), cmocka_unit_test(steps_stand_before_the_last_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
