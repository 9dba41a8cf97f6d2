/* SPDX-License-Identifier: MIT */
/* How numbers with units, bands, lines and times are put for a person. All results are owned by the caller. */
#ifndef ASLEFT_REPORT_WORDS_H
#define ASLEFT_REPORT_WORDS_H

#include "types/finding.h"
#include "types/record.h"
#include "types/search_result.h"
#include "types/sheet.h"
#include "types/traffic.h"

#include <stdint.h>

/* "3.00 A (2.945 to 3.055)", "at least 10.0 s", "terminals"; "-" for nothing. */
char *words_expected(const struct expected *expected, enum unit unit, double step);

/* "19200 8E1" */
char *words_format(const struct serial_format *format);

/* "/dev/ttyUSB0 19200 8E1", "192.0.2.10:502", "[::1]:502". */
char *words_line(const struct line *line);

/* "2026-01-31T08:00:00.000Z" */
char *words_time(int64_t ms);

/* "1a2b3c4d": as many digits of an id as persons are shown. */
char *words_id(const struct record_id *id);

/* "as found", "before a write": what a record is of. Not owned. */
const char *words_kind(enum record_kind kind);

/* "3 requests, 1 retry, 0 exceptions ..." without what did not happen. */
char *words_traffic(const struct traffic *traffic);

#endif
