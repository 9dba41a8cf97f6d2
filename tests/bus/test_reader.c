/* SPDX-License-Identifier: MIT */
/* Reading a drive: holes, limits, silence, closed lines, one by one. */
#include "bus/reader_bench.h"

static void requests_say_what_the_map_says(void **state)
{
    struct bench *bench = *state;
    add(bench, 0x0110);
    bench->map.modbus.answers_within_s = 0.3;
    bench->map.modbus.rest_between_s = 0.0057;
    read_all(bench);
    const struct request *request = &bench->link.requests[0];
    assert_int_equal(request->unit, 17);
    assert_int_equal(request->answers_within_us, 300000);
    assert_int_equal(request->rest_between_us, 5700);
    assert_int_equal(request->retries, 2);
    expect_request(bench, 0, 3, 0x0110, 1);
    expect_read(bench, 0, 0);
}

static void each_table_has_its_function(void **state)
{
    struct bench *bench = *state;
    map_add(&bench->map, "coil", TABLE_COIL, 5, TYPE_BOOL);
    map_add(&bench->map, "discrete", TABLE_DISCRETE, 6, TYPE_BOOL);
    map_add(&bench->map, "holding", TABLE_HOLDING, 7, TYPE_U32);
    map_add(&bench->map, "input", TABLE_INPUT, 65535, TYPE_U16);
    read_all(bench);
    expect_read(bench, 0, 3);
    assert_int_equal(bench->link.request_count, 4);
    bool asked[5] = {false};
    for (size_t i = 0; i < 4; i++)
        asked[bench->link.requests[i].function] = true;
    assert_true(asked[1] && asked[2] && asked[3] && asked[4]);
}

static void only_what_is_wanted_is_asked(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 9);
    const size_t wanted[] = {4, 2, 4, 3};
    read_these(bench, wanted, 4);
    assert_int_equal(bench->link.request_count, 1);
    expect_request(bench, 0, 3, 2, 3);
    expect_read(bench, 2, 4);
    assert_false(bench->readings.items[1].asked);
    assert_false(bench->readings.items[5].asked);
}

static void nothing_wanted_is_done_at_once(void **state)
{
    struct bench *bench = *state;
    add(bench, 0);
    read_these(bench, NULL, 0);
    assert_int_equal(bench->link.request_count, 0);
}

static void bits_may_be_asked_sixteen_to_a_register(void **state)
{
    struct bench *bench = *state;
    bench->map.modbus.longest_read = 2;
    for (unsigned i = 0; i < 40; i++)
        map_add(&bench->map, "coil", TABLE_COIL, i, TYPE_BOOL);
    read_all(bench);
    expect_read(bench, 0, 39);
    assert_int_equal(bench->link.request_count, 2);
    assert_in_range(bench->link.requests[0].count, 8, 32);
}

static void parameters_of_one_register_share_it(void **state)
{
    struct bench *bench = *state;
    add(bench, 3);
    add(bench, 3);
    map_add(&bench->map, "wide", TABLE_HOLDING, 2, TYPE_U32);
    read_all(bench);
    assert_int_equal(bench->link.request_count, 1);
    expect_request(bench, 0, 3, 2, 2);
    expect_read(bench, 0, 2);
}

static void a_hole_in_a_bridged_gap_is_avoided_for_good(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 3);
    add_run(bench, 8, 11);
    add_hole(bench, TABLE_HOLDING, 6, 6);
    read_all(bench);
    expect_read(bench, 0, 7);
    assert_int_equal(bench->link.request_count, 3);
    expect_request(bench, 0, 3, 0, 12);
    expect_request(bench, 1, 3, 0, 4);
    expect_request(bench, 2, 3, 8, 4);
    read_all(bench);
    assert_int_equal(bench->link.request_count, 2);
    expect_read(bench, 0, 7);
}

static void a_gap_that_is_wanted_later_is_read_as_a_block(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 9);
    add_hole(bench, TABLE_HOLDING, 9, 9);
    static const size_t identity[] = {0, 8};
    bench->link.script[0] = (struct symptom){SYMPTOM_EXCEPTION, 0x04};
    bench->link.script_count = 1;
    read_these(bench, identity, 2);
    assert_int_equal(bench->link.request_count, 4); /* the two together, one, the other grown over the hole, alone */
    read_these(bench, (const size_t[]){0, 1, 2, 3, 4, 5, 6, 7, 8}, 9);
    assert_int_equal(bench->link.request_count, 1);
    expect_read(bench, 0, 8);
}

