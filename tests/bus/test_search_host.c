/* SPDX-License-Identifier: MIT */
/* Searching the units behind a host, and who they say they are. */
#include "bus/search_bench.h"

static const struct search_bounds everything = {0};

static void a_gateway_tells_which_units_are_there(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, true);
    bench.absent_exception = 0x0b;
    bench.absent_us = 200000;
    bench_drive(&bench, 3, 0, PARITY_NONE);
    bench_drive(&bench, 9, 0, PARITY_NONE)->exception = 0x02;
    double took_s = bench_search_s(&bench, &everything);
    const struct search_result *result = bench_result(&bench);
    assert_int_equal(result->verdict, SEARCH_FOUND);
    assert_int_equal(result->unit_count, 2);
    assert_int_equal(result->units[0].unit, 3);
    assert_int_equal(result->units[1].unit, 9);
    assert_int_equal(result->units[1].answered.exception, 0x02);
    assert_int_equal(bench.asked[0], 0); /* a gateway may make a broadcast of it */
    print_message("a gateway that needs 200 ms to say no: %.1f s\n", took_s);
    assert_true(took_s < 248 * 0.2 + 2);
    bench_stop(&bench);
}

static void a_gateway_alone_is_no_find(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, true);
    bench.absent_exception = 0x0a;
    (void)bench_search_s(&bench, &everything);
    assert_int_equal(bench_result(&bench)->verdict, SEARCH_GATEWAY_ONLY);
    assert_int_equal(bench_result(&bench)->unit_count, 0);
    bench_stop(&bench);
}

static void the_estimate_follows_the_gateway(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, true);
    bench.absent_exception = 0x0b;
    bench.absent_us = 500000;
    int64_t began_us = bench.line->now_us;
    bench_begin(&bench, &everything);
    assert_true(search_progress(bench.search).left_us > 248 * INT64_C(3000000));
    (void)loop_run(bench.line->loop, bench_is_done, &bench, began_us + 10000000);
    struct search_progress progress = search_progress(bench.search);
    assert_in_range(progress.spent_us + progress.left_us, 248 * 500000 - 10000, 248 * 500000 + 10000);
    bench_stop(&bench);
}

/* 3 s each for the first three, 1 s for the others, and 20 ms for the adapter. */
static void a_host_that_drops_in_silence_is_not_waited_for_long(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, true);
    bench_drive(&bench, 246, 0, PARITY_NONE);
    bench_drive(&bench, 9, 0, PARITY_NONE);
    double took_s = bench_search_s(&bench, &everything);
    print_message("a host that drops in silence: %.1f s\n", took_s);
    assert_int_equal(bench_result(&bench)->unit_count, 2);
    assert_true(took_s < 3 * 3.02 + 243 * 1.02 + 1);
    bench_stop(&bench);
}

static void a_host_that_answers_to_every_unit_is_one_device(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, true);
    bench_drive(&bench, 0, 0, PARITY_NONE);
    (void)bench_search_s(&bench, &everything);
    const struct search_result *result = bench_result(&bench);
    assert_true(result->every_unit);
    assert_int_equal(result->unit_count, 1);
    assert_int_equal(result->units[0].unit, 255);
    assert_true(bench.line->frames < 40);
    bench_stop(&bench);
}

static void a_given_unit_is_all_that_is_asked(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, true);
    bench_drive(&bench, 0, 0, PARITY_NONE);
    (void)bench_search_s(&bench, &(struct search_bounds){.unit_given = true, .unit = 17});
    assert_false(bench_result(&bench)->every_unit);
    assert_int_equal(bench_result(&bench)->units[0].unit, 17);
    assert_int_equal(bench_result(&bench)->probes, 1);
    bench_stop(&bench);
}

static void a_refusing_host_ends_the_search_at_once(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, true);
    bench.line->contact = CONTACT_REFUSED;
    (void)bench_search_s(&bench, &everything);
    assert_int_equal(bench_result(&bench)->verdict, SEARCH_NO_CONTACT);
    assert_string_equal(bench_result(&bench)->remark, "the host refuses the connection");
    assert_int_equal(bench.line->connects, 1);
    bench_stop(&bench);
}

static void hang_up(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)frame;
    (void)length;
    fake_hang_up(line, 1000);
}

static void a_host_that_closes_every_connection_ends_the_search(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, true);
    bench.line->drive = hang_up;
    (void)bench_search_s(&bench, &everything);
    assert_int_equal(bench_result(&bench)->verdict, SEARCH_LOST);
    assert_int_equal(bench.line->frames, 3);
    bench_stop(&bench);
}

/* ---- identification ---- */

/* Object by object: three basic ones, then one of the maker's at the extended level. */
static size_t identify_in_parts(const uint8_t *asked, uint8_t *pdu)
{
    static const char *const texts[] = {"Fenbridge Works", "FB-2", "1.4"};
    uint8_t object = asked[3];
    bool extended = asked[2] == 3 && object == 0x80;
    const char *text = extended ? "batch 7" : texts[object < 3 ? object : 0];
    const uint8_t head[] = {0x2b, 0x0e, asked[2], 0x83, 0, 0, 1, extended ? 0x80 : object, (uint8_t)strlen(text)};
    memcpy(pdu, head, sizeof head);
    if (object < 2) {
        pdu[4] = 0xff;
        pdu[5] = (uint8_t)(object + 1);
    } else if (asked[2] == 3 && !extended) {
        pdu[4] = 0xff;
        pdu[5] = 0x80;
    }
    memcpy(pdu + sizeof head, text, strlen(text));
    return sizeof head + strlen(text);
}

