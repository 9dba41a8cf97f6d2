/* SPDX-License-Identifier: MIT */
/* Which requests write a parameter, and what comes of them. */
#include "bus/map_builder.h"
#include "bus/writer.h"
#include "bus/writing_bench.h"

static const struct write_request nothing;

static struct write_request register_at(unsigned address, unsigned value)
{
    return (struct write_request){
        .unit = 1, .function = 0x06, .address = (uint16_t)address, .count = 1, .words = {(uint16_t)value}};
}

static struct parameter *add(struct map *map, enum table table, unsigned at, enum value_type type)
{
    struct parameter *parameter = map_add(map, "p", table, at, type);
    parameter->settable = SETTABLE_STOPPED;
    return parameter;
}

/* The map's only parameter, with the words 0x1111 0x2222 0x3333. */
static void assert_requests(struct map *map, const struct write_request *first, const struct write_request *second)
{
    const uint16_t words[] = {0x1111, 0x2222, 0x3333};
    struct write_request requests[2];
    const char *reason = NULL;
    size_t expected = first == NULL ? 0 : second == NULL ? 1 : 2;
    assert_int_equal(writer_can(map, 0, &reason), expected > 0);
    assert_true((reason != NULL) == (expected == 0));
    assert_int_equal(writer_requests(map, 0, 1, words, requests), expected);
    if (expected > 0)
        assert_true(same_write(&requests[0], first));
    if (expected > 1)
        assert_true(same_write(&requests[1], second));
    map_free(map);
}

static void assert_cannot(struct map *map, const char *part)
{
    const char *reason = NULL;
    assert_false(writer_can(map, 0, &reason));
    if (strstr(reason, part) == NULL)
        fail_msg("\"%s\" lacks \"%s\"", reason, part);
    assert_requests(map, NULL, NULL);
}

static void one_register_is_written_with_06_or_10_as_the_map_says(void **state)
{
    (void)state;
    static const enum writes_with habits[] = {WRITES_UNSAID, WRITES_SINGLE, WRITES_EITHER, WRITES_MULTIPLE};
    for (size_t i = 0; i < 4; i++) {
        for (unsigned longest = 1; longest < 3; longest++) {
            struct map map = map_start(ORDER_HIGH_FIRST);
            map.modbus.writes_with = habits[i];
            map.modbus.longest_write = longest;
            add(&map, TABLE_HOLDING, 20, TYPE_S16);
            struct write_request expected = register_at(20, 0x1111);
            bool multiple = habits[i] == WRITES_MULTIPLE || (habits[i] == WRITES_UNSAID && longest > 1);
            expected.function = multiple ? 0x10 : 0x06;
            assert_requests(&map, &expected, NULL);
        }
    }
}

static void a_coil_is_written_with_05_unless_the_map_says_0f(void **state)
{
    (void)state;
    for (unsigned multiple = 0; multiple < 2; multiple++) {
        struct map map = map_start(ORDER_HIGH_FIRST);
        map.modbus.writes_with = multiple ? WRITES_MULTIPLE : WRITES_UNSAID;
        add(&map, TABLE_COIL, 9, TYPE_BOOL);
        struct write_request expected = register_at(9, 0x1111);
        expected.function = multiple ? 0x0f : 0x05;
        assert_requests(&map, &expected, NULL);
    }
}

static void two_registers_go_together_where_the_drive_takes_them(void **state)
{
    (void)state;
    static const enum value_type types[] = {TYPE_U32, TYPE_S32, TYPE_F32};
    for (size_t i = 0; i < 3; i++) {
        struct map map = map_start(ORDER_LOW_FIRST);
        map.modbus.longest_write = 2;
        add(&map, TABLE_HOLDING, 20, types[i]);
        const struct write_request expected = {
            .unit = 1, .function = 0x10, .address = 20, .count = 2, .words = {0x1111, 0x2222}};
        assert_requests(&map, &expected, NULL);
    }
}

