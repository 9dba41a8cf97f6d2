/* SPDX-License-Identifier: MIT */
/* Reading random maps from random drives: what can be read is read right, and nothing unlawful is asked. */
#include "bus/reader_bench.h"

static uint32_t random_below(uint32_t *seed, uint32_t end)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 17;
    *seed ^= *seed << 5;
    return *seed % end;
}

/* Parameters side by side or with gaps, in any table, never overlapping, none wider than the map allows; commands and
 * closed places among them. */
static void make_random_map(struct bench *bench, uint32_t *seed)
{
    static const enum value_type types[] = {TYPE_U16, TYPE_S16, TYPE_U32, TYPE_F32, TYPE_TEXT};
    bench->map.modbus.longest_read = 2 + random_below(seed, random_below(seed, 2) == 0 ? 124 : 12);
    unsigned count = 1 + random_below(seed, 60);
    unsigned next[TABLES] = {0};
    for (unsigned table = 0; table < TABLES; table++)
        next[table] = random_below(seed, 4) == 0 ? 63000 : random_below(seed, 300);
    for (unsigned i = 0; i < count; i++) {
        unsigned table = random_below(seed, 3) == 0 ? random_below(seed, TABLES) : (unsigned)TABLE_HOLDING;
        bool is_register = table == TABLE_INPUT || table == TABLE_HOLDING;
        next[table] += random_below(seed, 3) == 0 ? random_below(seed, 25) : 0;
        struct parameter *parameter = map_add(&bench->map, "p", (enum table)table, next[table],
                                              is_register ? types[random_below(seed, 5)] : TYPE_BOOL);
        if (parameter->type == TYPE_TEXT)
            parameter->words = 1 + random_below(seed, bench->map.modbus.longest_read < 8 ? 2 : 8);
        if (random_below(seed, 12) == 0)
            parameter->kind = KIND_COMMAND;
        next[table] += parameter->words;
        if (random_below(seed, 10) == 0) {
            map_close(&bench->map, (enum table)table, next[table], next[table] + random_below(seed, 3));
            next[table] += random_below(seed, 4); /* so that some parameters begin on a closed place */
        }
    }
}

static void make_random_drive(struct bench *bench, uint32_t *seed)
{
    bench->link.hole_exception = (uint8_t)(2 + random_below(seed, 3));
    bench->link.longest = random_below(seed, 3) == 0 ? 8 + random_below(seed, 30) : 0;
    for (uint32_t holes = random_below(seed, 7); holes > 0; holes--) {
        const struct parameter *near = &bench->map.parameters[random_below(seed, (uint32_t)bench->map.count)];
        unsigned first = near->at.at + random_below(seed, 8);
        add_hole(bench, near->at.table, first, first + random_below(seed, 3));
    }
}

static bool parameter_touches(const struct parameter *parameter, const struct address_range *range)
{
    return range->table == parameter->at.table && range->first < parameter->at.at + parameter->words &&
           range->last >= parameter->at.at;
}

static bool touches_any(const struct parameter *parameter, const struct address_range *ranges, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (parameter_touches(parameter, &ranges[i]))
            return true;
    return false;
}

static void expect_lawful_requests(const struct bench *bench, const bool *wanted)
{
    for (size_t i = 0; i < bench->link.request_count; i++) {
        const struct request *request = &bench->link.requests[i];
        unsigned registers = bench->map.modbus.longest_read;
        assert_true(request->count <= (request->function <= 2 ? registers * 16 : registers));
        for (size_t k = 0; k < bench->map.modbus.closed_count; k++)
            assert_false(touches(request, &bench->map.modbus.closed[k]));
        for (size_t k = 0; k < bench->map.count; k++) {
            const struct parameter *parameter = &bench->map.parameters[k];
            unsigned end = parameter->at.at + parameter->words;
            struct address_range place = {parameter->at.table, parameter->at.at, (uint16_t)(end - 1)};
            if (!touches(request, &place))
                continue;
            assert_int_not_equal(parameter->kind, KIND_COMMAND);
            if (wanted[k])
                assert_true(request->address <= parameter->at.at && request->address + request->count >= end);
        }
    }
}

static void expect_true_readings(const struct bench *bench, const bool *wanted)
{
    for (size_t i = 0; i < bench->map.count; i++) {
        const struct parameter *parameter = &bench->map.parameters[i];
        if (!wanted[i])
            continue;
        if (parameter->kind == KIND_COMMAND)
            assert_false(bench->readings.items[i].asked);
        else if (touches_any(parameter, bench->map.modbus.closed, bench->map.modbus.closed_count))
            expect_symptom(bench, i, SYMPTOM_CLOSED, 0);
        else if (touches_any(parameter, bench->link.holes, bench->link.hole_count))
            expect_symptom(bench, i, SYMPTOM_EXCEPTION, bench->link.hole_exception);
        else
            assert_true(is_read_right(bench, i));
    }
}

static void read_random_part(struct bench *bench, uint32_t *seed)
{
    bool *wanted = memory_new(bench->map.count, sizeof *wanted);
    size_t *parameters = memory_new(bench->map.count, sizeof *parameters);
    size_t count = 0;
    uint32_t one_in = 1 + random_below(seed, 3);
    for (size_t i = bench->map.count; i > 0; i--) {
        wanted[i - 1] = random_below(seed, one_in) == 0;
        if (wanted[i - 1])
            parameters[count++] = i - 1;
    }
    read_these(bench, parameters, count);
    expect_lawful_requests(bench, wanted);
    expect_true_readings(bench, wanted);
    free(parameters);
    free(wanted);
}

static void random_maps_on_random_drives(void **state)
{
    (void)state;
    uint32_t seed = 20260131;
    for (int round = 0; round < 2000; round++) {
        void *one = NULL;
        (void)set_up(&one);
        struct bench *bench = one;
        make_random_map(bench, &seed);
        make_random_drive(bench, &seed);
        for (int pass = 0; pass < 3; pass++)
            read_random_part(bench, &seed);
        (void)tear_down(&one);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_maps_on_random_drives),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
