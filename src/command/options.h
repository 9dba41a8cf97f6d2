/* SPDX-License-Identifier: MIT */
/* Options of the commands: spelled in full, read by one table. */
#ifndef ASLEFT_COMMAND_OPTIONS_H
#define ASLEFT_COMMAND_OPTIONS_H

#include "report/sink.h"
#include "types/error.h"
#include "types/record.h"
#include "types/sheet.h"

#include <stdbool.h>
#include <stddef.h>

/* Which options a command takes. */
enum option_group {
    OPTIONS_RESULT = 1,      /* --format, --output, --color */
    OPTIONS_LINE = 2,        /* --serial, --host, --port, --unit, --baud, --parity, --stop-bits, --trace */
    OPTIONS_PASSES = 4,      /* --every, --passes */
    OPTIONS_QUIET = 8,       /* --quiet */
    OPTIONS_FIND = 16,       /* those of OPTIONS_LINE, as what bounds a search; --host may be repeated */
    OPTIONS_STORE = 32,      /* --store */
    OPTIONS_RECORD = 64,     /* --as, --after-power-cycle, --export */
    OPTIONS_CONFIRM = 128,   /* --confirm */
    OPTIONS_RESTORE = 256,   /* --replacement */
    OPTIONS_HISTORY = 512,   /* --parameter, --since */
    OPTIONS_VERDICTS = 1024, /* those of OPTIONS_RESULT, and the formats that are of verdicts */
    OPTIONS_WITNESS = 2048,  /* --from, --most */
    OPTIONS_ACCEPT = 4096,   /* --check */
};

enum color { COLOR_AUTO, COLOR_ALWAYS, COLOR_NEVER };

struct options {
    bool help;
    const struct sink_format *format;
    bool format_given;
    bool check;         /* an acceptance document is tried, and none is made */
    const char *output; /* NULL: standard output */
    const char *trace;  /* NULL: none */
    enum color color;
    bool quiet;
    double every_s;     /* 0: once */
    unsigned passes;    /* 0: until interrupted where --every is given, else one */
    struct line line;   /* what was given of it; texts point into argv */
    const char **hosts; /* all that were given; the array is owned */
    size_t host_count;
    bool port_given, baud_given, parity_given, stop_bits_given;
    const char *store; /* NULL: where records are kept if nobody says */
    bool as_given;     /* then `as` is RECORD_FOUND or RECORD_LEFT */
    enum record_kind as;
    bool after_power_cycle;
    const char *export_to;   /* NULL: no copy */
    const char *confirm;     /* NULL: nothing is to be written */
    const char *replacement; /* serial number of an exchanged drive, or NULL */
    const char *parameter;   /* NULL: all */
    int64_t since_ms;        /* UTC; 0: ever */
    const char *from;        /* the record whose samples are judged; NULL: a run is witnessed */
    double most_s;           /* 0: no end */
    char **operands;         /* in argv's order; the array is owned */
    size_t operand_count;
};

/* Reads the arguments behind the command's name. Unknown, abbreviated or repeated options, missing and wrong values are
 * ERROR_USE. options_free() in any case. */
bool options_read(int count, char **arguments, unsigned groups, struct options *options, struct error *error);
void options_free(struct options *options);

/* The lines of a help text for those groups. Owned. */
char *options_help(unsigned groups);

/* Puts what was given on the command line over a sheet's line. --host takes the place of a serial port and the other
 * way round. The result is the caller's (line_free). False where no line results or its unit does not fit. */
bool options_line(const struct options *options, const struct sheet *sheet, struct line *line, struct error *error);

#endif
