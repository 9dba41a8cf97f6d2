/* SPDX-License-Identifier: MIT */
/* The server side of a line: sockets or a pseudo-terminal, with one drive behind them and libmodbus for the frames, or
 * with the simulator's own frame loop. */
#ifndef ASLEFT_SIM_STATION_H
#define ASLEFT_SIM_STATION_H

#include "sim/drive.h"
#include "sim/server.h"
#include "types/error.h"

#include <poll.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* Room that station_watch needs at most. */
enum { STATION_MOST_WATCHED = 66 };

struct station;

/* Listens on `host` (a name or address; NULL: loopback) and `port` ("0": the kernel chooses) as Modbus TCP unit 0 to
 * 255. Where the map says `connections`, more clients than that are turned away; else 64 may stay, and one more takes
 * the place of the one that has been silent longest. ERROR_CONTACT where it cannot listen. */
bool station_open_tcp(struct drive *drive, const char *host, const char *port, unsigned unit, struct station **station,
                      struct error *error);

/* Makes a pseudo-terminal and a symbolic link `link` to it, as Modbus RTU unit 1 to 247. A symbolic link that is there
 * already is replaced, anything else is not. ERROR_CONTACT where it cannot. */
bool station_open_pty(struct drive *drive, const char *link, unsigned unit, struct station **station,
                      struct error *error);

/* What a client must have set on the pseudo-terminal to be heard; 0: that is not looked at. The parity never is: a
 * pseudo-terminal has none. */
struct station_format {
    unsigned baud;
    unsigned stop_bits;
};

/* From here on the frame loop serves the line, instead of libmodbus and the drive that it was opened with. The server
 * must outlive the station, and is due as server_due_us says. `format` is for a pseudo-terminal. */
void station_attach(struct station *station, struct server *server, const struct station_format *format);

/* Where libmodbus serves: a row of write_log.h for each write. `writes` is not owned; NULL for none. */
void station_log_writes(struct station *station, FILE *writes);

/* Closes everything and removes its own link. NULL is fine. */
void station_free(struct station *station);

/* Where it can be reached: "tcp 127.0.0.1:40001" or "pty /tmp/drive". Valid until station_free. */
const char *station_place(const struct station *station);

/* Fills in what to poll for, at most STATION_MOST_WATCHED, and returns how many. */
size_t station_watch(const struct station *station, struct pollfd *watched);

/* Serves what poll found; `watched` is as station_watch filled it in. Never blocks on a client that is slow or rude.
 * `now_us` is the time of the drive that libmodbus serves; the frame loop has its own clock. */
void station_serve(struct station *station, const struct pollfd *watched, size_t count, int64_t now_us);

#endif
