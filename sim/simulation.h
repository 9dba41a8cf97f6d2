/* SPDX-License-Identifier: MIT */
/* Everything that one call of the simulator puts up: drives, their line, and what serves it. */
#ifndef ASLEFT_SIM_SIMULATION_H
#define ASLEFT_SIM_SIMULATION_H

#include "sim/drive.h"
#include "sim/options.h"
#include "sim/server.h"
#include "sim/station.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

struct simulation {
    struct drive *drives; /* owned */
    size_t count;
    unsigned first_unit;
    struct line_faults *faults; /* the options' */
    struct server *server;      /* the frame loop, or NULL: libmodbus serves the one drive */
    struct station *station;
    FILE *log; /* NULL: none */
    const char *log_name;
    FILE *writes; /* likewise */
    const char *writes_name;
};

/* CLOCK_MONOTONIC. */
int64_t simulation_clock_us(void *user);

/* Puts up what `options` ask for; they, map and sheet (which may be NULL) must outlive it. Seeds the faults; without a
 * seed of the user's, by chance. False with what was wrong; simulation_end is due either way. */
bool simulation_begin(struct simulation *simulation, struct options *options, const struct map *map,
                      const struct sheet *sheet, struct error *error);

/* "tcp 127.0.0.1:40001 unit 4", "pty /tmp/line units 4 to 6" */
void simulation_show_place(const struct simulation *simulation, FILE *file);

/* The sums of the frame loop, and how often each fault struck; nothing where libmodbus serves. */
void simulation_show_sums(const struct simulation *simulation, FILE *file);

/* The answer to a line of the keypad, as keypad_line has it, of the drive whose unit begins the line, else the first.
 */
char *simulation_press(struct simulation *simulation, const char *line, bool *quit);

/* Closes and frees all of it. False with ERROR_OUTPUT where a log could not be written to its end. */
bool simulation_end(struct simulation *simulation, struct error *error);

#endif
