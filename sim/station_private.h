/* SPDX-License-Identifier: MIT */
/* What the two kinds of station share. */
#ifndef ASLEFT_SIM_STATION_PRIVATE_H
#define ASLEFT_SIM_STATION_PRIVATE_H

#include "sim/station.h"

#include <modbus/modbus.h>

/* One kind of line. */
struct station_kind {
    size_t (*watch)(const void *line, struct pollfd *watched);
    void (*serve)(void *line, struct station *station, const struct pollfd *watched, size_t count, int64_t now_us);
    void (*close)(void *line);
    struct server_line server_line; /* without its line: where the frame loop's replies go */
};

struct station {
    const struct station_kind *kind;
    void *line; /* the kind's own, freed by its close */
    struct drive *drive;
    struct server *server;        /* NULL: libmodbus answers for the drive */
    struct station_format format; /* with a server */
    modbus_t *modbus;             /* frames replies; owned */
    FILE *writes;                 /* NULL: none; not owned */
    unsigned unit;
    char *place; /* owned */
};

/* A station without line; takes `modbus` over, and sets its timeouts so that libmodbus never sleeps for long. */
struct station *station_new(const struct station_kind *kind, struct drive *drive, modbus_t *modbus, unsigned unit);

/* Serves one whole request as it came, header and checksum included, on the descriptor that the context has now.
 * False where the reply could not be sent. A request to another unit, or to a drive without power, gets no reply; unit
 * 0 on a serial line is a broadcast, which is done and not answered. */
bool station_answer(struct station *station, const uint8_t *request, size_t length, int64_t now_us);

#endif
