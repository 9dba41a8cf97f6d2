/* SPDX-License-Identifier: MIT */
/* Requests in, replies out, in the order and at the time that the line has them. */
#include "sim/server.h"

#include "sim/damage.h"
#include "sim/frame_log.h"
#include "sim/habits.h"
#include "sim/outbox.h"
#include "sim/reply.h"
#include "sim/write_log.h"
#include "types/memory.h"

#include <modbus/modbus.h>
#include <stdlib.h>
#include <string.h>

/* A drive's, or gateway's, memory for what it has not answered yet. */
enum { MOST_WAITING = 1024, NS_PER_US = 1000 };

struct server {
    struct server_setup setup;
    struct server_line line;
    struct line_clock clock;
    struct outbox outbox;
    int64_t *busy_until_ns; /* by drive */
    struct {
        bool waits; /* a serial reply that came too late for its own transaction */
        uint8_t unit;
        uint8_t pdu[PDU_LONGEST];
        size_t length;
    } stale;
    struct server_sums sums;
};

struct server *server_new(const struct server_setup *setup)
{
    struct server *server = memory_new(1, sizeof *server);
    server->setup = *setup;
    server->busy_until_ns = memory_new(setup->count, sizeof *server->busy_until_ns);
    for (size_t i = 0; i < setup->count; i++)
        server->busy_until_ns[i] = INT64_MIN;
    line_clock_init(&server->clock, &setup->pace);
    if (setup->log != NULL)
        frame_log_head(setup->log);
    return server;
}

void server_free(struct server *server)
{
    if (server == NULL)
        return;
    outbox_free(&server->outbox);
    free(server->busy_until_ns);
    free(server);
}

void server_attach(struct server *server, const struct server_line *line)
{
    server->line = *line;
}

const struct server_sums *server_sums(const struct server *server)
{
    return &server->sums;
}

void server_unheard(struct server *server)
{
    server->sums.unheard++;
}

static void log_row(const struct server *server, const struct frame_row *row)
{
    if (server->setup.log != NULL)
        frame_log_row(server->setup.log, row);
}

static int64_t now_us(const struct server *server)
{
    return server->setup.clock_us(server->setup.user);
}

static bool strikes(const struct fault *fault, enum fault_kind kind)
{
    return fault != NULL && fault->kind == kind;
}

static void log_write(const struct server *server, size_t index, const struct arrival *arrival,
                      const struct fault *fault, const struct transmission *transmission)
{
    const uint8_t exception = transmission->pdu[0] == arrival->pdu[0] ? 0 : transmission->pdu[1];
    write_log_row(server->setup.writes, server->setup.first_unit + (unsigned)index, arrival->pdu, arrival->pdu_length,
                  exception, fault == NULL ? "" : fault_word(fault->kind));
}

/* What the drive of that index does and says; `fault` may be NULL. */
static void carry_out(struct server *server, size_t index, const struct arrival *arrival, const struct fault *fault,
                      struct transmission *transmission)
{
    struct drive *drive = &server->setup.drives[index];
    if (strikes(fault, FAULT_EXCEPTION)) {
        transmission->pdu_length = reply_exception(arrival->pdu, (uint8_t)fault->least, transmission->pdu);
        log_write(server, index, arrival, fault, transmission);
        return;
    }
    if (strikes(fault, FAULT_DEAF))
        return;
    const int64_t at_us = now_us(server);
    drive_refresh(drive, at_us);
    habits_begin(drive, server->setup.faults, fault);
    transmission->pdu_length = reply_make(drive, arrival->unit, arrival->pdu, arrival->pdu_length, transmission->pdu);
    habits_end(drive, fault);
    drive_refresh(drive, at_us);
    log_write(server, index, arrival, fault, transmission);
}

/* The gateway has one place for a serial reply. What waits there goes out as the answer to this request; the drive's
 * own comes while nobody waits for it, and is thrown away. */
static void hand_over_stale(struct server *server, struct transmission *transmission)
{
    transmission->unit = server->stale.unit;
    transmission->pdu_length = server->stale.length;
    memcpy(transmission->pdu, server->stale.pdu, server->stale.length);
    server->stale.waits = false;
}

