/* SPDX-License-Identifier: MIT */
/* What a search of a line found: the units, what else was heard, and what the line as a whole looks like. */
#ifndef ASLEFT_TYPES_SEARCH_RESULT_H
#define ASLEFT_TYPES_SEARCH_RESULT_H

#include "types/sheet.h"
#include "types/symptom.h"
#include "types/traffic.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* How characters travel on a serial line; 8 data bits. */
struct serial_format {
    unsigned baud;
    enum parity parity;
    unsigned stop_bits;
};

/* What a device says about itself: functions 43/14 and 17. Text from a drive, so data; a NUL in it became "\x00". */
struct device_object {
    uint8_t id; /* 0x00 to 0x06 are named by the standard, from 0x80 on by the maker */
    char *text; /* owned */
};

struct device_identification {
    struct device_object *objects; /* owned; each id once */
    size_t count;
    char *server_id; /* the answer to function 17, or NULL; owned */
};

enum { SEARCH_CONFIRMATIONS = 3 };

struct found_unit {
    uint8_t unit;
    struct serial_format format; /* zero on TCP */
    struct symptom answered;     /* SYMPTOM_NONE: with values; SYMPTOM_EXCEPTION: with that */
    unsigned confirmed;          /* how many of SEARCH_CONFIRMATIONS further questions it answered */
    int64_t slowest_us;          /* from the first byte asked to the answer; -1: it was not measured */
    struct device_identification device;
};

/* Something that a format let through and that was no answer. */
struct line_sign {
    struct serial_format format;
    bool unasked;        /* heard while nothing had been asked */
    unsigned long bytes; /* that made no frame */
    unsigned long framing, parity, overrun, breaks;
};

enum search_verdict {
    SEARCH_FOUND,        /* at least one unit, confirmed */
    SEARCH_NOTHING,      /* no answer, and nothing but what adapters make by themselves */
    SEARCH_SOMETHING,    /* bytes or errors, or a unit that could not be confirmed */
    SEARCH_GATEWAY_ONLY, /* a gateway that says of every unit that it is not there */
    SEARCH_OTHER_MASTER, /* somebody else asks on this line */
    SEARCH_NO_CONTACT,   /* the port or host did not open */
    SEARCH_BUSY,         /* another program holds the port */
    SEARCH_LOST,         /* the port or host went away */
};

/* Zero it to start; search_result_free. */
struct search_result {
    struct line line; /* which port or host; its format says nothing */
    enum search_verdict verdict;
    bool interrupted;
    bool refused;        /* the host is there, and does not take the connection */
    bool every_unit;     /* a TCP host that answers whatever unit it is asked for: one device */
    bool errors_counted; /* the port has error counters */
    char *remark;        /* why the line did not open, or NULL; owned */
    struct found_unit *units;
    size_t unit_count;
    struct line_sign *signs;
    size_t sign_count;
    unsigned formats_tried, formats_refused; /* by the port */
    uint64_t probes;                         /* unit and format tried */
    struct traffic traffic;
    int64_t began_ms, ended_ms; /* UTC */
};

bool serial_format_same(const struct serial_format *a, const struct serial_format *b);

/* A unit counts as found where it answered every further question too. */
bool found_unit_sure(const struct found_unit *unit);

void device_identification_free(struct device_identification *device);
void search_result_free(struct search_result *result);

#endif