/* high-first: the register at 20 holds the high half, 0x1111. */
static void halves_go_in_the_order_that_the_map_says(void **state)
{
    (void)state;
    static const enum word_order orders[] = {ORDER_HIGH_FIRST, ORDER_LOW_FIRST};
    static const enum write_words firsts[] = {WRITE_HIGH_FIRST, WRITE_LOW_FIRST};
    struct write_request at_20 = register_at(20, 0x1111), at_21 = register_at(21, 0x2222);
    for (size_t i = 0; i < 2; i++) {
        for (size_t j = 0; j < 2; j++) {
            struct map map = map_start(orders[i]);
            map.modbus.longest_write = (unsigned)(1 + 9 * j); /* said is said, also where both would go together */
            at_20.function = at_21.function = j == 0 ? 0x06 : 0x10;
            add(&map, TABLE_HOLDING, 20, TYPE_U32)->write_words = firsts[j];
            assert_requests(&map, i == j ? &at_20 : &at_21, i == j ? &at_21 : &at_20);
        }
    }
}

static void it_is_written_where_it_lasts(void **state)
{
    (void)state;
    struct map map = map_start(ORDER_HIGH_FIRST);
    struct parameter *parameter = add(&map, TABLE_INPUT, 20, TYPE_U32);
    parameter->write_words = WRITE_LOW_FIRST;
    parameter->write_at_given = true;
    parameter->write_at = (struct address){TABLE_HOLDING, 500};
    const struct write_request low = register_at(501, 0x2222), high = register_at(500, 0x1111);
    assert_requests(&map, &low, &high);
}

static void text_needs_function_10_for_all_of_it(void **state)
{
    (void)state;
    for (unsigned longest = 1; longest < 5; longest++) {
        struct map map = map_start(ORDER_HIGH_FIRST);
        map.modbus.longest_write = longest;
        struct parameter *parameter = add(&map, TABLE_HOLDING, 20, TYPE_TEXT);
        parameter->words = 3;
        parameter->write_words = WRITE_LOW_FIRST; /* of the map: it is about 32 bits */
        const struct write_request expected = {
            .unit = 1, .function = 0x10, .address = 20, .count = 3, .words = {0x1111, 0x2222, 0x3333}};
        assert_requests(&map, longest >= 3 ? &expected : NULL, NULL);
    }
    struct map map = map_start(ORDER_HIGH_FIRST);
    map.modbus.longest_write = 2;
    struct parameter *parameter = add(&map, TABLE_HOLDING, 20, TYPE_TEXT);
    parameter->words = 2;
    parameter->write_words = WRITE_LOW_FIRST;
    const struct write_request expected = {
        .unit = 1, .function = 0x10, .address = 20, .count = 2, .words = {0x1111, 0x2222}};
    assert_requests(&map, &expected, NULL);
}

static void what_the_map_rules_out_is_not_written(void **state)
{
    (void)state;
    struct map map = map_start(ORDER_HIGH_FIRST);
    add(&map, TABLE_HOLDING, 20, TYPE_U16)->kind = KIND_COMMAND;
    assert_cannot(&map, "command");
    map = map_start(ORDER_HIGH_FIRST);
    add(&map, TABLE_HOLDING, 20, TYPE_U16)->cuts_line = true;
    assert_cannot(&map, "cut the line");
    map = map_start(ORDER_HIGH_FIRST);
    add(&map, TABLE_HOLDING, 20, TYPE_U16)->settable = SETTABLE_NEVER;
    assert_cannot(&map, "settable");
    map = map_start(ORDER_HIGH_FIRST);
    add(&map, TABLE_INPUT, 20, TYPE_U16);
    assert_cannot(&map, "write_at");
    map = map_start(ORDER_HIGH_FIRST);
    add(&map, TABLE_DISCRETE, 20, TYPE_BOOL);
    assert_cannot(&map, "write_at");
    map = map_start(ORDER_HIGH_FIRST);
    struct parameter *parameter = add(&map, TABLE_HOLDING, 20, TYPE_U16);
    parameter->write_at_given = true;
    parameter->write_at = (struct address){TABLE_INPUT, 3};
    assert_cannot(&map, "input register");
    map = map_start(ORDER_HIGH_FIRST);
    add(&map, TABLE_HOLDING, 20, TYPE_U32);
    assert_cannot(&map, "write_words");
    map = map_start(ORDER_HIGH_FIRST);
    map.modbus.longest_write = 2;
    map.modbus.writes_with = WRITES_SINGLE;
    add(&map, TABLE_HOLDING, 20, TYPE_U32);
    assert_cannot(&map, "write_words");
    map = map_start(ORDER_UNKNOWN);
    add(&map, TABLE_HOLDING, 20, TYPE_U32)->write_words = WRITE_LOW_FIRST;
    assert_cannot(&map, "word_order");
    map = map_start(ORDER_HIGH_FIRST);
    add(&map, TABLE_COIL, 20, TYPE_U32)->write_words = WRITE_LOW_FIRST;
    assert_cannot(&map, "one bit");
    map = map_start(ORDER_HIGH_FIRST);
    add(&map, TABLE_HOLDING, 65535, TYPE_U32)->write_words = WRITE_LOW_FIRST;
    assert_cannot(&map, "last address");
    map = map_start(ORDER_HIGH_FIRST);
    assert_cannot(&map, "no such");
}

