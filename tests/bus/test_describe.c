/* SPDX-License-Identifier: MIT */
/* What frames say, in words. The frames of the specification's own examples (V1.1b3, sections 6.1 to 6.21) are used. */
#include "bus/describe.h"
#include "bus/frame.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Describes a PDU in either framing, from unit 17. */
static void expect(enum trace_kind kind, const uint8_t *bytes, size_t length, const char *words)
{
    struct pdu pdu = {.length = length};
    memcpy(pdu.bytes, bytes, length);
    for (unsigned tcp = 0; tcp <= 1; tcp++) {
        uint8_t frame[TCP_BYTES];
        size_t frame_length = tcp == 1 ? tcp_build(frame, 7, 17, &pdu) : rtu_build(frame, 17, &pdu);
        char *said = frame_describe(tcp == 1, kind, frame, frame_length);
        assert_string_equal(said, words);
        free(said);
    }
}
#define EXPECT(kind, words, ...)                                                                                       \
    expect(kind, (const uint8_t[]){__VA_ARGS__}, sizeof((const uint8_t[]){__VA_ARGS__}), words)

static void requests_say_what_is_asked(void **state)
{
    (void)state;
    EXPECT(TRACE_SENT, "unit 17: read coils, 19 from 0x0013", 0x01, 0x00, 0x13, 0x00, 0x13);
    EXPECT(TRACE_SENT, "unit 17: read discrete inputs, 22 from 0x00c4", 0x02, 0x00, 0xc4, 0x00, 0x16);
    EXPECT(TRACE_SENT, "unit 17: read holding registers, 3 from 0x006b", 0x03, 0x00, 0x6b, 0x00, 0x03);
    EXPECT(TRACE_SENT, "unit 17: read input registers, 1 from 0x0008", 0x04, 0x00, 0x08, 0x00, 0x01);
    EXPECT(TRACE_SENT, "unit 17: write single coil, 0xff00 to 0x00ac", 0x05, 0x00, 0xac, 0xff, 0x00);
    EXPECT(TRACE_SENT, "unit 17: write multiple coils, 10 from 0x0013, data cd 01", 0x0f, 0x00, 0x13, 0x00, 0x0a, 0x02,
           0xcd, 0x01);
    EXPECT(TRACE_SENT, "unit 17: write single register, 0x0003 to 0x0001", 0x06, 0x00, 0x01, 0x00, 0x03);
    EXPECT(TRACE_SENT, "unit 17: write multiple registers, 2 from 0x0001, data 00 0a 01 02", 0x10, 0x00, 0x01, 0x00,
           0x02, 0x04, 0x00, 0x0a, 0x01, 0x02);
    EXPECT(TRACE_SENT, "unit 17: report server id", 0x11);
    EXPECT(TRACE_SENT, "unit 17: encapsulated interface transport, device identification, code 1 from object 0", 0x2b,
           0x0e, 0x01, 0x00);
}

static void replies_say_what_came(void **state)
{
    (void)state;
    EXPECT(TRACE_REPLY, "unit 17: read coils, bits 101100111101011010100000", 0x01, 0x03, 0xcd, 0x6b, 0x05);
    EXPECT(TRACE_REPLY, "unit 17: read holding registers, 0x022b 0x0000 0x0064", 0x03, 0x06, 0x02, 0x2b, 0x00, 0x00,
           0x00, 0x64);
    EXPECT(TRACE_REPLY, "unit 17: write single coil, 0xff00 to 0x00ac", 0x05, 0x00, 0xac, 0xff, 0x00);
    EXPECT(TRACE_REPLY, "unit 17: write single register, 0x0003 to 0x0001", 0x06, 0x00, 0x01, 0x00, 0x03);
    EXPECT(TRACE_REPLY, "unit 17: write multiple coils, 10 from 0x0013", 0x0f, 0x00, 0x13, 0x00, 0x0a);
    EXPECT(TRACE_REPLY, "unit 17: write multiple registers, 2 from 0x0001", 0x10, 0x00, 0x01, 0x00, 0x02);
    EXPECT(TRACE_REPLY, "unit 17: report server id, \"*\\xffpump\"", 0x11, 0x06, 0x2a, 0xff, 'p', 'u', 'm', 'p');
    EXPECT(TRACE_REPLY,
           "unit 17: encapsulated interface transport, device identification, 0 \"Works\", 2 \"V\\x1b\\x22\"", 0x2b,
           0x0e, 0x01, 0x01, 0x00, 0x00, 0x02, 0x00, 0x05, 'W', 'o', 'r', 'k', 's', 0x02, 0x03, 'V', 0x1b, '"');
}