static void a_missing_parameter_costs_only_itself(void **state)
{
    struct bench *bench = *state;
    static const uint8_t refusals[] = {0x02, 0x03, 0x04};
    add_run(bench, 0, 15);
    add_hole(bench, TABLE_HOLDING, 5, 5);
    for (size_t i = 0; i < 3; i++) {
        bench->link.hole_exception = refusals[i];
        reader_free(bench->reader);
        readings_free(&bench->readings);
        bench->reader = NULL;
        read_all(bench);
        expect_read(bench, 0, 4);
        expect_symptom(bench, 5, SYMPTOM_EXCEPTION, refusals[i]);
        expect_read(bench, 6, 15);
        assert_int_equal(bench->link.request_count, 10); /* 16, 8, 4, 4, 2, 1, 1 and once more, 2, 8 */
    }
}

static void a_missing_parameter_is_asked_alone_the_next_time(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 15);
    add_hole(bench, TABLE_HOLDING, 5, 5);
    read_all(bench);
    bench->link.hole_count = 0;
    read_all(bench);
    expect_read(bench, 0, 15);
    assert_int_equal(bench->link.request_count, 3);
    expect_request(bench, 1, 3, 5, 1);
}

static void a_wide_value_on_a_hole_is_refused_whole(void **state)
{
    struct bench *bench = *state;
    map_add(&bench->map, "wide", TABLE_HOLDING, 0, TYPE_F32);
    map_add(&bench->map, "view", TABLE_HOLDING, 0, TYPE_U16);
    map_add(&bench->map, "next", TABLE_HOLDING, 2, TYPE_U32);
    add_hole(bench, TABLE_HOLDING, 1, 1);
    read_all(bench);
    expect_symptom(bench, 0, SYMPTOM_EXCEPTION, 0x02);
    expect_read(bench, 1, 2);
}

static void the_drive_s_own_limit_is_learned(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 199);
    bench->link.longest = 16;
    read_all(bench);
    expect_read(bench, 0, 199);
    size_t first_time = bench->link.request_count;
    assert_true(first_time <= 4 + (200 + 11) / 12);
    read_all(bench);
    expect_read(bench, 0, 199);
    assert_true(bench->link.request_count < first_time);
    for (size_t i = 0; i < bench->link.request_count; i++)
        assert_true(bench->link.requests[i].count <= 16);
}

static void a_passing_failure_is_not_taken_for_a_limit(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 31);
    read_all(bench);
    bench->link.script[0] = (struct symptom){SYMPTOM_EXCEPTION, 0x04};
    bench->link.script_count = 1;
    read_all(bench);
    assert_int_equal(bench->link.request_count, 3);
    expect_read(bench, 0, 31);
    read_all(bench);
    assert_int_equal(bench->link.request_count, 1);
}

static void a_hole_is_not_taken_for_a_limit(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 31);
    add_hole(bench, TABLE_HOLDING, 0, 0);
    read_all(bench);
    read_all(bench);
    assert_int_equal(bench->link.request_count, 3);
    expect_request(bench, 2, 3, 1, 31);
}

static void other_symptoms_go_to_the_whole_block(void **state)
{
    struct bench *bench = *state;
    static const struct symptom rows[] = {{SYMPTOM_CORRUPT, 0},      {SYMPTOM_OTHER_UNIT, 0},
                                          {SYMPTOM_NO_REPLY, 0},     {SYMPTOM_EXCEPTION, 0x01},
                                          {SYMPTOM_EXCEPTION, 0x06}, {SYMPTOM_EXCEPTION, 0x0b}};
    add_run(bench, 0, 3);
    add_run(bench, 100, 103);
    read_all(bench);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bool on_the_line = rows[i].kind != SYMPTOM_EXCEPTION; /* then it is asked again, last of all */
        bench->link.script[0] = bench->link.script[2] = rows[i];
        bench->link.script_count = on_the_line ? 3 : 1;
        bench->link.script_at = 0;
        read_all(bench);
        assert_int_equal(bench->link.request_count, on_the_line ? 3 : 2);
        for (size_t k = 0; k < 4; k++)
            expect_symptom(bench, k, rows[i].kind, rows[i].exception);
        expect_read(bench, 4, 7);
    }
}

