/* SPDX-License-Identifier: MIT */
/* Replies to functions 43/14 and 17 as the standard prints them, as its misprints have them, and cut anywhere. */
#include "bus/identification.h"

#include "types/memory.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void assert_object(const struct device_identification *device, size_t at, uint8_t id, const char *text)
{
    assert_true(at < device->count);
    assert_int_equal(device->objects[at].id, id);
    assert_string_equal(device->objects[at].text, text);
}

/* Builds a reply from a header and texts; returns its length. */
static size_t reply(uint8_t *pdu, const uint8_t header[7], const char *const *texts, size_t count)
{
    memcpy(pdu, header, 7);
    size_t length = 7;
    for (size_t i = 0; i < count; i++) {
        pdu[length++] = (uint8_t)i;
        pdu[length++] = (uint8_t)strlen(texts[i]);
        memcpy(pdu + length, texts[i], strlen(texts[i]));
        length += strlen(texts[i]);
    }
    return length;
}

/* MODBUS Application Protocol Specification V1.1b3, section 6.21, the example's layout: three objects in one reply. */
static void the_basic_objects_are_taken(void **state)
{
    (void)state;
    static const char *const texts[] = {"Company identification", "Product code XX", "V2.11"};
    static const uint8_t header[7] = {0x2b, 0x0e, 0x01, 0x01, 0x00, 0x00, 0x03};
    uint8_t pdu[253];
    size_t length = reply(pdu, header, texts, 3);
    struct device_identification device = {0};
    struct identification_part part;
    assert_true(identification_take(pdu, length, &device, &part));
    assert_int_equal(part.goes_to, IDENTIFICATION_BASIC);
    assert_false(part.more);
    assert_int_equal(device.count, 3);
    assert_object(&device, 0, 0, "Company identification");
    assert_object(&device, 1, 1, "Product code XX");
    assert_object(&device, 2, 2, "V2.11");
    device_identification_free(&device);
}

/* The same example prints 0x0D as the length of a text of 15 characters: only the length byte counts. */
static void a_text_is_as_long_as_its_length_byte_says(void **state)
{
    (void)state;
    static const uint8_t pdu[] = {0x2b, 0x0e, 1,   1,   0,   0,   1,   1,   0x0d, 'P', 'r', 'o',
                                  'd',  'u',  'c', 't', ' ', 'c', 'o', 'd', 'e',  ' ', 'X', 'X'};
    struct device_identification device = {0};
    struct identification_part part;
    assert_true(identification_take(pdu, sizeof pdu, &device, &part));
    assert_int_equal(device.count, 1);
    assert_object(&device, 0, 1, "Product code");
    device_identification_free(&device);
}

/* And it says "3 objects" in each of two replies that hold two and one. */
static void objects_end_with_the_reply_whatever_their_number(void **state)
{
    (void)state;
    static const char *const texts[] = {"Company identification", "Product code XX"};
    static const uint8_t header[7] = {0x2b, 0x0e, 0x01, 0x01, 0xff, 0x02, 0x03};
    uint8_t pdu[253];
    size_t length = reply(pdu, header, texts, 2);
    struct device_identification device = {0};
    struct identification_part part;
    assert_true(identification_take(pdu, length, &device, &part));
    assert_true(part.more);
    assert_int_equal(part.next, 2);
    assert_int_equal(device.count, 2);
    static const uint8_t rest[] = {0x2b, 0x0e, 1, 1, 0, 0, 3, 2, 5, 'V', '2', '.', '1', '1'};
    assert_true(identification_take(rest, sizeof rest, &device, &part));
    assert_false(part.more);
    assert_object(&device, 2, 2, "V2.11");
    device_identification_free(&device);
}

static void an_object_is_taken_once(void **state)
{
    (void)state;
    static const uint8_t first[] = {0x2b, 0x0e, 1, 0x82, 0, 0, 1, 0, 1, 'A'};
    static const uint8_t second[] = {0x2b, 0x0e, 2, 0x82, 0, 0, 2, 0, 1, 'B', 3, 1, 'C'};
    struct device_identification device = {0};
    struct identification_part part;
    assert_true(identification_take(first, sizeof first, &device, &part));
    assert_int_equal(part.goes_to, IDENTIFICATION_REGULAR);
    assert_true(identification_take(second, sizeof second, &device, &part));
    assert_int_equal(device.count, 2);
    assert_object(&device, 0, 0, "A");
    assert_object(&device, 1, 3, "C");
    device_identification_free(&device);
}

static void padding_goes_and_a_nul_is_shown(void **state)
{
    (void)state;
    static const uint8_t pdu[] = {0x2b, 0x0e, 1, 1, 0, 0, 1, 0, 6, 'a', 0, 'b', ' ', 0, 0};
    struct device_identification device = {0};
    struct identification_part part;
    assert_true(identification_take(pdu, sizeof pdu, &device, &part));
    assert_object(&device, 0, 0, "a\\x00b");
    device_identification_free(&device);
}

/* Each copy is exactly as long as it says, so that a sanitizer sees a byte read too many. */
static void no_cut_and_no_changed_byte_does_harm(void **state)
{
    (void)state;
    static const uint8_t whole[] = {0x2b, 0x0e, 1, 1, 0, 0, 3, 0, 2, 'a', 'b', 1, 0, 2, 3, 'c', 'd', 'e'};
    for (size_t length = 0; length <= sizeof whole; length++)
        for (size_t changed = 0; changed < length; changed++)
            for (unsigned value = 0; value < 256; value += 5) {
                uint8_t *pdu = test_malloc(length);
                memcpy(pdu, whole, length);
                pdu[changed] = (uint8_t)value;
                struct device_identification device = {0};
                struct identification_part part;
                bool taken = identification_take(pdu, length, &device, &part);
                assert_true(taken || device.count == 0);
                assert_true(device.count <= 4);
                device_identification_free(&device);
                free(server_id_text(pdu, length));
                test_free(pdu);
            }
}

static void another_function_is_not_taken(void **state)
{
    (void)state;
    static const uint8_t pdu[] = {0x2b, 0x0d, 1, 1, 0, 0, 0};
    struct device_identification device = {0};
    struct identification_part part;
    assert_false(identification_take(pdu, sizeof pdu, &device, &part));
}

/* V1.1b3, section 6.13: an id of the maker's own, then 0x00 or 0xFF for off or on. */
static void a_server_id_is_shown_byte_by_byte(void **state)
{
    (void)state;
    static const uint8_t pdu[] = {0x11, 6, 0x10, 0xff, 'F', '\\', 0x1b, '2'};
    char *text = server_id_text(pdu, sizeof pdu);
    assert_string_equal(text, "\\x10\\xFFF\\x5C\\x1B2");
    free(text);
    text = server_id_text(pdu, 5); /* cut off */
    assert_string_equal(text, "\\x10\\xFFF");
    free(text);
    assert_null(server_id_text(pdu, 2));
    assert_null(server_id_text(pdu + 1, 5));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_basic_objects_are_taken),
        cmocka_unit_test(a_text_is_as_long_as_its_length_byte_says),
        cmocka_unit_test(objects_end_with_the_reply_whatever_their_number),
        cmocka_unit_test(an_object_is_taken_once),
        cmocka_unit_test(padding_goes_and_a_nul_is_shown),
        cmocka_unit_test(no_cut_and_no_changed_byte_does_harm),
        cmocka_unit_test(another_function_is_not_taken),
        cmocka_unit_test(a_server_id_is_shown_byte_by_byte),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
