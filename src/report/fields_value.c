/* SPDX-License-Identifier: MIT */
/* Fields of values: as they were read, and as records have kept them. */
#include "report/fields.h"

#include "motor/show.h"

#include <math.h>

static struct cell raw_cell(const uint16_t *raw, size_t count)
{
    return count == 0 ? cell_null() : cell_raw(raw, count);
}

void fields_value(struct sink *sink, const struct parameter *parameter, const struct reading *reading)
{
    char word[32];
    bool unread = reading->symptom.kind != SYMPTOM_NONE;
    const char *symptom = unread ? symptom_word(reading->symptom, word, sizeof word) : NULL;
    const char *means = parameter->means == MEANS_NONE ? NULL : means_table[parameter->means].name;
    struct cell raw = raw_cell(reading->raw, reading->raw_count);

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

void sink_field_id(struct sink *sink, const char *key, const struct record_id *id)
{
    char digits[RECORD_ID_TEXT];
    sink_field(sink, key, ROLE_DATA, NULL, cell_text(record_id_given(id) ? record_id_text(id, digits) : NULL));
}

void fields_record(struct sink *sink, const struct record *record)
{
    sink_field_id(sink, "record", &record->id);
    sink_field(sink, "kind", ROLE_DATA, NULL, cell_text(record_kind_word(record->kind)));
    sink_field(sink, "after_power_cycle", ROLE_DATA, NULL, cell_bool(record->after_power_cycle));
    sink_field(sink, "who", ROLE_DATA, NULL, cell_text(record->who));
    sink_field(sink, "host", ROLE_DATA, NULL, cell_text(record->host));
    sink_field(sink, "tool", ROLE_DATA, NULL, cell_text(record->tool));
    sink_field(sink, "serial_number", ROLE_DATA, NULL, cell_text(record->serial_number));
    sink_field(sink, "firmware", ROLE_DATA, NULL, cell_text(record->firmware));
}

/* What a person is shown of a value: it, or why there is none. */
static const char *shown_of(const struct record_value *value, const char *absent)
{
    if (value == NULL)
        return absent;
    return value->shown != NULL ? value->shown : value->symptom != NULL ? value->symptom : "-";
}

static void write_kept(struct sink *sink, const char *key, const struct record_value *value)
{
    bool is_number = value != NULL && !isnan(value->number);
    sink_field(sink, key, ROLE_DATA, NULL,
               is_number ? cell_number(value->number) : cell_text(value == NULL ? NULL : value->shown));
}

static void write_raw(struct sink *sink, const char *key, const struct record_value *value)
{
    sink_field(sink, key, ROLE_DATA, NULL, value == NULL ? cell_null() : raw_cell(value->raw, value->raw_count));
}

void fields_was_now(struct sink *sink, const struct record_value *was, const struct record_value *now)
{
    const struct record_value *either = now != NULL ? now : was;
    sink_field(sink, NULL, ROLE_NAME, "parameter", cell_text(either->parameter));
    sink_field(sink, NULL, ROLE_FOUND, "was", cell_text(shown_of(was, "(new)")));
    sink_field(sink, NULL, ROLE_EXPECTED, "now", cell_text(shown_of(now, "(not asked)")));

    sink_field(sink, "parameter", ROLE_DATA, NULL, cell_text(either->parameter));
    sink_field(sink, "means", ROLE_DATA, NULL, cell_text(either->means));
    write_kept(sink, "was", was);
    write_kept(sink, "now", now);
    sink_field(sink, "unit_was", ROLE_DATA, NULL, cell_text(was == NULL ? NULL : was->unit));
    sink_field(sink, "unit", ROLE_DATA, NULL, cell_text(now == NULL ? NULL : now->unit));
    write_raw(sink, "raw_was", was);
    write_raw(sink, "raw_now", now);
    sink_field(sink, "symptom_was", ROLE_DATA, NULL, cell_text(was == NULL ? NULL : was->symptom));
    sink_field(sink, "symptom", ROLE_DATA, NULL, cell_text(now == NULL ? NULL : now->symptom));
}
