/* SPDX-License-Identifier: MIT */
/* Searching a line for units: what is asked when, and when it is over. */
#include "bus/search.h"

#include "bus/search_internal.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

enum {
    /* A gateway must be given the time to give up its own line; a host that says nothing of the first units that are
     * not there will not say more of the others. */
    HOST_FIRST_US = 3000000,
    HOST_LATER_US = 1000000,
    HOST_FIRST_UNITS = 3,
    CLOSED_ROW = 3,
    DEVICE_UNIT = 255, /* what a TCP device itself goes by (MODBUS Messaging on TCP/IP V1.0b, 4.4.2.1, from memory) */
    /* One device that does not look at the unit number, where it answers to all of the first units. */
    UNITS_THAT_TELL = 4,
};

int64_t search_now_us(const struct search *search)
{
    return search->clock.now_us(search->clock.user);
}

struct serial_format search_format(const struct search *search)
{
    if (search->ground.format == NO_FORMAT)
        return (struct serial_format){0};
    return search->first.formats[search->ground.format];
}

bool search_is_gateways(const struct search *search, struct symptom symptom)
{
    return !search->serial && symptom.kind == SYMPTOM_EXCEPTION &&
           (symptom.exception == 0x0a || symptom.exception == 0x0b);
}

static size_t found_count(const struct search *search)
{
    size_t count = 0;
    for (size_t i = 0; i < search->result.unit_count; i++)
        count += found_unit_sure(&search->result.units[i]);
    return count;
}

/* ---- the end ---- */

/* What the line looks like when nothing more is known of it than what came so far. */
static enum search_verdict verdict_so_far(const struct search *search)
{
    if (found_count(search) > 0)
        return SEARCH_FOUND;
    if (search->result.unit_count > 0 || search_has_signs(search))
        return SEARCH_SOMETHING;
    return search->gateway_spoke ? SEARCH_GATEWAY_ONLY : SEARCH_NOTHING;
}

static void conclude(struct search *search)
{
    search->result.formats_tried = 0;
    for (size_t format = 0; format < search->first.format_count; format++)
        search->result.formats_tried += memchr(search->states[format], UNIT_ASKED, UNITS) != NULL ||
                                        memchr(search->states[format], UNIT_SETTLED, UNITS) != NULL;
    search->result.traffic = *link_traffic(search->link);
    search->result.ended_ms = search->clock.wall_ms(search->clock.user);
}

void search_finish(struct search *search, enum search_verdict verdict)
{
    search->result.verdict = found_count(search) > 0 && verdict != SEARCH_OTHER_MASTER ? SEARCH_FOUND : verdict;
    conclude(search);
    search->over = true;
    link_trace(search->link, search->watcher, search->watcher_user);
    search->done(search->user);
}

const struct search_result *search_result(struct search *search)
{
    if (!search->over) {
        conclude(search);
        search->result.verdict = verdict_so_far(search);
        search->result.interrupted = true;
    }
    return &search->result;
}

bool search_ended_by(struct search *search, enum symptom_kind kind)
{
    if (search->came.master) {
        search_finish(search, SEARCH_OTHER_MASTER);
        return true;
    }
    if (kind == SYMPTOM_REFUSED || kind == SYMPTOM_UNREACHABLE) {
        search->result.refused = kind == SYMPTOM_REFUSED;
        search->result.remark =
            text_copy(kind == SYMPTOM_REFUSED ? "the host refuses the connection" : "the host cannot be reached");
        search_finish(search, link_opened(search->link) ? SEARCH_LOST : SEARCH_NO_CONTACT);
        return true;
    }
    search->closed_row = kind == SYMPTOM_CLOSED ? search->closed_row + 1 : 0;
    if (search->closed_row == 0 || (!search->serial && search->closed_row < CLOSED_ROW))
        return false;
    search->result.remark = text_copy(search->serial ? "the port went away" : "the host closes every connection");
    search_finish(search, SEARCH_LOST);
    return true;
}

/* ---- one question ---- */

/* Something came back where nothing should: the speed is right, or nearly. */
static void follow_sign(struct search *search)
{
    size_t format = search->ground.format;
    if (!search->serial || search->phase != SEARCH_FIRST_PASS || search->ground.noisy || search->favoured[format])
        return;
    for (size_t i = 0; i < search->first.format_count; i++)
        search->favoured[i] |= search->first.formats[i].baud == search->first.formats[format].baud;
    search_order_favour(&search->first, search->next, &search->ground, search->first.formats[format].baud,
                        search->question.unit);
    search_order_free(&search->second);
    search_order_second(&search->bounds, &search->first, &search->second);
}

static void answered(void *user, const struct request *request, const struct reply *reply)
{
    struct search *search = user;
    search->result.probes++;
    bool sign = search_heard(search, false);
    if (search_ended_by(search, reply->symptom.kind))
        return;
    search->answer = reply->symptom;
    if (search_is_gateways(search, reply->symptom)) {
        int64_t took_us = search_now_us(search) - search->asked_us;
        search->gateway_us = took_us > search->gateway_us ? took_us : search->gateway_us;
        search->gateway_spoke = true;
    } else if (reply->symptom.kind == SYMPTOM_NONE || reply->symptom.kind == SYMPTOM_EXCEPTION) {
        search->states[search->ground.format][request->unit] = UNIT_ANSWERED;
    } else {
        search->silent_units++;
        if (sign)
            follow_sign(search);
    }
    search_go_on(search);
}