static void exceptions_have_their_names(void **state)
{
    (void)state;
    EXPECT(TRACE_REPLY, "unit 17: read coils, exception 02 illegal data address", 0x81, 0x02);
    EXPECT(TRACE_REPLY, "unit 17: read holding registers, exception 0b gateway target device failed to respond", 0x83,
           0x0b);
    EXPECT(TRACE_REPLY, "unit 17: function 0x55, exception 70", 0xd5, 0x70);
    assert_null(exception_name(0x07));
    assert_null(exception_name(0xff));
}

static void expect_foreign(const uint8_t *bytes, size_t length, const char *words)
{
    struct pdu pdu = {.length = length};
    memcpy(pdu.bytes, bytes, length);
    uint8_t frame[RTU_BYTES];
    char *said = frame_describe(false, TRACE_FOREIGN, frame, rtu_build(frame, 9, &pdu));
    assert_string_equal(said, words);
    free(said);
}

static void a_foreign_serial_frame_is_a_request_or_a_reply_by_its_length(void **state)
{
    (void)state;
    static const uint8_t request[] = {0x03, 0x01, 0x00, 0x00, 0x04}, reply[] = {0x03, 0x04, 0x00, 0x01, 0x00, 0x02};
    expect_foreign(request, sizeof request, "unit 9: read holding registers, 4 from 0x0100");
    expect_foreign(reply, sizeof reply, "unit 9: read holding registers, 0x0001 0x0002");
}

static void junk_is_counted(void **state)
{
    (void)state;
    static const uint8_t junk[] = {0xff, 0x00, 0xff};
    char *said = frame_describe(false, TRACE_JUNK, junk, sizeof junk);
    assert_string_equal(said, "3 bytes that belong to no frame");
    free(said);
    said = frame_describe(true, TRACE_JUNK, junk, 1);
    assert_string_equal(said, "1 byte that belongs to no frame");
    free(said);
}

/* What a broken or hostile frame holds must not be believed: every length it names is checked. */
static void any_bytes_are_described_within_bounds(void **state)
{
    (void)state;
    uint32_t seed = 4711;
    for (int round = 0; round < 20000; round++) {
        uint8_t bytes[TCP_BYTES];
        size_t length = (size_t)round % sizeof bytes;
        for (size_t i = 0; i < length; i++) {
            seed = seed * 1664525 + 1013904223;
            bytes[i] = (uint8_t)(seed >> 24);
        }
        if (length > 9)
            bytes[round % 2 == 0 ? 1 : 7] = (uint8_t)(round % 3 == 0 ? 0x2b : round % 8);
        uint8_t *exact = malloc(length > 0 ? length : 1); /* so that a sanitizer sees each byte too many */
        assert_non_null(exact);
        memcpy(exact, bytes, length);
        char *said = frame_describe(round % 2 == 1, (enum trace_kind)(round % 4), exact, length);
        assert_null(strchr(said, '\n'));
        free(said);
        free(exact);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(requests_say_what_is_asked),
        cmocka_unit_test(replies_say_what_came),
        cmocka_unit_test(exceptions_have_their_names),
        cmocka_unit_test(a_foreign_serial_frame_is_a_request_or_a_reply_by_its_length),
        cmocka_unit_test(junk_is_counted),
        cmocka_unit_test(any_bytes_are_described_within_bounds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
