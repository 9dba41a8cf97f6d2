/* SPDX-License-Identifier: MIT */
/* Frames against the examples of the specification, the limits, and whatever bytes may come. */
#include "bus/frame.h"
#include "bus/timing.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* ---- hexadecimal and requests ---- */

static size_t from_hex(const char *hex, uint8_t *bytes)
{
    size_t count = 0;
    for (const char *at = hex; *at != '\0';) {
        char *end = NULL;
        bytes[count++] = (uint8_t)strtoul(at, &end, 16);
        at = *end == ' ' ? end + 1 : end;
    }
    return count;
}

static void assert_bytes(const uint8_t *bytes, size_t length, const char *hex)
{
    uint8_t expected[300];
    assert_int_equal(length, from_hex(hex, expected));
    assert_memory_equal(bytes, expected, length);
}

static void assert_rtu(const struct pdu *pdu, uint8_t unit, const char *hex)
{
    uint8_t frame[RTU_BYTES];
    size_t length = rtu_build(frame, unit, pdu);
    assert_bytes(frame, length, hex);
}

static struct asked asked_read(uint8_t unit, uint8_t function, uint16_t address, uint16_t count)
{
    struct asked asked = {.unit = unit, .transaction = 0x1501};
    assert_true(pdu_read(&asked.pdu, function, address, count));
    return asked;
}

static struct scan scan_hex(const char *hex, uint8_t *bytes, const struct asked *asked)
{
    return rtu_scan(bytes, from_hex(hex, bytes), asked);
}

/* The reply is found, alone and whole. */
static void assert_answers(const struct asked *asked, const char *hex)
{
    uint8_t bytes[300] = {0};
    size_t length = from_hex(hex, bytes);
    struct scan scan = rtu_scan(bytes, length, asked);
    assert_int_equal(scan.found, FOUND_REPLY);
    assert_int_equal(scan.used, length);
    assert_int_equal(scan.junk + scan.foreign, 0);
    for (size_t cut = 0; cut < length; cut++)
        assert_int_equal(rtu_scan(bytes, cut, asked).found, FOUND_NOTHING);
}

/* ---- checksums ---- */

static void crc_of_the_check_string(void **state)
{
    (void)state;
    /* CRC-16/MODBUS in the usual catalogues of CRCs: check value of "123456789" */
    assert_int_equal(crc16((const uint8_t *)"123456789", 9), 0x4b37);
}

static void crc_of_the_serial_line_example(void **state)
{
    (void)state;
    /* MODBUS over Serial Line V1.02, appendix B and section 6.2.2: frame 02 07, register 1241, sent 41 12 */
    const uint8_t frame[] = {0x02, 0x07, 0x41, 0x12};
    assert_int_equal(crc16(frame, 2), 0x1241);
    assert_int_equal(crc16(frame, 4), 0);
}

/* ---- the specification's examples. PDUs: MODBUS Application Protocol Specification V1.1b3, the section named.
 * Unit 1 and CRC around them: computed with the algorithm of MODBUS over Serial Line V1.02, section 6.2.2. ---- */

static void reads_coils_as_section_6_1(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 0x01, 0x0013, 0x0013);
    assert_bytes(asked.pdu.bytes, asked.pdu.length, "01 00 13 00 13");
    assert_rtu(&asked.pdu, 1, "01 01 00 13 00 13 8C 02");
    const uint8_t pdu[] = {0x01, 0x03, 0xcd, 0x6b, 0x05};
    struct pdu reply = {.length = sizeof pdu};
    memcpy(reply.bytes, pdu, sizeof pdu);
    uint8_t frame[RTU_BYTES];
    size_t length = rtu_build(frame, 1, &reply);
    assert_int_equal(rtu_scan(frame, length, &asked).found, FOUND_REPLY);
    uint16_t bits[19];
    reply_words(pdu, 0x01, 19, bits);
    const uint16_t expected[19] = {1, 0, 1, 1, 0, 0, 1, 1, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1}; /* coils 20 to 38 */
    assert_memory_equal(bits, expected, sizeof bits);
}

static void reads_discrete_inputs_as_section_6_2(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 0x02, 0x00c4, 0x0016);
    assert_rtu(&asked.pdu, 1, "01 02 00 C4 00 16 B8 39");
    assert_answers(&asked, "01 02 03 AC DB 35 22 88");
}

