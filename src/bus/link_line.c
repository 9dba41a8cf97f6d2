/* SPDX-License-Identifier: MIT */
/* A link's line: listening to it, its settings, its counters, and what a request costs on it. */
#include "bus/link_line.h"

#include "bus/link_internal.h"

enum {
    UNKNOWN_TURNAROUND_US = 5000, /* measured on drives at hand by others: 2 to 20 ms; common practice, no source */
    FIXED_CHARACTERS = 13,        /* request 8; unit, function, byte count and CRC of the reply 5 (V1.1b3 s 6.3) */
    REGISTER_CHARACTERS = 2,
    MOST_COST = 10000,
    TCP_REGISTER_NS = 160, /* 16 bits at 100 Mbit/s */
};

void link_listen(struct link *link, int64_t for_us, link_listened done, void *user)
{
    const struct job job = {.kind = JOB_LISTEN, .listen_us = for_us, .done.listen = done, .user = user};
    link_queue(link, &job);
}

static void finish_listening(struct link *link, enum line_heard heard)
{
    const struct result result = {.heard = heard};
    link_finish(link, &result);
}

void link_begin_listening(struct link *link)
{
    if (!link->timing.serial) {
        finish_listening(link, HEARD_NOTHING);
        return;
    }
    link->sent = (struct request){0};
    link->heard = (struct heard){0};
    link->listened = 0;
    link->state = LINK_LISTENING;
    link->deadline_us = loop_now_us(link->loop) + link->head->listen_us;
}

/* Five bytes of noise pass for an exception far more easily than more do for anything else, and nobody answers with an
 * exception who was not asked: one alone counts for nothing. */
static bool is_master(const struct link *link, const struct scan *scan)
{
    unsigned frames = link->heard.foreign + scan->foreign;
    return frames > 1 || (scan->foreign == 1 && (scan->last[1] & EXCEPTION_BIT) == 0);
}

bool link_go_on_listening(struct link *link)
{
    int64_t now_us = loop_now_us(link->loop);
    bool over = now_us >= link->deadline_us || !link->open;
    bool silent = now_us >= link_rest_until_us(link) && link->in_length != link->listened;
    if (!over && !silent)
        return false;
    /* Adapters deliver a frame in pieces: what is not whole now stays to be looked at again. */
    struct scan scan = rtu_scan(link->in, link->in_length, NULL);
    link->listened = link->in_length;
    bool master = is_master(link, &scan);
    if (!over && !master)
        return false;
    link_discard(link);
    enum line_heard otherwise = link->heard.junk + link->heard.foreign > 0 ? HEARD_NOISE : HEARD_NOTHING;
    finish_listening(link, master ? HEARD_MASTER : otherwise);
    return false;
}

bool link_set_format(struct link *link, unsigned baud, enum parity parity, unsigned stop_bits, struct error *error)
{
    if (link->transport.set_format == NULL)
        return error_set(error, ERROR_USE, "this line has no speed or parity to set: it is no serial port");
    if (!link->transport.set_format(link->transport.user, baud, parity, stop_bits, error))
        return false;
    link->timing = timing_serial(baud, parity, stop_bits);
    link->in_length = 0;
    link->last_byte_us = loop_now_us(link->loop);
    link->disturbed = true; /* some adapters send a glitch when they are set anew */
    return true;
}

struct line_errors link_line_errors(const struct link *link)
{
    if (link->transport.errors == NULL)
        return (struct line_errors){.counted = false};
    return link->transport.errors(link->transport.user);
}

const char *link_remark(const struct link *link)
{
    return link->transport.remark == NULL ? NULL : link->transport.remark(link->transport.user);
}

void link_measure(struct link *link, int64_t turnaround_us)
{
    struct unit_record *unit = link_unit(link, link->sent.unit);
    if (turnaround_us < 1)
        turnaround_us = 1; /* known, and too short to be seen */
    unit->turnaround_us =
        unit->turnaround_us == 0 ? turnaround_us : unit->turnaround_us + (turnaround_us - unit->turnaround_us) / 4;
}

int64_t link_wire_us(const struct link *link, size_t characters)
{
    return timing_wire_us(&link->timing, characters);
}

unsigned link_request_cost(const struct link *link, uint8_t unit)
{
    const struct unit_record *known = link_known_unit(link, unit);
    int64_t turnaround_us = known == NULL ? 0 : known->turnaround_us;
    int64_t cost = 0;
    if (link->timing.serial) {
        int64_t rest_us = link->timing.silence_us + (known == NULL ? 0 : known->rest_us);
        /* what was measured contains the silence that the unit keeps before it answers */
        if (turnaround_us == 0)
            turnaround_us = UNKNOWN_TURNAROUND_US + link->timing.silence_us;
        int64_t fixed_ns = FIXED_CHARACTERS * link->timing.character_ns + (rest_us + turnaround_us) * 1000;
        cost = fixed_ns / (REGISTER_CHARACTERS * link->timing.character_ns);
    } else {
        cost = turnaround_us * 1000 / TCP_REGISTER_NS;
        if (cost <= READ_REGISTERS)
            cost = READ_REGISTERS + 1;
    }
    return (unsigned)(cost < MOST_COST ? cost : MOST_COST);
}
