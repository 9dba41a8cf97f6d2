/* SPDX-License-Identifier: MIT */
/* What simulated drives say of themselves: functions 17 and 43/14. Source: MODBUS Application Protocol Specification
 * V1.1b3, sections 6.13 and 6.21. */
#include "sim/fixture.h"

#include "sim/identification.h"
#include "sim/wire.h"

#define PARAMETERS                                                                                                     \
    "parameters:\n"                                                                                                    \
    "  code: {at: holding 0, type: u16}\n"                                                                             \
    "  model: {at: holding 1, type: text(3 registers)}\n"                                                              \
    "  state: {at: input 0, type: bits, bits: {0: running}, means: live.state}\n"

static const char full_map[] = "map: bench-drive\n"
                               "about: Invented.\n"
                               "modbus: {count_from: 0}\n"
                               "identity:\n"
                               "  - {parameter: code, equals: 7}\n"
                               "  - {parameter: model, equals: 'BD-75'}\n" PARAMETERS;
static const char bare_map[] = "map: bench-drive\n"
                               "modbus: {count_from: 0}\n" PARAMETERS;

/* The answer to `request`, which has no zero byte behind its last one but counts it. */
static size_t ask(const struct bench *bench, const char *request, size_t length, uint8_t *reply)
{
    const uint8_t *bytes = (const uint8_t *)request;
    memset(reply, 0xee, PDU_LONGEST);
    return bytes[0] == IDENTIFICATION_SERVER_ID ? identification_server_id(&bench->drive, 9, bytes, length, reply)
                                                : identification_objects(&bench->drive, bytes, length, reply);
}

static void assert_answer(const struct bench *bench, const char *request, size_t length, const char *expected,
                          size_t expected_length)
{
    uint8_t reply[PDU_LONGEST];
    assert_int_equal(ask(bench, request, length, reply), expected_length);
    assert_memory_equal(reply, expected, expected_length);
}

/* The next object of an answer, which must be that one. */
static const uint8_t *object_is(const uint8_t *at, unsigned number, const char *text)
{
    assert_int_equal(at[0], number);
    assert_int_equal(at[1], strlen(text));
    assert_memory_equal(at + 2, text, strlen(text));
    return at + 2 + strlen(text);
}

static void server_id_names_unit_state_and_drive(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, full_map, NULL, NULL);
    static const char text[] = "asleft bench-drive " ASLEFT_VERSION;
    uint8_t reply[PDU_LONGEST];
    assert_int_equal(ask(&bench, "\x11", 1, reply), 4 + strlen(text));
    assert_int_equal(reply[1], 2 + strlen(text));
    assert_int_equal(reply[2], 9);
    assert_int_equal(reply[3], 0x00);
    assert_memory_equal(reply + 4, text, strlen(text));
    assert_true(drive_model_start(&bench.drive.model));
    (void)ask(&bench, "\x11", 1, reply);
    assert_int_equal(reply[3], 0xff);
    assert_answer(&bench, "\x11\x00", 2, "\x91\x03", 2);
    bench_close(&bench);
}

static void basic_stream_has_maker_product_and_revision(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, full_map, NULL, NULL);
    uint8_t reply[PDU_LONGEST];
    const size_t length = ask(&bench, "\x2b\x0e\x01\x00", 4, reply);
    assert_memory_equal(reply, "\x2b\x0e\x01\x82\x00\x00\x03", 7);
    const uint8_t *at = object_is(reply + 7, 0, "asleft");
    at = object_is(at, 1, "bench-drive");
    at = object_is(at, 2, ASLEFT_VERSION);
    assert_int_equal(at - reply, length);
    bench_close(&bench);
}

static void regular_stream_adds_product_name_and_model(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, full_map, NULL, NULL);
    uint8_t reply[PDU_LONGEST];
    for (char code = 0x02; code <= 0x03; code++) { /* extended has no more than regular here */
        const char request[] = {0x2b, 0x0e, code, 0x00};
        const size_t length = ask(&bench, request, sizeof request, reply);
        assert_int_equal(reply[6], 5);
        const uint8_t *at = object_is(reply + 7, 0, "asleft");
        at = object_is(at, 1, "bench-drive");
        at = object_is(at, 2, ASLEFT_VERSION);
        at = object_is(at, 4, "Invented.");
        at = object_is(at, 5, "BD-75");
        assert_int_equal(at - reply, length);
    }
    bench_close(&bench);
}

static void what_the_map_lacks_is_no_object(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, bare_map, NULL, NULL);
    uint8_t reply[PDU_LONGEST];
    (void)ask(&bench, "\x2b\x0e\x02\x00", 4, reply);
    assert_int_equal(reply[6], 3);
    assert_answer(&bench, "\x2b\x0e\x04\x05", 4, "\xab\x02", 2);
    bench_close(&bench);
}