static void a_reply_of_the_wrong_length_is_corrupt(void **state)
{
    struct bench *bench = *state;
    add(bench, 0);
    readings_init(&bench->readings, 1);
    bench->reader = reader_new(&bench->link, &bench->map, 17, &bench->readings);
    reader_read(bench->reader, (const size_t[]){0}, 1, count_done, bench);
    static const uint16_t words[] = {1, 2};
    struct reply reply = {.words = words, .count = 2};
    bench->link.done(bench->link.user, &bench->link.pending, &reply);
    expect_symptom(bench, 0, SYMPTOM_CORRUPT, 0);
    assert_int_equal(bench->done, 1);
}

/* Parameters 200 apart, so that each is a request of its own, which cannot grow. */
static void add_apart(struct bench *bench, unsigned count)
{
    bench->map.modbus.longest_read = 1;
    for (unsigned i = 0; i < count; i++)
        add(bench, 200 * i);
}

static void a_silent_drive_is_asked_twice(void **state)
{
    struct bench *bench = *state;
    static const struct symptom rows[] = {{SYMPTOM_NO_REPLY, 0}, {SYMPTOM_EXCEPTION, 0x0a}, {SYMPTOM_EXCEPTION, 0x0b}};
    add_apart(bench, 6);
    bench->link.script_count = 1;
    bench->link.script_for_ever = true;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bench->link.script[0] = rows[i];
        read_all(bench); /* each call anew */
        assert_int_equal(bench->link.request_count, 2);
        for (size_t k = 0; k < 6; k++)
            expect_symptom(bench, k, rows[i].kind, rows[i].exception);
    }
}

static void any_reply_ends_the_silence(void **state)
{
    struct bench *bench = *state;
    add_apart(bench, 6);
    bench->link.script[0].kind = SYMPTOM_NO_REPLY;
    bench->link.script[1] = bench->link.script[2] = (struct symptom){SYMPTOM_EXCEPTION, 0x02};
    bench->link.script[3].kind = SYMPTOM_NO_REPLY;
    bench->link.script[4].kind = SYMPTOM_CORRUPT;
    bench->link.script[5].kind = SYMPTOM_NO_REPLY;
    bench->link.script_count = 6;
    read_all(bench);
    assert_int_equal(bench->link.request_count, 10); /* three had a second chance */
    expect_symptom(bench, 0, SYMPTOM_NO_REPLY, 0);
    expect_symptom(bench, 1, SYMPTOM_EXCEPTION, 0x02);
    expect_read(bench, 2, 5);
}

static void silence_keeps_what_was_read_and_refused(void **state)
{
    struct bench *bench = *state;
    add_apart(bench, 6);
    bench->link.script[1] = bench->link.script[2] = (struct symptom){SYMPTOM_EXCEPTION, 0x02};
    bench->link.script[3].kind = bench->link.script[4].kind = SYMPTOM_NO_REPLY;
    bench->link.script_count = 5;
    read_all(bench);
    assert_int_equal(bench->link.request_count, 5);
    expect_read(bench, 0, 0);
    expect_symptom(bench, 1, SYMPTOM_EXCEPTION, 0x02);
    expect_symptom(bench, 5, SYMPTOM_NO_REPLY, 0);
}

static void a_dead_line_ends_it_at_once(void **state)
{
    struct bench *bench = *state;
    static const enum symptom_kind rows[] = {SYMPTOM_REFUSED, SYMPTOM_UNREACHABLE, SYMPTOM_CLOSED};
    add_apart(bench, 4);
    bench->link.script_count = 2;
    for (size_t i = 0; i < 3; i++) {
        bench->link.script[1].kind = rows[i];
        bench->link.script_at = 0;
        read_all(bench);
        assert_int_equal(bench->link.request_count, 2);
        expect_read(bench, 0, 0);
        for (size_t k = 1; k < 4; k++)
            expect_symptom(bench, k, rows[i], 0);
    }
}

