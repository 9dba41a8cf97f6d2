/* SPDX-License-Identifier: MIT */
/* The sampler on a line in memory, at whose end a drive holds the very time at which a register is read: so each sample
 * shows whether its moment is right, whatever the line did to it. */
#include "bus/line_fake.h"
#include "bus/map_builder.h"
#include "bus/rounds.h"
#include "witness/sampler.h"

#include <math.h>

enum { TURNAROUND_US = 5000, SEEDS = 300 };
enum { AT_STATE, AT_TIME = 1, AT_CURRENT = 3, AT_BUS = 4, AT_VOLTAGE = 7 }; /* input registers; the time has two */

/* The drive, what befalls its replies, and what it was asked. */
struct rig {
    struct line_fake *line;
    struct map map;
    struct readings readings;
    struct sampler *sampler;
    uint64_t seed;
    unsigned doubled, lost, late, junk; /* per mille of the requests */
    bool strict;                        /* it refuses places that the map does not know */
    bool mute;
    int64_t busy_us;
    struct read_tag asked[40000];
    size_t asked_count;
};

static unsigned chance(struct rig *rig, unsigned sides)
{
    rig->seed ^= rig->seed << 13;
    rig->seed ^= rig->seed >> 7;
    rig->seed ^= rig->seed << 17;
    return (unsigned)(rig->seed >> 33) % sides;
}

static int64_t wire_us(size_t characters)
{
    return (int64_t)characters * 572917 / 1000; /* 11 bits at 19200 baud */
}

static bool is_known(const struct rig *rig, unsigned place)
{
    for (size_t i = 0; i < rig->map.count; i++) {
        const struct parameter *parameter = &rig->map.parameters[i];
        if (place >= parameter->at.at && place < parameter->at.at + parameter->words)
            return true;
    }
    return false;
}

/* What an input register holds at that time. */
static uint16_t word_at(uint16_t address, int64_t read_us)
{
    switch (address) {
    case AT_STATE:
        return 5;
    case AT_TIME:
        return (uint16_t)((uint64_t)read_us >> 16);
    case AT_TIME + 1:
        return (uint16_t)read_us;
    case AT_CURRENT:
        return 301;
    case AT_BUS:
        return 679;
    case AT_VOLTAGE:
        return 460;
    default:
        return fake_value(address);
    }
}

static size_t build_reply(const struct rig *rig, const uint8_t *frame, int64_t read_us, uint8_t *reply)
{
    const uint8_t *asked = fake_pdu(rig->line, frame);
    uint16_t address = (uint16_t)(asked[1] << 8 | asked[2]);
    uint16_t count = (uint16_t)(asked[3] << 8 | asked[4]);
    uint8_t pdu[PDU_BYTES] = {asked[0], (uint8_t)(2 * count)};
    for (uint16_t i = 0; i < count; i++) {
        if (rig->strict && !is_known(rig, address + i))
            return fake_exception(rig->line, frame, reply, 0x02);
        uint16_t word = word_at((uint16_t)(address + i), read_us);
        pdu[2 + 2 * i] = (uint8_t)(word >> 8);
        pdu[3 + 2 * i] = (uint8_t)word;
    }
    return fake_frame(rig->line, frame, reply, pdu, 2U + pdu[1]);
}

