/* SPDX-License-Identifier: MIT */
/* What a frame says, in words: for traces and messages. Pure. */
#ifndef ASLEFT_BUS_DESCRIBE_H
#define ASLEFT_BUS_DESCRIBE_H

#include "bus/link_trace.h"

/* One line, owned: "unit 4: read holding registers, 2 from 0x0110" of a request, "unit 4: read holding registers,
 * 0x0258 0x0001" of a reply, "unit 4: read holding registers, exception 02 illegal data address". `bytes` are those of
 * the trace, `tcp` says which framing they have. A foreign frame of a serial line is taken for a request or a reply by
 * its length. Text out of a drive has its unprintable bytes as \xNN. Of junk: how many bytes. */
char *frame_describe(bool tcp, enum trace_kind kind, const uint8_t *bytes, size_t length);

/* "illegal data address"; NULL for a code that the specification does not name (section 7). */
const char *exception_name(uint8_t code);

#endif