static void reads_holding_registers_as_section_6_3(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 0x03, 0x006b, 3);
    assert_rtu(&asked.pdu, 1, "01 03 00 6B 00 03 74 17");
    assert_rtu(&asked.pdu, 0x11, "11 03 00 6B 00 03 76 87");
    assert_answers(&asked, "01 03 06 02 2B 00 00 00 64 05 7A");
    uint8_t bytes[300];
    struct scan scan = scan_hex("01 03 06 02 2B 00 00 00 64 05 7A", bytes, &asked);
    uint16_t words[3];
    reply_words(scan.pdu, 0x03, 3, words);
    assert_int_equal(words[0], 555);
    assert_int_equal(words[1], 0);
    assert_int_equal(words[2], 100);
}

static void reads_input_registers_as_section_6_4(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 0x04, 0x0008, 1);
    assert_rtu(&asked.pdu, 1, "01 04 00 08 00 01 B0 08");
    assert_answers(&asked, "01 04 02 00 0A 39 37");
}

static void writes_a_coil_as_section_6_5(void **state)
{
    (void)state;
    struct asked asked = {.unit = 1};
    assert_true(pdu_write_coil(&asked.pdu, 0x00ac, true));
    assert_rtu(&asked.pdu, 1, "01 05 00 AC FF 00 4C 1B");
    assert_answers(&asked, "01 05 00 AC FF 00 4C 1B");
}

static void writes_a_register_as_section_6_6(void **state)
{
    (void)state;
    struct asked asked = {.unit = 1};
    assert_true(pdu_write_register(&asked.pdu, 0x0001, 0x0003));
    assert_rtu(&asked.pdu, 1, "01 06 00 01 00 03 98 0B");
    assert_answers(&asked, "01 06 00 01 00 03 98 0B");
}

static void echoes_data_as_section_6_8_2(void **state)
{
    (void)state;
    struct asked asked = {.unit = 1};
    assert_true(pdu_echo(&asked.pdu, 0xa537));
    assert_rtu(&asked.pdu, 1, "01 08 00 00 A5 37 DA 8D");
    assert_answers(&asked, "01 08 00 00 A5 37 DA 8D");
}

static void writes_coils_as_section_6_11(void **state)
{
    (void)state;
    struct asked asked = {.unit = 1};
    const bool bits[10] = {true, false, true, true, false, false, true, true, true, false}; /* CD 01 */
    assert_true(pdu_write_coils(&asked.pdu, 0x0013, bits, 10));
    assert_rtu(&asked.pdu, 1, "01 0F 00 13 00 0A 02 CD 01 72 CB");
    assert_answers(&asked, "01 0F 00 13 00 0A 24 09");
}

static void writes_registers_as_section_6_12(void **state)
{
    (void)state;
    struct asked asked = {.unit = 1};
    const uint16_t words[2] = {0x000a, 0x0102};
    assert_true(pdu_write_registers(&asked.pdu, 0x0001, words, 2));
    assert_rtu(&asked.pdu, 1, "01 10 00 01 00 02 04 00 0A 01 02 92 30");
    assert_answers(&asked, "01 10 00 01 00 02 10 08");
}

static void asks_the_server_id_as_section_6_13(void **state)
{
    (void)state;
    struct asked asked = {.unit = 1};
    assert_true(pdu_report_server_id(&asked.pdu));
    assert_bytes(asked.pdu.bytes, asked.pdu.length, "11");
    /* the section gives the form, no bytes: id 2A, running, two bytes more */
    const struct pdu reply = {.bytes = {0x11, 0x04, 0x2a, 0xff, 0x01, 0x02}, .length = 6};
    uint8_t frame[RTU_BYTES];
    size_t length = rtu_build(frame, 1, &reply);
    assert_int_equal(rtu_scan(frame, length, &asked).found, FOUND_REPLY);
}

static void asks_the_identification_as_section_6_21(void **state)
{
    (void)state;
    struct asked asked = {.unit = 1};
    assert_true(pdu_device_identification(&asked.pdu, 1, 0));
    assert_rtu(&asked.pdu, 1, "01 2B 0E 01 00 70 77");
    /* the section's header, three objects; the texts are ours */
    const struct pdu reply = {.bytes = {0x2b, 0x0e, 0x01, 0x01, 0x00, 0x00, 0x03, 0x00, 0x02, 'a', 'b', 0x01, 0x01, 'c',
                                        0x02, 0x03, '1', '.', '0'},
                              .length = 19};
    uint8_t frame[RTU_BYTES];
    size_t length = rtu_build(frame, 1, &reply);
    assert_int_equal(rtu_scan(frame, length, &asked).found, FOUND_REPLY);
    for (size_t cut = 0; cut < length; cut++)
        assert_int_equal(rtu_scan(frame, cut, &asked).found, FOUND_NOTHING);
}

