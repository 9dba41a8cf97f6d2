/* SPDX-License-Identifier: MIT */
/* The simulator's own framing: checksums, where requests end, how replies are wrapped. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sim/wire.h"

#include <string.h>

/* Source: the worked example of MODBUS over Serial Line V1.02, section 6.2.2: 02 07 yields 1241h. */
static void checksum_of_the_specification(void **state)
{
    (void)state;
    assert_int_equal(wire_crc((const uint8_t *)"\x02\x07", 2), 0x1241);
}

/* Puts the checksum behind `length` bytes. */
static size_t seal(uint8_t *frame, size_t length)
{
    const unsigned crc = wire_crc(frame, length);
    frame[length] = (uint8_t)crc;
    frame[length + 1] = (uint8_t)(crc >> 8);
    return length + 2;
}

static void a_request_ends_where_its_function_says(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t length; /* without checksum */
    } rows[] = {
        {"\x05\x01\x00\x00\x00\x01", 6},
        {"\x05\x03\x00\x00\x00\x01", 6},
        {"\x05\x06\x00\x00\x00\x01", 6},
        {"\x05\x0f\x00\x00\x00\x03\x01\x05", 8},
        {"\x05\x10\x00\x00\x00\x02\x04\x00\x01\x00\x02", 11},
        {"\x05\x11", 2},
        {"\x05\x2b\x0e\x01\x00", 5},
        {"\x05\x2b\x0d\x01\x00\x07", 6},             /* another type of it, as long as the checksum says */
        {"\x05\x08\x00\x00\x12\x34", 6},             /* so is function 08 */
        {"\x05\x41\x01\x02\x03\x04\x05\x06\x07", 9}, /* and what nobody knows */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        uint8_t bytes[64] = {0};
        memcpy(bytes, rows[i].bytes, rows[i].length);
        const size_t length = seal(bytes, rows[i].length);
        memcpy(bytes + length, "\x05\x03\x00", 3); /* the next one has begun */
        assert_int_equal(wire_request_length(bytes, length + 3), length);
        for (size_t count = 0; count < length; count++)
            assert_int_equal(wire_request_length(bytes, count), 0);
    }
}

static void a_wrong_checksum_is_no_request(void **state)
{
    (void)state;
    uint8_t bytes[] = "\x05\x03\x00\x00\x00\x01\x00\x00";
    assert_int_equal(wire_request_length(bytes, 8), -1);
    uint8_t nonsense[SERIAL_LONGEST];
    memset(nonsense, 0x41, sizeof nonsense);
    assert_int_equal(wire_request_length(nonsense, sizeof nonsense - 1), 0);
    assert_int_equal(wire_request_length(nonsense, sizeof nonsense), -1);
}

static void a_byte_count_beyond_any_frame_is_no_request(void **state)
{
    (void)state;
    assert_int_equal(wire_request_length((const uint8_t *)"\x05\x10\x00\x00\x00\x7f\xfe\x00", 8), -1);
}

static void replies_are_wrapped(void **state)
{
    (void)state;
    uint8_t frame[FRAME_LONGEST];
    /* Function 03, one register that holds 5. */
    assert_int_equal(wire_wrap(WIRE_TCP, 0x1234, 9, (const uint8_t *)"\x03\x02\x00\x05", 4, frame), 11);
    assert_memory_equal(frame, "\x12\x34\x00\x00\x00\x05\x09\x03\x02\x00\x05", 11);
    assert_int_equal(wire_wrap(WIRE_SERIAL, 0x1234, 2, (const uint8_t *)"\x07", 1, frame), 4);
    assert_memory_equal(frame, "\x02\x07\x41\x12", 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(checksum_of_the_specification),
        cmocka_unit_test(a_request_ends_where_its_function_says),
        cmocka_unit_test(a_wrong_checksum_is_no_request),
        cmocka_unit_test(a_byte_count_beyond_any_frame_is_no_request),
        cmocka_unit_test(replies_are_wrapped),
    };
    return cmocka_run_group_tests_name("sim_wire", tests, NULL, NULL);
}
