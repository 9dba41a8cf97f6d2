/* SPDX-License-Identifier: MIT */
/* Reading whole random maps through the link engine from drives that answer late, twice, cut, corrupt, not at all or
 * for another unit, on a virtual clock: every value that is reported is that of its own address. */
#include "bus/line_fake.h"
#include "bus/map_builder.h"
#include "bus/reader.h"

enum drive_habit {
    HABIT_QUEUES,  /* answers all requests one after the other, however late */
    HABIT_IGNORES, /* loses what comes while it is busy */
};

/* A reply that comes once more, some requests later. */
struct echo_later {
    uint8_t bytes[RTU_BYTES];
    size_t length;
    unsigned requests; /* 0: none is kept */
};

struct chance {
    uint32_t seed;
    enum drive_habit habit;
    unsigned percent; /* of the requests that have a fault */
    bool refuses_unknown;
    const struct map *map;
    int64_t busy_until_us;
    struct echo_later again;
    unsigned requests, faults;
};

static unsigned roll(struct chance *chance, unsigned sides)
{
    chance->seed = chance->seed * 1664525U + 1013904223U;
    return (unsigned)(((uint64_t)chance->seed * sides) >> 32);
}

static bool is_known(const struct map *map, unsigned address)
{
    for (size_t i = 0; i < map->count; i++)
        if (address >= map->parameters[i].at.at && address < map->parameters[i].at.at + map->parameters[i].words)
            return true;
    return false;
}

static size_t answer_of(const struct line_fake *line, const struct chance *chance, const uint8_t *frame, uint8_t *reply)
{
    unsigned address = (unsigned)(frame[2] << 8 | frame[3]), count = (unsigned)(frame[4] << 8 | frame[5]);
    for (unsigned i = 0; chance->refuses_unknown && i < count; i++)
        if (!is_known(chance->map, address + i))
            return fake_exception(line, frame, reply, 2);
    return fake_reply(line, frame, reply);
}

static void say_again(struct line_fake *line, struct echo_later *again)
{
    if (again->requests == 0 || --again->requests > 0)
        return;
    fake_deliver(line, line->now_us + 6000, again->bytes, again->length, false);
}

static void spoil(struct line_fake *line, struct chance *chance, const uint8_t *frame, int64_t at_us)
{
    static const struct timing timing = {.serial = true, .character_ns = 572917};
    uint8_t reply[2 * TCP_BYTES], other[TCP_BYTES], request[8];
    size_t length = answer_of(line, chance, frame, reply);
    at_us += timing_wire_us(&timing, 8 + length);
    switch (roll(chance, 8)) {
    case 0:
        return;
    case 1:
        at_us += 50000 + (int64_t)roll(chance, 200000);
        break;
    case 2:
        reply[roll(chance, (unsigned)length)] ^= (uint8_t)(1U << roll(chance, 8));
        break;
    case 3:
        length -= 1 + roll(chance, (unsigned)length - 1);
        break;
    case 4:
        memcpy(request, frame, sizeof request);
        request[0] = 9;
        fake_deliver(line, at_us, other, fake_reply(line, request, other), false);
        break;
    case 5: /* twice, at once or after 3 ms */
        fake_deliver(line, at_us + (int64_t)roll(chance, 2) * 3000, reply, length, false);
        break;
    case 6: /* twice, one or two requests later */
        chance->again.requests = 1 + roll(chance, 2);
        chance->again.length = length;
        memcpy(chance->again.bytes, reply, length);
        break;
    default:
        fake_deliver(line, at_us, (const uint8_t[]){0x00, 0xff, 0x55}, 1 + roll(chance, 3), false);
        break;
    }
    chance->busy_until_us = at_us;
    fake_deliver(line, at_us, reply, length, false);
}

static void chancy_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)length;
    static const struct timing timing = {.serial = true, .character_ns = 572917};
    struct chance *chance = line->user;
    chance->requests++;
    say_again(line, &chance->again);
    bool busy = line->now_us < chance->busy_until_us;
    if (busy && chance->habit == HABIT_IGNORES)
        return;
    int64_t at_us = (busy ? chance->busy_until_us : line->now_us) + 5000;
    if (roll(chance, 100) < chance->percent) {
        chance->faults++;
        spoil(line, chance, frame, at_us);
        return;
    }
    uint8_t reply[TCP_BYTES];
    size_t reply_length = answer_of(line, chance, frame, reply);
    at_us += timing_wire_us(&timing, 8 + reply_length);
    chance->busy_until_us = at_us;
    fake_deliver(line, at_us, reply, reply_length, false);
}