static void hear(struct line_fake *line, const uint8_t *frame, size_t length)
{
    struct rig *rig = line->user;
    const uint8_t *asked = fake_pdu(line, frame);
    (void)length;
    assert_true(rig->asked_count < sizeof rig->asked / sizeof *rig->asked);
    rig->asked[rig->asked_count++] =
        (struct read_tag){asked[0], (uint16_t)(asked[1] << 8 | asked[2]), (uint16_t)(asked[3] << 8 | asked[4])};
    if (rig->mute || chance(rig, 1000) < rig->lost)
        return;
    int64_t there_us = line->now_us + (line->tcp ? 0 : wire_us(8));
    if (there_us < rig->busy_us)
        there_us = rig->busy_us; /* it answers in the order in which it is asked */
    int64_t read_us = there_us + (int64_t)chance(rig, TURNAROUND_US);
    if (chance(rig, 1000) < rig->late)
        read_us += 400000 + (int64_t)chance(rig, 300000);
    uint8_t reply[TCP_BYTES];
    size_t reply_length = build_reply(rig, frame, read_us, reply);
    int64_t begins_us = there_us + TURNAROUND_US > read_us ? there_us + TURNAROUND_US : read_us;
    int64_t whole_us = begins_us + (line->tcp ? 0 : wire_us(reply_length));
    rig->busy_us = whole_us;
    if (chance(rig, 1000) < rig->junk)
        reply[chance(rig, (unsigned)reply_length)] ^= (uint8_t)(1U << chance(rig, 8));
    fake_deliver(line, whole_us, reply, reply_length, false);
    if (chance(rig, 1000) < rig->doubled)
        fake_deliver(line, whole_us + (int64_t)chance(rig, 30000), reply, reply_length, false);
}

/* ---- the map ---- */

static void add_live(struct rig *rig, const char *name, unsigned at, enum value_type type, enum unit unit,
                     enum means means)
{
    struct parameter *parameter = map_add(&rig->map, name, TABLE_INPUT, at, type);
    parameter->unit = unit;
    parameter->means = means;
}

/* Its last value stands behind a gap of two, and something that is not sampled behind that. */
static void add_parameters(struct rig *rig)
{
    add_live(rig, "state", AT_STATE, TYPE_BITS, UNIT_NONE, MEANS_LIVE_STATE);
    names_add(&rig->map.parameters[0].bits, 0, "running");
    names_add(&rig->map.parameters[0].bits, 1, "stopped");
    names_add(&rig->map.parameters[0].bits, 2, "at_speed");
    add_live(rig, "frequency", AT_TIME, TYPE_U32, UNIT_HZ, MEANS_LIVE_OUTPUT_FREQUENCY);
    rig->map.parameters[1].scale = 1e-6; /* it reads in seconds */
    rig->map.parameters[1].obtained = OBTAINED_COMMANDED;
    rig->map.parameters[1].refreshed_every = (struct quantity){true, 10, UNIT_MS, 0};
    add_live(rig, "current", AT_CURRENT, TYPE_U16, UNIT_A, MEANS_LIVE_OUTPUT_CURRENT);
    rig->map.parameters[2].scale = 0.01;
    add_live(rig, "bus", AT_BUS, TYPE_U16, UNIT_V, MEANS_LIVE_DC_BUS_VOLTAGE);
    add_live(rig, "voltage", AT_VOLTAGE, TYPE_U16, UNIT_V, MEANS_LIVE_OUTPUT_VOLTAGE);
    add_live(rig, "hours", 40, TYPE_U16, UNIT_H, MEANS_LIVE_HOURS_RUN);
}

static struct rig *rig_new(bool tcp, uint64_t seed)
{
    struct rig *rig = test_calloc(1, sizeof *rig);
    rig->line = fake_new(tcp);
    rig->line->drive = hear;
    rig->line->user = rig;
    rig->seed = seed * 0x9e3779b97f4a7c15U + 1;
    rig->map = map_start(ORDER_HIGH_FIRST);
    add_parameters(rig);
    return rig;
}

/* As if a visit had read everything. */
static void read_before(struct rig *rig)
{
    readings_init(&rig->readings, rig->map.count);
    for (size_t i = 0; i < rig->map.count; i++) {
        const struct parameter *parameter = &rig->map.parameters[i];
        struct reading *reading = &rig->readings.items[i];
        reading->asked = reading->in_force = true;
        reading->raw_count = parameter->words;
        reading->raw = memory_new(parameter->words, sizeof *reading->raw);
        for (unsigned k = 0; k < parameter->words; k++)
            reading->raw[k] = word_at((uint16_t)(parameter->at.at + k), 0);
        reading->value = (struct value){.kind = parameter->type == TYPE_BITS ? VALUE_BITS : VALUE_NUMBER};
    }
}

static bool never(void *user)
{
    (void)user;
    return false;
}