static void words_of_an_earlier_read_are_dropped(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 1);
    read_all(bench);
    expect_read(bench, 0, 1);
    bench->link.script[0].kind = bench->link.script[1].kind = SYMPTOM_CORRUPT;
    bench->link.script_count = 2;
    read_these(bench, (const size_t[]){1}, 1);
    expect_read(bench, 0, 0);
    expect_symptom(bench, 1, SYMPTOM_CORRUPT, 0);
    read_all(bench);
    expect_read(bench, 0, 1);
}

static void closed_addresses_are_never_asked(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 9);
    map_add(&bench->map, "wide", TABLE_HOLDING, 10, TYPE_U32);
    map_close(&bench->map, TABLE_HOLDING, 4, 5);
    map_close(&bench->map, TABLE_HOLDING, 11, 20);
    map_close(&bench->map, TABLE_INPUT, 0, 100);
    read_all(bench);
    assert_int_equal(bench->link.request_count, 2);
    expect_request(bench, 0, 3, 0, 4);
    expect_request(bench, 1, 3, 6, 4); /* it cannot grow: 10 belongs to a value that must not be cut */
    expect_symptom(bench, 4, SYMPTOM_CLOSED, 0);
    expect_symptom(bench, 5, SYMPTOM_CLOSED, 0);
    expect_symptom(bench, 10, SYMPTOM_CLOSED, 0);
    expect_read(bench, 6, 9);
}

static void what_no_request_can_fetch_is_not_asked(void **state)
{
    struct bench *bench = *state;
    map_add(&bench->map, "at_the_end", TABLE_HOLDING, 65535, TYPE_U32);
    map_add(&bench->map, "long_text", TABLE_HOLDING, 0, TYPE_TEXT)->words = 9;
    map_add(&bench->map, "short_text", TABLE_HOLDING, 20, TYPE_TEXT)->words = 8;
    bench->map.modbus.longest_read = 8;
    read_all(bench);
    expect_symptom(bench, 0, SYMPTOM_CLOSED, 0);
    expect_symptom(bench, 1, SYMPTOM_CLOSED, 0);
    expect_read(bench, 2, 2);
    assert_int_equal(bench->link.request_count, 1);
}

static void commands_are_neither_asked_nor_bridged(void **state)
{
    struct bench *bench = *state;
    add(bench, 0);
    map_add(&bench->map, "control_word", TABLE_HOLDING, 1, TYPE_U16)->kind = KIND_COMMAND;
    add(bench, 2);
    add(bench, 4);
    bench->map.save = (struct save_command){.given = true, .at = {TABLE_HOLDING, 3}};
    read_all(bench);
    assert_int_equal(bench->link.request_count, 3);
    for (size_t i = 0; i < 3; i++)
        expect_request(bench, i, 3, (unsigned)(2 * i), 1);
    assert_false(bench->readings.items[1].asked);
    assert_int_equal(bench->readings.items[1].symptom.kind, SYMPTOM_NONE);
}

static void dearer_requests_bridge_wider_gaps(void **state)
{
    struct bench *bench = *state;
    add(bench, 0);
    add(bench, 100);
    read_all(bench);
    assert_int_equal(bench->link.request_count, 2);
    bench->link.request_cost = 600;
    read_all(bench);
    assert_int_equal(bench->link.request_count, 1);
    bench->link.request_cost = 5;
    read_all(bench);
    assert_int_equal(bench->link.request_count, 2);
}

static void one_refusal_of_one_parameter_is_not_believed(void **state)
{
    struct bench *bench = *state;
    add(bench, 5);
    bench->link.script[0] = (struct symptom){SYMPTOM_EXCEPTION, 0x02}; /* as a doubled one would come */
    bench->link.script_count = 1;
    read_all(bench);
    assert_int_equal(bench->link.request_count, 2);
    expect_read(bench, 0, 0);
}

static void silence_to_what_is_too_long_is_learned_as_a_limit(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 99);
    bench->link.longest = 16;
    bench->link.mute = true;
    read_all(bench);
    expect_read(bench, 0, 99);
    read_all(bench);
    expect_read(bench, 0, 99);
    for (size_t i = 0; i < bench->link.request_count; i++)
        assert_true(bench->link.requests[i].count <= 16);
}