static int64_t host_answers_within_us(const struct search *search)
{
    return !search->gateway_spoke && search->silent_units >= HOST_FIRST_UNITS ? HOST_LATER_US : HOST_FIRST_US;
}

/* What one more unit costs that is not there. */
static int64_t absent_us(const struct search *search)
{
    return search->gateway_spoke ? search->gateway_us : host_answers_within_us(search) + SEARCH_MARGIN_US;
}

static void ask(struct search *search, uint8_t unit, int64_t answers_within_us)
{
    uint8_t *state = &search->states[search->ground.format][unit];
    if (*state == UNIT_UNASKED)
        *state = UNIT_ASKED;
    search->question = (struct request){.unit = unit,
                                        .function = FUNCTION_READ_HOLDING_REGISTERS,
                                        .address = 0,
                                        .count = 1,
                                        .answers_within_us = answers_within_us};
    const struct serial_format format = search_format(search);
    search->asked_us = search_now_us(search);
    search->expected_us = search->serial ? search_probe_us(&format, answers_within_us) : absent_us(search);
    search_hear(search);
    link_submit(search->link, &search->question, answered, search);
}

/* ---- listening, and setting the port ---- */

static bool take_format(struct search *search, size_t format)
{
    struct error error;
    const struct serial_format *wanted = &search->first.formats[format];
    if (search->ground.format == format)
        return true;
    if (!link_set_format(search->link, wanted->baud, wanted->parity, wanted->stop_bits, &error)) {
        search->ground.refused[format] = true;
        search->result.formats_refused++;
        return false;
    }
    search->ground.format = format;
    return true;
}

/* Noise is more than the link's: errors that the port counts are, and a glitch is not. */
static void listened(void *user, enum line_heard heard)
{
    struct search *search = user;
    search->listening = false;
    search->ground.listened[search->ground.format] = true;
    bool sign = search_heard(search, true);
    if (heard == HEARD_MASTER) {
        search_finish(search, SEARCH_OTHER_MASTER);
        return;
    }
    search->ground.noisy |= sign;
    search_go_on(search);
}

static void listen(struct search *search)
{
    search->listening = true;
    search->asked_us = search_now_us(search);
    search->expected_us = SEARCH_LISTEN_US;
    search_hear(search);
    link_listen(search->link, SEARCH_LISTEN_US, listened, search);
}

/* ---- what is next ---- */

static bool all_units(struct search *search)
{
    while (search->next < search->unit_count) {
        uint8_t unit = search->units[search->next++];
        if (search->states[search->ground.format][unit] == UNIT_SETTLED)
            continue;
        ask(search, unit, search->serial ? SEARCH_FAST_US : host_answers_within_us(search));
        return true;
    }
    return false;
}

/* One step of a pass; false: there is none left. */
static bool step(struct search *search, const struct search_order *order)
{
    while (search->next < order->count) {
        const struct search_step *next = &order->steps[search->next];
        size_t quiet = search_to_listen(order, &search->ground, next->format);
        size_t format = quiet == SEARCH_FORMATS ? next->format : quiet;
        if (search->ground.refused[format] || !take_format(search, format)) {
            search->next += quiet == SEARCH_FORMATS || quiet == next->format;
            continue;
        }
        if (quiet != SEARCH_FORMATS) {
            listen(search);
            return true;
        }
        search->next++;
        if (search->states[format][next->unit] == UNIT_SETTLED)
            continue;
        ask(search, next->unit, order->answers_within_us);
        return true;
    }
    return false;
}

static bool unit_to_interview(const struct search *search, uint8_t *unit)
{
    for (unsigned i = 0; i < UNITS; i++)
        if (search->states[search->ground.format][i] == UNIT_ANSWERED) {
            *unit = (uint8_t)i;
            return true;
        }
    return false;
}

void search_go_on(struct search *search)
{
    uint8_t unit;
    if (unit_to_interview(search, &unit)) {
        search_interview(search, unit);
        return;
    }
    bool going = false;
    switch (search->phase) {
    case SEARCH_FIRST_PASS:
        going = step(search, &search->first);
        if (!going) {
            search->phase = SEARCH_SECOND_PASS;
            search->next = 0;
            going = step(search, &search->second);
        }
        break;
    case SEARCH_SECOND_PASS:
        going = step(search, &search->second);
        break;
    case SEARCH_ALL_UNITS:
        going = all_units(search);
        break;
    }
    if (!going)
        search_finish(search, verdict_so_far(search));
}

