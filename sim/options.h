/* SPDX-License-Identifier: MIT */
/* The simulator's command line. */
#ifndef ASLEFT_SIM_OPTIONS_H
#define ASLEFT_SIM_OPTIONS_H

#include "sim/line_faults.h"
#include "types/error.h"
#include "types/sheet.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

struct options {
    const char *map;
    const char *sheet; /* NULL: factory defaults */
    const char *pty;   /* exactly one of pty and port is set */
    char *tcp;         /* HOST:PORT, cut in pieces; owned */
    const char *host;  /* NULL: loopback */
    const char *port;  /* a number from 0 to 65535 */
    bool unit_given;
    unsigned unit;    /* of the first drive; within what the line allows */
    unsigned drives;  /* on units one after the other; 0: not given, which is one */
    const char **set; /* owned array of what is the command line's */
    size_t set_count;
    unsigned baud;      /* that a master must have set; 0: any */
    unsigned stop_bits; /* 1 or 2, likewise; 0: any */
    bool parity_given;
    enum parity parity;
    unsigned pace_baud; /* of wire time; 0: none */
    bool turnaround_given;
    int64_t turnaround_us;
    const char *log;           /* NULL: none */
    const char *writes;        /* NULL: none */
    struct line_faults faults; /* not seeded yet; owned */
    bool busy_given;
    bool ignores; /* what comes while a late reply is due */
    bool seed_given;
    unsigned seed;
    bool help, version; /* asked for: nothing else is checked then */
};

/* Reads the arguments behind the program's name. Long options only, spelled in full; "--name=VALUE" and "--name VALUE".
 * False with ERROR_USE and what was expected; options_free is due either way. */
bool options_read(int count, char *const *arguments, struct options *options, struct error *error);
void options_free(struct options *options);

/* Does the line need the simulator's own frame loop? It does where any option of that loop is given. */
bool options_want_frame_loop(const struct options *options);

/* The bits of a character under --pace: the standard's 11, or as parity and stop bits say. */
unsigned options_character_bits(const struct options *options);

void options_help(FILE *file);

#endif