static void keep_stale(struct server *server, const struct arrival *arrival, struct transmission *transmission)
{
    server->stale.waits = true;
    server->stale.unit = transmission->unit;
    server->stale.length = transmission->pdu_length;
    memcpy(server->stale.pdu, transmission->pdu, transmission->pdu_length);
    transmission->pdu_length = reply_exception(arrival->pdu, MODBUS_EXCEPTION_GATEWAY_TARGET, transmission->pdu);
}

static struct outgoing *outgoing_to(uint64_t client, const uint8_t *bytes, size_t length, int64_t due_ns)
{
    struct outgoing *outgoing = memory_new(1, sizeof *outgoing);
    *outgoing = (struct outgoing){.client = client, .length = length, .due_ns = due_ns};
    memcpy(outgoing->bytes, bytes, length);
    return outgoing;
}

/* How many characters the bytes are on the serial line, which a gateway has behind it. */
static size_t characters_of(enum wire wire, size_t bytes)
{
    const size_t more = TCP_HEADER - SERIAL_AROUND;
    return wire == WIRE_SERIAL || bytes <= more ? bytes : bytes - more;
}

/* The same once more. Where it follows at once, the line is taken until it is through. */
static void send_again(struct server *server, uint64_t client, const struct transmission *transmission, int64_t end_ns)
{
    const size_t characters = characters_of(transmission->wire, transmission->length);
    const int64_t copy_ns =
        end_ns + transmission->again_after_us * NS_PER_US + pace_characters_ns(&server->setup.pace, characters);
    outbox_add(&server->outbox, outgoing_to(client, transmission->bytes, transmission->length, copy_ns));
    if (transmission->again_after_us == 0)
        line_clock_occupy(&server->clock, copy_ns);
}

/* From one byte to the next of a reply that comes byte by byte: no less than a character. */
static int64_t gap_between_bytes_ns(const struct server *server, const struct transmission *transmission)
{
    const int64_t gap_ns = transmission->gap_us * NS_PER_US;
    const int64_t character_ns = pace_characters_ns(&server->setup.pace, 1);
    return gap_ns == 0 || gap_ns > character_ns ? gap_ns : character_ns;
}

static void schedule(struct server *server, size_t drive, const struct arrival *arrival, const struct line_turn *turn,
                     const struct transmission *transmission, struct frame_row *row)
{
    const int64_t busy_ns = server->busy_until_ns[drive];
    const int64_t from_ns = turn->heard_ns > busy_ns ? turn->heard_ns : busy_ns;
    const int64_t gap_ns = gap_between_bytes_ns(server, transmission);
    const size_t characters = gap_ns > 0 ? 1 : characters_of(transmission->wire, transmission->length);
    const int64_t due_ns =
        line_clock_reply_ns(&server->clock, from_ns, characters) + transmission->delay_us * NS_PER_US;
    const int64_t end_ns = due_ns + (transmission->length > 1 ? (int64_t)(transmission->length - 1) * gap_ns : 0);
    if (transmission->echoes)
        outbox_add(&server->outbox,
                   outgoing_to(arrival->client, arrival->frame, arrival->frame_length, turn->heard_ns));
    struct outgoing *reply = outgoing_to(arrival->client, transmission->bytes, transmission->length, due_ns);
    reply->gap_ns = gap_ns;
    reply->hangs_up = transmission->hangs_up;
    reply->ends_row = !transmission->hangs_up;
    reply->start_ns = turn->start_ns;
    if (transmission->hangs_up)
        log_row(server, row);
    row->ideal_us = end_ns / NS_PER_US;
    reply->row = *row;
    outbox_add(&server->outbox, reply);
    server->busy_until_ns[drive] = end_ns;
    /* Where the drive takes its time, the wire is silent meanwhile, and others may use it. */
    if (from_ns == turn->heard_ns && transmission->delay_us == 0)
        line_clock_occupy(&server->clock, end_ns);
    if (transmission->again)
        send_again(server, arrival->client, transmission, end_ns);
}

