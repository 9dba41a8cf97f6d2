/* SPDX-License-Identifier: MIT */
/* The formats that sink.c chooses from. */
#ifndef ASLEFT_REPORT_FORMATS_H
#define ASLEFT_REPORT_FORMATS_H

#include "report/sink.h"

extern const struct sink_format sink_text;        /* for a person: columns, wrapped notes, the verdict last */
extern const struct sink_format sink_json;        /* one object a document and line */
extern const struct sink_format sink_csv;         /* RFC 4180: a header once, then a line a row */
extern const struct sink_format sink_html;        /* one page to print: tables, no scripts, nothing from outside */
extern const struct sink_format sink_junit;       /* for a build server: a suite a document, a case a verdict */
extern const struct sink_format sink_openmetrics; /* for monitoring: gauges a drive */

/* "verify" of "asleft/verify/1": the kind of document. Owned. */
char *sink_kind(const char *schema);

#endif