static void finds_exceptions_as_section_7(void **state)
{
    (void)state;
    uint8_t bytes[300];
    struct asked coils = asked_read(1, 0x01, 0x04a1, 1);
    assert_bytes(coils.pdu.bytes, coils.pdu.length, "01 04 A1 00 01");
    struct scan scan = scan_hex("01 81 02 C1 91", bytes, &coils);
    assert_int_equal(scan.found, FOUND_EXCEPTION);
    assert_int_equal(scan.pdu[1], 0x02);
    struct asked registers = asked_read(1, 0x03, 0, 1);
    assert_int_equal(scan_hex("01 83 02 C0 F1", bytes, &registers).found, FOUND_EXCEPTION);
    assert_int_equal(scan_hex("01 83 02 C0 F1", bytes, &coils).found, FOUND_NOTHING);
}

static void finds_every_exception_code(void **state)
{
    (void)state;
    struct asked asked = asked_read(7, 0x03, 0, 1);
    for (unsigned code = 0; code <= 0xff; code++) {
        const struct pdu reply = {.bytes = {0x83, (uint8_t)code}, .length = 2};
        uint8_t frame[RTU_BYTES];
        size_t length = rtu_build(frame, 7, &reply);
        struct scan scan = rtu_scan(frame, length, &asked);
        assert_int_equal(scan.found, FOUND_EXCEPTION);
        assert_int_equal(scan.pdu[1], code);
    }
}

/* ---- limits: V1.1b3, sections 4.1 and 6.1 to 6.12 ---- */

static void keeps_the_limits_of_quantities(void **state)
{
    (void)state;
    struct pdu pdu;
    const struct {
        uint8_t function;
        uint16_t most;
    } reads[] = {{1, 2000}, {2, 2000}, {3, 125}, {4, 125}};
    for (size_t i = 0; i < 4; i++) {
        assert_false(pdu_read(&pdu, reads[i].function, 0, 0));
        assert_true(pdu_read(&pdu, reads[i].function, 0, 1));
        assert_true(pdu_read(&pdu, reads[i].function, 0, reads[i].most));
        assert_false(pdu_read(&pdu, reads[i].function, 0, (uint16_t)(reads[i].most + 1)));
    }
    static const bool bits[1969] = {false};
    static const uint16_t words[124] = {0};
    assert_true(pdu_write_coils(&pdu, 0, bits, 1968));
    assert_int_equal(pdu.length, 252);
    assert_false(pdu_write_coils(&pdu, 0, bits, 1969));
    assert_true(pdu_write_registers(&pdu, 0, words, 123));
    assert_int_equal(pdu.length, 252);
    assert_false(pdu_write_registers(&pdu, 0, words, 124));
    assert_false(pdu_read(&pdu, 5, 0, 1));
    assert_false(pdu_read(&pdu, 0, 0, 1));
    assert_false(pdu_device_identification(&pdu, 5, 0));
}

static void keeps_to_the_address_space(void **state)
{
    (void)state;
    struct pdu pdu;
    assert_true(pdu_read(&pdu, 3, 65535, 1));
    assert_true(pdu_read(&pdu, 3, 65411, 125));
    assert_false(pdu_read(&pdu, 3, 65412, 125));
    assert_false(pdu_read(&pdu, 3, 65535, 2));
}

/* ---- telling frames apart on an RTU line ---- */

static const char REPLY[] = "01 03 06 02 2B 00 00 00 64 05 7A";

static void finds_the_reply_behind_junk(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 3, 0x6b, 3);
    uint8_t bytes[300];
    struct scan scan = scan_hex("FF 01 03 06 02 2B 00 00 00 64 05 7A 99", bytes, &asked);
    assert_int_equal(scan.found, FOUND_REPLY);
    assert_int_equal(scan.junk, 1);
    assert_int_equal(scan.used, 12);
    /* junk that begins like the reply itself */
    scan = scan_hex("01 03 06 01 03 06 02 2B 00 00 00 64 05 7A", bytes, &asked);
    assert_int_equal(scan.found, FOUND_REPLY);
    assert_int_equal(scan.used, 14);
}