static void answer(struct server *server, size_t drive, const struct arrival *arrival, const struct line_turn *turn,
                   struct frame_row *row)
{
    struct line_faults *faults = server->setup.faults;
    struct transmission transmission = {
        .wire = server->setup.wire, .transaction = arrival->transaction, .unit = arrival->unit};
    const bool is_handed_over = server->stale.waits;
    const struct fault *fault = line_faults_draw(faults, write_log_is_write(arrival->pdu), is_handed_over);
    if (fault != NULL)
        row->remark = fault_word(fault->kind);
    carry_out(server, drive, arrival, fault, &transmission);
    if (is_handed_over) {
        row->remark = "handed-over";
        hand_over_stale(server, &transmission);
    } else if (strikes(fault, FAULT_GATEWAY)) {
        keep_stale(server, arrival, &transmission);
    }
    damage_wrap(&transmission, faults, fault);
    if (transmission.length > 0 || transmission.hangs_up)
        schedule(server, drive, arrival, turn, &transmission, row);
    else
        log_row(server, row);
}

static void carry_out_broadcast(struct server *server, const struct arrival *arrival)
{
    struct transmission unsent = {.wire = server->setup.wire};
    for (size_t i = 0; i < server->setup.count; i++)
        if (!drive_is_off(&server->setup.drives[i], now_us(server)))
            carry_out(server, i, arrival, NULL, &unsent);
}

void server_take(struct server *server, const struct arrival *arrival)
{
    const int64_t read_us = now_us(server);
    const struct line_turn turn =
        line_clock_request(&server->clock, read_us * NS_PER_US, arrival->pdu_length + SERIAL_AROUND);
    struct frame_row row = frame_row_of(arrival->unit, arrival->pdu, arrival->pdu_length, read_us);
    const size_t drive = (size_t)arrival->unit - server->setup.first_unit; /* beyond the count for lower units too */
    if (server->setup.wire == WIRE_SERIAL && arrival->unit == MODBUS_BROADCAST_ADDRESS) {
        carry_out_broadcast(server, arrival);
        row.remark = "broadcast";
    } else if (drive >= server->setup.count) {
        server->sums.unheard++;
        row.remark = "absent";
    } else if (drive_is_off(&server->setup.drives[drive], read_us)) {
        server->sums.requests++;
        server->sums.lost++;
        row.remark = "no-power";
    } else {
        server->sums.requests++;
        const bool is_busy = turn.start_ns < server->busy_until_ns[drive];
        if ((!is_busy || !server->setup.ignores) && server->outbox.count < MOST_WAITING) {
            answer(server, drive, arrival, &turn, &row);
            return;
        }
        server->sums.lost++;
        row.remark = "busy";
    }
    log_row(server, &row);
}

int64_t server_due_us(const struct server *server)
{
    const struct outgoing *front = outbox_front(&server->outbox);
    /* Rounded up: what is called for at that time is due then. */
    return front == NULL ? SERVER_NOTHING_DUE : (front->due_ns + NS_PER_US - 1) / NS_PER_US;
}

static void end_row(struct server *server, const struct outgoing *outgoing)
{
    struct frame_row row = outgoing->row;
    row.real_us = now_us(server);
    server->sums.answered++;
    server->sums.ideal_us += row.ideal_us - outgoing->start_ns / NS_PER_US;
    server->sums.real_us += row.real_us - outgoing->start_ns / NS_PER_US;
    log_row(server, &row);
}

static void send_front(struct server *server)
{
    struct outgoing *front = outbox_front(&server->outbox);
    const size_t count = front->gap_ns > 0 && front->length > 0 ? 1 : front->length - front->sent;
    if (count > 0)
        server->line.send(server->line.line, front->client, front->bytes + front->sent, count);
    front->sent += count;
    front->due_ns += front->gap_ns;
    if (front->sent < front->length)
        return;
    if (front->hangs_up)
        server->line.hang_up(server->line.line, front->client);
    if (front->ends_row)
        end_row(server, front);
    outbox_drop_front(&server->outbox);
}

void server_release(struct server *server)
{
    for (;;) {
        const int64_t due_us = server_due_us(server);
        if (due_us == SERVER_NOTHING_DUE || due_us > now_us(server))
            return;
        send_front(server);
    }
}
