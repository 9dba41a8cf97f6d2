/* SPDX-License-Identifier: MIT */
/* The simulator's command line. */
#ifndef ASLEFT_SIM_OPTIONS_H
#define ASLEFT_SIM_OPTIONS_H

#include "types/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

struct options {
    const char *map;
    const char *sheet; /* NULL: factory defaults */
    const char *pty;   /* exactly one of pty and port is set */
    char *tcp;         /* HOST:PORT, cut in pieces; owned */
    const char *host;  /* NULL: loopback */
    const char *port;  /* a number from 0 to 65535 */
    bool unit_given;
    unsigned unit;    /* within what the line allows */
    const char **set; /* owned array of what is the command line's */
    size_t set_count;
    bool help, version; /* asked for: nothing else is checked then */
};

/* Reads the arguments behind the program's name. Long options only, spelled in full; "--name=VALUE" and "--name VALUE".
 * False with ERROR_USE and what was expected; options_free is due either way. */
bool options_read(int count, char *const *arguments, struct options *options, struct error *error);
void options_free(struct options *options);

void options_help(FILE *file);

#endif