static void skips_the_echo_of_the_request(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 3, 0x6b, 3);
    uint8_t bytes[300];
    struct scan scan = scan_hex("01 03 00 6B 00 03 74 17 01 03 06 02 2B 00 00 00 64 05 7A", bytes, &asked);
    assert_int_equal(scan.found, FOUND_REPLY);
    assert_true(scan.echo);
    assert_int_equal(scan.junk + scan.foreign, 0);
    scan = scan_hex("01 03 00 6B 00 03 74 17", bytes, &asked);
    assert_int_equal(scan.found, FOUND_NOTHING);
    assert_true(scan.echo);
    assert_int_equal(scan.junk + scan.foreign, 0);
}

static void skips_frames_of_others(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 3, 0x6b, 3);
    uint8_t bytes[300];
    /* another unit's request and exception, then a function and a length that were not asked for */
    struct scan scan = scan_hex("11 03 00 6B 00 03 76 87 01 04 02 00 0A 39 37 01 81 02 C1 91", bytes, &asked);
    assert_int_equal(scan.found, FOUND_NOTHING);
    assert_int_equal(scan.foreign, 3);
    assert_int_equal(scan.other_unit, 1);
    assert_int_equal(scan.junk, 0);
    size_t before = from_hex("11 03 00 6B 00 03 76 87", bytes);
    scan = rtu_scan(bytes, before + from_hex(REPLY, bytes + before), &asked);
    assert_int_equal(scan.found, FOUND_REPLY);
    assert_int_equal(scan.foreign, 1);
}

static void knows_a_spoiled_reply(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 3, 0x6b, 3);
    uint8_t bytes[300];
    struct scan scan = scan_hex("01 03 06 02 2B 00 00 00 64 05 7B", bytes, &asked);
    assert_int_equal(scan.found, FOUND_NOTHING);
    assert_true(scan.spoiled);
    scan = scan_hex("01 03 06 02 2B 00 00 00 64 05", bytes, &asked); /* may still be completed */
    assert_false(scan.spoiled);
}

static void refuses_a_reply_with_any_bit_wrong(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 3, 0x6b, 3);
    uint8_t bytes[300];
    size_t length = from_hex(REPLY, bytes);
    for (size_t bit = 0; bit < length * 8; bit++) {
        bytes[bit / 8] ^= (uint8_t)(1U << (bit % 8));
        assert_int_equal(rtu_scan(bytes, length, &asked).found, FOUND_NOTHING);
        bytes[bit / 8] ^= (uint8_t)(1U << (bit % 8));
    }
}

/* ---- TCP ---- */

static void builds_the_tcp_header(void **state)
{
    (void)state;
    /* MODBUS Messaging on TCP/IP Implementation Guide V1.0b, section 3.1.3: transaction, protocol 0, length of what
     * follows, unit. The bytes are from memory of its section 4.4. */
    struct pdu pdu;
    assert_true(pdu_read(&pdu, 3, 4, 1));
    uint8_t frame[TCP_BYTES];
    assert_bytes(frame, tcp_build(frame, 0x1501, 0xff, &pdu), "15 01 00 00 00 06 FF 03 00 04 00 01");
}

static struct scan scan_tcp(const char *hex, const struct asked *asked)
{
    static uint8_t bytes[300]; /* the scan points into it */
    return tcp_scan(bytes, from_hex(hex, bytes), asked);
}

static void finds_the_longest_tcp_reply(void **state)
{
    (void)state;
    /* length 3 + 2N, frame 9 + 2N, 259 bytes for 125 registers: computed from the same section */
    struct asked asked = asked_read(1, 3, 0, 125);
    struct pdu reply = {.bytes = {3, 250}, .length = 252};
    uint8_t frame[TCP_BYTES];
    size_t length = tcp_build(frame, asked.transaction, 1, &reply);
    assert_int_equal(length, 259);
    assert_int_equal(frame[5], 253);
    for (size_t cut = 0; cut < length; cut++) {
        struct scan scan = tcp_scan(frame, cut, &asked);
        assert_int_equal(scan.found, FOUND_NOTHING);
        assert_int_equal(scan.used, 0);
    }
    assert_int_equal(tcp_scan(frame, length, &asked).found, FOUND_REPLY);
}

