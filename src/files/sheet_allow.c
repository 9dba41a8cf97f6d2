/* SPDX-License-Identifier: MIT */
/* The `allow` rows of a sheet: tolerances that somebody widened, with the reason. */
#include "files/sheet_reader.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

/* The target of a row. */
struct allow_reading {
    struct allowance allowance;
    struct subject subject;
    bool known; /* the subject was found */
};

static bool read_subject(const struct section *section, const struct field *field, const struct node *value)
{
    struct allow_reading *reading = section->target;
    const char *name = scalar_text(section->faults, value, field->key, field->expects);
    if (name == NULL)
        return false;
    bool by_means = strcmp(field->key, "means") == 0;
    if (by_means != (strchr(name, '.') != NULL)) {
        faults_error(section->faults, value->place, "%s: \"%s\" is none; expected %s", field->key, excerpt(name).text,
                     field->expects);
        return false;
    }
    reading->known = subject_find(section->context, value->place, field->key, name, &reading->subject);
    if (reading->known && !by_means)
        reading->allowance.parameter = text_copy(name);
    reading->allowance.means = reading->subject.means;
    return reading->known;
}

static bool read_within(const struct section *section, const struct field *field, const struct node *value)
{
    const struct sheet_reader *reader = section->context;
    struct allow_reading *reading = section->target;
    struct subject subject = reading->subject;
    struct quantity *within = &reading->allowance.within;
    subject.name = field->key;
    if (!reading->known || (subject.means == MEANS_NONE && subject.parameter == NULL))
        return false;
    if (!subject_quantity(reader, value, &subject, within))
        return false;
    if (within->value > 0)
        return true;
    faults_error(section->faults, value->place, "%s: \"%s\" widens nothing; expected more than 0", field->key,
                 excerpt(value->text).text);
    return false;
}

/* means or parameter before within, which takes its unit from them. */
static const struct field allow_fields[] = {
    {.key = "means", .read = read_subject, .expects = "a means such as motor.rated_speed"},
    {.key = "parameter", .read = read_subject, .expects = "the name of a parameter"},
    {.key = "within", .read = read_within, .required = true, .expects = "a quantity such as 10 rpm"},
    {.key = "because",
     .read = field_text,
     .offset = offsetof(struct allow_reading, allowance.because),
     .required = true,
     .expects = "the reason"},
};

static bool read_row(const struct section *section, const struct node *item, struct allow_reading *reading)
{
    const struct section row = {.faults = section->faults,
                                .node = item,
                                .what = "allow",
                                .fields = allow_fields,
                                .count = sizeof allow_fields / sizeof *allow_fields,
                                .target = reading,
                                .context = section->context};
    if (!section_check(&row))
        return false;
    bool by_means = node_get(item, "means") != NULL;
    bool by_parameter = node_get(item, "parameter") != NULL;
    if (by_means == by_parameter) {
        faults_error(section->faults, item->place, "allow %s; expected one of means and parameter",
                     by_means ? "names both a means and a parameter" : "names nothing");
        return false;
    }
    return section_read(&row, 0);
}

static bool is_repeated(const struct sheet *sheet, const struct allowance *allowance)
{
    for (size_t i = 0; i < sheet->allow_count; i++) {
        const struct allowance *other = &sheet->allow[i];
        bool same_parameter = other->parameter != NULL && allowance->parameter != NULL &&
                              strcmp(other->parameter, allowance->parameter) == 0;
        if (same_parameter || (other->means != MEANS_NONE && other->means == allowance->means))
            return true;
    }
    return false;
}

bool sheet_field_allow(const struct section *section, const struct field *field, const struct node *value)
{
    struct sheet *sheet = section->target;
    if (!field_holds(section, field, value, NODE_LIST))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        struct allow_reading reading = {0};
        bool read = read_row(section, item, &reading);
        if (read && is_repeated(sheet, &reading.allowance)) {
            faults_error(section->faults, item->place, "allow names %s twice; expected it once", reading.subject.name);
            read = false;
        }
        fine = fine && read;
        if (!read) {
            free(reading.allowance.parameter);
            free(reading.allowance.because);
            continue;
        }
        sheet->allow = memory_grow(sheet->allow, sheet->allow_count, sizeof *sheet->allow);
        sheet->allow[sheet->allow_count++] = reading.allowance;
    }
    return fine;
}