static void a_drive_that_answers_nothing_is_not_searched_for_its_limit(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 99);
    bench->link.script[0].kind = SYMPTOM_NO_REPLY;
    bench->link.script_count = 1;
    bench->link.script_for_ever = true;
    read_all(bench);
    assert_int_equal(bench->link.request_count, 2); /* all, and one alone */
    expect_request(bench, 1, 3, 0, 1);
    for (size_t i = 0; i < 100; i++)
        expect_symptom(bench, i, SYMPTOM_NO_REPLY, 0);
}

static void silence_to_what_has_worked_is_no_limit(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 31);
    read_all(bench);
    bench->link.script[0].kind = SYMPTOM_NO_REPLY;
    bench->link.script_count = 1;
    read_all(bench);
    assert_int_equal(bench->link.request_count, 2);
    expect_request(bench, 1, 3, 0, 32); /* it is asked again as it was */
    expect_read(bench, 0, 31);
}

static void what_failed_on_the_line_is_asked_again_at_the_end(void **state)
{
    struct bench *bench = *state;
    add_apart(bench, 4);
    bench->link.script[1].kind = SYMPTOM_NO_REPLY;
    bench->link.script_count = 2;
    read_all(bench);
    assert_int_equal(bench->link.request_count, 5);
    expect_request(bench, 1, 3, 200, 1);
    expect_request(bench, 4, 3, 200, 1);
    expect_read(bench, 0, 3);
}

/* ---- quantities that tell replies apart ---- */

static void equal_blocks_grow_unequal(void **state)
{
    struct bench *bench = *state;
    for (unsigned i = 0; i < 8; i++)
        add(bench, 200 * i);
    read_all(bench);
    expect_read(bench, 0, 7);
    assert_int_equal(bench->link.request_count, 8);
    for (size_t i = 0; i < 8; i++)
        for (size_t k = i + 1; k < 8 && k <= i + 3; k++)
            assert_int_not_equal(bench->link.requests[i].count, bench->link.requests[k].count);
}

static void a_call_keeps_clear_of_the_one_before_it(void **state)
{
    struct bench *bench = *state;
    add(bench, 0);
    add(bench, 200);
    read_these(bench, (const size_t[]){0}, 1);
    assert_int_equal(bench->link.requests[0].count, 1);
    bench->link.recent_kept = true;
    read_these(bench, (const size_t[]){1}, 1);
    expect_request(bench, 1, 3, 199, 2);
    expect_read(bench, 1, 1);
}

static void the_same_read_again_need_not_differ_from_itself(void **state)
{
    struct bench *bench = *state;
    add(bench, 0);
    read_all(bench);
    bench->link.recent_kept = true;
    read_all(bench);
    expect_request(bench, 1, 3, 0, 1);
}

static void a_drive_that_refuses_the_unknown_is_not_asked_for_it_for_ever(void **state)
{
    struct bench *bench = *state;
    for (unsigned i = 0; i < 8; i++) {
        add(bench, 200 * i);
        add_hole(bench, TABLE_HOLDING, 200 * i + 1, 200 * i + 199);
    }
    add_hole(bench, TABLE_HOLDING, 1401, 65535);
    read_all(bench);
    expect_read(bench, 0, 7);
    assert_int_equal(bench->link.request_count, 8 + 3);
}

static void what_will_be_asked_is_said_beforehand(void **state)
{
    struct bench *bench = *state;
    add(bench, 0);
    add(bench, 200);
    read_all(bench);
    assert_int_equal(bench->link.reserved_count, 2);
    assert_int_equal(bench->link.reserved[0].address, 0);
    assert_int_equal(bench->link.reserved[0].count, 1);
    assert_int_equal(bench->link.reserved[1].address, 199);
    assert_int_equal(bench->link.reserved[1].count, 2);
}