/* Scattered parameters, of one or two registers. */
static void make_map(struct map *map, struct chance *chance)
{
    unsigned count = 10 + roll(chance, 40), next = roll(chance, 50);
    map->modbus.longest_read = 16 + roll(chance, 100);
    map->modbus.answers_within_s = 0.02;
    for (unsigned i = 0; i < count; i++) {
        struct parameter *parameter =
            map_add(map, "p", TABLE_HOLDING, next, roll(chance, 4) == 0 ? TYPE_U32 : TYPE_U16);
        next += parameter->words + (roll(chance, 3) == 0 ? 0 : roll(chance, 60));
    }
}

static void mark(void *user)
{
    *(bool *)user = true;
}

static bool is_marked(void *user)
{
    return *(const bool *)user;
}

struct tally {
    unsigned right, wrong, unread;
};

static void count_readings(const struct map *map, const struct readings *readings, struct tally *tally)
{
    for (size_t i = 0; i < map->count; i++) {
        const struct reading *reading = &readings->items[i];
        bool right = true;
        for (unsigned word = 0; word < reading->raw_count; word++)
            right = right && reading->raw[word] == fake_value((uint16_t)(map->parameters[i].at.at + word));
        if (reading->raw_count == 0)
            tally->unread++;
        else if (right)
            tally->right++;
        else
            tally->wrong++;
    }
}

static void read_map(struct chance *chance, struct tally *tally)
{
    struct map map = map_start(ORDER_HIGH_FIRST);
    make_map(&map, chance);
    chance->map = &map;
    chance->busy_until_us = 0;
    chance->again.requests = 0;
    chance->refuses_unknown = roll(chance, 3) == 0;
    size_t *parameters = memory_new(map.count, sizeof *parameters);
    for (size_t i = 0; i < map.count; i++)
        parameters[i] = i;
    struct line_fake *line = fake_new(false);
    line->drive = chancy_drive;
    line->user = chance;
    struct readings readings;
    readings_init(&readings, map.count);
    struct reader *reader = reader_new(line->link, &map, 1, &readings);
    for (int pass = 0; pass < 4; pass++) {
        bool done = false;
        reader_read(reader, parameters, map.count, mark, &done);
        assert_true(loop_run(line->loop, is_marked, &done, line->now_us + 600 * (int64_t)1000000));
        count_readings(&map, &readings, tally);
    }
    reader_free(reader);
    readings_free(&readings);
    fake_free(line);
    free(parameters);
    map_free(&map);
}

static struct tally read_maps(enum drive_habit habit, unsigned percent, uint32_t seed)
{
    struct tally tally = {0};
    struct chance chance = {.seed = seed, .habit = habit, .percent = percent};
    while (chance.requests < 40000)
        read_map(&chance, &tally);
    print_message("seed %u, %s, faults at %u %%: %u right, %u wrong, %u unread; %u requests, %u faults\n",
                  (unsigned)seed, habit == HABIT_QUEUES ? "queues" : "ignores", percent, tally.right, tally.wrong,
                  tally.unread, chance.requests, chance.faults);
    return tally;
}

static void no_value_is_wrong_at_a_fault_in_three(void **state)
{
    (void)state;
    assert_int_equal(read_maps(HABIT_QUEUES, 33, 71).wrong, 0);
    assert_int_equal(read_maps(HABIT_IGNORES, 33, 72).wrong, 0);
}

static void hardly_any_value_is_unread_at_a_fault_in_twenty(void **state)
{
    (void)state;
    for (enum drive_habit habit = HABIT_QUEUES; habit <= HABIT_IGNORES; habit++) {
        struct tally tally = read_maps(habit, 5, 81 + habit);
        assert_int_equal(tally.wrong, 0);
        assert_true(tally.unread * 1000 <= tally.right);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_value_is_wrong_at_a_fault_in_three),
        cmocka_unit_test(hardly_any_value_is_unread_at_a_fault_in_twenty),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