/* A host that answers to the first units all alike is one device: the unit that a device goes by is kept. */
static bool answers_to_every_unit(struct search *search)
{
    if (search->serial || search->bounds.unit_given || search->next != UNITS_THAT_TELL ||
        found_count(search) < UNITS_THAT_TELL)
        return false;
    struct search_result *result = &search->result;
    for (size_t i = 0; i < result->unit_count; i++)
        if (result->units[i].unit == DEVICE_UNIT) {
            struct found_unit device = result->units[i];
            result->units[i] = result->units[0];
            result->units[0] = device;
        }
    while (result->unit_count > 1)
        device_identification_free(&result->units[--result->unit_count].device);
    return true;
}

void search_interviewed(struct search *search)
{
    struct search_result *result = &search->result;
    const struct found_unit found = search->interview.found;
    search->interview.found.device = (struct device_identification){0};
    search->states[search->ground.format][found.unit] = UNIT_SETTLED;
    result->units = memory_grow(result->units, result->unit_count, sizeof *result->units);
    result->units[result->unit_count++] = found;
    if (answers_to_every_unit(search)) {
        result->every_unit = true;
        search_finish(search, SEARCH_FOUND);
        return;
    }
    if (found_unit_sure(&found) && search->phase != SEARCH_ALL_UNITS) {
        search->phase = SEARCH_ALL_UNITS; /* a line has one format: the others on it have this one too */
        search->next = 0;
    }
    search_go_on(search);
}

/* ---- life ---- */

static void add_unit(struct search *search, unsigned unit)
{
    search->units[search->unit_count++] = (uint8_t)unit;
}

/* Not 0: a gateway may make a broadcast of it. */
static void list_units(struct search *search)
{
    if (search->bounds.unit_given) {
        add_unit(search, search->bounds.unit);
        return;
    }
    unsigned last = SEARCH_LAST_UNIT, first = 1;
    if (!search->serial) {
        const unsigned that_tell[UNITS_THAT_TELL] = {1, DEVICE_UNIT, SEARCH_LAST_UNIT, SEARCH_LAST_UNIT - 1};
        for (size_t i = 0; i < UNITS_THAT_TELL; i++)
            add_unit(search, that_tell[i]);
        first = 2;
        last = SEARCH_LAST_UNIT - 2;
    }
    for (unsigned unit = first; unit <= last; unit++)
        add_unit(search, unit);
}

struct serial_format search_opening_format(const struct search_bounds *bounds)
{
    struct search_order order;
    search_order_first(bounds, &order);
    struct serial_format format = order.formats[order.steps[0].format];
    search_order_free(&order);
    return format;
}

struct search *search_start(struct link *link, const struct clock *clock, const struct line *line,
                            const struct search_bounds *bounds, void (*done)(void *user), void *user)
{
    struct search *search = memory_new(1, sizeof *search);
    *search = (struct search){.link = link,
                              .clock = *clock,
                              .bounds = *bounds,
                              .serial = line->serial != NULL,
                              .done = done,
                              .user = user,
                              .ground = {.format = NO_FORMAT}};
    search->result.line = line_copy(line);
    search->result.began_ms = clock->wall_ms(clock->user);
    search->began_us = search_now_us(search);
    list_units(search);
    search->phase = search->serial ? SEARCH_FIRST_PASS : SEARCH_ALL_UNITS;
    if (search->serial) {
        search_order_first(bounds, &search->first);
        search_order_second(bounds, &search->first, &search->second);
    }
    search->watcher = link_traced(link, &search->watcher_user);
    link_trace(link, search_tracer, search);
    search_go_on(search);
    return search;
}

void search_free(struct search *search)
{
    if (search == NULL)
        return;
    device_identification_free(&search->interview.found.device);
    search_order_free(&search->first);
    search_order_free(&search->second);
    search_result_free(&search->result);
    free(search);
}

/* ---- how far it is ---- */

/* Of all that is behind what is under way. */
static int64_t left_us(const struct search *search)
{
    struct search_ground ground = search->ground;
    if (search->listening)
        ground.listened[ground.format] = true;
    size_t units_left = search->unit_count - search->next;
    const struct serial_format format = search_format(search);
    switch (search->phase) {
    case SEARCH_FIRST_PASS: {
        int64_t first_us = search_left_us(&search->first, search->next, &ground);
        return first_us + search_left_us(&search->second, 0, &ground);
    }
    case SEARCH_SECOND_PASS:
        return search_left_us(&search->second, search->next, &ground);
    case SEARCH_ALL_UNITS:
        return (int64_t)units_left * (search->serial ? search_probe_us(&format, SEARCH_FAST_US) : absent_us(search));
    }
    return 0;
}

struct search_progress search_progress(const struct search *search)
{
    int64_t now_us = search_now_us(search);
    int64_t rest_us = search->asked_us + search->expected_us - now_us;
    return (struct search_progress){.phase = search->phase,
                                    .listening = search->listening,
                                    .format = search_format(search),
                                    .unit = search->question.unit,
                                    .found = found_count(search),
                                    .spent_us = now_us - search->began_us,
                                    .left_us = search->over ? 0 : left_us(search) + (rest_us > 0 ? rest_us : 0)};
}