static void a_stream_begins_where_it_is_asked_to(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, full_map, NULL, NULL);
    uint8_t reply[PDU_LONGEST];
    (void)ask(&bench, "\x2b\x0e\x02\x04", 4, reply);
    assert_int_equal(reply[6], 2);
    (void)object_is(reply + 7, 4, "Invented.");
    (void)ask(&bench, "\x2b\x0e\x02\x63", 4, reply); /* no such object: from the beginning */
    assert_int_equal(reply[6], 5);
    (void)ask(&bench, "\x2b\x0e\x01\x04", 4, reply); /* none of the basic ones */
    assert_int_equal(reply[6], 3);
    bench_close(&bench);
}

static void one_object_alone(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, full_map, NULL, NULL);
    assert_answer(&bench, "\x2b\x0e\x04\x05", 4,
                  "\x2b\x0e\x04\x82\x00\x00\x01\x05\x05"
                  "BD-75",
                  14);
    assert_answer(&bench, "\x2b\x0e\x04\x03", 4, "\xab\x02", 2);
    bench_close(&bench);
}

static void what_is_malformed_is_refused(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, full_map, NULL, NULL);
    assert_answer(&bench, "\x2b\x0d\x01\x00", 4, "\xab\x01", 2);
    assert_answer(&bench, "\x2b", 1, "\xab\x01", 2);
    assert_answer(&bench, "\x2b\x0e\x00\x00", 4, "\xab\x03", 2);
    assert_answer(&bench, "\x2b\x0e\x05\x00", 4, "\xab\x03", 2);
    assert_answer(&bench, "\x2b\x0e\x01", 3, "\xab\x03", 2);
    bench_close(&bench);
}

/* 240 letters of product name do not fit behind the basic objects, nor the model behind them. */
static void more_follows_where_it_does_not_fit(void **state)
{
    (void)state;
    char about[241];
    char map[1024];
    struct bench bench;
    memset(about, 'x', sizeof about - 1);
    about[sizeof about - 1] = '\0';
    (void)snprintf(map, sizeof map,
                   "map: bench-drive\nabout: %s\nmodbus: {count_from: 0}\n"
                   "identity: [{parameter: model, equals: 'BD-75'}]\n" PARAMETERS,
                   about);
    bench_open(&bench, map, NULL, NULL);
    uint8_t reply[PDU_LONGEST];
    (void)ask(&bench, "\x2b\x0e\x02\x00", 4, reply);
    assert_memory_equal(reply, "\x2b\x0e\x02\x82\xff\x04\x03", 7);
    assert_int_equal(ask(&bench, "\x2b\x0e\x02\x04", 4, reply), 7 + 2 + 240);
    assert_memory_equal(reply, "\x2b\x0e\x02\x82\xff\x05\x01", 7);
    (void)object_is(reply + 7, 4, about);
    (void)ask(&bench, "\x2b\x0e\x02\x05", 4, reply);
    assert_memory_equal(reply, "\x2b\x0e\x02\x82\x00\x00\x01", 7);
    (void)object_is(reply + 7, 5, "BD-75");
    bench_close(&bench);
}

/* A text longer than any answer ends where the answer does. */
static void an_endless_text_is_cut(void **state)
{
    (void)state;
    char about[400];
    char map[1024];
    struct bench bench;
    memset(about, 'x', sizeof about - 1);
    about[sizeof about - 1] = '\0';
    (void)snprintf(map, sizeof map, "map: bench-drive\nabout: %s\nmodbus: {count_from: 0}\n" PARAMETERS, about);
    bench_open(&bench, map, NULL, NULL);
    uint8_t reply[PDU_LONGEST];
    assert_int_equal(ask(&bench, "\x2b\x0e\x04\x04", 4, reply), PDU_LONGEST);
    assert_int_equal(reply[8], PDU_LONGEST - 9);
    bench_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(server_id_names_unit_state_and_drive),
        cmocka_unit_test(basic_stream_has_maker_product_and_revision),
        cmocka_unit_test(regular_stream_adds_product_name_and_model),
        cmocka_unit_test(what_the_map_lacks_is_no_object),
        cmocka_unit_test(a_stream_begins_where_it_is_asked_to),
        cmocka_unit_test(one_object_alone),
        cmocka_unit_test(what_is_malformed_is_refused),
        cmocka_unit_test(more_follows_where_it_does_not_fit),
        cmocka_unit_test(an_endless_text_is_cut),
    };
    return cmocka_run_group_tests_name("sim_identification", tests, NULL, NULL);
}
