/* SPDX-License-Identifier: MIT */
/* Asking and waiting while a list is performed: each call returns when it is answered. */
#include "bus/codec.h"
#include "bus/decode.h"
#include "change/perform_internal.h"
#include "motor/show.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { READ_TRIES = 5, READ_PAUSE_US = 100000 /* the first one; each further one is twice as long */ };

void perform_is_done(void *user)
{
    ((struct performance *)user)->done = true;
}

static bool until_done(void *user)
{
    return ((struct performance *)user)->done;
}

/* A signal stops the loop, and what is under way is waited for all the same. */
void perform_run_loop(struct performance *performance)
{
    while (!loop_run(performance->order->loop, until_done, performance, -1))
        continue;
}

static bool never(void *user)
{
    (void)user;
    return false;
}

void perform_wait(struct performance *performance, int64_t for_us)
{
    struct loop *loop = performance->order->loop;
    int64_t until_us = loop_now_us(loop) + for_us;
    while (loop_now_us(loop) < until_us)
        (void)loop_run(loop, never, NULL, until_us);
}

static void read_once(struct performance *performance, struct reader *reader, const size_t *parameters, size_t count)
{
    performance->done = false;
    reader_read(reader, parameters, count, perform_is_done, performance);
    perform_run_loop(performance);
}

/* What the map keeps off the wire will not be read by asking again. */
static bool is_missing(const struct readings *readings, size_t parameter)
{
    const struct reading *reading = &readings->items[parameter];
    return reading->asked && reading->raw_count == 0 && reading->symptom.kind != SYMPTOM_CLOSED;
}

bool perform_read(struct performance *performance, const struct wanted *wanted)
{
    struct wanted missing = {0};
    for (size_t i = 0; i < wanted->count; i++)
        wanted_add(&missing, wanted->items[i]);
    for (unsigned try = 0; missing.count > 0 && try < READ_TRIES; try++) {
        if (try > 0)
            perform_wait(performance, (int64_t)READ_PAUSE_US << (try - 1));
        read_once(performance, performance->reader, missing.items, missing.count);
        wanted_free(&missing);
        for (size_t i = 0; i < wanted->count; i++)
            if (is_missing(&performance->readings, wanted->items[i]))
                wanted_add(&missing, wanted->items[i]);
    }
    bool complete = missing.count == 0;
    wanted_free(&missing);
    readings_decode(performance->map, performance->order->change->setpoints, &performance->readings);
    return complete;
}

bool perform_read_place(struct performance *performance, struct address at, unsigned count, uint16_t *words)
{
    static const size_t first = 0;
    struct parameter place = {.name = NULL, .at = at, .words = count, .type = count == 1 ? TYPE_U16 : TYPE_U32};
    struct map map = *performance->map;
    map.parameters = &place;
    map.count = 1;
    struct readings readings;
    readings_init(&readings, 1);
    struct reader *reader =
        reader_new(performance->order->link, &map, (uint8_t)performance->order->change->unit, &readings);
    for (unsigned try = 0; try < READ_TRIES && readings.items[0].raw_count == 0; try++) {
        if (try > 0)
            perform_wait(performance, (int64_t)READ_PAUSE_US << (try - 1));
        read_once(performance, reader, &first, 1);
        if (readings.items[0].symptom.kind == SYMPTOM_CLOSED || readings.items[0].symptom.kind == SYMPTOM_EXCEPTION)
            break;
    }
    bool was_read = readings.items[0].raw_count == count;
    if (was_read)
        memcpy(words, readings.items[0].raw, count * sizeof *words);
    reader_free(reader);
    readings_free(&readings);
    return was_read;
}

/* A drive that counts in other steps than a float may give back the one beside it. */
static bool is_near(const struct performance *performance, const struct change *change, const uint16_t *words)
{
    if (performance->map->parameters[change->parameter].type != TYPE_F32)
        return false;
    enum word_order order = performance->map->modbus.word_order;
    uint32_t raw = codec_raw(words, 2, order), to_raw = codec_raw(change->to, 2, order);
    double number = NAN, to = NAN;
    if (!codec_number(TYPE_F32, raw, 1, 0, &number) || !codec_number(TYPE_F32, to_raw, 1, 0, &to))
        return false;
    return fabs(number - to) <= codec_step(TYPE_F32, to_raw, 1);
}

enum held perform_held(const struct performance *performance, const struct change *change, const uint16_t *words,
                       size_t count)
{
    if (count != change->words)
        return HELD_UNREAD;
    if (memcmp(words, change->to, count * sizeof *words) == 0)
        return HELD_NEW;
    if (memcmp(words, change->now, count * sizeof *words) == 0)
        return HELD_OLD;
    return is_near(performance, change, words) ? HELD_NEW : HELD_OTHER;
}

void perform_note(struct change *change, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    char *more = text_format_list(format, list);
    va_end(list);
    if (change->note == NULL) {
        change->note = more;
        return;
    }
    char *whole = text_format("%s; %s", change->note, more);
    free(change->note);
    free(more);
    change->note = whole;
}

void perform_found(struct change *change, const struct reading *reading)
{
    free(change->found);
    free(change->found_shown);
    change->found = NULL;
    change->found_shown = NULL;
    if (reading->raw_count != change->words)
        return;
    change->found = memory_new(reading->raw_count, sizeof *change->found);
    memcpy(change->found, reading->raw, reading->raw_count * sizeof *change->found);
    change->found_shown = show_value(&reading->value, reading->unit, reading->step);
}