static void tells_tcp_frames_apart(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 3, 0, 1);
    const struct {
        const char *hex;
        enum found found;
        size_t used;
        unsigned foreign, other_unit;
    } rows[] = {
        {"15 01 00 00 00 05 01 03 02 12 34", FOUND_REPLY, 11, 0, 0},
        {"15 01 00 00 00 03 01 83 02", FOUND_EXCEPTION, 9, 0, 0},
        {"15 00 00 00 00 05 01 03 02 12 34", FOUND_NOTHING, 11, 1, 0},       /* an old transaction */
        {"15 01 00 00 00 05 02 03 02 12 34", FOUND_NOTHING, 11, 1, 1},       /* another unit */
        {"15 01 00 00 00 05 01 04 02 12 34", FOUND_NOTHING, 11, 1, 0},       /* another function */
        {"15 01 00 00 00 07 01 03 04 12 34 56 78", FOUND_NOTHING, 13, 1, 0}, /* another quantity */
        {"15 01 00 01 00 05 01 03 02 12 34", FOUND_BROKEN, 11, 0, 0},        /* another protocol */
        {"15 01 00 00 00 2D 01 03 02 12 34", FOUND_BROKEN, 11, 0, 0},        /* length 40 too long */
        {"15 01 00 00 00 03 01 03 02 12 34", FOUND_BROKEN, 11, 0, 0},        /* length 2 too short */
        {"15 01 00 00 00 04 01 83 02 00", FOUND_BROKEN, 10, 0, 0},           /* an exception of another length */
        {"15 01 00 00 00 01 01 03 02 12 34", FOUND_BROKEN, 11, 0, 0},        /* no room for a function */
        {"15 01 00 00 01 00 01 03 02 12 34", FOUND_BROKEN, 11, 0, 0},        /* longer than a frame can be */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scan scan = scan_tcp(rows[i].hex, &asked);
        assert_int_equal(scan.found, rows[i].found);
        assert_int_equal(scan.used, rows[i].used);
        assert_int_equal(scan.foreign, rows[i].foreign);
        assert_int_equal(scan.other_unit, rows[i].other_unit);
    }
}

static void finds_the_tcp_reply_behind_a_stale_one(void **state)
{
    (void)state;
    struct asked asked = asked_read(1, 3, 0, 1);
    struct scan scan = scan_tcp("15 00 00 00 00 05 01 03 02 55 55 15 01 00 00 00 05 01 03 02 12 34 77", &asked);
    assert_int_equal(scan.found, FOUND_REPLY);
    assert_int_equal(scan.foreign, 1);
    assert_int_equal(scan.used, 22);
    assert_int_equal(scan.pdu[2], 0x12);
}

/* ---- timing ---- */

static void rests_as_the_serial_line_guide_says(void **state)
{
    (void)state;
    /* MODBUS over Serial Line V1.02, section 2.5.1.1: 3.5 characters of 11 bits; 1.75 ms above 19200 baud */
    assert_int_equal(timing_serial(9600, PARITY_EVEN, 1).silence_us, 4011);
    assert_int_equal(timing_serial(19200, PARITY_EVEN, 1).silence_us, 2006);
    assert_int_equal(timing_serial(38400, PARITY_EVEN, 1).silence_us, 1750);
    assert_int_equal(timing_serial(115200, PARITY_ODD, 1).silence_us, 1750);
    assert_int_equal(timing_serial(9600, PARITY_NONE, 1).silence_us, 3646); /* 10 bits */
    assert_int_equal(timing_serial(9600, PARITY_NONE, 2).silence_us, 4011);
    assert_int_equal(timing_tcp().silence_us, 0);
}

