/* SPDX-License-Identifier: MIT */
/* Reads a drive's live parameters over and over, as fast as the line allows. */
#include "witness/sampler.h"

#include "bus/decode.h"
#include "bus/link_line.h"
#include "bus/reader.h"
#include "bus/rounds.h"
#include "motor/quantity.h"
#include "types/memory.h"
#include "witness/sample_value.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    DEAD_LINE_US = 250000, /* before a line that failed is tried again */
    TCP_EVERY_US = 1000,   /* no ramp needs more, and a drive has other work to do */
    WITHOUT_WIRE = 4,      /* so many replies that come too soon are no chance */
    REQUEST_CHARACTERS = 8,
    REPLY_CHARACTERS = 5, /* and two a register: MODBUS over Serial Line V1.02 s 2.5.1, MODBUS V1.1b3 s 6.3 */
};

/* A request of late, and when it went out. */
struct sent {
    struct read_tag tag;
    int64_t at_us;
};

struct sampler {
    struct link *link;
    struct loop *loop;
    struct watch *pause;
    int64_t resume_us; /* of a pause; -1: a request is under way */
    struct sampler_order order;
    struct readings readings; /* the deciding ones, and what is sampled as it is read */
    struct rounds *rounds;
    unsigned version; /* of the rounds, as the link was told */
    struct round asked;
    struct sent sent[ROUNDS_APART]; /* the latest last */
    size_t sent_count;
    struct samples samples;
    struct traffic traffic_before;
    int64_t began_us, answered_us; /* on the loop's clock */
    unsigned too_soon;             /* replies that no wire could have brought, less those that one could */
    bool without_wire;             /* the line is a pseudo-terminal: what is sent is there at once */
};

bool sampler_shows(enum means means)
{
    static const enum means shown[] = {
        MEANS_LIVE_STATE,          MEANS_LIVE_OUTPUT_FREQUENCY, MEANS_LIVE_FREQUENCY_COMMAND,
        MEANS_LIVE_OUTPUT_CURRENT, MEANS_LIVE_OUTPUT_VOLTAGE,   MEANS_LIVE_DC_BUS_VOLTAGE,
        MEANS_LIVE_SPEED,          MEANS_LIVE_TORQUE,           MEANS_LIVE_OUTPUT_POWER,
        MEANS_LIVE_TRIP_CODE,
    };
    for (size_t i = 0; i < sizeof shown / sizeof *shown; i++)
        if (shown[i] == means)
            return true;
    return false;
}

size_t *sampler_choose(const struct map *map, const struct readings *readings, size_t *count)
{
    size_t *chosen = memory_new(map->count, sizeof *chosen);
    bool taken[MEANS_COUNT] = {false};
    *count = 0;
    for (size_t i = 0; i < map->count; i++) {
        enum means means = map->parameters[i].means;
        double value;
        if (!sampler_shows(means) || taken[means] || !reader_may_ask(map, &map->parameters[i]) ||
            !sample_value(map, readings, i, &value))
            continue;
        taken[means] = true;
        chosen[(*count)++] = i;
    }
    return chosen;
}

/* ---- when the drive read its registers ---- */

struct moment {
    int64_t at_us, half_us;
};