static void times_are_the_maps(void **state)
{
    (void)state;
    struct map map = map_start(ORDER_HIGH_FIRST);
    map.modbus.rest_between_s = 0.05;
    add(&map, TABLE_HOLDING, 20, TYPE_U16);
    const uint16_t word = 1;
    struct write_request requests[2];
    assert_int_equal(writer_requests(&map, 0, 247, &word, requests), 1);
    assert_int_equal(requests[0].unit, 247);
    assert_int_equal(requests[0].rest_between_us, 50000);
    assert_int_equal(requests[0].answers_within_us, 500000);
    map.modbus.write_answers_within_s = 2;
    assert_int_equal(writer_requests(&map, 0, 247, &word, requests), 1);
    assert_int_equal(requests[0].answers_within_us, 2000000);
    assert_int_equal(writer_requests(&map, 0, 0, &word, requests), 0); /* all drives would obey */
    assert_int_equal(writer_requests(&map, 0, 256, &word, requests), 0);
    map_free(&map);
}

/* ---- on a line ---- */

struct bench {
    struct line_fake *line;
    struct memory_drive memory;
    struct map map;
    unsigned heard, silent_at; /* requests; from 1 */
    struct written written;
    unsigned done;
};

static void drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)length;
    struct bench *bench = line->user;
    struct pdu answer = memory_answer(&bench->memory, frame[0], frame + 1);
    uint8_t reply[TCP_BYTES];
    if (++bench->heard != bench->silent_at)
        fake_say(line, 5000, reply, fake_frame(line, frame, reply, answer.bytes, answer.length));
}

static void done(void *user, const struct written *written)
{
    struct bench *bench = user;
    bench->written = *written;
    bench->done++;
}

static bool is_done(void *user)
{
    return ((struct bench *)user)->done > 0;
}

static struct bench *bench_new(void)
{
    struct bench *bench = test_calloc(1, sizeof *bench);
    bench->line = fake_new(false);
    bench->line->drive = drive;
    bench->line->user = bench;
    bench->map = map_start(ORDER_HIGH_FIRST);
    add(&bench->map, TABLE_HOLDING, 20, TYPE_U32)->write_words = WRITE_LOW_FIRST;
    return bench;
}

static void bench_free(struct bench *bench)
{
    map_free(&bench->map);
    fake_free(bench->line);
    test_free(bench);
}

static void run(struct bench *bench, unsigned requests, unsigned acknowledged, enum symptom_kind symptom)
{
    assert_int_equal(bench->done, 0); /* not before the loop runs */
    assert_true(loop_run(bench->line->loop, is_done, bench, bench->line->now_us + 60000000));
    assert_false(loop_run(bench->line->loop, NULL, NULL, bench->line->now_us + 10000000));
    assert_int_equal(bench->done, 1);
    assert_int_equal(bench->written.requests, requests);
    assert_int_equal(bench->written.acknowledged, acknowledged);
    assert_int_equal(bench->written.symptom.kind, symptom);
    assert_int_equal(bench->memory.carried_out, requests);
}

static const uint16_t words[] = {0xabcd, 0x1234};