static void traffic_is_this_drive_s_alone(void **state)
{
    struct bench *bench = *state;
    add_apart(bench, 3);
    bench->link.traffic = (struct traffic){100, 100, 100, 100, 100, 100};
    bench->link.script[0].kind = SYMPTOM_NO_REPLY;
    bench->link.script[1] = bench->link.script[2] = (struct symptom){SYMPTOM_EXCEPTION, 0x02};
    bench->link.script_count = 3;
    read_all(bench);
    bench->link.traffic.requests += 50; /* another drive on the line */
    read_all(bench);
    const struct traffic *traffic = reader_traffic(bench->reader);
    assert_int_equal(traffic->requests, 7);
    assert_int_equal(traffic->exceptions, 2);
    assert_int_equal(traffic->timeouts, 1);
    assert_int_equal(traffic->retries + traffic->bad_frames + traffic->discarded, 0);
}

static void read_once_more(void *user)
{
    struct bench *bench = user;
    if (++bench->done < 3)
        reader_read(bench->reader, (const size_t[]){1}, 1, read_once_more, bench);
}

static void done_may_read_again(void **state)
{
    struct bench *bench = *state;
    add_run(bench, 0, 1);
    readings_init(&bench->readings, 2);
    bench->reader = reader_new(&bench->link, &bench->map, 17, &bench->readings);
    reader_read(bench->reader, (const size_t[]){0}, 1, read_once_more, bench);
    while (bench->link.done != NULL)
        answer(&bench->link);
    assert_int_equal(bench->done, 3);
    assert_int_equal(bench->link.request_count, 3);
    expect_read(bench, 0, 1);
}

static void a_reader_may_be_freed_in_the_middle(void **state)
{
    struct bench *bench = *state;
    add_apart(bench, 3);
    readings_init(&bench->readings, 3);
    bench->reader = reader_new(&bench->link, &bench->map, 17, &bench->readings);
    reader_read(bench->reader, (const size_t[]){0, 1, 2}, 3, count_done, bench);
    answer(&bench->link);
    reader_free(bench->reader); /* the link has been freed and calls no more */
    bench->reader = NULL;
    reader_free(NULL);
    assert_int_equal(bench->done, 0);
}

int main(void)
{
#define TEST(function) cmocka_unit_test_setup_teardown(function, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(requests_say_what_the_map_says),
        TEST(each_table_has_its_function),
        TEST(only_what_is_wanted_is_asked),
        TEST(nothing_wanted_is_done_at_once),
        TEST(bits_may_be_asked_sixteen_to_a_register),
        TEST(parameters_of_one_register_share_it),
        TEST(a_hole_in_a_bridged_gap_is_avoided_for_good),
        TEST(a_gap_that_is_wanted_later_is_read_as_a_block),
        TEST(a_missing_parameter_costs_only_itself),
        TEST(a_missing_parameter_is_asked_alone_the_next_time),
        TEST(a_wide_value_on_a_hole_is_refused_whole),
        TEST(the_drive_s_own_limit_is_learned),
        TEST(a_passing_failure_is_not_taken_for_a_limit),
        TEST(a_hole_is_not_taken_for_a_limit),
        TEST(other_symptoms_go_to_the_whole_block),
        TEST(a_reply_of_the_wrong_length_is_corrupt),
        TEST(a_silent_drive_is_asked_twice),
        TEST(any_reply_ends_the_silence),
        TEST(silence_keeps_what_was_read_and_refused),
        TEST(a_dead_line_ends_it_at_once),
        TEST(words_of_an_earlier_read_are_dropped),
        TEST(closed_addresses_are_never_asked),
        TEST(what_no_request_can_fetch_is_not_asked),
        TEST(commands_are_neither_asked_nor_bridged),
        TEST(dearer_requests_bridge_wider_gaps),
        TEST(one_refusal_of_one_parameter_is_not_believed),
        TEST(silence_to_what_is_too_long_is_learned_as_a_limit),
        TEST(a_drive_that_answers_nothing_is_not_searched_for_its_limit),
        TEST(silence_to_what_has_worked_is_no_limit),
        TEST(what_failed_on_the_line_is_asked_again_at_the_end),
        TEST(equal_blocks_grow_unequal),
        TEST(a_call_keeps_clear_of_the_one_before_it),
        TEST(the_same_read_again_need_not_differ_from_itself),
        TEST(a_drive_that_refuses_the_unknown_is_not_asked_for_it_for_ever),
        TEST(what_will_be_asked_is_said_beforehand),
        TEST(traffic_is_this_drive_s_alone),
        TEST(done_may_read_again),
        TEST(a_reader_may_be_freed_in_the_middle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