static int64_t most(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

/* On a wire a drive can read its registers only when the request is there, and before the reply begins. What is there
 * sooner is an older reply, doubled or late, and false; unless all are. */
static bool moment_of(struct sampler *sampler, const struct reply *reply, struct moment *moment)
{
    int64_t from_us = reply->sent_us + link_wire_us(sampler->link, REQUEST_CHARACTERS);
    int64_t to_us = reply->came_us - link_wire_us(sampler->link, REPLY_CHARACTERS + 2 * reply->count);
    if (sampler->without_wire) {
        from_us = reply->sent_us;
        to_us = most(reply->came_us, from_us);
    } else if (to_us < from_us) {
        sampler->too_soon++;
        sampler->without_wire = sampler->too_soon >= WITHOUT_WIRE;
        return false;
    }
    sampler->too_soon -= sampler->too_soon > 0;
    *moment = (struct moment){(from_us + to_us) / 2, (to_us - from_us + 1) / 2};
    return true;
}

/* A reply may be an older one's, late or doubled, if that has the same length: then it is older than it looks. */
static void reach_back(const struct sampler *sampler, struct moment *moment)
{
    if (link_wire_us(sampler->link, 1) == 0 || sampler->sent_count == 0)
        return; /* TCP numbers its requests */
    const struct sent *last = &sampler->sent[sampler->sent_count - 1];
    for (size_t i = 0; i + 1 < sampler->sent_count; i++)
        if (sampler->sent[i].tag.function == last->tag.function && sampler->sent[i].tag.count == last->tag.count) {
            moment->half_us = most(moment->half_us, moment->at_us - sampler->sent[i].at_us);
            return;
        }
}

/* ---- samples ---- */

static void take_words(struct sampler *sampler, size_t parameter, const uint16_t *words)
{
    struct reading *reading = &sampler->readings.items[parameter];
    reading->asked = true;
    reading->symptom = (struct symptom){0};
    reading->raw_count = sampler->order.map->parameters[parameter].words;
    if (reading->raw == NULL)
        reading->raw = memory_new(reading->raw_count, sizeof *reading->raw);
    memcpy(reading->raw, words, reading->raw_count * sizeof *reading->raw);
}

/* False: it is an older one. */
static bool take_reply(struct sampler *sampler, const struct reply *reply)
{
    const struct sampler_order *order = &sampler->order;
    struct moment moment;
    if (!moment_of(sampler, reply, &moment))
        return false;
    reach_back(sampler, &moment);
    size_t at;
    for (size_t i = 0; i < order->count; i++)
        if (rounds_has(sampler->rounds, &sampler->asked, order->parameters[i], &at))
            take_words(sampler, order->parameters[i], reply->words + at);
    readings_decode(order->map, order->setpoints, &sampler->readings);
    for (size_t i = 0; i < order->count; i++) {
        struct sample sample = {moment.at_us - sampler->began_us, moment.half_us, 0};
        if (rounds_has(sampler->rounds, &sampler->asked, order->parameters[i], &at) &&
            sample_value(order->map, &sampler->readings, order->parameters[i], &sample.value))
            series_add(&sampler->samples.items[i], &sample);
    }
    return true;
}

static void count_traffic(struct sampler *sampler)
{
    const struct traffic *now = link_traffic(sampler->link);
    const struct traffic *before = &sampler->traffic_before;
    sampler->samples.traffic = (struct traffic){.requests = now->requests - before->requests,
                                                .retries = now->retries - before->retries,
                                                .exceptions = now->exceptions - before->exceptions,
                                                .timeouts = now->timeouts - before->timeouts,
                                                .bad_frames = now->bad_frames - before->bad_frames,
                                                .discarded = now->discarded - before->discarded};
}

/* ---- asking ---- */

static void ask(struct sampler *sampler);

static void pause_until(struct sampler *sampler, int64_t until_us)
{
    sampler->resume_us = until_us;
    watch_deadline(sampler->pause, until_us);
}

static bool is_dead_line(struct symptom symptom)
{
    return symptom.kind == SYMPTOM_REFUSED || symptom.kind == SYMPTOM_UNREACHABLE || symptom.kind == SYMPTOM_CLOSED;
}

static void reply_came(void *user, const struct request *request, const struct reply *reply)
{
    struct sampler *sampler = user;
    struct symptom symptom = reply->symptom;
    if (symptom.kind == SYMPTOM_NONE && reply->count != request->count)
        symptom.kind = SYMPTOM_CORRUPT;
    if (sampler->sent_count > 0)
        sampler->sent[sampler->sent_count - 1].at_us = reply->sent_us;
    count_traffic(sampler);
    if (symptom.kind == SYMPTOM_NONE) {
        sampler->answered_us = reply->came_us;
        if (!take_reply(sampler, reply))
            symptom.kind = SYMPTOM_CORRUPT;
    }
    rounds_learn(sampler->rounds, &sampler->asked, symptom);
    if (is_dead_line(symptom))
        pause_until(sampler, loop_now_us(sampler->loop) + DEAD_LINE_US);
    else if (link_wire_us(sampler->link, 1) == 0)
        pause_until(sampler, reply->sent_us + TCP_EVERY_US);
    else
        ask(sampler);
}

static void tell_link(struct sampler *sampler)
{
    if (sampler->version == rounds_version(sampler->rounds))
        return;
    size_t count;
    struct read_tag *tags = rounds_tags(sampler->rounds, &count);
    link_reserve(sampler->link, sampler->order.unit, tags, count);
    free(tags);
    sampler->version = rounds_version(sampler->rounds);
}

static void remember(struct sampler *sampler)
{
    if (sampler->sent_count == ROUNDS_APART)
        memmove(sampler->sent, sampler->sent + 1, --sampler->sent_count * sizeof *sampler->sent);
    sampler->sent[sampler->sent_count++] = (struct sent){round_tag(&sampler->asked), loop_now_us(sampler->loop)};
}

static void ask(struct sampler *sampler)
{
    pause_until(sampler, -1);
    if (!rounds_next(sampler->rounds, &sampler->asked))
        return; /* the drive has come to refuse everything */
    tell_link(sampler);
    remember(sampler);
    const struct modbus_habits *habits = &sampler->order.map->modbus;
    const struct read_tag tag = round_tag(&sampler->asked);
    const struct request request = {.unit = sampler->order.unit,
                                    .function = tag.function,
                                    .address = tag.address,
                                    .count = tag.count,
                                    .answers_within_us = llround(habits->answers_within_s * 1e6),
                                    .rest_between_us = llround(habits->rest_between_s * 1e6)};
    link_submit(sampler->link, &request, reply_came, sampler);
}

/* A watch is called when it may be due. */
static void resume(void *user)
{
    struct sampler *sampler = user;
    if (sampler->resume_us >= 0 && loop_now_us(sampler->loop) >= sampler->resume_us)
        ask(sampler);
}

/* ---- its life ---- */

static void copy_reading(struct reading *to, const struct reading *from)
{
    to->asked = from->asked;
    to->symptom = from->symptom;
    to->raw_count = from->raw_count;
    if (from->raw_count == 0)
        return;
    to->raw = memory_new(from->raw_count, sizeof *to->raw);
    memcpy(to->raw, from->raw, from->raw_count * sizeof *to->raw);
}

static void begin_series(struct sampler *sampler)
{
    const struct sampler_order *order = &sampler->order;
    sampler->samples.items = memory_new(order->count, sizeof *sampler->samples.items);
    sampler->samples.count = order->count;
    for (size_t i = 0; i < order->count; i++) {
        const struct parameter *parameter = &order->map->parameters[order->parameters[i]];
        struct series *series = &sampler->samples.items[i];
        *series = (struct series){.means = parameter->means,
                                  .parameter = text_copy(parameter->name),
                                  .step = sample_step(order->map, &sampler->readings, order->parameters[i]),
                                  .obtained = parameter->obtained};
        if (parameter->refreshed_every.given)
            series->refreshed_every_s = quantity_base(&parameter->refreshed_every);
        if (parameter->filtered_over.given)
            series->filtered_over_s = quantity_base(&parameter->filtered_over);
    }
}

struct sampler *sampler_start(struct link *link, struct loop *loop, const struct sampler_order *order)
{
    struct sampler *sampler = memory_new(1, sizeof *sampler);
    const struct clock *clock = loop_clock(loop);
    sampler->link = link;
    sampler->loop = loop;
    sampler->order = *order;
    readings_init(&sampler->readings, order->map->count);
    for (size_t i = 0; i < order->deciding_count; i++)
        copy_reading(&sampler->readings.items[order->deciding[i]], &order->readings->items[order->deciding[i]]);
    for (size_t i = 0; i < order->count; i++)
        if (sampler->readings.items[order->parameters[i]].raw_count == 0)
            copy_reading(&sampler->readings.items[order->parameters[i]], &order->readings->items[order->parameters[i]]);
    readings_decode(order->map, order->setpoints, &sampler->readings);
    begin_series(sampler);
    sampler->rounds = rounds_new(order->map, order->parameters, order->count, link_request_cost(link, order->unit),
                                 link_wire_us(link, 1) == 0);
    sampler->traffic_before = *link_traffic(link);
    sampler->samples.began_ms = clock->wall_ms(clock->user);
    sampler->began_us = sampler->answered_us = loop_now_us(loop);
    sampler->pause = watch_new(loop, resume, sampler);
    ask(sampler);
    return sampler;
}

const struct samples *sampler_samples(const struct sampler *sampler)
{
    return &sampler->samples;
}

int64_t sampler_silent_us(const struct sampler *sampler)
{
    return loop_now_us(sampler->loop) - sampler->answered_us;
}

void sampler_keep_last(struct sampler *sampler, int64_t keep_us)
{
    for (size_t i = 0; i < sampler->samples.count; i++) {
        struct series *series = &sampler->samples.items[i];
        size_t first = 0;
        while (first < series->count && series->items[first].at_us < series->items[series->count - 1].at_us - keep_us)
            first++;
        series->count -= first;
        if (first > 0)
            memmove(series->items, series->items + first, series->count * sizeof *series->items);
    }
}

void sampler_end(struct sampler *sampler, struct samples *samples)
{
    const struct clock *clock = loop_clock(sampler->loop);
    *samples = sampler->samples;
    samples->ended_ms = clock->wall_ms(clock->user);
    watch_free(sampler->pause);
    rounds_free(sampler->rounds);
    readings_free(&sampler->readings);
    free(sampler);
}