static void the_second_half_follows_the_first(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    writer_write(bench->line->link, &bench->map, 0, 1, words, done, bench);
    run(bench, 2, 2, SYMPTOM_NONE);
    assert_int_equal(bench->memory.last.address, 20); /* the high one came last */
    assert_memory_equal(bench->memory.registers[1] + 20, words, sizeof words);
    bench_free(bench);
}

static void the_second_half_is_not_sent_where_the_first_was_not_acknowledged(void **state)
{
    (void)state;
    for (unsigned silent_at = 1; silent_at < 3; silent_at++) {
        struct bench *bench = bench_new();
        bench->silent_at = silent_at;
        writer_write(bench->line->link, &bench->map, 0, 1, words, done, bench);
        run(bench, silent_at, silent_at - 1, SYMPTOM_NO_REPLY);
        bench_free(bench);
    }
}

static void what_cannot_be_written_is_answered_all_the_same(void **state)
{
    (void)state;
    for (unsigned kind = 0; kind < 4; kind++) {
        struct bench *bench = bench_new();
        if (kind == 1)
            bench->map.parameters[0].cuts_line = true;
        if (kind < 3)
            writer_write(bench->line->link, &bench->map, kind == 2 ? 7 : 0, kind == 0 ? 0 : 1, words, done, bench);
        else
            writer_save(bench->line->link, &bench->map, 1, done, bench);
        run(bench, 0, 0, SYMPTOM_NO_REPLY);
        assert_int_equal(bench->line->frames, 0);
        bench_free(bench);
    }
}

static void the_save_command_is_written_once(void **state)
{
    (void)state;
    for (unsigned unit = 0; unit < 2; unit++) {
        struct bench *bench = bench_new();
        bench->map.save = (struct save_command){.given = true, .at = {TABLE_HOLDING, 99}, .write = 0x55, .within_s = 5};
        writer_save(bench->line->link, &bench->map, unit, done, bench);
        run(bench, unit, unit, unit == 0 ? SYMPTOM_NO_REPLY : SYMPTOM_NONE);
        const struct write_request expected = unit == 0 ? nothing : register_at(99, 0x55);
        assert_true(same_write(&bench->memory.last, &expected));
        bench_free(bench);
    }
}

static void a_save_may_take_as_long_as_the_map_says(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    bench->silent_at = 1;
    bench->map.save = (struct save_command){.given = true, .at = {TABLE_HOLDING, 99}, .write = 1, .within_s = 5};
    writer_save(bench->line->link, &bench->map, 1, done, bench);
    int64_t start_us = bench->line->now_us;
    assert_true(loop_run(bench->line->loop, is_done, bench, bench->line->now_us + 60000000));
    assert_true(bench->line->now_us - start_us >= 5000000);
    bench_free(bench);
}

/* Under a sanitizer that finds leaks, this says that nothing is lost with the link. */
static void a_link_that_goes_takes_what_is_not_written_with_it(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    writer_write(bench->line->link, &bench->map, 0, 1, words, done, bench);
    writer_write(bench->line->link, &bench->map, 0, 1, words, done, bench);
    (void)loop_run(bench->line->loop, NULL, NULL, bench->line->now_us + 3000);
    bench_free(bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_register_is_written_with_06_or_10_as_the_map_says),
        cmocka_unit_test(a_coil_is_written_with_05_unless_the_map_says_0f),
        cmocka_unit_test(two_registers_go_together_where_the_drive_takes_them),
        cmocka_unit_test(halves_go_in_the_order_that_the_map_says),
        cmocka_unit_test(it_is_written_where_it_lasts),
        cmocka_unit_test(text_needs_function_10_for_all_of_it),
        cmocka_unit_test(what_the_map_rules_out_is_not_written),
        cmocka_unit_test(times_are_the_maps),
        cmocka_unit_test(the_second_half_follows_the_first),
        cmocka_unit_test(the_second_half_is_not_sent_where_the_first_was_not_acknowledged),
        cmocka_unit_test(what_cannot_be_written_is_answered_all_the_same),
        cmocka_unit_test(the_save_command_is_written_once),
        cmocka_unit_test(a_save_may_take_as_long_as_the_map_says),
        cmocka_unit_test(a_link_that_goes_takes_what_is_not_written_with_it),
    };
    return cmocka_run_group_tests_name("writer", tests, NULL, NULL);
}