/* Samples for so long of the line's time. */
static void rig_run(struct rig *rig, int64_t for_us, struct samples *samples)
{
    size_t count;
    if (rig->readings.items == NULL)
        read_before(rig);
    size_t *chosen = sampler_choose(&rig->map, &rig->readings, &count);
    const struct sampler_order order = {
        .map = &rig->map, .unit = 1, .parameters = chosen, .count = count, .readings = &rig->readings};
    rig->sampler = sampler_start(rig->line->link, rig->line->loop, &order);
    (void)loop_run(rig->line->loop, never, NULL, rig->line->now_us + for_us);
    link_free(rig->line->link);
    rig->line->link = NULL;
    sampler_end(rig->sampler, samples);
    free(chosen);
}

static void rig_free(struct rig *rig)
{
    readings_free(&rig->readings);
    map_free(&rig->map);
    fake_free(rig->line);
    test_free(rig);
}

static const struct series *find(const struct samples *samples, enum means means)
{
    const struct series *series = samples_find(samples, means);
    assert_non_null(series);
    return series;
}

/* Each sample was taken when it says, and holds what that register held. */
static void assert_true_samples(const struct samples *samples)
{
    const int64_t began_us = 1000000; /* of a line in memory */
    const struct series *time = find(samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    for (size_t i = 0; i < time->count; i++) {
        const struct sample *sample = &time->items[i];
        const int64_t read_us = llround(sample->value * 1e6) - began_us;
        if (llabs(read_us - sample->at_us) > sample->half_us + 2)
            fail_msg("sample %zu: read at %lld us, taken for %lld +- %lld", i, (long long)read_us,
                     (long long)sample->at_us, (long long)sample->half_us);
        assert_true(i == 0 || sample->at_us > time->items[i - 1].at_us);
    }
    const struct {
        enum means means;
        double value;
    } rows[] = {{MEANS_LIVE_STATE, RUN_RUNNING | RUN_AT_SPEED},
                {MEANS_LIVE_OUTPUT_CURRENT, 3.01},
                {MEANS_LIVE_DC_BUS_VOLTAGE, 679},
                {MEANS_LIVE_OUTPUT_VOLTAGE, 460}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct series *series = find(samples, rows[i].means);
        for (size_t k = 0; k < series->count; k++)
            assert_true(series->items[k].value == rows[i].value);
    }
}

/* ---- a healthy line ---- */

/* One block of eight registers, 7 wanted and a gap of two: MODBUS over Serial Line V1.02 s 2.5.1 gives the silences and
 * the characters of the frames, V1.1b3 s 6.4 their number. The lengths that differ cost a register a request in the
 * mean. */
static void a_run_takes_nine_tenths_of_what_the_wire_allows(void **state)
{
    (void)state;
    struct rig *rig = rig_new(false, 1);
    struct samples samples;
    const int64_t run_us = 10000000;
    rig_run(rig, run_us, &samples);
    const double request_us = (double)wire_us(8 + 5 + 2 * 8) + 3.5 * (double)wire_us(1) + TURNAROUND_US;
    const double most = (double)run_us / request_us;
    assert_true((double)find(&samples, MEANS_LIVE_OUTPUT_FREQUENCY)->count >= 0.9 * most);
    assert_int_equal(samples.traffic.requests, find(&samples, MEANS_LIVE_OUTPUT_FREQUENCY)->count);
    assert_int_equal(samples.ended_ms - samples.began_ms, run_us / 1000);
    assert_true_samples(&samples);
    samples_free(&samples);
    rig_free(rig);
}

static void a_moment_is_known_to_half_of_the_turnaround(void **state)
{
    (void)state;
    struct rig *rig = rig_new(false, 2);
    struct samples samples;
    rig_run(rig, 2000000, &samples);
    const struct series *series = find(&samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    for (size_t i = 0; i < series->count; i++)
        assert_in_range(series->items[i].half_us, 1, TURNAROUND_US / 2 + 100);
    samples_free(&samples);
    rig_free(rig);
}

static void series_say_what_they_are(void **state)
{
    (void)state;
    struct rig *rig = rig_new(false, 3);
    struct samples samples;
    rig_run(rig, 500000, &samples);
    assert_int_equal(samples.count, 5); /* not the hours */
    assert_string_equal(samples.items[0].parameter, "state");
    const struct series *frequency = find(&samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    assert_int_equal(frequency->obtained, OBTAINED_COMMANDED);
    assert_true(fabs(frequency->step - 1e-6) < 1e-15 && fabs(frequency->refreshed_every_s - 0.01) < 1e-12);
    assert_true(frequency->filtered_over_s == 0);
    assert_true(find(&samples, MEANS_LIVE_STATE)->step == 0);
    samples_free(&samples);
    rig_free(rig);
}

/* ---- what is asked ---- */

static bool same_request(const struct read_tag *a, const struct read_tag *b)
{
    return a->function == b->function && a->count == b->count;
}

static void three_requests_in_a_row_differ_in_length(void **state)
{
    (void)state;
    struct rig *rig = rig_new(false, 4);
    struct samples samples;
    rig_run(rig, 3000000, &samples);
    for (size_t i = 2; i < rig->asked_count; i++) {
        assert_false(same_request(&rig->asked[i], &rig->asked[i - 1]));
        assert_false(same_request(&rig->asked[i], &rig->asked[i - 2]));
        assert_in_range(rig->asked[i].count, 8, 8 + ROUNDS_APART);
    }
    samples_free(&samples);
    rig_free(rig);
}

static bool touches(const struct read_tag *tag, unsigned first, unsigned last)
{
    return tag->address <= last && tag->address + tag->count > first;
}

static void closed_addresses_and_command_words_are_never_touched(void **state)
{
    (void)state;
    for (unsigned first = 5; first <= 12; first++) {
        struct rig *rig = rig_new(false, first);
        struct samples samples;
        map_close(&rig->map, TABLE_INPUT, first == 7 ? 8 : first, first == 7 ? 8 : first);
        struct parameter *command = map_add(&rig->map, "command", TABLE_INPUT, 14, TYPE_U16);
        command->kind = KIND_COMMAND;
        rig_run(rig, 500000, &samples);
        for (size_t i = 0; i < rig->asked_count; i++) {
            assert_false(touches(&rig->asked[i], first == 7 ? 8 : first, first == 7 ? 8 : first));
            assert_false(touches(&rig->asked[i], 14, 14));
        }
        assert_true(find(&samples, MEANS_LIVE_OUTPUT_VOLTAGE)->count > 5);
        assert_true_samples(&samples);
        samples_free(&samples);
        rig_free(rig);
    }
}

static void no_request_is_longer_than_the_map_allows(void **state)
{
    (void)state;
    for (unsigned longest = 2; longest <= 9; longest++) {
        struct rig *rig = rig_new(false, longest);
        struct samples samples;
        rig->map.modbus.longest_read = longest;
        rig_run(rig, 1000000, &samples);
        for (size_t i = 0; i < rig->asked_count; i++)
            assert_true(rig->asked[i].count <= longest);
        assert_true(find(&samples, MEANS_LIVE_OUTPUT_FREQUENCY)->count > 2);
        assert_true_samples(&samples);
        samples_free(&samples);
        rig_free(rig);
    }
}

/* ---- a drive that refuses what it does not know ---- */

static void a_refusing_drive_is_read_as_it_likes(void **state)
{
    (void)state;
    struct rig *rig = rig_new(false, 5);
    struct samples samples;
    rig->strict = true;
    rig_run(rig, 10000000, &samples);
    assert_true(samples.traffic.exceptions < 20);
    assert_true(find(&samples, MEANS_LIVE_OUTPUT_FREQUENCY)->count > 100);
    assert_true(find(&samples, MEANS_LIVE_OUTPUT_VOLTAGE)->count > 100);
    assert_true_samples(&samples);
    samples_free(&samples);
    rig_free(rig);
}

/* One value is missing altogether: the others are sampled. */
static void a_value_that_is_refused_is_left_out(void **state)
{
    (void)state;
    struct rig *rig = rig_new(false, 6);
    struct samples samples;
    read_before(rig);
    rig->strict = true;
    rig->map.parameters[4].at.at = 50;
    rig_run(rig, 5000000, &samples);
    rig->map.parameters[4].at.at = AT_VOLTAGE;
    assert_true(find(&samples, MEANS_LIVE_OUTPUT_FREQUENCY)->count > 100);
    samples_free(&samples);
    rig_free(rig);
}

/* ---- a bad line ---- */

/* Of all lines and drives: not one sample is older than it says, or of another register. */
static void faults_leave_gaps_and_true_moments(void **state)
{
    (void)state;
    size_t taken = 0;
    size_t failed = 0;
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        struct rig *rig = rig_new(false, seed);
        struct samples samples;
        rig->strict = seed % 3 == 0;
        rig->doubled = seed % 2 == 0 ? 150 : 30;
        rig->lost = 20;
        rig->late = seed % 5 == 0 ? 20 : 0;
        rig->junk = 30;
        rig_run(rig, 8000000, &samples);
        assert_int_equal(samples.traffic.retries, 0);
        assert_true_samples(&samples);
        taken += find(&samples, MEANS_LIVE_OUTPUT_FREQUENCY)->count;
        failed += samples.traffic.timeouts + samples.traffic.bad_frames;
        samples_free(&samples);
        rig_free(rig);
    }
    assert_true(taken > 60 * SEEDS);
    assert_true(failed > 5 * SEEDS);
}

/* ---- TCP, and no line at all ---- */

static void tcp_is_asked_a_thousand_times_a_second_at_most(void **state)
{
    (void)state;
    struct rig *rig = rig_new(true, 7);
    struct samples samples;
    rig_run(rig, 2000000, &samples);
    for (size_t i = 1; i < rig->asked_count; i++)
        assert_true(same_request(&rig->asked[i], &rig->asked[0])); /* numbered: no need to differ */
    assert_true(find(&samples, MEANS_LIVE_OUTPUT_FREQUENCY)->count > 300);
    assert_true(rig->asked_count <= 2000);
    assert_true_samples(&samples);
    samples_free(&samples);
    rig_free(rig);
}

static void a_line_that_is_gone_is_tried_four_times_a_second(void **state)
{
    (void)state;
    struct rig *rig = rig_new(true, 8);
    struct samples samples;
    rig->line->contact = CONTACT_REFUSED;
    rig_run(rig, 2000000, &samples);
    assert_in_range(rig->line->connects, 6, 10);
    assert_int_equal(find(&samples, MEANS_LIVE_OUTPUT_FREQUENCY)->count, 0);
    samples_free(&samples);
    rig_free(rig);
}

/* ---- what is chosen, dropped, and told meanwhile ---- */

static void what_was_not_read_before_is_not_sampled(void **state)
{
    (void)state;
    struct rig *rig = rig_new(false, 9);
    read_before(rig);
    rig->readings.items[2].symptom.kind = SYMPTOM_LOCKED;
    rig->readings.items[3].in_force = false;
    add_live(rig, "second_voltage", 9, TYPE_U16, UNIT_V, MEANS_LIVE_OUTPUT_VOLTAGE);
    struct readings more = {0};
    readings_init(&more, rig->map.count);
    for (size_t i = 0; i + 1 < rig->map.count; i++) {
        more.items[i] = rig->readings.items[i];
        rig->readings.items[i] = (struct reading){0};
    }
    const uint16_t word = 1;
    reading_put(&more, rig->map.count - 1, &word, 1);
    more.items[rig->map.count - 1].in_force = true;
    more.items[rig->map.count - 1].value.kind = VALUE_NUMBER;
    size_t count;
    size_t *chosen = sampler_choose(&rig->map, &more, &count);
    assert_int_equal(count, 3);
    assert_int_equal(chosen[0], 0);
    assert_int_equal(chosen[1], 1);
    assert_int_equal(chosen[2], 4); /* the first of its means */
    free(chosen);
    readings_free(&more);
    rig_free(rig);
}

static void what_is_old_can_be_dropped_while_it_goes_on(void **state)
{
    (void)state;
    struct rig *rig = rig_new(false, 10);
    struct samples samples;
    size_t count;
    read_before(rig);
    size_t *chosen = sampler_choose(&rig->map, &rig->readings, &count);
    const struct sampler_order order = {
        .map = &rig->map, .unit = 1, .parameters = chosen, .count = count, .readings = &rig->readings};
    rig->sampler = sampler_start(rig->line->link, rig->line->loop, &order);
    for (int i = 0; i < 5; i++) {
        (void)loop_run(rig->line->loop, never, NULL, rig->line->now_us + 3000000);
        sampler_keep_last(rig->sampler, 1000000);
        const struct series *series = find(sampler_samples(rig->sampler), MEANS_LIVE_OUTPUT_FREQUENCY);
        assert_in_range(series->items[series->count - 1].at_us - series->items[0].at_us, 900000, 1000000);
    }
    assert_true(sampler_silent_us(rig->sampler) < 100000);
    rig->mute = true;
    (void)loop_run(rig->line->loop, never, NULL, rig->line->now_us + 4000000);
    assert_in_range(sampler_silent_us(rig->sampler), 3900000, 4100000);
    link_free(rig->line->link);
    rig->line->link = NULL;
    sampler_end(rig->sampler, &samples);
    assert_true_samples(&samples);
    samples_free(&samples);
    free(chosen);
    rig_free(rig);
}

/* A percentage of what was read before, and a unit that was chosen then. */
static void values_are_decoded_by_what_was_read_before(void **state)
{
    (void)state;
    struct rig *rig = rig_new(false, 11);
    struct samples samples;
    struct parameter *rated = map_add(&rig->map, "rated", TABLE_HOLDING, 100, TYPE_U16);
    rated->unit = UNIT_MA;
    rated->means = MEANS_DRIVE_RATED_CURRENT;
    rig->map.parameters[2].is_percent = true;
    rig->map.parameters[2].percent_of = MEANS_DRIVE_RATED_CURRENT;
    rig->map.parameters[2].unit = UNIT_PERCENT;
    rig->map.parameters[2].scale = 1;
    const size_t deciding[] = {rig->map.count - 1};
    size_t count;
    read_before(rig);
    reading_put_word(&rig->readings, deciding[0], 4000);
    size_t *chosen = sampler_choose(&rig->map, &rig->readings, &count);
    const struct sampler_order order = {.map = &rig->map,
                                        .unit = 1,
                                        .parameters = chosen,
                                        .count = count,
                                        .readings = &rig->readings,
                                        .deciding = deciding,
                                        .deciding_count = 1};
    rig->sampler = sampler_start(rig->line->link, rig->line->loop, &order);
    (void)loop_run(rig->line->loop, never, NULL, rig->line->now_us + 500000);
    link_free(rig->line->link);
    rig->line->link = NULL;
    sampler_end(rig->sampler, &samples);
    const struct series *current = find(&samples, MEANS_LIVE_OUTPUT_CURRENT);
    assert_true(current->count > 5);
    assert_true(fabs(current->items[0].value - 4.0 * 301 / 100) < 1e-9); /* 301 % of 4000 mA, in A */
    assert_true(fabs(current->step - 0.04) < 1e-12);
    samples_free(&samples);
    free(chosen);
    rig_free(rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_run_takes_nine_tenths_of_what_the_wire_allows),
        cmocka_unit_test(a_moment_is_known_to_half_of_the_turnaround),
        cmocka_unit_test(series_say_what_they_are),
        cmocka_unit_test(three_requests_in_a_row_differ_in_length),
        cmocka_unit_test(closed_addresses_and_command_words_are_never_touched),
        cmocka_unit_test(no_request_is_longer_than_the_map_allows),
        cmocka_unit_test(a_refusing_drive_is_read_as_it_likes),
        cmocka_unit_test(a_value_that_is_refused_is_left_out),
        cmocka_unit_test(faults_leave_gaps_and_true_moments),
        cmocka_unit_test(tcp_is_asked_a_thousand_times_a_second_at_most),
        cmocka_unit_test(a_line_that_is_gone_is_tried_four_times_a_second),
        cmocka_unit_test(what_was_not_read_before_is_not_sampled),
        cmocka_unit_test(what_is_old_can_be_dropped_while_it_goes_on),
        cmocka_unit_test(values_are_decoded_by_what_was_read_before),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
