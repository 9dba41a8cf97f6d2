/* SPDX-License-Identifier: MIT */
/* The values of a drive, one pass. */
#include "report/fields.h"

static const char *const columns[] = {"tag",  "began", "parameter", "means",  "value",
                                      "unit", "raw",   "symptom",   "remark", NULL};

/* "P-204: 23 values, 1 not read" */
static void write_last_line(struct sink *sink, const struct visit_report *report)
{
    size_t unread = 0, count = report->parameter_count;
    for (size_t i = 0; i < count; i++)
        unread += report->readings->items[report->parameters[i]].symptom.kind != SYMPTOM_NONE;
    sink_field_owned(sink, NULL, unread > 0 ? ROLE_OPEN : ROLE_GOOD, NULL,
                     text_format("%s: %zu value%s, %zu not read", report->sheet->tag, count - unread,
                                 count - unread == 1 ? "" : "s", unread));
}

void doc_read(struct sink *sink, const struct visit_report *report)
{
    sink_begin(sink, "asleft/read/1", columns);
    fields_visit(sink, report);
    sink_open(sink, "values", GROUP_ROWS);
    sink_heading(sink, ROLE_OPEN, "VALUES");
    for (size_t i = 0; i < report->parameter_count; i++) {
        size_t parameter = report->parameters[i];
        fields_value(sink, &report->map->parameters[parameter], &report->readings->items[parameter]);
    }
    sink_close(sink);
    show_advice(sink, report);
    fields_advice(sink, &report->advice);
    fields_traffic(sink, &report->readings->traffic);
    write_last_line(sink, report);
    sink_end(sink);
}
