/* SPDX-License-Identifier: MIT */
/* The values of a drive, one pass. */
#include "report/fields.h"

#include "motor/show.h"
#include "report/words.h"

static const char *const columns[] = {"tag",  "began", "parameter", "means",  "value",
                                      "unit", "raw",   "symptom",   "remark", NULL};

static void write_value(struct sink *sink, const struct parameter *parameter, const struct reading *reading)
{
    char word[32];
    bool unread = reading->symptom.kind != SYMPTOM_NONE;
    const char *symptom = unread ? symptom_word(reading->symptom, word, sizeof word) : NULL;
    const char *means = parameter->means == MEANS_NONE ? NULL : means_table[parameter->means].name;
    struct cell raw = reading->raw_count == 0 ? cell_null() : cell_raw(reading->raw, reading->raw_count);

    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, NULL, ROLE_NAME, "parameter", cell_text(parameter->name));
    sink_field_owned(sink, NULL, ROLE_FOUND, "value",
                     unread ? text_copy(symptom) : show_value(&reading->value, reading->unit, reading->step));
    sink_field(sink, NULL, ROLE_EXPECTED, "means", cell_text(means == NULL ? "" : means));
    sink_field(sink, NULL, ROLE_STAKE, "raw (hex)", raw);
    if (reading->remark != NULL)
        sink_field(sink, NULL, ROLE_NOTE, NULL, cell_text(reading->remark));

    sink_field(sink, "parameter", ROLE_DATA, NULL, cell_text(parameter->name));
    sink_field(sink, "means", ROLE_DATA, NULL, cell_text(means));
    sink_field(sink, "value", ROLE_DATA, NULL, cell_value(&reading->value));
    sink_field_unit(sink, reading->unit);
    sink_field(sink, "raw", ROLE_DATA, NULL, raw);
    sink_field(sink, "symptom", ROLE_DATA, NULL, cell_text(symptom));
    sink_field(sink, "remark", ROLE_DATA, NULL, cell_text(reading->remark));
    sink_close(sink);
}

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
        write_value(sink, &report->map->parameters[parameter], &report->readings->items[parameter]);
    }
    sink_close(sink);
    show_advice(sink, report);
    fields_advice(sink, &report->advice);
    fields_traffic(sink, &report->readings->traffic);
    write_last_line(sink, report);
    sink_end(sink);
}
