/* SPDX-License-Identifier: MIT */
/* Answering a request, whatever line it came over. */
#include "sim/station_private.h"

#include "sim/access.h"
#include "sim/write_log.h"
#include "types/memory.h"

#include <stdlib.h>

/* libmodbus sleeps for its response timeout before some exceptions; and a frame's next byte is not awaited longer than
 * a paced line of 1200 baud takes for some. */
enum { RESPONSE_TIMEOUT_US = 1000, BYTE_TIMEOUT_US = 50000 };

struct station *station_new(const struct station_kind *kind, struct drive *drive, modbus_t *modbus, unsigned unit)
{
    struct station *station = memory_new(1, sizeof *station);
    *station = (struct station){.kind = kind, .drive = drive, .modbus = modbus, .unit = unit};
    if (modbus == NULL)
        abort(); /* out of memory, as types/memory.h has it: its other reasons are excluded by constant arguments */
    (void)modbus_set_response_timeout(modbus, 0, RESPONSE_TIMEOUT_US);
    (void)modbus_set_byte_timeout(modbus, 0, BYTE_TIMEOUT_US);
    return station;
}

void station_free(struct station *station)
{
    if (station == NULL)
        return;
    if (station->line != NULL)
        station->kind->close(station->line);
    modbus_free(station->modbus);
    free(station->place);
    free(station);
}

void station_attach(struct station *station, struct server *server, const struct station_format *format)
{
    struct server_line line = station->kind->server_line;
    line.line = station->line;
    station->server = server;
    station->format = *format;
    server_attach(server, &line);
}

void station_log_writes(struct station *station, FILE *writes)
{
    station->writes = writes;
}

const char *station_place(const struct station *station)
{
    return station->place;
}

size_t station_watch(const struct station *station, struct pollfd *watched)
{
    return station->kind->watch(station->line, watched);
}

void station_serve(struct station *station, const struct pollfd *watched, size_t count, int64_t now_us)
{
    station->kind->serve(station->line, station, watched, count, now_us);
}

bool station_answer(struct station *station, const uint8_t *request, size_t length, int64_t now_us)
{
    const size_t header = (size_t)modbus_get_header_length(station->modbus);
    const bool is_serial = header == 1;
    const size_t checksum = is_serial ? 2 : 0;
    const unsigned unit = request[header - 1];
    const bool is_broadcast = is_serial && unit == MODBUS_BROADCAST_ADDRESS;
    if ((unit != station->unit && !is_broadcast) || drive_is_off(station->drive, now_us))
        return true;

    drive_refresh(station->drive, now_us);
    const uint8_t *pdu = request + header;
    const size_t pdu_length = length - header - checksum;
    const uint8_t exception = access_serve(station->drive, pdu, pdu_length);
    drive_refresh(station->drive, now_us);
    write_log_row(station->writes, station->unit, pdu, pdu_length, exception, "");
    if (is_broadcast)
        return true;
    if (exception != 0)
        return modbus_reply_exception(station->modbus, request, exception) >= 0;
    return modbus_reply(station->modbus, request, (int)length, station->drive->memory.shown) >= 0;
}