static size_t identify_without_end(const uint8_t *asked, uint8_t *pdu)
{
    const uint8_t reply[] = {0x2b, 0x0e, asked[2], 0x01, 0xff, asked[3], 1, asked[3], 1, 'x'};
    memcpy(pdu, reply, sizeof reply);
    return sizeof reply;
}

static void who_answers_is_asked_who_it_is(void **state)
{
    (void)state;
    struct bench bench;
    for (int tcp = 0; tcp <= 1; tcp++) {
        bench_start(&bench, tcp == 1);
        struct bench_drive *drive = bench_drive(&bench, 4, 19200, PARITY_EVEN);
        drive->identify = identify_in_parts;
        drive->server_id = "\x04\xff-X";
        (void)bench_search_s(&bench, &(struct search_bounds){.unit_given = true, .unit = 4});
        const struct device_identification *device = &bench_result(&bench)->units[0].device;
        assert_int_equal(device->count, 4);
        assert_string_equal(device->objects[0].text, "Fenbridge Works");
        assert_string_equal(device->objects[1].text, "FB-2");
        assert_string_equal(device->objects[2].text, "1.4");
        assert_int_equal(device->objects[3].id, 0x80);
        assert_string_equal(device->objects[3].text, "batch 7");
        assert_string_equal(device->server_id, "\\x04\\xFF-X");
        bench_stop(&bench);
    }
}

/* As the example of V1.1b3, section 6.21, has it: "3 objects" in a reply that lists two and in one that lists one. */
static size_t identify_as_misprinted(const uint8_t *asked, uint8_t *pdu)
{
    static const uint8_t first[] = {0x2b, 0x0e, 1, 1, 0xff, 2, 3, 0, 1, 'A', 1, 2, 'B', 'C'};
    static const uint8_t second[] = {0x2b, 0x0e, 1, 1, 0, 0, 3, 2, 1, 'D'};
    bool goes_on = asked[3] == 2;
    memcpy(pdu, goes_on ? second : first, goes_on ? sizeof second : sizeof first);
    return goes_on ? sizeof second : sizeof first;
}

static void an_identification_may_announce_more_than_it_lists(void **state)
{
    (void)state;
    struct bench bench;
    for (int tcp = 0; tcp <= 1; tcp++) {
        bench_start(&bench, tcp == 1);
        bench_drive(&bench, 4, 19200, PARITY_EVEN)->identify = identify_as_misprinted;
        (void)bench_search_s(&bench, &(struct search_bounds){.unit_given = true, .unit = 4});
        const struct device_identification *device = &bench_result(&bench)->units[0].device;
        assert_int_equal(device->count, 3);
        assert_string_equal(device->objects[1].text, "BC");
        assert_string_equal(device->objects[2].text, "D");
        bench_stop(&bench);
    }
}

static void an_identification_without_end_is_left(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, true);
    bench_drive(&bench, 4, 0, PARITY_NONE)->identify = identify_without_end;
    (void)bench_search_s(&bench, &(struct search_bounds){.unit_given = true, .unit = 4});
    assert_int_equal(bench_result(&bench)->units[0].device.count, 1);
    assert_true(bench.line->frames < 10);
    bench_stop(&bench);
}

static void a_drive_without_identification_is_found_all_the_same(void **state)
{
    (void)state;
    struct bench bench;
    bench_start(&bench, true);
    bench_drive(&bench, 4, 0, PARITY_NONE);
    (void)bench_search_s(&bench, &(struct search_bounds){.unit_given = true, .unit = 4});
    assert_int_equal(bench_result(&bench)->unit_count, 1);
    assert_int_equal(bench_result(&bench)->units[0].device.count, 0);
    assert_null(bench_result(&bench)->units[0].device.server_id);
    bench_stop(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_gateway_tells_which_units_are_there),
        cmocka_unit_test(a_gateway_alone_is_no_find),
        cmocka_unit_test(the_estimate_follows_the_gateway),
        cmocka_unit_test(a_host_that_drops_in_silence_is_not_waited_for_long),
        cmocka_unit_test(a_host_that_answers_to_every_unit_is_one_device),
        cmocka_unit_test(a_given_unit_is_all_that_is_asked),
        cmocka_unit_test(a_refusing_host_ends_the_search_at_once),
        cmocka_unit_test(a_host_that_closes_every_connection_ends_the_search),
        cmocka_unit_test(who_answers_is_asked_who_it_is),
        cmocka_unit_test(an_identification_may_announce_more_than_it_lists),
        cmocka_unit_test(an_identification_without_end_is_left),
        cmocka_unit_test(a_drive_without_identification_is_found_all_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
