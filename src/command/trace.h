/* SPDX-License-Identifier: MIT */
/* The file that --trace fills: every frame on the lines, a line of text each, as it happens. */
#ifndef ASLEFT_COMMAND_TRACE_H
#define ASLEFT_COMMAND_TRACE_H

#include "bus/link_trace.h"
#include "types/error.h"

#include <stdbool.h>
#include <stdio.h>

struct trace {
    FILE *file;       /* NULL: none is wanted */
    const char *path; /* as given */
    int reason;       /* errno of the first line that was not written; 0: all were */
};

/* `path` NULL: none. Replaces a file that is there. ERROR_OUTPUT where it cannot be made. */
bool trace_open(struct trace *trace, const char *path, struct error *error);

/* From here on frames are those of this line: "# P-204: /dev/ttyUSB0 19200 8E1". */
void trace_line(struct trace *trace, const char *tag, const char *line);

/* Time, kind, bytes in hex and words, between tabs. What is written is in the system's hands when this returns. */
void trace_frame(struct trace *trace, bool tcp, enum trace_kind kind, int64_t wall_us, const uint8_t *bytes,
                 size_t length);

/* ERROR_OUTPUT where something could not be written. For a zeroed trace it does nothing. */
bool trace_close(struct trace *trace, struct error *error);

#endif