static void wire_times_are_those_computed(void **state)
{
    (void)state;
    /* computed: 8 characters of request, 5 + 2N of reply, 11 bits each; microseconds */
    const unsigned bauds[4] = {9600, 19200, 38400, 115200};
    const struct {
        size_t registers;
        int64_t us[4];
    } rows[] = {
        {1, {17188, 8594, 4297, 1432}},    {2, {19479, 9740, 4870, 1623}},      {10, {37813, 18906, 9453, 3151}},
        {20, {60729, 30365, 15182, 5061}}, {50, {129479, 64740, 32370, 10790}}, {125, {301354, 150677, 75339, 25113}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (size_t j = 0; j < 4; j++) {
            struct timing timing = timing_serial(bauds[j], PARITY_EVEN, 1);
            int64_t us = timing_wire_us(&timing, 13 + 2 * rows[i].registers);
            assert_in_range(us, rows[i].us[j] - 1, rows[i].us[j] + 2);
        }
    }
    struct timing tcp = timing_tcp();
    assert_int_equal(timing_wire_us(&tcp, 259), 0);
}

/* ---- any bytes at all ---- */

static unsigned next_random(unsigned *seed)
{
    *seed = *seed * 1103515245U + 12345U;
    return *seed >> 16;
}

/* Random bytes, half of them seeded with the beginnings that lead deepest into the parsers. */
static void random_bytes_answer_nothing(void **state)
{
    (void)state;
    unsigned seed = 20261125;
    print_message("seed %u\n", seed);
    static const uint8_t functions[] = {1, 3, 4, 5, 8, 0x0f, 0x10, 0x11, 0x2b};
    for (unsigned round = 0; round < 100000; round++) {
        size_t length = next_random(&seed) % 300;
        uint8_t *bytes = malloc(length + 1);
        for (size_t i = 0; i < length; i++)
            bytes[i] = (uint8_t)next_random(&seed);
        uint8_t function = functions[next_random(&seed) % sizeof functions];
        struct asked asked = {.unit = 1, .transaction = 1, .pdu = {.bytes = {function, 0, 0, 0, 2}, .length = 5}};
        if (length > 12 && round % 2 == 0) {
            size_t at = next_random(&seed) % (length - 12);
            const uint8_t lead[] = {0, 1, 0, 0, 0, (uint8_t)length, 1, function, 0x0e};
            memcpy(bytes + (round % 4 == 0 ? 0 : at), lead, sizeof lead);
        }
        uint8_t *exact = malloc(length == 0 ? 1 : length); /* so that a byte too far is seen */
        memcpy(exact, bytes, length);
        struct scan rtu = rtu_scan(exact, length, &asked);
        assert_int_not_equal(rtu.found, FOUND_BROKEN);
        assert_true(rtu.used <= length);
        struct scan tcp = tcp_scan(exact, length, &asked);
        assert_true(tcp.used <= length);
        (void)rtu_scan(exact, length, NULL);
        (void)tcp_scan(exact, length, NULL);
        free(exact);
        free(bytes);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(crc_of_the_check_string),
        cmocka_unit_test(crc_of_the_serial_line_example),
        cmocka_unit_test(reads_coils_as_section_6_1),
        cmocka_unit_test(reads_discrete_inputs_as_section_6_2),
        cmocka_unit_test(reads_holding_registers_as_section_6_3),
        cmocka_unit_test(reads_input_registers_as_section_6_4),
        cmocka_unit_test(writes_a_coil_as_section_6_5),
        cmocka_unit_test(writes_a_register_as_section_6_6),
        cmocka_unit_test(echoes_data_as_section_6_8_2),
        cmocka_unit_test(writes_coils_as_section_6_11),
        cmocka_unit_test(writes_registers_as_section_6_12),
        cmocka_unit_test(asks_the_server_id_as_section_6_13),
        cmocka_unit_test(asks_the_identification_as_section_6_21),
        cmocka_unit_test(finds_exceptions_as_section_7),
        cmocka_unit_test(finds_every_exception_code),
        cmocka_unit_test(keeps_the_limits_of_quantities),
        cmocka_unit_test(keeps_to_the_address_space),
        cmocka_unit_test(finds_the_reply_behind_junk),
        cmocka_unit_test(skips_the_echo_of_the_request),
        cmocka_unit_test(skips_frames_of_others),
        cmocka_unit_test(knows_a_spoiled_reply),
        cmocka_unit_test(refuses_a_reply_with_any_bit_wrong),
        cmocka_unit_test(builds_the_tcp_header),
        cmocka_unit_test(finds_the_longest_tcp_reply),
        cmocka_unit_test(tells_tcp_frames_apart),
        cmocka_unit_test(finds_the_tcp_reply_behind_a_stale_one),
        cmocka_unit_test(rests_as_the_serial_line_guide_says),
        cmocka_unit_test(wire_times_are_those_computed),
        cmocka_unit_test(random_bytes_answer_nothing),
    };
    return cmocka_run_group_tests_name("frame", tests, NULL, NULL);
}
